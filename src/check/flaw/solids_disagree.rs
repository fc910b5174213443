//! # solids-disagree: dissolved solids do not fit conductivity
//!
//! ## What it finds
//!
//! Dissolved solids (mg/L) divided by conductivity (µS/cm) outside 0.5 to 0.85: a note; outside 0.4
//! to 1.1: a warning.
//!
//! ## Why it matters
//!
//! One of the two has the wrong unit or is of another sample.
//!
//! ## When it is wrong
//!
//! Water rich in bicarbonate, nitrate, potassium or silica reaches 0.85; acid water lies below 0.5;
//! gypsum water above 0.85. Solids computed from conductivity always fit and prove nothing.
//!
//! ## Source
//!
//! 0.55 to 0.70 Standard Methods 1030E, from memory; 0.55 to 0.81 in use at a county project, read;
//! 0.6 to 0.9 for rivers and lakes of the world, Pawlowicz 2008, abstract read; the wider band is
//! common practice.

use super::prelude::*;

pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Warning,
    limits: &["low", "note_low", "note_high", "high"],
    gist: "dissolved solids do not fit conductivity",
    yields_to: CAUSES,
    scope: Scope::Sample(find),
    text: include_str!("solids_disagree.rs"),
};

const CODE: &str = "solids-disagree";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    let (Some(solids), Some(conductivity)) = (
        case.plain(Substance::DissolvedSolids),
        case.plain(Substance::Conductivity),
    ) else {
        return;
    };
    // Below this both numbers are mostly rounding.
    if conductivity < 20.0 || solids <= 0.0 {
        return;
    }
    let ratio = solids / conductivity;
    let outside = |low: &str, high: &str| ratio < case.limit(low) || ratio > case.limit(high);
    if !outside("note_low", "note_high") {
        return;
    }
    let grade = if outside("low", "high") {
        Grade::Usual
    } else {
        Grade::Milder
    };
    let unit = if (0.4e-3..1.1e-3).contains(&ratio) {
        ": solids in g/L?"
    } else if (400.0..1100.0).contains(&ratio) {
        ": conductivity in mS/cm?"
    } else {
        ""
    };
    let message = format!(
        "{}: dissolved solids {} mg/L are {} times conductivity {} µS/cm, usual is 0.55 to 0.75{unit}",
        case.who(),
        significant(solids),
        significant(ratio),
        significant(conductivity),
    );
    let help = "compare the units of both with the report";
    found.push(
        case.found(CODE, Substance::DissolvedSolids, message, help)
            .grade(grade)
            .weigh(ratio.ln().abs()),
    );
}
