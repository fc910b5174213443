//! wellread: a folder of laboratory water reports becomes one clean, checked, traceable dataset.
//!
//! Six stages, each importable alone, and a few leaves that any stage may use. Arrows point one way:
//!
//! ```text
//! read ──► locate ──► map ──► normalize ──► check ──► write        run: the only module that knows all six
//! leaves: place · file · finding · error · record · vocabulary · reading · schema
//! ```

#![cfg_attr(
    test,
    allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")
)]

pub mod check;
pub mod cli;
pub mod error;
pub mod file;
pub mod finding;
mod guard;
pub mod locate;
pub mod map;
pub mod mapping;
pub mod normalize;
pub mod place;
pub mod problem;
pub mod read;
pub mod reading;
pub mod record;
pub mod run;
pub mod schema;
pub mod text;
pub mod vocabulary;
pub mod write;
