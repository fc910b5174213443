//! The dataset folder: who may write to it, and what a run leaves in it.

use super::lock::{Lock, Wait};
use super::package::{PACKAGE, Package};
use super::partition::Partition;
use super::sink::Sink;
use super::staged_file::{Closed, failed};
use super::switch::{self, HIDDEN, Switch};
use crate::check::Verdicts;
use crate::error::{Error, Result};
use crate::schema::Table;
use crate::vocabulary::Vocabulary;
use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

/// How a dataset is written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Options {
    /// CSV twins beside the Parquet files.
    pub csv: bool,
    /// `results` as a folder of Parquet files, partitioned by this; its CSV twin stays one file.
    pub partition: Option<Partition>,
    /// Of the mappings and words with which the reports were read; given back by
    /// [`super::Former::fingerprint`], so that a run can tell whether reports must be read again.
    pub fingerprint: String,
}

/// A dataset folder under our lock, until dropped.
#[derive(Debug)]
pub struct Dataset {
    dir: PathBuf,
    /// The folder was not there before.
    made: bool,
    lock: Lock,
    /// Files and folders of the former generation, directly in the dataset.
    former: Vec<String>,
    /// The former description of the dataset; `None` where there is none.
    former_package: Option<String>,
}

impl Dataset {
    /// Makes the folder where there is none, takes its lock, finishes or clears what a run that
    /// died left behind. Fails when another run holds the lock ([`Wait::No`]), when the folder
    /// cannot be written, or when it holds files with our names that are not ours.
    pub fn open(dir: &Path, wait: Wait) -> Result<Self> {
        let hidden = dir.join(HIDDEN);
        let made = !dir.exists();
        fs::create_dir_all(&hidden).map_err(|e| failed(dir, "cannot be made or written", e))?;
        let lock = Lock::take(&hidden.join("lock"), dir, wait)?;
        let mut dataset = Self {
            dir: dir.to_owned(),
            made,
            lock,
            former: Vec::new(),
            former_package: None,
        };
        switch::recover(dir)?;
        dataset.former_package = read_package_text(&dir.join(PACKAGE))?;
        dataset.former = dataset.names_of_former()?;
        // Told before any work, not after it; the folder of partitions when it comes to it.
        for name in our_names().filter(|name| name.contains('.')) {
            dataset.is_free(&name)?;
        }
        Ok(dataset)
    }

    /// The folder.
    pub fn dir(&self) -> &Path {
        &self.dir
    }

    fn names_of_former(&self) -> Result<Vec<String>> {
        let path = self.dir.join(PACKAGE);
        let package = match &self.former_package {
            Some(text) => Package::parse(&path, text)?,
            None => None,
        };
        match package {
            Some(package) => {
                let mut names = tops(package.files.iter().map(|file| file.name.as_str()));
                names.push(PACKAGE.to_owned());
                names.retain(|name| our_names().any(|ours| ours == *name));
                Ok(names)
            }
            None => Ok(Vec::new()),
        }
    }

    /// Refuses to put a file or folder where something stands that is not of the former generation.
    fn is_free(&self, name: &str) -> Result<()> {
        let path = self.dir.join(name);
        if self.former.iter().any(|former| former == name) || !path.exists() {
            return Ok(());
        }
        Err(Error::Dataset {
            path,
            what: "stands where the dataset would, and is not one of ours; choose another folder"
                .to_owned(),
        })
    }

    /// Starts the next generation in a hidden folder; the visible files stay as they are until
    /// [`Staged::commit`].
    pub fn begin<'a>(&'a self, options: Options, vocabulary: &'a Vocabulary) -> Result<Sink<'a>> {
        switch::clear(&self.dir)?;
        let next = switch::next_folder(&self.dir);
        fs::create_dir_all(&next).map_err(|e| failed(&next, "cannot be made", e))?;
        Sink::new(self, next, options, vocabulary)
    }
}

impl Drop for Dataset {
    fn drop(&mut self) {
        // A generation that was committed and could not be put in place waits for the next run.
        let is_over = matches!(Switch::unfinished(&self.dir), Ok(None));
        if is_over {
            // Whatever cannot be removed now is removed by the next run.
            drop(switch::clear(&self.dir));
        }
        self.lock.remove_file();
        if is_over {
            // Fails, rightly, where another run has already made its lock, or the dataset is not empty.
            drop(fs::remove_dir(self.dir.join(HIDDEN)));
            if self.made {
                drop(fs::remove_dir(&self.dir));
            }
        }
    }
}

/// Every name that a dataset may use: of files, and of the folder of partitions.
fn our_names() -> impl Iterator<Item = String> {
    let tables = Table::ALL
        .into_iter()
        .flat_map(|table| ["parquet", "csv"].map(|ending| format!("{}.{ending}", table.name())));
    tables.chain([PACKAGE.to_owned(), Table::Results.name().to_owned()])
}

/// What stands directly in the dataset, of files anywhere in it.
fn tops<'a>(files: impl Iterator<Item = &'a str>) -> Vec<String> {
    let mut tops: Vec<String> = Vec::new();
    for file in files {
        let top = file.split('/').next().unwrap_or(file);
        if !tops.iter().any(|held| held == top) {
            tops.push(top.to_owned());
        }
    }
    tops
}

/// `None` where there is no such file.
pub(super) fn read_package_text(path: &Path) -> Result<Option<String>> {
    match fs::read_to_string(path) {
        Ok(text) => Ok(Some(text)),
        Err(e) if e.kind() == ErrorKind::NotFound => Ok(None),
        Err(e) => Err(failed(path, "cannot be read", e)),
    }
}

/// All files of the next generation, written, synced, re-opened and counted.
#[derive(Debug)]
#[must_use = "nothing is visible before it is committed"]
pub struct Staged<'a> {
    dataset: &'a Dataset,
    files: Vec<Closed>,
    written: Written,
}

impl<'a> Staged<'a> {
    /// `package` is the description, the last of `files`.
    pub(super) fn new(
        dataset: &'a Dataset,
        files: Vec<Closed>,
        package: &str,
        written: Written,
    ) -> Self {
        let written = Written {
            changed: dataset.former_package.as_deref() != Some(package),
            ..written
        };
        Self {
            dataset,
            files,
            written,
        }
    }

    /// What will be written; for a summary before the commit.
    pub fn written(&self) -> &Written {
        &self.written
    }

    /// Makes the new generation the visible one. A crash at any moment leaves the former one or a
    /// switch that the next [`Dataset::open`] finishes and [`super::Former::open`] sees through.
    pub fn commit(self) -> Result<Written> {
        let dir = &self.dataset.dir;
        let put = tops(self.files.iter().map(|file| file.name.as_str()));
        for name in &put {
            self.dataset.is_free(name)?;
        }
        let gone = self
            .dataset
            .former
            .iter()
            .filter(|name| !put.contains(name));
        let remove = gone.cloned().collect();
        let switch = Switch { put, remove };
        switch.commit(dir)?;
        switch.carry_out(dir)?;
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
    /// On the samples.
    pub verdicts: Verdicts,
    /// Whether any byte differs from the former generation.
    pub changed: bool,
}
