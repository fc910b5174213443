//! The real samples (as a person read them) against themselves and against their authors' own figures.
//! Prints the tables of DEVELOPERS.md:
//!
//! ```text
//! cargo test --test all real_waters -- --ignored --nocapture
//! ```
#![allow(clippy::print_stdout, reason = "the tables are what this is for")]

use crate::check_waters::{Report, real_reports};
use wellread::check::{Limits, judge};
use wellread::record::Figures;
use wellread::vocabulary::Vocabulary;

/// Percent of numbers within a bound.
fn within(numbers: &[f64], low: f64, high: f64) -> String {
    let inside = numbers.iter().filter(|n| (low..=high).contains(*n)).count();
    if numbers.is_empty() {
        return "-".into();
    }
    format!("{:.0}", 100.0 * inside as f64 / numbers.len() as f64)
}

fn quantile(numbers: &[f64], share: f64) -> String {
    if numbers.is_empty() {
        return "-".into();
    }
    let mut sorted = numbers.to_vec();
    sorted.sort_by(f64::total_cmp);
    let at = ((sorted.len() - 1) as f64 * share).round() as usize;
    format!("{:.2}", sorted[at])
}

fn figures(report: &Report) -> Vec<Figures> {
    let vocabulary = Vocabulary::built_in();
    let extract = report.extract(vocabulary);
    let judgement = judge(&[extract], vocabulary, Limits::built_in());
    (0..report.rows.len())
        .map(|i| judgement.figures[report.key(i).as_str()].clone())
        .collect()
}

#[test]
#[ignore = "prints tables for DEVELOPERS.md"]
fn real_waters() {
    let Some(reports) = real_reports() else {
        println!("../shared/real is absent: nothing to tell");
        return;
    };
    println!(
        "\n| file | samples | balance: n | 5 % | 25 % | median | 75 % | 95 % | within ±5 % | ±10 % |"
    );
    println!("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |");
    let judged: Vec<(&Report, Vec<Figures>)> = reports
        .iter()
        .map(|report| (report, figures(report)))
        .collect();
    for (report, figures) in &judged {
        let balances: Vec<f64> = figures
            .iter()
            .filter_map(|f| f.charge_balance_percent)
            .collect();
        println!(
            "| {} | {} | {} | {} | {} | {} | {} | {} | {} | {} |",
            report.file,
            report.rows.len(),
            balances.len(),
            quantile(&balances, 0.05),
            quantile(&balances, 0.25),
            quantile(&balances, 0.5),
            quantile(&balances, 0.75),
            quantile(&balances, 0.95),
            within(&balances, -5.0, 5.0),
            within(&balances, -10.0, 10.0),
        );
    }
    println!(
        "\n| file | conductivity calculated / measured: n | 5 % | median | 95 % | within 0.9 to 1.1 | 0.8 to 1.25 |"
    );
    println!("| --- | --- | --- | --- | --- | --- | --- |");
    for (report, figures) in &judged {
        let ratios: Vec<f64> = figures
            .iter()
            .filter_map(|f| f.conductivity_ratio)
            .collect();
        println!(
            "| {} | {} | {} | {} | {} | {} | {} |",
            report.file,
            ratios.len(),
            quantile(&ratios, 0.05),
            quantile(&ratios, 0.5),
            quantile(&ratios, 0.95),
            within(&ratios, 0.9, 1.1),
            within(&ratios, 0.8, 1.25),
        );
    }
    println!("\n| file | authors' own figure | n | agree | how |");
    println!("| --- | --- | --- | --- | --- |");
    for (report, figures) in &judged {
        for (code, ours, how) in [
            (
                "charge_balance_reported",
                (|f: &Figures| f.charge_balance_percent) as fn(&Figures) -> Option<f64>,
                Agreement::Points(1.0),
            ),
            (
                "hardness",
                |f| f.hardness_calculated_mg_l,
                Agreement::Percent(2.0),
            ),
            (
                "sodium_adsorption_ratio",
                |f| f.sodium_adsorption_ratio_calculated,
                Agreement::Percent(2.0),
            ),
            (
                "dissolved_solids",
                |f| f.dissolved_solids_calculated_mg_l,
                Agreement::Percent(20.0),
            ),
        ] {
            let pairs: Vec<(f64, f64)> = (report.rows.iter().zip(figures))
                .filter_map(|(row, f)| Some((row.plain(code)?, ours(f)?)))
                .collect();
            if pairs.is_empty() {
                continue;
            }
            let agree = pairs.iter().filter(|(a, b)| how.holds(*a, *b)).count();
            println!(
                "| {} | {code} | {} | {agree} | within {how} |",
                report.file,
                pairs.len()
            );
        }
    }
}

/// What counts as the same figure.
#[derive(Clone, Copy, Debug)]
enum Agreement {
    Points(f64),
    Percent(f64),
}

impl Agreement {
    fn holds(self, theirs: f64, ours: f64) -> bool {
        match self {
            Self::Points(points) => (theirs - ours).abs() <= points,
            Self::Percent(percent) => {
                (theirs - ours).abs() <= percent / 100.0 * theirs.abs().max(ours.abs())
            }
        }
    }
}

impl std::fmt::Display for Agreement {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Points(points) => write!(f, "{points} points"),
            Self::Percent(percent) => write!(f, "{percent} %"),
        }
    }
}
