//! A long text in parts gives what it gives as a whole.

use super::*;
use wellread::normalize::{PartOfText, Standing, TextRunner};

fn rows() -> Vec<String> {
    let mut rows = vec!["lab no. | parameter | value | unit | sampled".to_owned()];
    for i in 0..40 {
        let (label, unit) = [("Calcium", "mg/L"), ("Iron", "µg/L"), ("Frobnium", "mg/L")][i % 3];
        let value = ["12.5", "<0.5", "0", "n.n.", "x"][i % 5];
        rows.push(format!(
            "26-{} | {label} | {value} | {unit} | 2026-05-{:02}",
            i / 4,
            i / 4 + 1
        ));
    }
    rows
}

fn long_plan() -> Plan {
    plan(vec![block(
        Layout::ResultsDown,
        1,
        u32::MAX,
        5,
        vec![
            field(0, Field::LabRef),
            field(1, Field::Label),
            field(2, Field::Value),
            field(3, Field::Unit),
            field(4, Field::SampledOn),
        ],
    )])
}

/// Address, value and sample of each result.
fn drawn(extract: &Extract) -> Vec<(Address, Option<f64>, String)> {
    extract
        .measurements
        .iter()
        .map(|m| (m.at, m.value, extract.sample(m.sample).key.to_string()))
        .collect()
}

/// The rows of a part, the first of which is row `first` of the text.
fn part(runner: &TextRunner<'_>, is_first: bool, first: usize, rows: &[String]) -> PartOfText {
    let standing = Standing {
        is_first,
        ..Standing::default()
    };
    runner.run(standing, |take| {
        for (i, row) in rows.iter().enumerate() {
            let fields: Vec<&str> = row.split('|').map(str::trim).collect();
            take((first + i) as u32, &fields);
        }
    })
}

#[test]
fn parts_give_what_the_whole_gives() {
    let rows = rows();
    let texts: Vec<&str> = rows.iter().map(String::as_str).collect();
    let report = report(vec![("", grid(&texts))]);
    let plan = long_plan();
    let whole = normalized(&report, &plan);
    let runner = TextRunner::new(&report, &plan, Vocabulary::built_in());
    let mut parts = Vec::new();
    for (index, chunk) in rows.chunks(7).enumerate() {
        let first = index * 7;
        parts.push(part(&runner, index == 0, first, chunk).extract);
    }
    assert_eq!(
        parts.iter().flat_map(drawn).collect::<Vec<_>>(),
        drawn(&whole)
    );
    assert!(parts.iter().all(|part| part.sheets[0].holds()));
    let cells: u64 = parts.iter().map(|part| part.sheets[0].cells).sum();
    assert_eq!(cells, whole.sheets[0].cells);
    let unplaced: Vec<_> = parts
        .iter()
        .flat_map(|part| part.unplaced.clone())
        .collect();
    assert_eq!(unplaced, whole.unplaced);
    // The same causes. Results that contradict each other across parts are seen by the checks only.
    let tally = |extracts: &[&Extract]| {
        let mut cells: BTreeMap<(String, Option<Arc<str>>), u64> = BTreeMap::new();
        let findings = extracts.iter().flat_map(|extract| &extract.findings);
        for finding in findings.filter(|finding| finding.cause.is_some()) {
            *cells
                .entry((finding.code.to_string(), finding.cause.clone()))
                .or_default() += finding.cells;
        }
        cells
    };
    let told: Vec<_> = tally(&[&whole]).into_keys().collect();
    assert_eq!(
        tally(&parts.iter().collect::<Vec<_>>())
            .into_keys()
            .collect::<Vec<_>>(),
        told
    );
    assert!(told.iter().any(|(code, _)| code == "analyte-unknown"));
}
