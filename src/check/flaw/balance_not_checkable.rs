//! # balance-not-checkable: a major ion is missing, so nothing can be balanced
//!
//! ## What it finds
//!
//! A sample that has most of the major ions (calcium, magnesium, sodium, bicarbonate or alkalinity,
//! chloride, sulfate) but lacks one or two. A warning where the other samples of the same file do
//! have it.
//!
//! ## Why it matters
//!
//! Without a balance nobody can tell whether the ions are right. Silence would look like a sample
//! that passed.
//!
//! ## When it is wrong
//!
//! Never wrong, but of no interest where only a few parameters were ordered.
//!
//! ## Source
//!
//! Majors: common practice, no source.

use super::prelude::*;
use crate::check::figure::charge::BORNE;
pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Note,
    limits: &[],
    gist: "no charge balance, a major ion is missing",
    yields_to: &["sample-mixed"],
    scope: Scope::Sample(find),
    text: include_str!("balance_not_checkable.rs"),
};

const CODE: &str = "balance-not-checkable";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    let missing: Vec<Substance> = (case.charges.missing())
        .filter(|s| !BORNE.contains(s))
        .collect();
    if missing.is_empty() || missing.len() > 2 {
        return;
    }
    let usual_here = (missing.iter()).all(|s| case.usual.is_some_and(|u| u.middle(*s).is_some()));
    let names: Vec<&str> = missing.iter().map(|s| s.name()).collect();
    let message = format!(
        "{}: no charge balance, because {} {} missing{}",
        case.who(),
        names.join(" and "),
        if names.len() > 1 { "are" } else { "is" },
        if usual_here {
            ", which the samples beside it have"
        } else {
            ""
        },
    );
    let help = "look in 'unplaced' for its column; else ask the laboratory for it";
    let grade = if usual_here {
        Grade::Graver
    } else {
        Grade::Usual
    };
    found.push(case.found(CODE, missing[0], message, help).grade(grade));
}
