//! The lock of a dataset: one run at a time writes to it.
//!
//! The lock is the operating system's lock on a file in the hidden folder; it goes with the process,
//! however that ends. The file holds the process's number, for the message to whoever comes second.

use super::staged_file::failed;
use crate::error::{Error, Result};
use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

/// What to do when another run is writing to the dataset.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wait {
    /// Refuse at once and say who holds it.
    No,
    /// Wait until the other run has ended.
    Yes,
}

/// Held until dropped.
#[derive(Debug)]
pub(super) struct Lock {
    path: PathBuf,
    file: File,
}

impl Lock {
    /// Takes the lock `path`, whose folder is there. `dataset` is named in messages.
    pub(super) fn take(path: &Path, dataset: &Path, wait: Wait) -> Result<Self> {
        loop {
            let cannot = |e| failed(path, "cannot be made: is the folder writable?", e);
            let file = OpenOptions::new()
                .read(true)
                .write(true)
                .create(true)
                .truncate(false)
                .open(path);
            let file = match file {
                Ok(file) => file,
                // The run before has just removed the hidden folder.
                Err(e) if e.kind() == std::io::ErrorKind::NotFound => {
                    let folder = path.parent().unwrap_or(dataset);
                    fs::create_dir_all(folder).map_err(cannot)?;
                    continue;
                }
                Err(e) => return Err(cannot(e)),
            };
            match file.try_lock() {
                Ok(()) => {}
                Err(TryLockError::WouldBlock) if wait == Wait::Yes => {
                    file.lock()
                        .map_err(|e| failed(path, "cannot be locked", e))?;
                }
                Err(TryLockError::WouldBlock) => {
                    return Err(Error::Dataset {
                        path: dataset.to_owned(),
                        what: format!("another run is writing to it{}", holder(path)),
                    });
                }
                Err(TryLockError::Error(e)) => return Err(failed(path, "cannot be locked", e)),
            }
            // Whoever held it may have removed the file while this run waited for it.
            if is_at(&file, path) {
                let mut lock = Self {
                    path: path.to_owned(),
                    file,
                };
                // The number is only for a message: a full disk shows where it matters.
                drop(lock.sign());
                return Ok(lock);
            }
        }
    }

    fn sign(&mut self) -> std::io::Result<()> {
        self.file.set_len(0)?;
        self.file.seek(SeekFrom::Start(0))?;
        write!(self.file, "{}", std::process::id())
    }

    /// Removes the file; the lock itself lasts until the drop.
    pub(super) fn remove_file(&self) {
        // A lock file left behind is harmless: it is taken over by the next run.
        drop(fs::remove_file(&self.path));
    }
}

fn holder(path: &Path) -> String {
    match fs::read_to_string(path) {
        Ok(process) if !process.is_empty() => format!(" (process {process})"),
        // Not written yet, or a system on which a locked file cannot be read.
        _ => String::new(),
    }
}

#[cfg(unix)]
fn is_at(file: &File, path: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    match (file.metadata(), fs::metadata(path)) {
        (Ok(held), Ok(found)) => held.ino() == found.ino() && held.dev() == found.dev(),
        _ => false,
    }
}

#[cfg(not(unix))]
fn is_at(_: &File, _: &Path) -> bool {
    // Elsewhere a file in use cannot be removed.
    true
}
