//! The SHA-256 of a file's bytes: by it a report is known again, wherever it lies.

use sha2::{Digest as _, Sha256};
use std::fmt::Write as _;
use std::fs::{File, Metadata};
use std::io::{self, Read};
use std::path::Path;
use std::sync::Arc;
use std::time::SystemTime;

/// Bytes read at once.
const BLOCK: u64 = 1 << 20;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Digest {
    /// Lower-case hexadecimal.
    pub sha256: Arc<str>,
    /// Length of the file in bytes.
    pub bytes: u64,
    pub(super) stamp: Stamp,
}

impl Digest {
    /// Hashes a file without holding it in memory. Fails when it cannot be read; the caller has made
    /// sure that it is a regular file (see `discover`).
    pub fn of_file(path: &Path) -> io::Result<Self> {
        let mut file = File::open(path)?;
        let stamp = Stamp::of(&file.metadata()?);
        let mut hasher = Sha256::new();
        // Most files are far shorter than a block.
        let mut block = vec![0; stamp.bytes.clamp(1, BLOCK) as usize];
        let mut bytes = 0;
        loop {
            let n = file.read(&mut block)?;
            if n == 0 {
                break;
            }
            bytes += n as u64;
            hasher.update(&block[..n]);
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
