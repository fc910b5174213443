//! Reading real files: long texts in chunks, folders, hostile files.

#![allow(
    clippy::print_stderr,
    clippy::print_stdout,
    reason = "a test tells what it skipped"
)]

mod bounds;
mod corpus;
mod folders;

use proptest::prelude::*;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use wellread::read::{Grid, Opened, Options, discover, open};

fn open_with(path: &Path, options: &Options) -> Opened {
    let name: Arc<str> = path
        .file_name()
        .unwrap()
        .to_string_lossy()
        .into_owned()
        .into();
    open(path, &name, options)
}

fn rows_of(grid: &Grid) -> Vec<(u32, u32, String)> {
    grid.cells()
        .map(|(at, cell)| (at.row, at.col, cell.as_text().into_owned()))
        .collect()
}

/// All rows of a stream, chunk by chunk.
fn rows_of_stream(opened: &Opened) -> Vec<(u32, u32, String)> {
    let Opened::Stream(stream) = opened else {
        panic!("a stream is expected")
    };
    let mut rows = Vec::new();
    for index in 0..stream.chunks() {
        stream.chunk(index).unwrap().for_each_row(|row, fields| {
            for (col, field) in fields.iter().enumerate() {
                if !field.trim().is_empty() {
                    rows.push((row, col as u32, (*field).to_owned()));
                }
            }
        });
    }
    rows
}

fn write(name: &str, bytes: &[u8]) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(name);
    std::fs::write(&path, bytes).unwrap();
    (folder, path)
}

#[test]
fn a_long_text_in_chunks_is_the_text_read_whole() {
    let mut text = String::from("\u{feff}station;parameter;value\r\n\r\n");
    for i in 0..8_000 {
        let line = match i % 9 {
            0 => format!("\"W;{i}\";\"Ca \"\"hard\"\"\";{}\r\n", i % 400),
            1 => format!("\"two\r\nlines\";Mg;{i}\n"),
            2 => "\r\n".to_owned(),
            3 if i % 5 == 0 => format!("W{i};\"lost;{i}\r\n"),
            _ => format!("W{i};µg/L;{}\r\n", i % 77),
        };
        text.push_str(&line);
    }
    let utf_16 = |to_bytes: fn(u16) -> [u8; 2]| -> Vec<u8> {
        text.encode_utf16().flat_map(to_bytes).collect()
    };
    let little = utf_16(u16::to_le_bytes);
    in_chunks_as_whole(text.as_bytes());
    in_chunks_as_whole(&little);
    in_chunks_as_whole(&utf_16(u16::to_be_bytes));
    let without_mark = &little[2..];
    in_chunks_as_whole(without_mark);
}

fn in_chunks_as_whole(text: &[u8]) {
    let (_folder, path) = write("long.csv", text);
    let whole = open_with(&path, &Options::default());
    let options = Options {
        stream_above: 1000,
        chunk_bytes: 10_000,
        ..Options::default()
    };
    let stream = open_with(&path, &options);
    assert_eq!(
        rows_of(&whole.report().sheets[0].grid),
        rows_of_stream(&stream)
    );
    assert_eq!(whole.report().sha256, stream.report().sha256);
    assert_eq!(stream.report().delimiter, Some(';'));
    // The rows to decide from are rows of the text, at their true places.
    let whole_grid = &whole.report().sheets[0].grid;
    let sampled = &stream.report().sheets[0].grid;
    assert!(sampled.count() > 2_000);
    assert!(
        sampled
            .cells()
            .all(|(at, cell)| whole_grid.get(at) == Some(cell))
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn any_text_in_chunks_of_any_size_is_the_text_read_whole(
        text in "([ab1]{0,3}[;;\"\r\n]{0,2}){0,60}", chunk_bytes in 1usize..90
    ) {
        let (_folder, path) = write("any.csv", text.as_bytes());
        let options = Options { delimiter: Some(';'), ..Options::default() };
        let whole = open_with(&path, &options);
        let streamed = Options { stream_above: 0, chunk_bytes, ..options };
        let stream = open_with(&path, &streamed);
        if text.is_empty() { return Ok(()); }
        prop_assert_eq!(rows_of(&whole.report().sheets[0].grid), rows_of_stream(&stream));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// Halves of characters, and a last byte alone, among them.
    #[test]
    fn any_text_of_utf_16_in_chunks_is_the_text_read_whole(
        units in proptest::collection::vec(0..9_usize, 1..90), cut in 0..2_usize, chunk_bytes in 2_usize..90
    ) {
        let of = |unit: usize| [0x61, 0x3b, 0x22, 0x0d, 0x0a, 0xb5, 0x20ac, 0xd83d, 0xdca7_u16][unit];
        let mut bytes = b"\xff\xfe".to_vec();
        bytes.extend(units.into_iter().map(of).flat_map(u16::to_le_bytes));
        bytes.truncate(bytes.len() - cut);
        let (_folder, path) = write("any.csv", &bytes);
        let options = Options { delimiter: Some(';'), ..Options::default() };
        let whole = open_with(&path, &options);
        let streamed = Options { stream_above: 0, chunk_bytes, ..options };
        let stream = open_with(&path, &streamed);
        prop_assert_eq!(rows_of(&whole.report().sheets[0].grid), rows_of_stream(&stream));
    }
}

/// Real files of laboratories, where they are at hand: all are read, and every sheet has cells.
#[test]
fn real_files_are_read() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../shared/real");
    if !folder.is_dir() {
        eprintln!("skipped: no folder of real files at hand");
        return;
    }
    let found = discover(&[folder]);
    assert!(!found.files.is_empty());
    for file in &found.files {
        let opened = open(&file.path, &file.name, &Options::default());
        let report = opened.report();
        let cells: u64 = report.sheets.iter().map(|s| s.grid.count()).sum();
        assert!(!report.refused, "{}", report.file);
        assert!(cells > 0, "{}", report.file);
    }
}
