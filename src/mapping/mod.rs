//! Mapping files: TOML that people write, made into rules that cannot be invalid.
//!
//! Raw structs are strict (unknown keys are errors); compiling collects *all* problems of a file,
//! each with its place, before it gives up. What the rules do to a report is decided in `map`.

mod compile;
pub mod draft;
mod example;
mod label;
mod library;
mod raw;
mod recognise;
mod repair;
mod schema;

pub use compile::compile;
pub use example::{COLUMNS, Difference, Example, ExampleReport, rows};
pub use library::{Claim, Library};
pub use recognise::Recognise;
pub use repair::{Change, Repair, repair};
pub use schema::schema;

use crate::map::Rules;
use crate::read::{Encoding, Options};
use std::path::PathBuf;
use std::sync::Arc;

/// One mapping file, compiled.
#[derive(Clone, Debug)]
pub struct Mapping {
    /// The file's name without `.toml`; what `results.mapping` shows.
    pub name: Arc<str>,
    /// What it is for, in the author's words; empty where the author gave none.
    pub title: String,
    /// Where it was read from.
    pub path: PathBuf,
    /// Which reports it is for.
    pub recognise: Recognise,
    /// What it says of them.
    pub rules: Rules,
    /// Of delimited text that is not UTF-8; `None`: found out.
    pub encoding: Option<Encoding>,
    /// Between the fields of delimited text; `None`: found out.
    pub delimiter: Option<char>,
    /// The mapping's own proof; `None` where it has none.
    pub example: Option<Example>,
}

impl Mapping {
    /// How a report of this mapping has to be read, where the mapping says so: it must then be read
    /// once more, since it was recognised from a reading without these words. `None` when it says
    /// nothing of reading.
    pub fn reading(&self) -> Option<Options> {
        (self.encoding.is_some() || self.delimiter.is_some()).then(|| Options {
            encoding: self.encoding,
            delimiter: self.delimiter,
            ..Options::default()
        })
    }
}
