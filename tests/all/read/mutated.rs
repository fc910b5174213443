//! Workbooks and texts of the corpus with bytes changed: whatever comes, reading ends, with cells
//! or with findings, never with a panic. The parts of a package are changed unpacked, so that the
//! changes reach the readers and not only the unpacking.

use std::io::{Cursor, Read, Write};
use std::path::{Path, PathBuf};
use wellread::read::{Options, open};

/// Small numbers in a row that looks random; the same in every run.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % sides as u64) as usize
    }

    fn change(&mut self, bytes: &mut Vec<u8>) {
        const ODD: [&[u8]; 8] = [
            b"\xff\xff\xff\xff",
            b"\0\0\0\0",
            b"999999999",
            b"-1",
            b"<",
            b"\"",
            b"\x80\x80",
            b"A0",
        ];
        for _ in 0..=self.roll(3) {
            if bytes.is_empty() {
                return;
            }
            let at = self.roll(bytes.len());
            match self.roll(4) {
                0 => bytes[at] = self.roll(256) as u8,
                1 => bytes.truncate(at.max(bytes.len() / 2)),
                2 => {
                    let end = (at + self.roll(20)).min(bytes.len());
                    bytes.drain(at..end);
                }
                _ => {
                    let odd = ODD[self.roll(ODD.len())];
                    let end = (at + odd.len()).min(bytes.len());
                    bytes.splice(at..end, odd.iter().copied());
                }
            }
        }
    }
}

/// The parts of a zip; `None` when it is none.
fn unpack(bytes: &[u8]) -> Option<Vec<(String, Vec<u8>)>> {
    let mut package = zip::ZipArchive::new(Cursor::new(bytes)).ok()?;
    let mut parts = Vec::new();
    for index in 0..package.len() {
        let mut part = package.by_index(index).ok()?;
        let name = part.name().ok()?.into_owned();
        let mut content = Vec::new();
        part.read_to_end(&mut content).ok()?;
        parts.push((name, content));
    }
    Some(parts)
}

fn pack(parts: &[(String, Vec<u8>)]) -> Vec<u8> {
    let mut package = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let stored =
        zip::write::SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    for (name, content) in parts {
        package.start_file(name.as_str(), stored).unwrap();
        package.write_all(content).unwrap();
    }
    package.finish().unwrap().into_inner()
}

fn corpus() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/corpus");
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().path())
        .collect();
    files.retain(|f| {
        let name = f.file_name().unwrap().to_string_lossy().into_owned();
        !name.starts_with("bomb") && !name.starts_with("long-cell") && name != "make.py"
    });
    files.sort();
    files
}

/// Reads each file of the corpus so many times, each time changed otherwise.
fn read_changed(times: usize) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("changed");
    let mut dice = Dice(0x9e37_79b9_7f4a_7c15);
    for file in corpus() {
        let bytes = std::fs::read(&file).unwrap();
        let parts = unpack(&bytes);
        for time in 0..times {
            let changed = match &parts {
                Some(parts) if time % 4 != 0 && !parts.is_empty() => {
                    let mut parts = parts.clone();
                    let at = dice.roll(parts.len());
                    dice.change(&mut parts[at].1);
                    pack(&parts)
                }
                _ => {
                    let mut bytes = bytes.clone();
                    dice.change(&mut bytes);
                    bytes
                }
            };
            std::fs::write(&path, &changed).unwrap();
            let opened = open(&path, &"changed".into(), &Options::default());
            let report = opened.report();
            let cells: u64 = report.sheets.iter().map(|s| s.grid.count()).sum();
            let told = report.findings.len();
            assert!(
                cells > 0 || told > 0,
                "{} changed: nothing read and nothing told",
                file.display()
            );
            assert!(!report.refused || cells == 0, "{}", file.display());
        }
    }
}

#[test]
fn changed_files_are_read_or_refused() {
    read_changed(12);
}

#[test]
#[ignore = "some minutes: 200,000 files"]
fn very_many_changed_files_are_read_or_refused() {
    read_changed(2_200);
}
