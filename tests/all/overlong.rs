//! Rows of a text with more fields than headings.

use wellread::read::{Options, open_text};
use wellread::run::mapped;
use wellread::vocabulary::Vocabulary;

/// Addresses and texts of the results, and the findings of rows that are too long.
fn read(text: &str) -> (Vec<String>, Vec<String>) {
    let report = open_text(text, &"a.csv".into(), &Options::default());
    let extract = mapped(report, None, Vocabulary::built_in()).extract;
    assert!(extract.sheets[0].holds());
    let results = extract.measurements.iter();
    let results = results.map(|m| format!("{} {}", m.at, m.value_text));
    let findings = extract
        .findings
        .iter()
        .filter(|f| f.code == "line-overlong");
    let findings = findings.map(|f| format!("{} {}", f.place.cell.unwrap(), f.cells));
    (results.collect(), findings.collect())
}

#[test]
fn err_numbers_that_commas_have_split_are_not_placed() {
    let head = "Sample,Sampled,Ca mg/L,Cl mg/L\n";
    for (name, rows, results, findings) in [
        (
            "all of them",
            "W1,2026-05-01,7,5,30\nW2,2026-05-01,8,5,31\n",
            &[] as &[&str],
            &["E2 2"] as &[&str],
        ),
        (
            "all but whole ones",
            "W1,2026-05-01,7,5,30\nW2,2026-05-01,8,31\nW3,2026-05-01,9,32\n",
            &["C3 8", "D3 31", "C4 9", "D4 32"],
            &["E2 1"],
        ),
        (
            "a name",
            "Well 1, north,2026-05-01,7.5,30\nW2,2026-05-01,8.5,31\nW3,2026-05-01,9.5,32\n",
            &["C3 8.5", "D3 31", "C4 9.5", "D4 32"],
            &["E2 1"],
        ),
        (
            "quoted",
            "W1,2026-05-01,\"7,5\",30\nW2,2026-05-01,\"8,5\",31\n",
            &["C2 7,5", "D2 30", "C3 8,5", "D3 31"],
            &[],
        ),
        (
            "a column without a heading",
            "W1,2026-05-01,7.5,30,12\nW2,2026-05-01,8.5,31,13\n",
            &["C2 7.5", "D2 30", "C3 8.5", "D3 31"],
            &[],
        ),
        (
            "remarks without a heading",
            "W1,2026-05-01,7,30,clear\nW2,2026-05-01,8,31,clear\n",
            &["C2 7", "D2 30", "C3 8", "D3 31"],
            &[],
        ),
        (
            "separators at the end",
            "W1,2026-05-01,7,30,,\nW2,2026-05-01,8,31,,\n",
            &["C2 7", "D2 30", "C3 8", "D3 31"],
            &[],
        ),
    ] {
        let (found, told) = read(&format!("{head}{rows}"));
        assert_eq!((found, told), (own(results), own(findings)), "{name}");
    }
}

fn own(texts: &[&str]) -> Vec<String> {
    texts.iter().map(|text| (*text).to_owned()).collect()
}
