//! # limit-too-high: a limit too high to answer the question
//!
//! ## What it finds
//!
//! A result below its limit whose limit lies above the level at which growers act (boron <2: nobody
//! can tell whether it harms).
//!
//! ## Why it matters
//!
//! The method cannot answer the question that was asked.
//!
//! ## When it is wrong
//!
//! Where nobody asked for this parameter.
//!
//! ## Source
//!
//! Levels: FAO 29 table 1 for boron (0.7), from memory; the others common practice.

use super::prelude::*;
use crate::record::Censored;
pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Note,
    limits: &[
        "boron",
        "iron",
        "manganese",
        "fluoride",
        "chloride",
        "sodium",
        "bicarbonate",
    ],
    gist: "a limit is too high to answer the question",
    yields_to: &[],
    scope: Scope::Sample(find),
    text: include_str!("limit_too_high.rs"),
};

const CODE: &str = "limit-too-high";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    for (substance, name) in [
        (Substance::Boron, "boron"),
        (Substance::Iron, "iron"),
        (Substance::Manganese, "manganese"),
        (Substance::Fluoride, "fluoride"),
        (Substance::Chloride, "chloride"),
        (Substance::Sodium, "sodium"),
        (Substance::Bicarbonate, "bicarbonate"),
    ] {
        let Some(reading) = case.water.reading(substance) else {
            continue;
        };
        if reading.censored == Some(Censored::Below) && reading.value > case.limit(name) {
            let message = format!(
                "{}: {} below {} mg/L: too coarse to tell whether it is above {}",
                case.who(),
                substance.name(),
                significant(reading.value),
                significant(case.limit(name)),
            );
            found.push(case.found(
                CODE,
                substance,
                message,
                "ask for a method with a lower limit",
            ));
        }
    }
}
