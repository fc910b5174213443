//! Mapping files: TOML that people write, made into rules that cannot be invalid.
//!
//! Raw structs are strict (unknown keys are errors); compiling collects *all* problems of a file,
//! each with its place, before it gives up. What the rules do to a report is decided in `map`.

mod compile;
mod label;
mod library;
mod raw;
mod recognise;
mod schema;

pub use compile::compile;
pub use library::{Claim, Library};
pub use recognise::Recognise;
pub use schema::schema;

use crate::map::Rules;
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
    /// Name of the encoding in which delimited text has to be read; `None`: found out.
    pub encoding: Option<&'static str>,
    /// The mapping's own proof; `None` where it has none.
    pub example: Option<Example>,
}

/// A report and the results that the mapping must make of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Example {
    pub report: ExampleReport,
    /// Names of the columns of `results` that are compared, in the order of the example.
    pub columns: Vec<String>,
    /// One row a result, in no particular order.
    pub rows: Vec<Vec<String>>,
}

#[derive(Clone, Debug, PartialEq)]
pub enum ExampleReport {
    /// A file, as it was found from the mapping's folder.
    File(PathBuf),
    /// A delimited text that stands in the mapping itself, and the file name it goes by.
    Text { name: String, text: String },
}
