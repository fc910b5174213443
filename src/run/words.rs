//! Everything that is read before the first report: vocabulary, limits and mappings.

use super::Request;
use crate::check::{self, Limits};
use crate::error::Result;
use crate::map;
use crate::mapping::Library;
use crate::normalize;
use crate::vocabulary::Vocabulary;
use std::path::{Path, PathBuf};

/// The words of a run.
#[derive(Debug)]
pub struct Words {
    pub library: Library,
    pub limits: Limits,
}

impl Words {
    /// Fails with all problems of all files at once.
    pub fn load(request: &Request) -> Result<Self> {
        Self::open(&request.paths, request.mappings.as_deref())
    }

    /// The words beside the paths given, or those of the folder `mappings`.
    pub fn open(paths: &[PathBuf], mappings: Option<&Path>) -> Result<Self> {
        let library = Library::open(paths, mappings)?;
        // The user's limits lie with the user's mappings.
        let limits = Limits::load(library.folders().iter().map(PathBuf::as_path))?;
        Ok(Self { library, limits })
    }

    pub fn vocabulary(&self) -> &Vocabulary {
        self.library.vocabulary()
    }

    /// Codes of the findings by which an assumed unit or basis is told.
    pub(super) fn assumptions(&self) -> Vec<&'static str> {
        map::CODES
            .iter()
            .chain(normalize::CODES)
            .map(|(code, _, _)| *code)
            .collect()
    }

    /// Codes of the findings that every run makes anew from the results.
    pub(super) fn made_anew(&self) -> Vec<&'static str> {
        check::CHECKS.iter().map(|check| check.code).collect()
    }

    /// Changes when a report would be read in another way: the program or any word of a mapping.
    pub fn fingerprint(&self) -> String {
        format!(
            "{} {}",
            env!("CARGO_PKG_VERSION"),
            self.library.fingerprint()
        )
    }
}
