//! Fault injection: sound samples, one fault planted at a time, what the checks make of it. Prints the
//! table of DEVELOPERS.md:
//!
//! ```text
//! cargo test --release --test all -- fault_injection --ignored --nocapture
//! ```
#![allow(clippy::print_stdout, reason = "the table is what this is for")]

use crate::check_waters::{Noise, Report, Row, blended_reports, published_reports, real_reports};
use jiff::ToSpan;
use rayon::prelude::*;
use std::collections::BTreeSet;
use wellread::check::{Judgement, Limits, judge};
use wellread::finding::{Finding, Severity};
use wellread::vocabulary::Vocabulary;

/// How many samples stand in a planted report.
const REPORT: usize = 15;

/// What is done to the rows.
#[derive(Clone, Copy, Debug)]
enum Plant {
    Scale(&'static str, f64),
    Swap(&'static str, &'static str),
    AllIons(f64),
    Remove(&'static str),
    /// From a row on, these numbers stand one row too high; whole report only.
    Slip(&'static [&'static str]),
    /// One column repeats another; whole report only.
    Copy(&'static str, &'static str),
    /// One number in every row: a guideline column; whole report only.
    Guideline(&'static str, f64),
    /// Received three weeks before it was taken.
    ReceivedBefore,
}

/// A single fault, and how the checks should name it.
struct Fault {
    name: String,
    /// Analyte and factor that the report's own unit or basis then multiplies by.
    factor: Option<(&'static str, f64)>,
    plant: Plant,
    code: &'static str,
    /// Must stand in the first explanation.
    words: String,
    whole_column: bool,
    one_sample: bool,
}

const fn ions() -> [&'static str; 12] {
    [
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
    ]
}

impl Plant {
    /// Whether the row could take it.
    fn row(self, row: &mut Row) -> bool {
        match self {
            Self::Scale(code, factor) => row.scale(code, factor),
            Self::Swap(one, other) => swap(row, one, other),
            Self::AllIons(factor) => {
                let scaled = ions().into_iter().filter(|ion| row.scale(ion, factor));
                let scaled = scaled.count();
                row.scale("hardness", factor);
                scaled > 3
            }
            Self::Remove(code) => row.values.remove(code).is_some(),
            Self::ReceivedBefore => {
                row.received_on = row.sampled_on.map(|day| day.saturating_sub(21.days()));
                row.received_on.is_some()
            }
            Self::Slip(_) | Self::Copy(..) | Self::Guideline(..) => false,
        }
    }

    /// How many rows it changed.
    fn rows(self, rows: &mut [Row]) -> usize {
        match self {
            Self::Slip(codes) => {
                let from = rows.len() / 3;
                let last = rows.len() - 1;
                for i in from..last {
                    for code in codes {
                        match rows[i + 1].values.get(*code).cloned() {
                            Some(value) => rows[i].values.insert((*code).to_owned(), value),
                            None => rows[i].values.remove(*code),
                        };
                    }
                }
                for code in codes {
                    rows[last].values.remove(*code);
                }
                rows.len()
            }
            Self::Copy(from, to) => (rows.iter_mut())
                .filter_map(|row| {
                    let value = row.values.get(from)?.clone();
                    row.values.insert(to.to_owned(), value)
                })
                .count(),
            Self::Guideline(code, limit) => (rows.iter_mut())
                .filter_map(|row| {
                    row.values.get_mut(code)?.value = limit;
                    Some(())
                })
                .count(),
            _ => (rows.iter_mut())
                .map(|row| self.row(row))
                .filter(|done| *done)
                .count(),
        }
    }
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

fn fault(name: &str, plant: Plant, code: &'static str, words: &str) -> Fault {
    Fault {
        name: name.to_owned(),
        factor: None,
        plant,
        code,
        words: words.to_owned(),
        whole_column: false,
        one_sample: true,
    }
}

impl Fault {
    /// The report's own unit or basis multiplies by `factor`: a mistake of whole columns.
    fn read_with(mut self, analyte: &'static str, factor: f64) -> Self {
        self.factor = Some((analyte, factor));
        self.one_sample = false;
        self.whole_column = true;
        self
    }

    fn in_columns_too(mut self) -> Self {
        self.whole_column = true;
        self
    }

    fn in_columns_only(mut self) -> Self {
        self.whole_column = true;
        self.one_sample = false;
        self
    }
}

#[rustfmt::skip]
fn faults() -> Vec<Fault> {
    use Plant::*;
    let (basis, unit, exchange, dilution) = ("basis-doubtful", "unit-doubtful", "values-exchanged", "dilution-doubtful");
    let mut faults = vec![
        fault("nitrate as N, read as NO3", Scale("nitrate", 1.0 / 4.4266), basis, "nitrate is as N").in_columns_too(),
        fault("nitrate as NO3, read as N", Scale("nitrate", 4.4266), basis, "nitrate is in mg/L as NO3").read_with("nitrate", 4.4266),
        fault("bicarbonate as CaCO3, read as HCO3", Scale("bicarbonate", 1.0 / 1.2193), basis, "bicarbonate is as CaCO3").in_columns_too(),
        fault("bicarbonate as HCO3, read as CaCO3", Scale("bicarbonate", 1.2193), basis, "bicarbonate is in mg/L as HCO3").read_with("bicarbonate", 1.2193),
        fault("bicarbonate in meq/L, read as mg/L", Scale("bicarbonate", 1.0 / 61.016), unit, "bicarbonate is in meq/L").in_columns_too(),
        fault("sulfate as S, read as SO4", Scale("sulfate", 1.0 / 2.9961), basis, "sulfate is as S").in_columns_too(),
        fault("sulfate as SO4, read as S", Scale("sulfate", 2.9961), basis, "sulfate is in mg/L as SO4").read_with("sulfate", 2.9961),
        fault("calcium as CaO, read as Ca", Scale("calcium", 1.3992), basis, "calcium is as CaO").in_columns_too(),
        fault("calcium as CaCO3, read as Ca", Scale("calcium", 2.4973), basis, "calcium is as CaCO3").in_columns_too(),
        fault("magnesium as MgO, read as Mg", Scale("magnesium", 1.6583), basis, "magnesium is as MgO").in_columns_too(),
        fault("potassium as K2O, read as K", Scale("potassium", 1.2046), basis, "potassium is as K2O").in_columns_too(),
        fault("calcium in meq/L, read as mmol/L", Scale("calcium", 2.0), unit, "calcium is in meq/L").read_with("calcium", 40.078),
        fault("sulfate in mmol/L, read as meq/L", Scale("sulfate", 0.5), unit, "sulfate is in mmol/L").read_with("sulfate", 48.028),
        fault("conductivity in mS/cm, read as µS/cm", Scale("conductivity", 0.001), unit, "conductivity is in mS/cm").in_columns_too(),
        fault("conductivity in µS/cm, read as mS/cm", Scale("conductivity", 1000.0), unit, "conductivity is in µS/cm").read_with("conductivity", 1000.0),
        fault("conductivity in mS/m, read as µS/cm", Scale("conductivity", 0.1), unit, "conductivity is in mS/m").in_columns_only(),
        fault("hardness in °dH, read as °fH", Scale("hardness", 1.0 / 1.7848), "hardness-unit-doubtful", "°dH").read_with("hardness", 10.0),
        fault("hardness in °dH, read as mg/L", Scale("hardness", 1.0 / 17.848), "hardness-unit-doubtful", "°dH").in_columns_only(),
        fault("hardness in mmol/L, read as mg/L", Scale("hardness", 1.0 / 100.086), "hardness-unit-doubtful", "mmol/L").in_columns_only(),
        fault("calcium and magnesium exchanged", Swap("calcium", "magnesium"), exchange, "calcium and magnesium are exchanged").in_columns_too(),
        fault("sodium and potassium exchanged", Swap("sodium", "potassium"), exchange, "sodium and potassium are exchanged").in_columns_too(),
        fault("chloride and sulfate exchanged", Swap("chloride", "sulfate"), exchange, "chloride and sulfate are exchanged").in_columns_too(),
        fault("all ions ten times too large", AllIons(10.0), dilution, "all ions are 10 times too large").in_columns_too(),
        fault("all ions ten times too small", AllIons(0.1), dilution, "all ions are 10 times too small").in_columns_too(),
        fault("all ions a thousand times too small", AllIons(0.001), dilution, "all ions are 1000 times too small").in_columns_too(),
        fault("rows slipped by one from potassium on", Slip(&["potassium", "sodium", "sulfate"]), "rows-slipped", "one row").in_columns_only(),
        fault("sulfate column repeats chloride", Copy("chloride", "sulfate"), "columns-repeat", "chloride").in_columns_only(),
        fault("nitrate's guideline read as results", Guideline("nitrate", 50.0), "constant-column", "nitrate").in_columns_only(),
        fault("received before it was taken", ReceivedBefore, "dates-out-of-order", "before it was taken"),
    ];
    for (code, name) in [
        ("calcium", "calcium"), ("magnesium", "magnesium"), ("sodium", "sodium"), ("potassium", "potassium"),
        ("bicarbonate", "bicarbonate"), ("chloride", "chloride"), ("sulfate", "sulfate"), ("nitrate", "nitrate"),
        ("conductivity", "conductivity"),
    ] {
        for (factor, words) in [(10.0, "large"), (0.1, "small")] {
            let title = format!("{name} ten times too {words}");
            faults.push(fault(&title, Scale(code, factor), "decimal-slip", &format!("the decimal sign of {name}")));
        }
    }
    for code in ["calcium", "magnesium", "sodium", "bicarbonate", "chloride", "sulfate"] {
        faults.push(fault(&format!("{code} reported as 0"), Scale(code, 0.0), "ion-missing", &format!("{code} 0 stands for")));
        faults.push(fault(&format!("{code} missing"), Remove(code), "balance-not-checkable", code));
    }
    faults
}

/// What one kind of planting came to.
#[derive(Clone, Copy, Debug, Default)]
struct Tally {
    trials: usize,
    found: usize,
    named: usize,
    /// Named as one of several that fit equally well, but not first.
    tied: usize,
    innocent: usize,
    alarms: usize,
}

impl Tally {
    fn add(&mut self, other: &Self) {
        self.trials += other.trials;
        self.found += other.found;
        self.named += other.named;
        self.tied += other.tied;
        self.innocent += other.innocent;
        self.alarms += other.alarms;
    }

    /// 'found/named first+tied'.
    fn told(&self) -> String {
        if self.trials == 0 {
            return "-".into();
        }
        let tied = match self.tied {
            0 => String::new(),
            tied => format!("+{}", percent(tied, self.trials)),
        };
        format!(
            "{}/{}{tied}",
            percent(self.found, self.trials),
            percent(self.named, self.trials)
        )
    }
}

/// Sound samples with what their judges know beside them.
struct Batch {
    report: Report,
    /// Other reports of the same sources.
    beside: Vec<Report>,
    before: Judgement,
}

impl Batch {
    fn new(report: Report, beside: Vec<Report>) -> Self {
        let before = judged(&report, &beside);
        Self {
            report,
            beside,
            before,
        }
    }
}

fn judged(report: &Report, beside: &[Report]) -> Judgement {
    let vocabulary = Vocabulary::built_in();
    let extracts: Vec<_> = ([report].into_iter().chain(beside))
        .map(|report| report.extract(vocabulary))
        .collect();
    judge(&extracts, vocabulary, Limits::built_in())
}

fn is_alarm(finding: &Finding) -> bool {
    finding.severity >= Severity::Warning
}

/// Rows that balance within 5 % and explain their conductivity within 10 %.
fn sound_rows(report: &Report) -> Report {
    let judgement = judged(report, &[]);
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
fn batches(reports: &[Report]) -> Vec<Batch> {
    let mut batches = Vec::new();
    for report in reports {
        let sound = sound_rows(report);
        for (number, rows) in sound.rows.chunks(REPORT).enumerate() {
            if rows.len() >= 5 {
                let report = Report {
                    file: format!("{number:03}-{}", report.file),
                    rows: rows.to_vec(),
                    ..report.clone()
                };
                batches.push(Batch::new(report, Vec::new()));
            }
        }
    }
    batches
}

/// The same sources in several reports: each beside all others.
fn batches_with_history(reports: &[Report]) -> Vec<Batch> {
    let sound: Vec<Report> = reports.iter().map(sound_rows).collect();
    (0..sound.len())
        .map(|i| {
            let beside = (0..sound.len()).filter(|j| *j != i);
            Batch::new(sound[i].clone(), beside.map(|j| sound[j].clone()).collect())
        })
        .collect()
}

/// Whether the finding names the fault first, and else whether as one that fits as well.
fn names_it(fault: &Fault, finding: &Finding) -> (bool, bool) {
    let message = finding.message.as_str();
    let until = |words: &[&str]| {
        let end = words.iter().filter_map(|words| message.find(words)).min();
        end.map_or(message, |at| &message[..at])
    };
    let first = until(&["; fits as well", "; fits less well"]);
    let named = finding.code == fault.code && first.contains(&fault.words);
    let tied = until(&["; fits less well"]).contains(&fault.words);
    (named, tied && !named)
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

/// With FAULTS_SHOW set to a part of its name, what was said where the cause was not named.
fn show(fault: &Fault, place: &str, alarms: &[&Finding]) {
    let wanted = std::env::var("FAULTS_SHOW").is_ok_and(|part| fault.name.contains(&part));
    if !wanted {
        return;
    }
    for alarm in alarms.iter().take(2) {
        let (name, code, message) = (&fault.name, &alarm.code, &alarm.message);
        println!("  {name} in {place}: {code} {message}");
    }
    if alarms.is_empty() {
        println!("  {} in {place}: nothing", fault.name);
    }
}

/// Charge of cations and anions, meq/L; factors as in the tables of equivalents.
fn charge(row: &Row) -> (f64, f64) {
    let sum = |ions: &[(&str, f64)]| -> f64 {
        ions.iter()
            .filter_map(|(code, mass)| Some(row.plain(code)? / mass))
            .sum()
    };
    let cations = [
        ("calcium", 20.039),
        ("magnesium", 12.1525),
        ("sodium", 22.99),
        ("potassium", 39.098),
    ];
    let anions = [
        ("bicarbonate", 61.016),
        ("alkalinity", 50.043),
        ("chloride", 35.45),
        ("sulfate", 48.028),
        ("nitrate", 62.004),
    ];
    (sum(&cations), sum(&anions))
}

/// Whether the fault changes more than 5 % of the charge, or the conductivity by as much.
fn is_significant(before: &Row, after: &Row) -> bool {
    let ((c, a), (cations, anions)) = (charge(before), charge(after));
    let conductivity = match (before.plain("conductivity"), after.plain("conductivity")) {
        (Some(before), Some(after)) => (after / before - 1.0).abs(),
        _ => 0.0,
    };
    (cations - c).abs() + (anions - a).abs() > 0.05 * (c + a) || conductivity > 0.05
}

/// Outcome, and whether the fault was significant in half of the rows.
fn plant_column(fault: &Fault, batch: &Batch) -> Option<(Tally, bool)> {
    let mut planted = batch.report.clone();
    let touched = fault.plant.rows(&mut planted.rows);
    if touched * 2 < planted.rows.len() {
        return None;
    }
    if let Some((code, factor)) = fault.factor {
        planted.factors.insert(code.into(), factor);
    }
    let judgement = judged(&planted, &batch.beside);
    let alarms = new_alarms(&batch.before, &judgement);
    let named = alarms.iter().any(|f| names_it(fault, f).0);
    let tied = !named && alarms.iter().any(|f| names_it(fault, f).1);
    if !named {
        show(fault, &batch.report.file, &alarms);
    }
    let pairs = batch.report.rows.iter().zip(&planted.rows);
    let significant = pairs.filter(|(a, b)| is_significant(a, b)).count();
    let tally = Tally {
        trials: 1,
        found: usize::from(!alarms.is_empty()),
        named: usize::from(named),
        tied: usize::from(tied),
        ..Tally::default()
    };
    Some((tally, 2 * significant >= planted.rows.len()))
}

fn plant_cell(fault: &Fault, batch: &Batch, noise: &mut Noise) -> Option<(Tally, bool)> {
    let victim = noise.below(batch.report.rows.len());
    let mut planted = batch.report.clone();
    if !fault.plant.row(&mut planted.rows[victim]) {
        return None;
    }
    let judgement = judged(&planted, &batch.beside);
    let key = planted.key(victim);
    let alarms: Vec<&Finding> = (judgement.findings.iter())
        .filter(|f| is_alarm(f) && f.sample_key.as_deref() == Some(key.as_str()))
        .collect();
    let named = alarms.iter().any(|f| names_it(fault, f).0);
    let tied = !named && alarms.iter().any(|f| names_it(fault, f).1);
    if !named {
        show(fault, &key, &alarms);
    }
    // Alarms on the untouched that planting the fault called up.
    let innocent = |judgement: &Judgement| -> BTreeSet<String> {
        (judgement.findings.iter())
            .filter(|f| is_alarm(f))
            .filter_map(|f| f.sample_key.as_deref().map(str::to_owned))
            .filter(|k| *k != key)
            .collect()
    };
    let (was, is) = (innocent(&batch.before), innocent(&judgement));
    let tally = Tally {
        trials: 1,
        found: usize::from(!alarms.is_empty()),
        named: usize::from(named),
        tied: usize::from(tied),
        innocent: planted.rows.len() - 1,
        alarms: is.difference(&was).count(),
    };
    let significant = is_significant(&batch.report.rows[victim], &planted.rows[victim]);
    Some((tally, significant))
}

fn percent(part: usize, of: usize) -> String {
    if of == 0 {
        return "-".into();
    }
    format!("{:.0}", 100.0 * part as f64 / of as f64)
}

/// What is named as cause must not be, where nothing was planted; other alarms may be right even there
/// (a concentration below zero).
const CAUSES: [&str; 7] = [
    "basis-doubtful",
    "decimal-slip",
    "dilution-doubtful",
    "ion-missing",
    "rows-slipped",
    "unit-doubtful",
    "values-exchanged",
];

/// Alarms on samples to which nothing was done.
fn print_false_alarms(title: &str, batches: &[Batch]) {
    let (mut alarmed, mut causes, mut rows) = (0, 0, 0);
    for batch in batches {
        rows += batch.report.rows.len();
        let own = format!("{}#", batch.report.file);
        let alarms = (batch.before.findings.iter()).filter(|f| is_alarm(f));
        let alarms = alarms.filter(|f| f.place.file.as_ref() == batch.report.file);
        let (of_samples, of_columns): (Vec<&Finding>, Vec<_>) =
            alarms.partition(|f| f.sample_key.is_some());
        let keys: BTreeSet<&str> = (of_samples.iter())
            .filter_map(|f| f.sample_key.as_deref())
            .filter(|key| key.starts_with(&own))
            .collect();
        if std::env::var_os("FAULTS_SHOW").is_some() {
            for finding in of_samples.iter().chain(&of_columns) {
                let (place, code, message) = (&finding.place, &finding.code, &finding.message);
                println!("  alarm: {place} {code} {message}");
            }
        }
        alarmed += keys.len() + of_columns.len();
        causes += of_samples
            .iter()
            .chain(&of_columns)
            .filter(|f| CAUSES.contains(&f.code.as_ref()))
            .count();
    }
    println!(
        "- {title}: {rows} sound samples in {} reports, alarms of any kind on {alarmed}, a cause named for {causes} ({} %)",
        batches.len(),
        percent(causes, rows)
    );
}

/// Tallies of one fault in each set, then of all that was significant, then of all.
fn tallies(fault: &Fault, sets: &[(&str, Vec<Batch>)], whole_column: bool) -> Vec<Tally> {
    let mut tallies = vec![Tally::default(); sets.len() + 2];
    for (i, (_, batches)) in sets.iter().enumerate() {
        let mut noise = Noise::new(7);
        for batch in batches {
            let outcomes = if whole_column {
                vec![plant_column(fault, batch)]
            } else {
                (0..2)
                    .map(|_| plant_cell(fault, batch, &mut noise))
                    .collect()
            };
            for (tally, significant) in outcomes.into_iter().flatten() {
                tallies[i].add(&tally);
                if significant {
                    tallies[sets.len()].add(&tally);
                }
                tallies[sets.len() + 1].add(&tally);
            }
        }
    }
    tallies
}

#[test]
#[ignore = "prints a table for DEVELOPERS.md; some minutes"]
fn fault_injection() {
    let vocabulary = Vocabulary::built_in();
    // Other numbers of the same kind: FAULTS_SEED=2.
    let seed = std::env::var("FAULTS_SEED").map_or(1, |seed| seed.parse().unwrap());
    let published = published_reports(vocabulary, seed);
    let real = real_reports().map_or_else(Vec::new, |reports| batches(&reports));
    let sets = [
        ("published", batches(&published)),
        ("with history", batches_with_history(&published)),
        ("blended", batches(&blended_reports(vocabulary, 2 + seed))),
        ("real", real),
    ];
    println!();
    for (title, batches) in &sets {
        print_false_alarms(title, batches);
    }
    let titles: Vec<&str> = sets.iter().map(|(title, _)| *title).collect();
    println!(
        "\n| fault | planted in | {} | significant | alarms on others |",
        titles.join(" | ")
    );
    println!("| --- | --- | {}--- | --- |", "--- | ".repeat(sets.len()));
    let wanted = std::env::var("FAULTS_ONLY").unwrap_or_default();
    let faults = faults();
    let rows: Vec<String> = (faults.par_iter())
        .filter(|fault| fault.name.contains(&wanted))
        .flat_map_iter(|fault| {
            let places = [
                (fault.whole_column, true, "column"),
                (fault.one_sample, false, "one sample"),
            ];
            (places.into_iter().filter(|(planted, ..)| *planted)).map(|(_, whole, place)| {
                let tallies = tallies(fault, &sets, whole);
                let (all, told) = tallies.split_last().expect("there is a tally of all");
                let told: Vec<String> = told.iter().map(Tally::told).collect();
                format!(
                    "| {} | {place} | {} | {} |",
                    fault.name,
                    told.join(" | "),
                    percent(all.alarms, all.innocent)
                )
            })
        })
        .collect();
    println!("{}", rows.join("\n"));
}
