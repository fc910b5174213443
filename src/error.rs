//! Errors: the run or this file cannot go on. What is wrong with the data is a `finding` instead.

use std::path::PathBuf;

/// Everything that can end a run. Each variant names the path it is about.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    #[error("{}: {what}", path.display())]
    Io {
        path: PathBuf,
        what: &'static str,
        #[source]
        source: std::io::Error,
    },
    /// Mapping or vocabulary files with problems; the text is the whole rendered list.
    #[error("{0}")]
    Mapping(String),
    /// The dataset folder holds something that is not ours, or is broken.
    #[error("{}: {what}", path.display())]
    Dataset { path: PathBuf, what: String },
    /// A law of the program itself is broken: never the user's fault.
    #[error("internal: {0}")]
    Law(String),
    /// The command line asked for something that cannot be done.
    #[error("{0}")]
    Usage(String),
}

pub type Result<T, E = Error> = std::result::Result<T, E>;
