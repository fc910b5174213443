//! Stage 2, locate: where the tables of a sheet are, which way each runs, and what heads it.
//!
//! Knows the four layouts and what an analyte label looks like. Decides nothing about values.

mod block;

pub use block::{Block, Layout};
