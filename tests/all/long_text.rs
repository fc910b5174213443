//! A text that is long enough to be read in pieces, through the whole program.

use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};
use wellread::run::{Request, Step, Summary, gather};

/// Rows of a text of 18 MB: with a long remark each they need no time.
const ROWS: usize = 9_000;

/// Rows behind which another table begins: in the second piece, among rows that the plan is not made from.
/// The pieces behind it are under way by then, and have to be taken again.
const FIRST_TABLE: usize = 2_500;

fn request(report: PathBuf, folder: &Path) -> Request {
    Request {
        paths: vec![report],
        into: folder.join("water"),
        csv: true,
        ..Request::default()
    }
}

fn gathered(text: &str, folder: &Path) -> Summary {
    let report = folder.join("long.csv");
    fs::write(&report, text).unwrap();
    gather(&request(report, folder), &|_| ()).unwrap()
}

#[test]
fn a_text_that_could_not_be_read_to_its_end_is_read_again() {
    let remark = "clear and cold ".repeat(135);
    let mut text = String::from("Sample,Sampled,Remark,Ca mg/L\n");
    for row in 0..ROWS {
        writeln!(text, "W{row},2026-05-01,{remark},{}.5", row % 90).unwrap();
    }
    let folder = tempfile::tempdir().unwrap();
    let report = folder.path().join("long.csv");
    fs::write(&report, &text).unwrap();
    let request = request(report.clone(), folder.path());
    let summary = gather(&request, &|step| {
        // It is opened, and none of its pieces taken.
        if matches!(step, Step::Read { .. }) {
            fs::write(&report, "gone").unwrap();
        }
    })
    .unwrap();
    let codes: Vec<&str> = summary.groups.iter().map(|g| &*g.code).collect();
    assert_eq!((summary.results, codes), (0, vec!["file-changed"]));
    // The bytes are those whose digest was taken when it was opened.
    fs::write(&report, &text).unwrap();
    let summary = gather(&request, &|_| ()).unwrap();
    assert_eq!((summary.reports_read, summary.results), (1, ROWS as u64));
}

#[test]
fn nothing_behind_the_headings_of_another_table_is_placed() {
    let remark = "clear and cold ".repeat(135);
    let mut text = String::from("Sample,Sampled,Remark,Ca mg/L,Mg mg/L\n");
    for row in 0..ROWS {
        if row == FIRST_TABLE {
            text += "Sample,Sampled,Remark,Cl mg/L,Na mg/L\n";
        }
        writeln!(text, "W{row},2026-05-01,{remark},{}.5,7", row % 90).unwrap();
    }
    assert!(text.len() > 17 << 20, "as short as this it is read whole");
    let folder = tempfile::tempdir().unwrap();
    let summary = gathered(&text, folder.path());
    assert_eq!(summary.results, 2 * FIRST_TABLE as u64);
    assert_eq!(summary.cells, 5 * (ROWS as u64 + 2));
    let results = fs::read_to_string(folder.path().join("water/results.csv")).unwrap();
    let rows = csv::Reader::from_reader(results.as_bytes())
        .records()
        .map(Result::unwrap)
        .filter(|row| {
            row.iter()
                .any(|field| field.starts_with(&format!("W{FIRST_TABLE}")))
        })
        .count();
    assert_eq!(rows, 0, "rows of the sample directly behind the headings");
}

#[test]
fn lines_of_another_delimiter_are_told_wherever_they_stand() {
    const OTHER: std::ops::Range<usize> = 4_000..4_003;
    let remark = "clear and cold ".repeat(135);
    let mut text = String::from("Sample,Sampled,Remark,Ca mg/L\n");
    for row in 0..ROWS {
        let line = format!("W{row},2026-05-01,{remark},{}.5", row % 90);
        let is_other = OTHER.contains(&row);
        text += &if is_other {
            line.replace(',', ";")
        } else {
            line
        };
        text.push('\n');
    }
    let folder = tempfile::tempdir().unwrap();
    let summary = gathered(&text, folder.path());
    assert_eq!(summary.results, (ROWS - OTHER.len()) as u64);
    let found = fs::read_to_string(folder.path().join("water/findings.csv")).unwrap();
    let told = found
        .lines()
        .find(|line| line.contains("delimiter-changes"));
    let told = told.unwrap();
    assert!(
        told.contains("3 lines are parted by another sign"),
        "{told}"
    );
    assert!(told.contains(",A4002,"), "{told}");
}
