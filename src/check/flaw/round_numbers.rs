//! # round-numbers: all numbers are round
//!
//! ## What it finds
//!
//! A sample with at least five ions above 20 mg/L, all of them multiples of 5.
//!
//! ## Why it matters
//!
//! Test strips or guesses, not a laboratory: good for orientation, not for computing.
//!
//! ## When it is wrong
//!
//! One sample in a few thousand by chance.
//!
//! ## Source
//!
//! Common practice, no source.

use super::prelude::*;

pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Note,
    limits: &["values"],
    gist: "all numbers are round",
    yields_to: &[],
    scope: Scope::Sample(find),
    text: include_str!("round_numbers.rs"),
};

const CODE: &str = "round-numbers";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    let ions = [
        Substance::Calcium,
        Substance::Magnesium,
        Substance::Sodium,
        Substance::Potassium,
        Substance::Bicarbonate,
        Substance::Alkalinity,
        Substance::Chloride,
        Substance::Sulfate,
        Substance::Nitrate,
        Substance::Hardness,
    ];
    let values: Vec<f64> = (ions.into_iter())
        .filter_map(|s| case.plain(s))
        .filter(|v| *v > 20.0)
        .collect();
    let fewest = case.limit("values");
    if (values.len() as f64) < fewest || values.iter().any(|v| v % 5.0 != 0.0) {
        return;
    }
    let message = format!(
        "{}: all {} larger numbers are multiples of 5: a quick test rather than a laboratory?",
        case.who(),
        values.len(),
    );
    found.push(case.found(
        CODE,
        Substance::Calcium,
        message,
        "do not compute doses from it",
    ));
}
