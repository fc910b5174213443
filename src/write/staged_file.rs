//! One file on its way into the dataset: counted and hashed as it is written, synced when it is done.

use crate::error::{Error, Result};
use sha2::{Digest, Sha256};
use std::fmt::Write as _;
use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

/// Few calls for a page of a Parquet file, little memory for many files open at once.
const BUFFER_BYTES: usize = 1 << 17;

/// A file of the next generation, closed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Closed {
    /// Relative to the dataset, `/` between folders.
    pub(super) name: String,
    pub(super) bytes: u64,
    /// Lower-case hexadecimal.
    pub(super) sha256: String,
}

/// Open for writing.
pub(super) struct StagedFile {
    name: String,
    path: PathBuf,
    out: BufWriter<Counted>,
}

struct Counted {
    file: File,
    bytes: u64,
    sha256: Sha256,
}

impl Write for Counted {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let written = self.file.write(bytes)?;
        self.sha256.update(&bytes[..written]);
        self.bytes += written as u64;
        Ok(written)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.file.flush()
    }
}

impl StagedFile {
    /// Makes `name` in `folder`, where no such file is.
    pub(super) fn create(folder: &Path, name: &str) -> Result<Self> {
        let path = folder.join(name);
        let file = File::create_new(&path).map_err(|e| failed(&path, "cannot be made", e))?;
        let counted = Counted {
            file,
            bytes: 0,
            sha256: Sha256::new(),
        };
        Ok(Self {
            name: name.to_owned(),
            path,
            out: BufWriter::with_capacity(BUFFER_BYTES, counted),
        })
    }

    pub(super) fn path(&self) -> &Path {
        &self.path
    }

    /// Everything on the disk, and still as long as what was written.
    pub(super) fn close(self) -> Result<Closed> {
        let path = self.path;
        let counted = self
            .out
            .into_inner()
            .map_err(|e| failed(&path, "cannot be written", e.into_error()))?;
        counted
            .file
            .sync_all()
            .map_err(|e| failed(&path, "cannot be written", e))?;
        let on_disk = std::fs::metadata(&path)
            .map_err(|e| failed(&path, "cannot be re-opened", e))?
            .len();
        if on_disk != counted.bytes {
            return Err(Error::Law(format!(
                "{}: {on_disk} bytes on the disk, {} written",
                self.name, counted.bytes
            )));
        }
        Ok(Closed {
            name: self.name,
            bytes: counted.bytes,
            sha256: hexadecimal(&counted.sha256.finalize()),
        })
    }
}

impl Write for StagedFile {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.out.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.out.flush()
    }
}

/// An `Error::Io` about `path`.
pub(super) fn failed(path: &Path, what: &'static str, source: io::Error) -> Error {
    Error::Io {
        path: path.to_owned(),
        what,
        source,
    }
}

pub(super) fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        write!(text, "{byte:02x}").expect("writing to a String cannot fail");
        text
    })
}
