//! Parts: several runs over disjoint reports, on several machines, each with a dataset of its own
//! below one folder (`water/parts/NAME/`), and all of them together as one.
//!
//! Each part is whole and can be read by itself; `water/parts/*/results.parquet` is one table with
//! the columns of one run. Joining reads the parts report by report, in the order of the paths, so
//! that what is written is what one run over all reports would have written.

use super::dataset::Dataset;
use super::former::{Former, PIECE_ROWS, Words};
use super::lock::Wait;
use super::staged_file::failed;
use crate::error::{Error, Result};
use crate::finding::Finding;
use crate::record::Extract;
use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The folder of parts inside a dataset.
const PARTS: &str = "parts";

/// Longest name of a part.
const NAME_BYTES: usize = 64;

/// Where the part of this name is written. Fails when the name is not of small letters, digits and
/// hyphens: it becomes a folder's name on every kind of machine.
pub fn part_folder(dataset: &Path, name: &str) -> Result<PathBuf> {
    let plain = |b: u8| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-';
    if !(1..=NAME_BYTES).contains(&name.len()) || !name.bytes().all(plain) {
        return Err(Error::Usage(format!(
            "'{name}' cannot name a part: up to {NAME_BYTES} small letters, digits and hyphens can"
        )));
    }
    Ok(dataset.join(PARTS).join(name))
}

/// All parts of a dataset, locked, and what the dataset itself holds beyond them.
#[derive(Debug)]
pub struct Parts<'a> {
    /// By name; that of the dataset itself is empty.
    formers: Vec<(String, Former<'a>)>,
    /// Every report and the index of the part that has it.
    reports: BTreeMap<Arc<str>, usize>,
    /// Nobody writes to a part while it is read.
    _locks: Vec<Dataset>,
}

impl<'a> Parts<'a> {
    /// Fails where there are no parts, where two parts have a report of the same path, where parts
    /// were read with different words, and where a part is being written ([`Wait::No`]).
    pub fn open(dataset: &Path, words: Words<'a>, wait: Wait) -> Result<Self> {
        let mut parts = Self {
            formers: Vec::new(),
            reports: BTreeMap::new(),
            _locks: Vec::new(),
        };
        for name in names(dataset)? {
            let folder = part_folder(dataset, &name)?;
            parts._locks.push(Dataset::open(&folder, wait)?);
            // Without one, a run there has not yet written anything.
            if let Some(former) = Former::open(&folder, words)? {
                parts.add(dataset, name, former)?;
            }
        }
        if parts.formers.is_empty() {
            return Err(Error::Dataset {
                path: dataset.join(PARTS),
                what: "holds no part: 'wellread gather --part NAME' writes one".to_owned(),
            });
        }
        if let Some(own) = Former::open(dataset, words)? {
            parts.keep(dataset, own)?;
        }
        Ok(parts)
    }

    fn add(&mut self, dataset: &Path, name: String, former: Former<'a>) -> Result<()> {
        self.agree(dataset, &name, &former)?;
        for report in former.reports() {
            match self.reports.entry(report.file.clone()) {
                Entry::Vacant(free) => free.insert(self.formers.len()),
                Entry::Occupied(held) => {
                    return Err(Error::Dataset {
                        path: dataset.to_owned(),
                        what: format!(
                            "'{}' is in part '{}' and in part '{name}': a report belongs to one",
                            report.file,
                            self.formers[*held.get()].0
                        ),
                    });
                }
            };
        }
        self.formers.push((name, former));
        Ok(())
    }

    /// What was gathered into the dataset itself and is in no part stays in it.
    fn keep(&mut self, dataset: &Path, own: Former<'a>) -> Result<()> {
        let mut kept = false;
        for report in own.reports() {
            if let Entry::Vacant(free) = self.reports.entry(report.file.clone()) {
                free.insert(self.formers.len());
                kept = true;
            }
        }
        if kept {
            self.agree(dataset, "", &own)?;
            self.formers.push((String::new(), own));
        }
        Ok(())
    }

    fn agree(&self, dataset: &Path, name: &str, former: &Former<'_>) -> Result<()> {
        match self.formers.first() {
            Some((first, held)) if held.fingerprint() != former.fingerprint() => {
                let other = match name {
                    "" => "what was gathered before".to_owned(),
                    name => format!("part '{name}'"),
                };
                Err(Error::Dataset {
                    path: dataset.to_owned(),
                    what: format!(
                        "part '{first}' and {other} were read with different mappings or versions \
                         of the program; gather them anew with the same"
                    ),
                })
            }
            _ => Ok(()),
        }
    }

    /// [`super::Options::fingerprint`] of the runs that wrote them.
    pub fn fingerprint(&self) -> &str {
        self.formers[0].1.fingerprint()
    }

    /// How many parts there are.
    pub fn count(&self) -> usize {
        self.formers
            .iter()
            .filter(|(name, _)| !name.is_empty())
            .count()
    }

    /// How many reports they have together.
    pub fn reports(&self) -> usize {
        self.reports.len()
    }

    /// Findings about files that are no report of any part.
    pub fn other_findings(&self) -> impl Iterator<Item = &Finding> {
        self.formers
            .iter()
            .flat_map(|(_, former)| former.other_findings())
    }

    /// Calls `take` with every report, a long one in pieces, in the order of the paths.
    pub fn each(&mut self, mut take: impl FnMut(Extract) -> Result<()>) -> Result<()> {
        for (file, &part) in &self.reports {
            let (name, former) = &mut self.formers[part];
            if !former.each_piece(file, PIECE_ROWS, &mut take)? {
                return Err(Error::Law(format!("{file} is not in part '{name}'")));
            }
        }
        Ok(())
    }
}

/// The names of all parts, sorted; of folders that can be one.
fn names(dataset: &Path) -> Result<Vec<String>> {
    let folder = dataset.join(PARTS);
    let cannot = |e| failed(&folder, "cannot be read", e);
    let entries = match fs::read_dir(&folder) {
        Ok(entries) => entries,
        Err(e) if e.kind() == ErrorKind::NotFound => return Ok(Vec::new()),
        Err(e) => return Err(cannot(e)),
    };
    let mut names = Vec::new();
    for entry in entries {
        let entry = entry.map_err(cannot)?;
        let is_folder = entry.file_type().map_err(cannot)?.is_dir();
        if let (true, Ok(name)) = (is_folder, entry.file_name().into_string())
            && part_folder(dataset, &name).is_ok()
        {
            names.push(name);
        }
    }
    names.sort();
    Ok(names)
}
