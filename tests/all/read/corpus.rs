//! One small odd file for each way in which a report can crash, hang, lie or lose, with what is
//! expected of it. The files are made by tests/corpus/make.py.

#![allow(
    clippy::print_stderr,
    clippy::print_stdout,
    reason = "a test tells what it skipped"
)]

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use wellread::finding::Finding;
use wellread::read::{Encoding, Opened, Options, Shown, Value, discover, open};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/corpus")
}

fn read(name: &str, options: &Options) -> Opened {
    open(&folder().join(name), &name.into(), options)
}

/// Findings as `code place: message`, the file's own name left away.
fn findings(name: &str, opened: &Opened) -> Vec<String> {
    let told = |f: &Finding| {
        let place = f.place.to_string();
        let place = place.strip_prefix(name).unwrap().trim_start_matches(": ");
        let colon = if place.is_empty() { "" } else { ": " };
        format!("{} {place}{colon}{}", f.code, f.message)
    };
    opened.report().findings.iter().map(told).collect()
}

/// Cells as `A1 text`, with how they are shown where that is more; sheets after the first as `[name]`.
fn cells(opened: &Opened) -> Vec<String> {
    let mut all = Vec::new();
    for (index, sheet) in opened.report().sheets.iter().enumerate() {
        if index > 0 || sheet.hidden {
            let hidden = if sheet.hidden { " hidden" } else { "" };
            all.push(format!("[{}{hidden}]", sheet.name));
        }
        for (at, cell) in sheet.grid.cells() {
            let kind = match &cell.value {
                Value::Text(_) => "",
                Value::Number(_) => "=",
                Value::Date { .. } => "@",
                Value::Bool(_) => "?",
                Value::Error(_) => "!",
                Value::Uncalculated => "~",
            };
            let shown = match &cell.shown {
                Shown::Plain => String::new(),
                shown => format!(" {shown:?}"),
            };
            let text: String = cell.as_text().chars().take(40).collect();
            all.push(format!("{at}{kind} {text}{shown}"));
        }
    }
    all
}

include!("corpus_table.rs");

#[test]
fn odd_files_are_read_as_expected() {
    for (name, expected_findings, expected_cells) in TABLE {
        let opened = read(name, &Options::default());
        assert_eq!(findings(name, &opened), *expected_findings, "{name}");
        assert_eq!(cells(&opened), *expected_cells, "{name}");
    }
}

#[test]
fn every_odd_file_has_its_line() {
    let named: BTreeSet<&str> = TABLE.iter().map(|(name, ..)| *name).collect();
    assert_eq!(named.len(), TABLE.len());
    let there: BTreeSet<String> = std::fs::read_dir(folder())
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .filter(|n| n != "make.py")
        .collect();
    assert_eq!(
        there.iter().map(String::as_str).collect::<BTreeSet<_>>(),
        named
    );
}

/// The table anew, after a change that was meant: read the difference before you commit it.
/// `cargo test --test all table_anew -- --ignored --nocapture`
#[test]
#[ignore = "prints, checks nothing"]
fn table_anew() {
    for file in discover(&[folder()]).files {
        let opened = read(&file.name, &Options::default());
        let (name, findings) = (&*file.name, findings(&file.name, &opened));
        println!("    ({name:?}, &{findings:?}, &{:?}),", cells(&opened));
    }
}

#[test]
fn a_mapping_settles_the_encoding() {
    let options = Options {
        encoding: Encoding::parse("cp850"),
        ..Options::default()
    };
    let opened = read("cp850-mu.csv", &options);
    assert_eq!(findings("cp850-mu.csv", &opened), [""; 0]);
    assert_eq!(cells(&opened)[1..3], ["B1 µg/L", "C1 °C"]);
}

#[test]
fn a_mapping_settles_the_delimiter() {
    let options = Options {
        delimiter: Some(','),
        ..Options::default()
    };
    assert_eq!(
        cells(&read("semicolons-decimal-commas.csv", &options))[1..3],
        ["A2 Well 1;7", "B2 5;80"]
    );
}
