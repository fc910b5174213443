//! How one generation of files replaces the last: by renames that a journal makes good.
//!
//! ```text
//! dataset/.wellread/next/…     the new files, each written, synced and verified
//! dataset/.wellread/switch     the journal: which files to put in place, which to remove
//! dataset/results.parquet …    the visible files
//! ```
//!
//! The journal appears by one rename, after everything it names is on the disk; that rename is the
//! commit. Before it a crash leaves the former generation whole; after it the new one is whole in
//! `next` and in place, and whoever comes next (a run, or a reader through [`whereabouts`]) finds it
//! there. Nothing in the folder that is not ours is touched, so a user's own files, an open notebook
//! or a mounted folder stay where they are; that is why the folder is not swapped as one.

use super::staged_file::failed;
use crate::error::{Error, Result};
use serde::{Deserialize, Serialize};
use std::fs::{self, File};
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

/// The hidden folder inside a dataset.
pub(super) const HIDDEN: &str = ".wellread";
const NEXT: &str = "next";
const SWITCH: &str = "switch";
/// The journal on its way.
const SWITCH_DRAFT: &str = "switch.draft";
/// Holds the former files until the switch is over, so that a rename need not free their space.
const FORMER: &str = "former";

/// Programs that have a file open keep others from replacing it.
const NOT_REPLACED: &str =
    "cannot be replaced (close what has it open and run again, which finishes this)";

/// The journal. Names are of files, or of folders that are replaced whole, directly in the dataset.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Switch {
    pub(super) put: Vec<String>,
    pub(super) remove: Vec<String>,
}

/// One rename or removal; each may be done again without harm.
#[derive(Clone, Copy, Debug)]
pub(super) enum Step<'a> {
    Put(&'a str),
    Remove(&'a str),
}

pub(super) fn next_folder(dataset: &Path) -> PathBuf {
    dataset.join(HIDDEN).join(NEXT)
}

impl Switch {
    /// The journal of a switch that was begun and not finished; `None` where there is none.
    pub(super) fn unfinished(dataset: &Path) -> Result<Option<Self>> {
        let path = dataset.join(HIDDEN).join(SWITCH);
        let text = match fs::read_to_string(&path) {
            Ok(text) => text,
            Err(e) if e.kind() == ErrorKind::NotFound => return Ok(None),
            Err(e) => return Err(failed(&path, "cannot be read", e)),
        };
        let switch: Self = serde_json::from_str(&text).map_err(|e| Error::Dataset {
            path: path.clone(),
            what: format!("cannot be understood: {e}"),
        })?;
        let names = switch.put.iter().chain(&switch.remove);
        match names.into_iter().find(|name| !is_inside(name)) {
            None => Ok(Some(switch)),
            Some(name) => Err(Error::Dataset {
                path,
                what: format!("names a file outside the dataset: '{name}'"),
            }),
        }
    }

    /// Writes the journal. From the moment this returns, and not before, the new generation counts.
    pub(super) fn commit(&self, dataset: &Path) -> Result<()> {
        let hidden = dataset.join(HIDDEN);
        self.keep_former(dataset);
        sync_folders(&next_folder(dataset))?;
        let draft = hidden.join(SWITCH_DRAFT);
        let text = serde_json::to_string(self).map_err(|e| Error::Law(e.to_string()))?;
        let cannot = |e| failed(&draft, "cannot be written", e);
        let mut file = File::create(&draft).map_err(cannot)?;
        file.write_all(text.as_bytes()).map_err(cannot)?;
        file.sync_all().map_err(cannot)?;
        let switch = hidden.join(SWITCH);
        fs::rename(&draft, &switch).map_err(|e| failed(&switch, "cannot be put in place", e))?;
        sync_folder(&hidden)
    }

    fn keep_former(&self, dataset: &Path) {
        let former = dataset.join(HIDDEN).join(FORMER);
        if fs::create_dir(&former).is_err() {
            return;
        }
        for name in self.put.iter().chain(&self.remove) {
            // Only speeds up the renames; a file system without hard links does without.
            drop(fs::hard_link(dataset.join(name), former.join(name)));
        }
    }

    pub(super) fn steps(&self) -> impl Iterator<Item = Step<'_>> {
        let put = self.put.iter().map(|name| Step::Put(name));
        put.chain(self.remove.iter().map(|name| Step::Remove(name)))
    }

    /// Carries the journal out, from wherever an earlier attempt ended, and removes it.
    pub(super) fn carry_out(&self, dataset: &Path) -> Result<()> {
        for step in self.steps() {
            step.carry_out(dataset)?;
        }
        sync_folder(dataset)?;
        let switch = dataset.join(HIDDEN).join(SWITCH);
        fs::remove_file(&switch).map_err(|e| failed(&switch, "cannot be removed", e))?;
        sync_folder(&dataset.join(HIDDEN))
    }
}

impl Step<'_> {
    pub(super) fn carry_out(self, dataset: &Path) -> Result<()> {
        let (done, name) = match self {
            Self::Put(name) => {
                let from = next_folder(dataset).join(name);
                let to = dataset.join(name);
                // A folder does not replace anything, and a file no folder: make room.
                if from.exists() && (from.is_dir() || to.is_dir()) {
                    set_aside(dataset, name)?;
                }
                (fs::rename(from, to), name)
            }
            Self::Remove(name) if dataset.join(name).is_dir() => {
                return set_aside(dataset, name);
            }
            Self::Remove(name) => (fs::remove_file(dataset.join(name)), name),
        };
        match done {
            // Done by an earlier attempt.
            Err(e) if e.kind() == ErrorKind::NotFound => Ok(()),
            done => done.map_err(|e| failed(&dataset.join(name), NOT_REPLACED, e)),
        }
    }
}

/// Moves what stands at this name to the former files, to be removed with them.
fn set_aside(dataset: &Path, name: &str) -> Result<()> {
    let folder = dataset.join(HIDDEN).join(FORMER);
    let (from, to) = (dataset.join(name), folder.join(name));
    if !from.exists() {
        return Ok(());
    }
    let cannot = |e| failed(&from, NOT_REPLACED, e);
    fs::create_dir_all(&folder).map_err(cannot)?;
    if to.is_dir() {
        fs::remove_dir_all(&to).map_err(cannot)?;
    }
    fs::rename(&from, &to).map_err(cannot)
}

/// Finishes what a run that died had committed and clears what it had not.
pub(super) fn recover(dataset: &Path) -> Result<()> {
    if let Some(switch) = Switch::unfinished(dataset)? {
        switch.carry_out(dataset)?;
    }
    clear(dataset)
}

/// Removes everything staged; the lock stays.
pub(super) fn clear(dataset: &Path) -> Result<()> {
    let hidden = dataset.join(HIDDEN);
    for folder in [NEXT, FORMER] {
        let path = hidden.join(folder);
        match fs::remove_dir_all(&path) {
            Err(e) if e.kind() != ErrorKind::NotFound => {
                return Err(failed(&path, "cannot be removed", e));
            }
            _ => {}
        }
    }
    let path = hidden.join(SWITCH_DRAFT);
    match fs::remove_file(&path) {
        Err(e) if e.kind() != ErrorKind::NotFound => Err(failed(&path, "cannot be removed", e)),
        _ => Ok(()),
    }
}

/// Where a file of the dataset is at this moment: in its place, or still in `next` where a committed
/// switch has not been carried out.
pub(super) fn whereabouts(dataset: &Path, name: &str) -> Result<PathBuf> {
    let top = name.split('/').next().unwrap_or(name);
    if let Some(switch) = Switch::unfinished(dataset)?
        && switch.put.iter().any(|put| put == top)
    {
        let staged = next_folder(dataset).join(name);
        if staged.exists() {
            return Ok(staged);
        }
    }
    Ok(dataset.join(name))
}

/// A plain file name: nothing that leads out of the folder or into the hidden one.
fn is_inside(name: &str) -> bool {
    !name.is_empty() && !name.starts_with('.') && !name.contains(['/', '\\', ':'])
}

/// Syncs a folder and all folders in it; the files have been synced as they were closed.
fn sync_folders(path: &Path) -> Result<()> {
    let cannot = |e| failed(path, "cannot be synced", e);
    for entry in fs::read_dir(path).map_err(cannot)? {
        let entry = entry.map_err(cannot)?;
        if entry.file_type().map_err(cannot)?.is_dir() {
            sync_folders(&entry.path())?;
        }
    }
    sync_folder(path)
}

#[cfg(unix)]
fn sync_folder(path: &Path) -> Result<()> {
    File::open(path)
        .and_then(|folder| folder.sync_all())
        .map_err(|e| failed(path, "cannot be synced", e))
}

#[cfg(not(unix))]
fn sync_folder(_: &Path) -> Result<()> {
    // Elsewhere a folder cannot be opened for this.
    Ok(())
}
