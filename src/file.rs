//! Files that other people wrote are opened here: none is waited for, and none that is read whole has more
//! bytes than a bound.

use std::fs::{File, OpenOptions};
use std::io::{self, Read};
use std::path::Path;

/// Bytes of a file of settings (a mapping, words, limits). The longest that is shipped has 100 kB.
pub const SETTINGS_BYTES: u64 = 4 << 20;

/// Bytes of a file of expected rows: those of a text that is read whole, several times over.
pub const ROWS_BYTES: u64 = 64 << 20;

/// Opens a regular file for reading. Fails on everything else: a pipe, or a file of the system into which
/// something is written now and then, would be waited for for ever.
pub fn open_regular(path: &Path) -> io::Result<File> {
    let mut options = OpenOptions::new();
    options.read(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        options.custom_flags(rustix::fs::OFlags::NONBLOCK.bits() as i32);
    }
    let file = options.open(path)?;
    match file.metadata()?.is_file() {
        true => Ok(file),
        false => Err(io::Error::other("no regular file")),
    }
}

/// All bytes of a file. Fails where there are more than `bound`.
pub fn read_whole(path: &Path, bound: u64) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    let most = bound + 1;
    open_regular(path)?.take(most).read_to_end(&mut bytes)?;
    match bytes.len() as u64 > bound {
        true => Err(io::Error::other(format!(
            "longer than the {bound} bytes that are read of such a file"
        ))),
        false => Ok(bytes),
    }
}

/// As [`read_whole`], the bytes as text. Fails where they are not UTF-8.
pub fn read_whole_text(path: &Path, bound: u64) -> io::Result<String> {
    String::from_utf8(read_whole(path, bound)?)
        .map_err(|_| io::Error::other("it is not UTF-8: save it as UTF-8"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn err_settings_longer_than_the_bound_are_refused() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("long.toml");
        let file = File::create(&path).unwrap();
        file.set_len(SETTINGS_BYTES).unwrap();
        assert!(read_whole(&path, SETTINGS_BYTES).is_ok());
        // As much as a terabyte of nothing costs no more.
        file.set_len(1 << 40).unwrap();
        let refused = read_whole(&path, SETTINGS_BYTES).unwrap_err().to_string();
        assert_eq!(
            refused,
            "longer than the 4194304 bytes that are read of such a file"
        );
    }

    #[cfg(unix)]
    #[test]
    fn err_what_is_no_file_is_not_waited_for() {
        let folder = tempfile::tempdir().unwrap();
        let pipe = folder.path().join("pipe");
        let made = std::process::Command::new("mkfifo").arg(&pipe).status();
        assert!(made.unwrap().success());
        for path in [pipe.as_path(), folder.path(), Path::new("/dev/zero")] {
            let refused = open_regular(path).unwrap_err().to_string();
            assert_eq!(refused, "no regular file", "{}", path.display());
        }
    }
}
