//! The SHA-256 of a file's bytes: by it a report is known again, wherever it lies.

use super::bounds::{RECORD_BYTES, WORKBOOK_BYTES};
use crate::file::open_regular;
use sha2::{Digest as _, Sha256};
use std::fmt::Write as _;
use std::fs::Metadata;
use std::io::{self, Read};
use std::path::Path;
use std::sync::Arc;
use std::time::SystemTime;

/// Bytes read at once.
const BLOCK: u64 = 1 << 20;

/// Bytes without a line end that no text has which is read: a record may be as long as `RECORD_BYTES`, in
/// an encoding of up to two bytes a character.
const LONGEST_LINE: usize = 2 * RECORD_BYTES;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Digest {
    /// Lower-case hexadecimal.
    pub sha256: Arc<str>,
    /// Length of the file in bytes.
    pub bytes: u64,
    pub(super) stamp: Stamp,
}

impl Digest {
    /// Hashes a file without holding it in memory. Fails when it cannot be read, and where it is one that
    /// opening refuses: longer than a workbook may be, and with a stretch without a line end that no
    /// record of a text has. A terabyte of nothing is not hashed to its end.
    pub fn of_file(path: &Path) -> io::Result<Self> {
        let mut file = open_regular(path)?;
        let stamp = Stamp::of(&file.metadata()?);
        let mut hasher = Sha256::new();
        // Most files are far shorter than a block.
        let mut block = vec![0; stamp.bytes.clamp(1, BLOCK) as usize];
        let (mut bytes, mut after_line_end) = (0, 0);
        loop {
            let n = file.read(&mut block)?;
            if n == 0 {
                break;
            }
            let read = &block[..n];
            bytes += n as u64;
            hasher.update(read);
            after_line_end = match memchr::memrchr2(b'\n', b'\r', read) {
                Some(at) => n - at,
                None => after_line_end + n,
            };
            if after_line_end > LONGEST_LINE && stamp.bytes.max(bytes) > WORKBOOK_BYTES {
                return Err(io::Error::other("neither a workbook nor lines of text"));
            }
        }
        Ok(Self {
            sha256: hex(hasher),
            bytes,
            stamp,
        })
    }
}

/// What tells, without reading, that a file is still the same.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Stamp {
    pub(super) bytes: u64,
    /// `None` where the file system keeps no such time.
    modified: Option<SystemTime>,
}

impl Stamp {
    pub(super) fn of(metadata: &Metadata) -> Self {
        Self {
            bytes: metadata.len(),
            // A file system without times leaves the length to tell.
            modified: metadata.modified().ok(),
        }
    }
}

pub(super) fn hex(hasher: Sha256) -> Arc<str> {
    let mut text = String::with_capacity(64);
    for byte in hasher.finalize() {
        write!(text, "{byte:02x}").expect("writing to a string cannot fail");
    }
    text.into()
}

pub(super) fn of_bytes(bytes: &[u8]) -> Arc<str> {
    let mut hasher = Sha256::new();
    hasher.update(bytes);
    hex(hasher)
}

#[cfg(test)]
mod tests {
    /// The example "abc" of FIPS 180-4.
    #[test]
    fn abc_has_the_digest_of_the_standard() {
        assert_eq!(
            &*super::of_bytes(b"abc"),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }
}
