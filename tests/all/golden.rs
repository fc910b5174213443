//! The scenario end to end: `samples/` gathered with `mappings/`, held against the truth that
//! `samples/make.py` wrote from its own figures, and against the five tables as they were last read
//! by a person (`WELLREAD_BLESS=1` writes them anew; read the difference before it is committed).

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use wellread::run::{self, Request};

const TABLES: [&str; 5] = ["results", "samples", "findings", "unplaced", "account"];

type Row = BTreeMap<String, String>;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn rows(path: &Path) -> Vec<Row> {
    let mut reader = csv::Reader::from_path(path).unwrap();
    reader.deserialize().map(Result::unwrap).collect()
}

fn gather(paths: &[&Path], into: &Path) -> run::Summary {
    let request = Request {
        paths: paths.iter().map(PathBuf::from).collect(),
        into: into.to_path_buf(),
        mappings: Some(root().join("mappings")),
        dry_run: false,
        csv: true,
        wait: false,
        much_memory: None,
        partition: None,
    };
    run::gather(&request, &|_| {}).unwrap()
}

/// Where a result stands.
fn place(row: &Row) -> (String, String, String) {
    (
        row["file"].clone(),
        row["sheet"].clone(),
        row["cell"].clone(),
    )
}

/// What differs between a result and the truth about its cell; empty where nothing does.
fn difference(truth: &Row, got: &Row) -> String {
    let mut all = Vec::new();
    for column in ["analyte", "unit", "censored", "sample_ref", "sampled_on"] {
        if truth[column] != got[column] {
            all.push(format!(
                "{column} '{}', not '{}'",
                got[column], truth[column]
            ));
        }
    }
    let number = |row: &Row| row["value"].parse::<f64>().ok();
    let same = match (number(truth), number(got)) {
        // The two ways of computing may differ in the last digits, no more.
        (Some(a), Some(b)) => (a - b).abs() <= 1e-9 * a.abs(),
        (a, b) => a == b,
    };
    if !same {
        all.push(format!(
            "value '{}', not '{}'",
            got["value"], truth["value"]
        ));
    }
    all.join(", ")
}

#[test]
fn every_result_of_the_samples_is_what_their_maker_wrote() {
    let into = tempfile::tempdir().unwrap();
    gather(&[&root().join("samples")], &into.path().join("water"));
    let results = rows(&into.path().join("water/results.csv"));
    let mut got: BTreeMap<_, _> = results.iter().map(|row| (place(row), row)).collect();
    assert_eq!(got.len(), results.len(), "one result a cell");
    let mut wrong = Vec::new();
    for truth in rows(&root().join("tests/golden/expected.csv")) {
        let at = place(&truth);
        match got.remove(&at) {
            None => wrong.push(format!("{at:?}: {} is missing", truth["analyte"])),
            Some(row) => {
                let what = difference(&truth, row);
                if !what.is_empty() {
                    wrong.push(format!("{at:?}: {what}"));
                }
            }
        }
    }
    let extra = got
        .iter()
        .map(|(at, row)| format!("{at:?}: {} {} is extra", row["analyte"], row["value"]));
    wrong.extend(extra);
    assert!(
        wrong.is_empty(),
        "{} differ:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

#[test]
fn the_tables_of_the_samples_are_as_they_were_read() {
    let into = tempfile::tempdir().unwrap();
    gather(&[&root().join("samples")], &into.path().join("water"));
    let mut changed = Vec::new();
    for table in TABLES {
        let name = format!("{table}.csv");
        let now = fs::read(into.path().join("water").join(&name)).unwrap();
        let golden = root().join("tests/golden").join(&name);
        if std::env::var_os("WELLREAD_BLESS").is_some() {
            fs::write(&golden, &now).unwrap();
        }
        let before = fs::read(&golden).unwrap();
        if let Some(line) = first_difference(&before, &now) {
            changed.push(format!("{name}: {line}"));
        }
    }
    assert!(
        changed.is_empty(),
        "changed; WELLREAD_BLESS=1 writes them anew:\n{}",
        changed.join("\n")
    );
}

/// `None` when both are the same bytes.
fn first_difference(before: &[u8], now: &[u8]) -> Option<String> {
    if before == now {
        return None;
    }
    let (before, now) = (
        String::from_utf8_lossy(before),
        String::from_utf8_lossy(now),
    );
    let (mut a, mut b) = (before.lines(), now.lines());
    for number in 1.. {
        match (a.next(), b.next()) {
            (Some(x), Some(y)) if x == y => {}
            (None, None) => return Some("line ends differ".into()),
            (x, y) => {
                let shown = |line: Option<&str>| line.map_or("(no line)".into(), str::to_owned);
                return Some(format!("line {number}\n- {}\n+ {}", shown(x), shown(y)));
            }
        }
    }
    None
}

#[test]
fn the_planted_trouble_is_named() {
    let into = tempfile::tempdir().unwrap();
    gather(&[&root().join("samples")], &into.path().join("water"));
    let findings = rows(&into.path().join("water/findings.csv"));
    let unplaced = rows(&into.path().join("water/unplaced.csv"));
    let found = |file: &str, cell: &str| {
        findings
            .iter()
            .any(|f| f["file"] == file && (f["cell"] == cell || f["message"].contains(cell)))
    };
    // The cell that cannot be read costs one cell, and is kept.
    for file in ["brackenmoor-2026.xlsx", "brackenmoor-2026-reissue.xlsx"] {
        let kept = unplaced
            .iter()
            .any(|u| u["file"] == file && u["cell"] == "G22" && u["text"] == "O.l7");
        assert!(kept, "{file}: the unreadable cell is kept");
        assert!(found(file, "G22"), "{file}: the unreadable cell is told");
    }
    // The corrected value of the re-issued report, the exchanged pair.
    let told = |code: &str, file: &str| {
        findings
            .iter()
            .any(|f| f["code"] == code && f["file"] == file)
    };
    assert!(told("results-disagree", "brackenmoor-2026-reissue.xlsx"));
    assert!(told("values-exchanged", "hohenquell-2026.xls"));
    // The column that nobody knows.
    let unknown: Vec<_> = unplaced
        .iter()
        .filter(|u| u["file"] == "hohenquell-2025.csv" && u["cell"].starts_with('R'))
        .map(|u| u["reason"].as_str())
        .collect();
    assert_eq!(unknown.len(), 4, "the four numbers of 'Glanzzahl'");
    assert!(unknown.iter().all(|reason| *reason == "analyte-unknown"));
}
