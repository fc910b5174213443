//! # phenolphthalein-at-low-ph: phenolphthalein alkalinity where pH leaves none
//!
//! ## What it finds
//!
//! An alkalinity to the phenolphthalein end point above 5 mg/L CaCO3 in a sample with pH below 8.2:
//! the end point lies at pH 8.3, so there is nothing to titrate.
//!
//! ## Why it matters
//!
//! Mostly it is the total alkalinity in the wrong column (TA read for TAC).
//!
//! ## When it is wrong
//!
//! pH that fell between sampling and measurement.
//!
//! ## Source
//!
//! Definition of the end point (Standard Methods 2320, from memory).

use super::prelude::*;

pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Warning,
    limits: &["ph", "mg_l"],
    gist: "phenolphthalein alkalinity does not go with pH",
    yields_to: &["value-impossible"],
    scope: Scope::Sample(find),
    text: include_str!("phenolphthalein_at_low_ph.rs"),
};

const CODE: &str = "phenolphthalein-at-low-ph";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    let (Some(alkalinity), Some(ph)) = (
        case.plain(Substance::AlkalinityP),
        case.plain(Substance::Ph),
    ) else {
        return;
    };
    if ph >= case.limit("ph") || alkalinity <= case.limit("mg_l") {
        return;
    }
    let message = format!(
        "{}: phenolphthalein alkalinity {} mg/L CaCO3 cannot be at pH {ph}: is it total alkalinity?",
        case.who(),
        significant(alkalinity),
    );
    let help = "if so, say so in the mapping: means = \"alkalinity\"";
    found.push(case.found(CODE, Substance::AlkalinityP, message, help));
}
