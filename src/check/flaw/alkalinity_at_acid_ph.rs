//! # alkalinity-at-acid-ph: alkalinity in acid water
//!
//! ## What it finds
//!
//! Alkalinity or bicarbonate above 0.05 meq/L in a sample with pH below 4.3: alkalinity is what is
//! titrated down to pH 4.3, so none is left there.
//!
//! ## Why it matters
//!
//! pH was read in the bottle that was acidified for metals, or one of the numbers is of another
//! sample.
//!
//! ## When it is wrong
//!
//! A laboratory that prints its reporting limit as a result.
//!
//! ## Source
//!
//! Definition of the end point (Standard Methods 2320; ISO 9963-1, both from memory).

use super::prelude::*;

pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Error,
    limits: &["ph", "meq_l"],
    gist: "alkalinity does not go with pH",
    yields_to: &["value-impossible"],
    scope: Scope::Sample(find),
    text: include_str!("alkalinity_at_acid_ph.rs"),
};

const CODE: &str = "alkalinity-at-acid-ph";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    let (Some(ph), Some(charge)) = (case.plain(Substance::Ph), case.charges.carbonates.charge)
    else {
        return;
    };
    let censored = [Substance::Alkalinity, Substance::Bicarbonate]
        .iter()
        .filter_map(|s| case.water.reading(*s))
        .all(|r| r.censored.is_some());
    if censored || ph >= case.limit("ph") || charge <= case.limit("meq_l") {
        return;
    }
    let message = format!(
        "{}: pH {ph} and {} meq/L of alkalinity exclude each other: pH of the acidified bottle?",
        case.who(),
        significant(charge),
    );
    found.push(case.found(
        CODE,
        Substance::Ph,
        message,
        "ask the laboratory for pH of the untreated water",
    ));
}
