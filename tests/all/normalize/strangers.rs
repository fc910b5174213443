//! Lines of a long text that its plan was not made from: what is no sample must not become one, wherever
//! it stands.

use super::*;
use std::path::Path;
use wellread::normalize::{Standing, TextRunner};
use wellread::read::{Opened, Options, TextStream, open};

/// Rows of the texts below; the odd lines stand behind row `ODD`, among rows that are not shown.
const ROWS: usize = 1_500;
const ODD: usize = 1_000;

fn stream(path: &Path) -> TextStream {
    let options = Options {
        stream_above: 1_000,
        chunk_bytes: 20_000,
        ..Options::default()
    };
    match open(path, &"long.csv".into(), &options) {
        Opened::Stream(stream) => stream,
        Opened::Whole(report) => panic!("a stream is expected: {:?}", report.findings),
    }
}

/// What the text gives, chunk by chunk, and whether all of it stood before another table.
fn gathered(text: &str) -> Vec<Extract> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("long.csv");
    std::fs::write(&path, text).unwrap();
    let stream = stream(&path);
    let vocabulary = Vocabulary::built_in();
    let plan = wellread::map::plan(stream.report(), vocabulary, None);
    let shown = &stream.report().sheets[0].grid;
    assert!(
        (ODD..ODD + 8).all(|row| shown.row(row as u32).is_empty()),
        "the odd lines are not among those shown"
    );
    let mut standing = Standing {
        is_first: true,
        after_other_table: false,
    };
    let runner = TextRunner::new(stream.report(), &plan, vocabulary);
    let mut extracts = Vec::new();
    for index in 0..stream.chunks() {
        let chunk = stream.chunk(index).unwrap();
        let part = runner.run(standing, |take| {
            chunk.for_each_row(take);
        });
        standing = Standing {
            is_first: false,
            after_other_table: part.other_table,
        };
        assert!(part.extract.sheets[0].holds());
        extracts.push(part.extract);
    }
    extracts
}

/// A text of `ROWS` rows: the heading, rows made by `row`, and the odd lines in their midst.
fn text(heading: &str, odd: &[&str], row: impl Fn(usize) -> String) -> String {
    let mut lines = vec![heading.to_owned()];
    for i in 1..ROWS {
        match i.checked_sub(ODD).and_then(|at| odd.get(at)) {
            Some(line) => lines.push((*line).to_owned()),
            None => lines.push(row(i)),
        }
    }
    lines.join("\n") + "\n"
}

fn down(odd: &[&str]) -> String {
    text("Sample;Sampled;Remark;Ca mg/L;Mg mg/L;Cl mg/L", odd, |i| {
        format!(
            "S-{i:05};2026-05-{:02};;{}.5;{};<1",
            i % 28 + 1,
            i % 90,
            i % 30
        )
    })
}

fn long(odd: &[&str]) -> String {
    text("Lab no.;Sample;Type;Parameter;Result;Unit", odd, |i| {
        let label = ["Calcium", "Magnesium", "Chloride"][i % 3];
        format!("26-{:05};S-{:04};;{label};{}.5;mg/L", i / 3, i / 3, i % 90)
    })
}

/// What each of `count` rows from `ODD` on became: results, the reason of its cells, or `aside` for
/// headings and what is set aside.
fn became(extracts: &[Extract], count: usize) -> Vec<String> {
    (ODD..ODD + count)
        .map(|row| {
            let on_row = |at: Address| at.row as usize == row;
            let results = extracts
                .iter()
                .flat_map(|e| &e.measurements)
                .filter(|m| on_row(m.at))
                .count();
            let reasons: std::collections::BTreeSet<&str> = extracts
                .iter()
                .flat_map(|e| &e.unplaced)
                .filter(|u| on_row(u.at))
                .map(|u| &*u.reason)
                .collect();
            match (results, reasons.into_iter().collect::<Vec<_>>().join(",")) {
                (0, reasons) if reasons.is_empty() => "aside".to_owned(),
                (0, reasons) => reasons,
                (n, reasons) if reasons.is_empty() => format!("{n} results"),
                (n, reasons) => format!("{n} results, {reasons}"),
            }
        })
        .collect()
}

fn last_result(extracts: &[Extract]) -> usize {
    let rows = extracts.iter().flat_map(|e| &e.measurements);
    rows.map(|m| m.at.row as usize).max().unwrap()
}

#[test]
fn lines_that_are_no_samples_become_none() {
    for (line, expected) in [
        ("S-99999;2026-05-03;;7.5;3;<1", "3 results"),
        ("Mean;;;50;15;20", "statistic"),
        ("Std. Dev.;;;5;1;2", "statistic"),
        ("Max;;;99.5;29;40", "aside"),
        ("n;;;999;999;999", "statistic"),
        ("Method blank;2026-05-03;;0.1;0.1;<1", "quality-control"),
        ("Standard 5 ppm;2026-05-03;;5.1;4.9;5.0", "quality-control"),
        ("S-00999 MS;2026-05-03;;55;44;50", "quality-control"),
        (
            "S-99998;2026-05-03;Field blank;0.1;0.1;<1",
            "quality-control",
        ),
        ("LOQ;;;0.5;0.1;1", "limit-line"),
        ("Guideline;;;100;50;250", "aside"),
        (";;;150;45;60", "line-nameless"),
        ("Sample;Sampled;Remark;Ca mg/L;Mg mg/L;Cl mg/L", "aside"),
        ("SAMPLE;Sampled;Remark; Ca  mg/L;Mg mg/L;Cl mg/L", "aside"),
        (
            "* values below the limit are estimates;;;;;",
            "line-without-values",
        ),
        ("pH;;;7.2;;", "outside-tables"),
    ] {
        let extracts = gathered(&down(&["S-00999;2026-05-03;;7.5;3;<1", line]));
        assert_eq!(became(&extracts, 2), ["3 results", expected], "{line}");
        assert_eq!(last_result(&extracts), ROWS - 1, "{line}");
    }
}

#[test]
fn rows_that_are_no_results_become_none() {
    for (line, expected) in [
        ("26-99999;S-9999;;Chloride;7.5;mg/L", "1 results"),
        ("26-99999;S-9999;;Chloride;n.d.;mg/L", "1 results"),
        (
            "26-99999;Method Blank;;Chloride;0.1;mg/L",
            "quality-control",
        ),
        ("26-99999;LCS;;Chloride;25.1;mg/L", "quality-control"),
        (";Mean;;Chloride;25.1;mg/L", "statistic"),
        ("Lab no.;Sample;Type;Parameter;Result;Unit", "aside"),
    ] {
        // Twice: the second line is known by its names.
        let extracts = gathered(&long(&[line, line]));
        assert_eq!(became(&extracts, 2), [expected, expected], "{line}");
        assert_eq!(last_result(&extracts), ROWS - 1, "{line}");
    }
}

#[test]
fn err_another_table_further_down_is_not_read_by_the_first_headings() {
    let after = "T-1;2026-05-03;;7.5;3;2";
    for heading in [
        "Sample;Sampled;Remark;Na mg/L;K mg/L;SO4 mg/L",
        "Sample;Sampled;Remark;Ca µg/L;Mg µg/L;Cl µg/L",
        "Ref;Date;Remark;Mg mg/L;Ca mg/L;Cl mg/L",
        ";;;µg/L;µg/L;µg/L",
        "Parameter;Unit;;T-1;T-2;T-3",
        "Major ions in µg/L",
        // The samples of another client.
        "Client: Birch",
        "Client:;Birch",
    ] {
        let extracts = gathered(&down(&[heading, after]));
        assert_eq!(
            became(&extracts, 3),
            ["other-table", "other-table", "other-table"],
            "{heading}"
        );
        assert_eq!(last_result(&extracts), ODD - 1, "{heading}");
        let told: Vec<&str> = extracts
            .iter()
            .flat_map(|e| &e.findings)
            .filter(|f| f.code == "other-table")
            .map(|f| &*f.message)
            .collect();
        assert_eq!(
            told,
            [
                "other headings begin here: nothing below is placed by the headings of the first table"
            ],
            "{heading}"
        );
    }
    let extracts = gathered(&long(&[
        "Lab no.;Sample;Type;Parameter;Limit;Result",
        "26-99999;S-9999;;Chloride;250;7.5",
    ]));
    assert_eq!(became(&extracts, 2), ["other-table", "other-table"]);
    assert_eq!(last_result(&extracts), ODD - 1);
    let extracts = gathered(&long(&[
        "Client: Birch",
        "26-99999;S-9999;;Chloride;250;7.5",
    ]));
    assert_eq!(became(&extracts, 2), ["other-table", "other-table"]);
}

/// Between two of the rows that are seen before a long text is read, another sample can begin.
#[test]
fn err_samples_under_names_of_their_own_are_not_read_from_a_long_text() {
    let block =
        |i| format!("Sample: S{i}\nParameter,Result,Unit\nChloride,{i},mg/L\nSodium,{i},mg/L\n");
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("long.csv");
    std::fs::write(&path, (0..ROWS).map(block).collect::<String>()).unwrap();
    let plan = wellread::map::plan(stream(&path).report(), Vocabulary::built_in(), None);
    let codes: Vec<&str> = plan.findings.iter().map(|f| &*f.code).collect();
    assert_eq!(codes, ["samples-one-by-one"]);
    assert!(plan.sheets[0].blocks.is_empty());
}
