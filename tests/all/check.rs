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

fn row(name: &str, changes: &[(&str, f64)]) -> Row {
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

fn said(findings: &[Finding], code: &str) -> Vec<String> {
    (findings.iter())
        .filter(|f| f.code == code)
        .map(|f| f.message.clone())
        .collect()
}

const NO: f64 = f64::NAN;

/// Code, the values that show it, and the message.
type Flaw = (&'static str, &'static [(&'static str, f64)], &'static str);

#[rustfmt::skip]
const FLAWS: &[Flaw] = &[
    ("value-impossible", &[("ph", 74.0)], "S1: pH 74 cannot be right (possible: 1 to 13 [pH]); was 7.4 meant?"),
    ("solids-disagree", &[("dissolved_solids", 1311.0)], "S1: dissolved solids 1311 mg/L are 1.9 times conductivity 690 µS/cm, usual is 0.55 to 0.75"),
    ("hardness-disagrees", &[("hardness", 20.7)], "S1: hardness 20.7 mg/L CaCO3 is reported, calcium and magnesium give 370; fits if hardness is in °dH"),
    ("alkalinity-disagrees", &[("alkalinity", 325.0)], "S1: alkalinity 325 mg/L CaCO3 is 6.49 meq/L, bicarbonate 325 and carbonate give 5.33: both are as CaCO3, or both as HCO3"),
    ("carbonate-at-low-ph", &[("carbonate", 24.0), ("ph", 7.2)], "S1: carbonate 24 mg/L does not exist at pH 7.2: at most about 0.273 mg/L can"),
    ("phenolphthalein-at-low-ph", &[("alkalinity_p", 60.0)], "S1: phenolphthalein alkalinity 60 mg/L CaCO3 cannot be at pH 7.4: is it total alkalinity?"),
    ("alkalinity-at-acid-ph", &[("ph", 1.9)], "S1: pH 1.9 and 5.33 meq/L of alkalinity exclude each other: pH of the acidified bottle?"),
    ("nitrogen-above-total", &[("nitrogen_total", 1.0)], "S1: nitrate, nitrite and ammonium hold 2.94 mg/L N, total nitrogen is only 1: nitrate is probably as NO3, read as N"),
    ("part-above-whole", &[("chlorine_free", 0.5), ("chlorine_total", 0.2)], "S1: free chlorine (0.5 in the unit of the whole) is above total chlorine (0.2): columns exchanged?"),
    ("manganese-for-magnesium", &[("manganese", 9.2), ("magnesium", 0.05)], "S1: manganese 9.2 and magnesium 0.05 mg/L: usually the other way round; was a heading misread?"),
    ("potassium-above-sodium", &[("potassium", 46.0), ("sodium", 6.0), ("chloride", 46.0), ("conductivity", 800.0)], "S1: potassium 46 and sodium 6 mg/L: usually the other way round"),
    ("sulfur-taken-as-sulfate", &[("sulfate", NO), ("sulfur", 28.0)], "S1: sulfur was taken as sulfate for charge balance and figures"),
    ("balance-not-checkable", &[("sodium", NO)], "S1: no charge balance, because sodium is missing"),
    ("metal-unit-doubtful", &[("iron", 180.0)], "S1: iron 180 mg/L: is it µg/L?"),
    ("iron-lost", &[("manganese", 0.4), ("iron", 0.01)], "S1: manganese 0.4 but hardly any iron: lost in a bottle that was not acidified?"),
    ("redox-contradiction", &[("dissolved_oxygen", 8.0), ("iron", 1.2)], "S1: oxygen and dissolved iron do not last beside each other: a mixture of waters, or a late analysis?"),
    ("carbonate-hardness-above-total", &[("hardness", 370.0), ("hardness_carbonate", 450.0)], "S1: carbonate hardness 450 is above total hardness 370 mg/L CaCO3: softened or sodium bicarbonate water, or the two are exchanged"),
    ("printed-index-disagrees", &[("sodium_adsorption_ratio", 1.5)], "S1: the report prints a sodium adsorption ratio of 1.5, its numbers give 0.186"),
    ("decimal-slip", &[("calcium", 920.0)], "S1: charge balance +73.3 %, the ions explain 3.23 times the conductivity; fits (+1.5 %, 0.993 times) if the decimal sign of calcium slipped (920 for 92)"),
];

#[test]
fn each_flaw_is_told_in_these_words() {
    let mut wrong = Vec::new();
    for (code, changes, message) in FLAWS {
        let findings = judged(&report(vec![row("S1", changes)])).findings;
        let said = said(&findings, code);
        if said != [(*message).to_owned()] {
            let codes: Vec<_> = findings.iter().map(|f| f.code.as_ref()).collect();
            wrong.push(format!("{code}: {said:#?} (codes: {codes:?})"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn err_a_sound_water_is_left_in_peace() {
    let findings = judged(&report(vec![row("S1", &[])])).findings;
    let warnings: Vec<_> = findings
        .iter()
        .filter(|f| f.severity > Severity::Note)
        .collect();
    assert!(warnings.is_empty(), "{warnings:#?}");
    for (code, ..) in FLAWS {
        assert!(said(&findings, code).is_empty(), "{code}");
    }
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
