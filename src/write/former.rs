//! What a former run wrote, read back report by report.

use crate::error::Result;
use crate::finding::Finding;
use crate::record::Extract;
use crate::vocabulary::Vocabulary;
use std::path::Path;
use std::sync::Arc;

/// What is needed to understand the tables.
#[derive(Clone, Copy, Debug)]
pub struct Words<'a> {
    pub vocabulary: &'a Vocabulary,
    /// Codes of the findings that `Recipe::assumption` may name.
    pub assumptions: &'a [&'static str],
    /// Codes of the findings that are made anew on every run (those of `check` and of the run
    /// itself): they are not read back.
    pub made_anew: &'a [&'static str],
}

/// A report of the former run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FormerReport {
    /// Path relative to the gathered root.
    pub file: Arc<str>,
    /// Of the bytes that were read.
    pub sha256: Arc<str>,
    pub results: u64,
    pub unplaced: u64,
}

/// The dataset as a former run left it.
#[derive(Debug)]
pub struct Former<'a> {
    words: Words<'a>,
    reports: Vec<FormerReport>,
    fingerprint: String,
}

impl<'a> Former<'a> {
    /// `None` where the folder does not exist or holds no dataset. Fails when the dataset is broken
    /// or was written with a schema or with words that this program does not know.
    pub fn open(dir: &Path, words: Words<'a>) -> Result<Option<Self>> {
        let _ = (dir, words);
        Ok(None)
    }

    /// [`super::Options::fingerprint`] of the run that wrote it.
    pub fn fingerprint(&self) -> &str {
        &self.fingerprint
    }

    /// Every report, by path.
    pub fn reports(&self) -> &[FormerReport] {
        &self.reports
    }

    /// The report at this path, as it was gathered; `None` when the dataset has none. Exactly what
    /// was pushed, except that samples without any result are gone and that recipes and samples
    /// stand in the order in which results use them.
    pub fn extract(&mut self, file: &str) -> Result<Option<Extract>> {
        let _ = (file, self.words);
        Ok(None)
    }

    /// Findings about files that are no report of the dataset (refused, same bytes as another).
    pub fn other_findings(&self) -> &[Finding] {
        &[]
    }
}
