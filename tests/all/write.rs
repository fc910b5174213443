//! The writer: what is pushed comes out in the tables, whole, in one order, the same bytes each time.

mod faults;
mod growth;
mod partitions;
mod parts;
mod tables;

use jiff::civil::{Date, date};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;
use wellread::check::{Limits, Rows, Samples};
use wellread::finding::{Finding, Severity};
use wellread::place::{Address, Place};
use wellread::record::{
    Censored, Extract, Measurement, Origin, Recipe, RecipeId, Sample, SampleId, SheetAccount,
    Unplaced,
};
use wellread::vocabulary::{Fraction, Vocabulary};
use wellread::write::{Dataset, Options, Sink, Staged, Wait, Words, Written};

const ASSUMED: &str = "basis-assumed";

fn words() -> Words<'static> {
    Words {
        vocabulary: Vocabulary::built_in(),
        assumptions: &[ASSUMED],
        made_anew: &["charge-imbalance"],
    }
}

fn options(csv: bool) -> Options {
    Options {
        csv,
        partition: None,
        fingerprint: "words of 2026".into(),
    }
}

fn text(text: &str) -> Option<Arc<str>> {
    Some(text.into())
}

fn recipe(code: &str, label: &str) -> Recipe {
    Recipe {
        analyte: Vocabulary::built_in().find(code).unwrap(),
        fraction: None,
        factor: Some(1.0),
        label_text: text(label),
        unit_text: text("mg/l"),
        basis_text: None,
        unit_from: Origin::Heading,
        assumption: None,
    }
}

fn sample(key: &str, day: Option<Date>) -> Sample {
    Sample {
        key: key.into(),
        client: text("Thistledown Nursery"),
        source: text("Borehole 2"),
        sample_ref: text(&format!("T-{key}")),
        lab: text("Fennmoor Laboratory"),
        sampled_on: day,
        ..Sample::default()
    }
}

/// Two sheets, five results of three samples, in every form that a column can take: censored three
/// ways, fractions, a factor that does not round, an assumed basis, dates, places, odd texts.
fn report(file: &str) -> Extract {
    let recipes = vec![
        Recipe {
            fraction: Some(Fraction::Dissolved),
            ..recipe("calcium", "Ca")
        },
        Recipe {
            factor: Some(0.1 + 0.2),
            basis_text: text("as N"),
            unit_from: Origin::Assumed,
            assumption: Some(ASSUMED),
            ..recipe("nitrate", "Nitrat, \"NO3\"\n(als N)")
        },
        Recipe {
            factor: None,
            label_text: None,
            unit_text: None,
            unit_from: Origin::Cell,
            fraction: Some(Fraction::Total),
            ..recipe("sodium", "")
        },
    ];
    let samples = vec![
        Sample {
            latitude: Some(-52.125),
            longitude: Some(0.0),
            region: text("=Fennmoor"),
            reported_on: Some(date(2026, 2, 9)),
            received_on: Some(date(1969, 12, 31)),
            ..sample(&format!("{file}-1"), Some(date(2026, 2, 3)))
        },
        sample(&format!("{file}-2"), None),
        Sample {
            client: None,
            site: text("Üstra µ"),
            source_kind: text("borehole"),
            lab_ref: text("007"),
            ..sample("shared", Some(date(2025, 6, 30)))
        },
    ];
    let result = |sample, recipe, value, censored, value_text: &str, sheet, row, col| Measurement {
        sample: SampleId(sample),
        recipe: RecipeId(recipe),
        value,
        censored,
        value_text: value_text.into(),
        sheet,
        at: Address::new(row, col),
    };
    let measurements = vec![
        result(0, 0, Some(101.0), None, "101", 0, 4, 2),
        result(0, 1, Some(0.05), Some(Censored::Below), "<0,05", 0, 4, 3),
        result(1, 1, None, Some(Censored::Absent), "n.n.", 0, 5, 3),
        result(1, 2, Some(1e-9), Some(Censored::Above), ">1e-9", 0, 5, 30),
        result(2, 2, Some(12.3), None, "=12.3", 1, 999_999, 0),
    ];
    let place = |row, col| Place::cell(&file.into(), &"Wässer".into(), Address::new(row, col));
    Extract {
        file: file.into(),
        sha256: format!("{:0>64}", file.len()).into(),
        sheets: vec![
            SheetAccount {
                sheet: "Wässer".into(),
                mapping: "fennmoor".into(),
                cells: 17,
                results: 4,
                identity: 3,
                headings: 6,
                set_aside: 2,
                unplaced: 2,
            },
            SheetAccount {
                sheet: "".into(),
                mapping: "recognised".into(),
                cells: 1,
                results: 1,
                ..SheetAccount::default()
            },
        ],
        recipes,
        samples,
        measurements,
        findings: vec![
            Finding::new(
                Severity::Warning,
                ASSUMED,
                place(3, 3),
                "taken as N",
                "say so",
            )
            .of_analyte("nitrate")
            .for_cells(2),
            Finding::new(
                Severity::Error,
                "value-unreadable",
                place(6, 2),
                "cannot read '1O1'",
                "",
            )
            .of_sample(&format!("{file}-1").into()),
            Finding::new(
                Severity::Note,
                "file-note",
                Place::file(&file.into()),
                "odd",
                "",
            ),
        ],
        unplaced: vec![
            Unplaced {
                sheet: 0,
                at: Address::new(6, 2),
                text: "1O1".into(),
                reason: "value-unreadable".into(),
            },
            Unplaced {
                sheet: 0,
                at: Address::new(9, 0),
                text: "@see over, \"page\" 2".into(),
                reason: "analyte-unknown".into(),
            },
        ],
    }
}

/// Closes a sink that took these reports.
fn finish<'a>(
    sink: Sink<'a>,
    reports: &[Extract],
    findings: Vec<Finding>,
) -> wellread::error::Result<Staged<'a>> {
    let mut samples = Samples::new(Vocabulary::built_in());
    reports.iter().for_each(|report| samples.add(report));
    sink.finish(&Rows::of(&samples, Limits::built_in()), || findings)
}

fn imbalance() -> Finding {
    Finding::new(
        Severity::Warning,
        "charge-imbalance",
        Place::file(&"a.csv".into()),
        "does not balance",
        "look",
    )
}

/// Writes these reports, in this order, as a whole run does.
fn write(dir: &Path, reports: &[Extract], csv: bool) -> wellread::error::Result<Written> {
    write_as(dir, reports, options(csv))
}

fn write_as(dir: &Path, reports: &[Extract], how: Options) -> wellread::error::Result<Written> {
    let dataset = Dataset::open(dir, Wait::No)?;
    let mut sink = dataset.begin(how, Vocabulary::built_in())?;
    for report in reports {
        sink.push(report)?;
    }
    finish(sink, reports, vec![imbalance()])?.commit()
}

/// Every file with its bytes, `/` between folders.
fn files(dir: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut found = BTreeMap::new();
    for entry in std::fs::read_dir(dir).unwrap().map(|entry| entry.unwrap()) {
        let name = entry.file_name().into_string().unwrap();
        if entry.file_type().unwrap().is_dir() {
            let below = files(&entry.path()).into_iter();
            found.extend(below.map(|(below, bytes)| (format!("{name}/{below}"), bytes)));
        } else {
            found.insert(name, std::fs::read(entry.path()).unwrap());
        }
    }
    found
}

fn csv_text(dir: &Path, table: &str) -> String {
    std::fs::read_to_string(dir.join(format!("{table}.csv"))).unwrap()
}
