//! All tests that open files, as one binary: linking once keeps the run short. One module an area.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]
#![allow(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "measurements are shown with --nocapture"
)]

mod cli;
mod cli_hostile;
mod crowded;
mod draft;
mod fuzz;
mod growth;
mod house;
mod long_text;
mod mapping;
mod normalize;
mod odd;
mod overlong;
mod read;
mod real;
mod recognise;
mod vocabulary;
mod vocabulary_commands;
mod vocabulary_conversions;
mod vocabulary_tables;
mod write;

mod check;
mod check_faults;
mod check_messages;
mod check_real;
mod check_reference;
mod check_waters;
mod generated;
mod golden;
mod readme;
