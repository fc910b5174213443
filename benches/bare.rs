//! The yardstick of many small reports: every file opened and its cells walked with `calamine` and
//! `csv` on all processors, nothing else. `gather` may take at most 1.5 times as long.
//!
//! Usage: `cargo bench --bench bare -- FOLDER`. Run without a folder (as `cargo bench` does) it does
//! nothing.
#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "a yardstick, not part of the program"
)]

use calamine::{DataRef, Reader, ReaderRef, Xlsx, open_workbook};
use rayon::prelude::*;
use std::fs::File;
use std::io::BufReader;
use std::path::{Path, PathBuf};

fn main() {
    let Some(folder) = std::env::args().skip(1).find(|a| !a.starts_with("--")) else {
        return;
    };
    let files: Vec<PathBuf> = walkdir::WalkDir::new(folder)
        .into_iter()
        .map(Result::unwrap)
        .filter(|e| e.file_type().is_file())
        .map(walkdir::DirEntry::into_path)
        .collect();
    let cells: u64 = files.par_iter().map(|path| walk(path)).sum();
    println!("{} files, {cells} cells", files.len());
}

fn walk(path: &Path) -> u64 {
    if path.extension().is_some_and(|e| e == "xlsx") {
        workbook(path)
    } else {
        text(path)
    }
}

fn workbook(path: &Path) -> u64 {
    let mut book: Xlsx<BufReader<File>> = open_workbook(path).unwrap();
    let mut cells = 0;
    for name in book.sheet_names() {
        let range = book.worksheet_range_ref(&name).unwrap();
        cells += range
            .used_cells()
            .filter(|(_, _, cell)| !matches!(cell, DataRef::Empty))
            .count() as u64;
    }
    cells
}

fn text(path: &Path) -> u64 {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(b';')
        .from_path(path)
        .unwrap();
    let mut record = csv::ByteRecord::new();
    let mut cells = 0;
    while reader.read_byte_record(&mut record).unwrap() {
        cells += record.iter().filter(|field| !field.is_empty()).count() as u64;
    }
    cells
}
