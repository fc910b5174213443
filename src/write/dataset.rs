//! The dataset folder: who may write to it, and how one generation of files replaces the last.

use super::Sink;
use crate::error::{Error, Result};
use crate::vocabulary::Vocabulary;
use std::path::{Path, PathBuf};

/// What to do when another run is writing to the dataset.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wait {
    /// Refuse at once and say who holds it.
    No,
    /// Wait until the other run has ended.
    Yes,
}

/// How a dataset is written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Options {
    /// CSV twins beside the Parquet files.
    pub csv: bool,
    /// Of the mappings and words with which the reports were read; given back by
    /// [`super::Former::fingerprint`], so that a run can tell whether reports must be read again.
    pub fingerprint: String,
}

/// A dataset folder under our lock, until dropped.
#[derive(Debug)]
pub struct Dataset {
    dir: PathBuf,
}

impl Dataset {
    /// Makes the folder where there is none, takes its lock, finishes or clears what a run that
    /// died left behind. Fails when another run holds the lock ([`Wait::No`]), when the folder
    /// cannot be written, or when it holds files with our names that are not ours.
    pub fn open(dir: &Path, wait: Wait) -> Result<Self> {
        let _ = wait;
        Ok(Self { dir: dir.into() })
    }

    /// Starts the next generation in a hidden folder; the visible files stay as they are until
    /// [`Staged::commit`].
    pub fn begin<'a>(&'a self, options: Options, vocabulary: &'a Vocabulary) -> Result<Sink<'a>> {
        let _ = (options, vocabulary, &self.dir);
        Err(Error::Law("not built yet".into()))
    }
}

/// All files of the next generation, written, synced, re-opened and counted.
#[derive(Debug)]
#[must_use = "nothing is visible before it is committed"]
pub struct Staged<'a> {
    dataset: &'a Dataset,
    written: Written,
}

impl Staged<'_> {
    /// What will be written; for a summary before the commit.
    pub fn written(&self) -> &Written {
        &self.written
    }

    /// Makes the new generation the visible one. A crash at any moment leaves the former one or a
    /// switch that the next [`Dataset::open`] or [`super::Former::open`] finishes.
    pub fn commit(self) -> Result<Written> {
        let _ = self.dataset;
        Ok(self.written)
    }
}

/// What a run wrote.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Written {
    pub results: u64,
    pub samples: u64,
    pub findings: u64,
    pub unplaced: u64,
    /// Non-blank cells of all sheets.
    pub cells: u64,
    /// Whether any byte differs from the former generation.
    pub changed: bool,
}
