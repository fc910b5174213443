//! The run: the only module that knows all six stages. Reads as the summary of the program.

mod summary;

pub use summary::{Group, Summary, group};

use std::path::PathBuf;

/// What `gather` is asked to do.
#[derive(Clone, Debug)]
pub struct Request {
    /// Files, folders and patterns.
    pub paths: Vec<PathBuf>,
    /// Folder of the dataset.
    pub into: PathBuf,
    /// Folder of mapping files; `None` looks beside the data.
    pub mappings: Option<PathBuf>,
    /// Read and check, write nothing.
    pub dry_run: bool,
    /// Write the CSV twins.
    pub csv: bool,
}

/// How far a run is; told to whoever watches. Called from several threads.
#[derive(Clone, Copy, Debug)]
pub enum Step<'a> {
    Found {
        files: usize,
    },
    Read {
        done: usize,
        of: usize,
        file: &'a str,
    },
    Checking {
        samples: usize,
    },
    Writing,
}

impl Step<'_> {
    /// Whether nothing more of this kind follows, so that it must be shown.
    pub const fn is_last(&self) -> bool {
        match self {
            Self::Read { done, of, .. } => *done == *of,
            _ => true,
        }
    }
}

pub fn gather(
    request: &Request,
    progress: &(dyn Fn(Step<'_>) + Sync),
) -> crate::error::Result<Summary> {
    progress(Step::Writing);
    Err(crate::error::Error::Usage(format!(
        "{:?} not built",
        request.into
    )))
}
