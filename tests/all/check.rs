//! The checks from outside: what each says of a water with one flaw, and that it is silent without.

use crate::check_waters::{Report, Row, Value};
use jiff::civil::{Date, date};
use std::collections::BTreeMap;
use std::fs;
use wellread::check::{Judgement, Limits, Samples, judge};
use wellread::error::Error;
use wellread::finding::{Finding, Severity};
use wellread::record::{Censored, Extract};
use wellread::vocabulary::Vocabulary;

/// A sound water: balance +1.5 %, conductivity 0.99 of measured.
const SOUND: [(&str, f64); 10] = [
    ("ph", 7.4),
    ("conductivity", 690.0),
    ("calcium", 92.0),
    ("magnesium", 34.0),
    ("sodium", 8.2),
    ("potassium", 1.4),
    ("bicarbonate", 325.0),
    ("sulfate", 84.0),
    ("chloride", 9.6),
    ("nitrate", 13.0),
];

pub(crate) fn row(name: &str, changes: &[(&str, f64)]) -> Row {
    let mut values: BTreeMap<String, Value> = BTreeMap::new();
    for (code, value) in SOUND.iter().chain(changes) {
        let value = Value {
            value: *value,
            censored: None,
            fraction: None,
        };
        values.insert((*code).to_owned(), value);
    }
    // NaN in a table of changes means: not reported.
    values.retain(|_, value| !value.value.is_nan());
    Row {
        name: name.to_owned(),
        source: None,
        lab: None,
        sampled_on: None,
        received_on: None,
        values,
    }
}

fn report(rows: Vec<Row>) -> Report {
    Report {
        file: "a.csv".to_owned(),
        rows,
        factors: BTreeMap::new(),
    }
}

fn judged(report: &Report) -> Judgement {
    let vocabulary = Vocabulary::built_in();
    judge(
        &[report.extract(vocabulary)],
        vocabulary,
        Limits::built_in(),
    )
}

pub(crate) fn said(findings: &[Finding], code: &str) -> Vec<String> {
    (findings.iter())
        .filter(|f| f.code == code)
        .map(|f| f.message.clone())
        .collect()
}

#[test]
fn err_a_sound_water_is_left_in_peace() {
    let findings = judged(&report(vec![row("S1", &[])])).findings;
    let warnings: Vec<_> = findings
        .iter()
        .filter(|f| f.severity > Severity::Note)
        .collect();
    assert!(warnings.is_empty(), "{warnings:#?}");
}

#[test]
fn a_column_on_another_basis_is_told_once_with_its_evidence() {
    // Ten waters of different strength, bicarbonate as CaCO3 in all of them.
    let rows: Vec<Row> = (0..10)
        .map(|i| {
            let strength = 0.5 + 0.15 * f64::from(i);
            let mut row = row(&format!("S{i}"), &[]);
            for (code, value) in &mut row.values {
                if code != "ph" {
                    value.value *= strength;
                }
            }
            row.scale("bicarbonate", 1.0 / 1.2193);
            row
        })
        .collect();
    let findings = judged(&report(rows)).findings;
    let told = said(&findings, "basis-doubtful");
    assert_eq!(told.len(), 1, "{findings:#?}");
    assert!(
        told[0].starts_with("column 'bicarbonate': its numbers fit if bicarbonate is as CaCO3: 10 of 10 samples then balance within 2 %, before 0"),
        "{}",
        told[0]
    );
    let finding = findings
        .iter()
        .find(|f| f.code == "basis-doubtful")
        .unwrap();
    assert_eq!(finding.cells, 10);
    assert!(
        finding
            .help
            .contains("\"bicarbonate\" = { basis = \"CaCO3\", override = true, reason = \"…\" }"),
        "{}",
        finding.help
    );
    // One cause, one message: the symptoms are not told again.
    assert!(said(&findings, "charge-imbalance").is_empty());
}

#[test]
fn figures_rest_on_the_report_as_it_stands() {
    // Whatever is proposed, nothing is applied.
    let slipped = judged(&report(vec![row("S1", &[("calcium", 920.0)])]));
    let figures = slipped.figures.values().next().unwrap();
    assert_eq!(
        figures.charge_balance_verdict.as_deref(),
        Some("unbalanced")
    );
    assert_eq!(figures.calcium_supply_g_m3, Some(920.0));
}

#[test]
fn an_impossible_number_feeds_no_figure() {
    let judgement = judged(&report(vec![row("S1", &[("calcium", 92_000.0)])]));
    let figures = judgement.figures.values().next().unwrap();
    assert_eq!(figures.hardness_calculated_mg_l, None);
    assert_eq!(figures.calcium_supply_g_m3, None);
    assert_eq!(
        figures.charge_balance_verdict.as_deref(),
        Some("incomplete")
    );
}

#[test]
fn the_order_of_reports_and_their_parts_changes_nothing() {
    let vocabulary = Vocabulary::built_in();
    let parts: Vec<Extract> = (0..4)
        .map(|i| {
            let mut part = report(vec![row("S", &[("calcium", 92.0 + 300.0 * f64::from(i))])]);
            part.file = format!("{i}.csv");
            part.extract(vocabulary)
        })
        .collect();
    let limits = Limits::built_in();
    let whole = judge(&parts, vocabulary, limits);
    let mut turned = parts.clone();
    turned.reverse();
    assert_eq!(judge(&turned, vocabulary, limits), whole);
    let mut samples = Samples::new(vocabulary);
    for part in &parts {
        samples.add(part);
    }
    assert_eq!(samples.judge(limits), whole);
}

#[test]
fn dates_that_contradict_each_other_are_told() {
    let vocabulary = Vocabulary::built_in();
    let dated = |sampled: Date, received: Date| {
        let mut extract = report(vec![row("S1", &[])]).extract(vocabulary);
        extract.samples[0].sampled_on = Some(sampled);
        extract.samples[0].received_on = Some(received);
        judge(&[extract], vocabulary, Limits::built_in()).findings
    };
    let findings = dated(date(2026, 12, 5), date(2026, 5, 14));
    assert_eq!(
        said(&findings, "dates-out-of-order"),
        [
            "S1, 2026-12-05: received on 2026-05-14, before it was taken on 2026-12-05; 2026-05-12, if day and month are exchanged"
        ]
    );
    let late = dated(date(2026, 5, 1), date(2026, 5, 10));
    assert_eq!(
        said(&late, "held-too-long"),
        ["S1, 2026-05-01: 9 days from sampling to the laboratory are too many for nitrate"]
    );
    assert!(
        said(
            &dated(date(2026, 5, 12), date(2026, 5, 13)),
            "dates-out-of-order"
        )
        .is_empty()
    );
}

#[test]
fn censored_ions_widen_the_balance() {
    let mut sample = row("S1", &[]);
    let below = Value {
        value: 20.0,
        censored: Some(Censored::Below),
        fraction: None,
    };
    sample.values.insert("chloride".to_owned(), below);
    let judgement = judged(&report(vec![sample]));
    let figures = judgement.figures.values().next().unwrap();
    assert!(figures.charge_balance_spread.unwrap() > 1.0);
    assert_eq!(
        figures.restriction_chloride_surface.as_deref(),
        Some("none")
    );
    assert_eq!(figures.chloride_to_sulfate, None);
}

#[test]
fn the_user_sets_severities_and_acknowledges_findings() {
    let vocabulary = Vocabulary::built_in();
    let extract = report(vec![row("S1", &[("iron", 180.0)])]).extract(vocabulary);
    let with = |text: &str| {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("limits.toml"), text).unwrap();
        let limits = Limits::load(Some(folder.path())).unwrap();
        judge(std::slice::from_ref(&extract), vocabulary, &limits).findings
    };
    let severity = |findings: &[Finding]| {
        (findings.iter().find(|f| f.code == "metal-unit-doubtful")).map(|f| f.severity)
    };
    assert_eq!(severity(&with("")), Some(Severity::Warning));
    let graver = "[check.metal-unit-doubtful]\nseverity = \"error\"\n";
    assert_eq!(severity(&with(graver)), Some(Severity::Error));
    let off = "[check.metal-unit-doubtful]\nseverity = \"off\"\n";
    assert_eq!(severity(&with(off)), None);
    let wider = "[check.metal-unit-doubtful]\nlimit.iron = 200.0\n";
    assert_eq!(severity(&with(wider)), None);
    let acknowledged = |message: &str| {
        format!(
            "[[acknowledged]]\ncode = \"metal-unit-doubtful\"\nfile = \"*.csv\"\nmessage = \"{message}\"\nreason = \"mine water, confirmed\"\nname = \"K. Aldous\"\n"
        )
    };
    assert_eq!(
        severity(&with(&acknowledged("S1: iron 180 mg/L: is it µg/L?"))),
        None
    );
    // Another value makes another message: the finding speaks again.
    let other = with(&acknowledged("S1: iron 90 mg/L: is it µg/L?"));
    assert_eq!(severity(&other), Some(Severity::Warning));
}

#[test]
fn err_a_limits_file_with_problems_is_refused_whole() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(
        folder.path().join("limits.toml"),
        "[check.moonlight]\nseverity = \"warning\"\n",
    )
    .unwrap();
    match Limits::load(Some(folder.path())) {
        Err(Error::Mapping(text)) => assert!(text.contains("no check 'moonlight'"), "{text}"),
        other => panic!("{other:?}"),
    }
    let elsewhere = tempfile::tempdir().unwrap();
    assert_eq!(
        &Limits::load(Some(elsewhere.path())).unwrap(),
        Limits::built_in()
    );
}
