//! Fault injection: sound samples, one fault planted at a time, what the checks make of it. Prints the
//! table of DEVELOPERS.md:
//!
//! ```text
//! cargo test --test all fault_injection -- --ignored --nocapture
//! ```
#![allow(clippy::print_stdout, reason = "the table is what this is for")]

use crate::check_waters::{Noise, Report, Row, published_reports, real_reports};
use std::collections::BTreeSet;
use wellread::check::{Judgement, Limits, judge};
use wellread::finding::{Finding, Severity};
use wellread::vocabulary::Vocabulary;

/// How many samples stand in a planted report.
const REPORT: usize = 15;

/// A single fault: what it does to a row, and how the checks should name it.
struct Fault {
    name: &'static str,
    /// Analyte and factor that the report's own unit or basis then multiplies by.
    factor: Option<(&'static str, f64)>,
    /// `false` where the row lacks what the fault needs.
    plant: fn(&mut Row) -> bool,
    code: &'static str,
    /// Must stand in the first explanation.
    words: &'static str,
    whole_column: bool,
}

fn swap(row: &mut Row, one: &str, other: &str) -> bool {
    let (Some(a), Some(b)) = (row.plain(one), row.plain(other)) else {
        return false;
    };
    // Exchanging near-equal numbers is no fault.
    if a <= 0.0 || b <= 0.0 || (a / b).ln().abs() < 0.2 {
        return false;
    }
    row.scale(one, b / a) && row.scale(other, a / b)
}

fn all_ions(row: &mut Row, factor: f64) -> bool {
    let ions = [
        "calcium",
        "magnesium",
        "sodium",
        "potassium",
        "ammonium",
        "bicarbonate",
        "carbonate",
        "alkalinity",
        "chloride",
        "sulfate",
        "nitrate",
        "fluoride",
        "hardness",
    ];
    ions.into_iter()
        .filter(|ion| row.scale(ion, factor))
        .count()
        > 3
}

fn carbonates(row: &mut Row, factor: f64) -> bool {
    row.scale("bicarbonate", factor)
}

#[rustfmt::skip]
const FAULTS: &[Fault] = &[
    Fault { name: "nitrate as N, read as NO3", factor: None, plant: |r| r.scale("nitrate", 1.0 / 4.4266), code: "basis-doubtful", words: "nitrate is as N", whole_column: true },
    Fault { name: "nitrate as NO3, read as N", factor: Some(("nitrate", 4.4266)), plant: |r| r.scale("nitrate", 4.4266), code: "basis-doubtful", words: "nitrate is in mg/L of the ion itself", whole_column: true },
    Fault { name: "bicarbonate as CaCO3, read as HCO3", factor: None, plant: |r| carbonates(r, 1.0 / 1.2193), code: "basis-doubtful", words: "bicarbonate is as CaCO3", whole_column: true },
    Fault { name: "bicarbonate as HCO3, read as CaCO3", factor: Some(("bicarbonate", 1.2193)), plant: |r| carbonates(r, 1.2193), code: "basis-doubtful", words: "bicarbonate is in mg/L of the ion itself", whole_column: true },
    Fault { name: "bicarbonate in meq/L, read as mg/L", factor: None, plant: |r| carbonates(r, 1.0 / 61.016), code: "unit-doubtful", words: "bicarbonate is in meq/L", whole_column: true },
    Fault { name: "sulfate as S, read as SO4", factor: None, plant: |r| r.scale("sulfate", 1.0 / 2.9961), code: "basis-doubtful", words: "sulfate is as S", whole_column: true },
    Fault { name: "sulfate as SO4, read as S", factor: Some(("sulfate", 2.9961)), plant: |r| r.scale("sulfate", 2.9961), code: "basis-doubtful", words: "sulfate is in mg/L of the ion itself", whole_column: true },
    Fault { name: "calcium as CaO, read as Ca", factor: None, plant: |r| r.scale("calcium", 1.3992), code: "basis-doubtful", words: "calcium is as CaO", whole_column: true },
    Fault { name: "calcium as CaCO3, read as Ca", factor: None, plant: |r| r.scale("calcium", 2.4973), code: "basis-doubtful", words: "calcium is as CaCO3", whole_column: true },
    Fault { name: "magnesium as MgO, read as Mg", factor: None, plant: |r| r.scale("magnesium", 1.6583), code: "basis-doubtful", words: "magnesium is as MgO", whole_column: true },
    Fault { name: "potassium as K2O, read as K", factor: None, plant: |r| r.scale("potassium", 1.2046), code: "basis-doubtful", words: "potassium is as K2O", whole_column: true },
    Fault { name: "calcium in meq/L, read as mmol/L", factor: Some(("calcium", 40.078)), plant: |r| r.scale("calcium", 2.0), code: "unit-doubtful", words: "calcium is in meq/L", whole_column: true },
    Fault { name: "sulfate in mmol/L, read as meq/L", factor: Some(("sulfate", 48.028)), plant: |r| r.scale("sulfate", 0.5), code: "unit-doubtful", words: "sulfate is in mmol/L", whole_column: true },
    Fault { name: "conductivity in mS/cm, read as µS/cm", factor: None, plant: |r| r.scale("conductivity", 0.001), code: "unit-doubtful", words: "conductivity is in mS/cm", whole_column: true },
    Fault { name: "hardness in °dH, read as °fH", factor: Some(("hardness", 10.0)), plant: |r| r.scale("hardness", 1.0 / 1.7848), code: "hardness-disagrees", words: "°dH", whole_column: true },
    Fault { name: "calcium and magnesium exchanged", factor: None, plant: |r| swap(r, "calcium", "magnesium"), code: "values-exchanged", words: "calcium and magnesium are exchanged", whole_column: true },
    Fault { name: "sodium and potassium exchanged", factor: None, plant: |r| swap(r, "sodium", "potassium"), code: "values-exchanged", words: "sodium and potassium are exchanged", whole_column: true },
    Fault { name: "all ions ten times too large", factor: None, plant: |r| all_ions(r, 10.0), code: "dilution-doubtful", words: "all ions are 10 times too large", whole_column: true },
    Fault { name: "all ions ten times too small", factor: None, plant: |r| all_ions(r, 0.1), code: "dilution-doubtful", words: "all ions are 10 times too small", whole_column: true },
    Fault { name: "calcium ten times too large", factor: None, plant: |r| r.scale("calcium", 10.0), code: "decimal-slip", words: "the decimal sign of calcium", whole_column: false },
    Fault { name: "sodium ten times too large", factor: None, plant: |r| r.scale("sodium", 10.0), code: "decimal-slip", words: "the decimal sign of sodium", whole_column: false },
    Fault { name: "sodium ten times too small", factor: None, plant: |r| r.scale("sodium", 0.1), code: "decimal-slip", words: "the decimal sign of sodium", whole_column: false },
    Fault { name: "chloride ten times too large", factor: None, plant: |r| r.scale("chloride", 10.0), code: "decimal-slip", words: "the decimal sign of chloride", whole_column: false },
    Fault { name: "bicarbonate ten times too small", factor: None, plant: |r| r.scale("bicarbonate", 0.1), code: "decimal-slip", words: "the decimal sign of bicarbonate", whole_column: false },
    Fault { name: "sulfate ten times too small", factor: None, plant: |r| r.scale("sulfate", 0.1), code: "decimal-slip", words: "the decimal sign of sulfate", whole_column: false },
    Fault { name: "conductivity ten times too small", factor: None, plant: |r| r.scale("conductivity", 0.1), code: "decimal-slip", words: "the decimal sign of conductivity", whole_column: false },
    Fault { name: "chloride and sulfate exchanged", factor: None, plant: |r| swap(r, "chloride", "sulfate"), code: "values-exchanged", words: "chloride and sulfate are exchanged", whole_column: false },
    Fault { name: "sodium reported as 0", factor: None, plant: |r| r.scale("sodium", 0.0), code: "ion-missing", words: "sodium is not reported", whole_column: false },
    Fault { name: "chloride reported as 0", factor: None, plant: |r| r.scale("chloride", 0.0), code: "ion-missing", words: "chloride is not reported", whole_column: false },
    Fault { name: "sodium missing", factor: None, plant: |r| r.values.remove("sodium").is_some(), code: "balance-not-checkable", words: "sodium", whole_column: false },
];

/// What one kind of planting came to.
#[derive(Clone, Copy, Debug, Default)]
struct Tally {
    trials: usize,
    found: usize,
    named: usize,
    innocent: usize,
    alarms: usize,
}

fn judged(report: &Report) -> Judgement {
    let vocabulary = Vocabulary::built_in();
    judge(
        &[report.extract(vocabulary)],
        vocabulary,
        Limits::built_in(),
    )
}

fn is_alarm(finding: &Finding) -> bool {
    finding.severity >= Severity::Warning
}

/// Rows that balance within 5 %, explain their conductivity within 10 % and raise no alarm.
fn sound_rows(report: &Report) -> Report {
    let judgement = judged(report);
    let rows = (report.rows.iter().enumerate())
        .filter(|(i, row)| {
            let figures = &judgement.figures[report.key(*i).as_str()];
            let balanced = figures
                .charge_balance_percent
                .is_some_and(|b| b.abs() <= 5.0);
            let fits = figures
                .conductivity_ratio
                .is_some_and(|r| (0.9..=1.1).contains(&r));
            balanced && fits && !row.values.values().any(|v| !v.value.is_finite())
        })
        .map(|(_, row)| row.clone())
        .collect();
    Report {
        rows,
        ..report.clone()
    }
}

/// Reports of [`REPORT`] sound samples each.
fn batches(reports: &[Report]) -> Vec<Report> {
    let mut batches = Vec::new();
    for report in reports {
        let sound = sound_rows(report);
        for (number, rows) in sound.rows.chunks(REPORT).enumerate() {
            if rows.len() >= 5 {
                batches.push(Report {
                    file: format!("{number:03}-{}", report.file),
                    rows: rows.to_vec(),
                    ..report.clone()
                });
            }
        }
    }
    batches
}

fn names_it(fault: &Fault, finding: &Finding) -> bool {
    let message = finding.message.as_str();
    let first = ["; fits as well", "; fits less well"]
        .iter()
        .filter_map(|words| message.find(words))
        .min()
        .map_or(message, |at| &message[..at]);
    finding.code == fault.code && first.contains(fault.words)
}

/// Alarms that were not there before the fault was planted.
fn new_alarms<'f>(before: &Judgement, after: &'f Judgement) -> Vec<&'f Finding> {
    let known = |finding: &Finding| {
        (before.findings.iter()).any(|b| b.code == finding.code && b.message == finding.message)
    };
    (after.findings.iter())
        .filter(|f| is_alarm(f) && !known(f))
        .collect()
}

/// With FAULTS_SHOW set, what was said where the cause was not named.
fn show(fault: &Fault, place: &str, alarms: &[&Finding]) {
    if std::env::var_os("FAULTS_SHOW").is_some() {
        for alarm in alarms.iter().take(2) {
            println!(
                "  {} in {place}: {} {}",
                fault.name, alarm.code, alarm.message
            );
        }
        if alarms.is_empty() {
            println!("  {} in {place}: nothing", fault.name);
        }
    }
}

fn plant_column(fault: &Fault, batch: &Report, tally: &mut Tally) {
    let mut planted = batch.clone();
    let touched = planted
        .rows
        .iter_mut()
        .filter_map(|row| (fault.plant)(row).then_some(()))
        .count();
    if touched * 2 < planted.rows.len() {
        return;
    }
    if let Some((code, factor)) = fault.factor {
        planted.factors.insert(code.into(), factor);
    }
    let judgement = judged(&planted);
    let before = judged(batch);
    let alarms = new_alarms(&before, &judgement);
    let named = alarms.iter().any(|f| names_it(fault, f));
    tally.trials += 1;
    tally.found += usize::from(!alarms.is_empty());
    tally.named += usize::from(named);
    if !named {
        show(fault, &batch.file, &alarms);
    }
}

fn plant_cell(fault: &Fault, batch: &Report, noise: &mut Noise, tally: &mut Tally) {
    let victim = noise.below(batch.rows.len());
    let mut planted = batch.clone();
    if !(fault.plant)(&mut planted.rows[victim]) {
        return;
    }
    if let Some((code, factor)) = fault.factor {
        planted.factors.insert(code.into(), factor);
    }
    let before = judged(batch);
    let judgement = judged(&planted);
    let key = planted.key(victim);
    let of_victim = |f: &&Finding| f.sample_key.as_deref() == Some(key.as_str());
    let alarms: Vec<&Finding> = judgement.findings.iter().filter(|f| is_alarm(f)).collect();
    tally.trials += 1;
    tally.found += usize::from(alarms.iter().any(of_victim));
    tally.named += usize::from(
        alarms
            .iter()
            .filter(|f| of_victim(f))
            .any(|f| names_it(fault, f)),
    );
    // Alarms on the untouched that planting the fault called up.
    let innocent = |judgement: &Judgement| -> BTreeSet<String> {
        (judgement.findings.iter())
            .filter(|f| is_alarm(f))
            .filter_map(|f| f.sample_key.as_deref().map(str::to_owned))
            .filter(|k| *k != key)
            .collect()
    };
    tally.innocent += planted.rows.len() - 1;
    tally.alarms += innocent(&judgement).difference(&innocent(&before)).count();
}

fn percent(part: usize, of: usize) -> String {
    if of == 0 {
        return "-".into();
    }
    format!("{:.0}", 100.0 * part as f64 / of as f64)
}

fn table(title: &str, batches: &[Report]) {
    let mut alarmed = 0;
    let mut rows = 0;
    for batch in batches {
        let judgement = judged(batch);
        rows += batch.rows.len();
        let keys: BTreeSet<&str> = (judgement.findings.iter())
            .filter(|f| is_alarm(f))
            .filter_map(|f| f.sample_key.as_deref())
            .collect();
        let columns = (judgement.findings.iter()).filter(|f| is_alarm(f) && f.sample_key.is_none());
        for finding in judgement.findings.iter().filter(|f| is_alarm(f)) {
            if std::env::var_os("FAULTS_SHOW").is_some() {
                println!(
                    "  alarm: {} {} {}",
                    finding.place, finding.code, finding.message
                );
            }
        }
        alarmed += keys.len() + columns.count();
    }
    println!(
        "\n### {title}: {rows} sound samples in {} reports\n",
        batches.len()
    );
    println!(
        "False alarms on untouched samples: {} % ({alarmed} of {rows}).\n",
        percent(alarmed, rows)
    );
    println!("| fault | planted in | trials | found % | named first % | new alarms on others % |");
    println!("| --- | --- | --- | --- | --- | --- |");
    for fault in FAULTS {
        let mut noise = Noise::new(7);
        if fault.whole_column {
            let mut tally = Tally::default();
            for batch in batches {
                plant_column(fault, batch, &mut tally);
            }
            print_row(fault.name, "column", &tally);
        }
        let mut tally = Tally::default();
        if fault.factor.is_none() {
            for batch in batches {
                for _ in 0..2 {
                    plant_cell(fault, batch, &mut noise, &mut tally);
                }
            }
            print_row(fault.name, "one sample", &tally);
        }
    }
}

fn print_row(name: &str, place: &str, tally: &Tally) {
    println!(
        "| {name} | {place} | {} | {} | {} | {} |",
        tally.trials,
        percent(tally.found, tally.trials),
        percent(tally.named, tally.trials),
        percent(tally.alarms, tally.innocent)
    );
}

#[test]
#[ignore = "prints a table for DEVELOPERS.md; some minutes"]
fn fault_injection() {
    let vocabulary = Vocabulary::built_in();
    table(
        "Published waters with noise",
        &batches(&published_reports(vocabulary, 1)),
    );
    match real_reports() {
        Some(reports) => table("Real samples", &batches(&reports)),
        None => println!("\n../shared/real is absent: no table of real samples"),
    }
}
