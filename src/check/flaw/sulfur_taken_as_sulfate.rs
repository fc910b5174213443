//! # sulfur-taken-as-sulfate: sulfate is known as sulfur only
//!
//! ## What it finds
//!
//! A sample with total sulfur and without sulfate: figures take all sulfur as sulfate (factor
//! 2.996) and name this finding among their assumptions.
//!
//! ## Why it matters
//!
//! Emission spectrometry measures sulfur in every form. In clear, aerated water practically all of
//! it is sulfate.
//!
//! ## When it is wrong
//!
//! Water that smells of hydrogen sulfide; water with organic sulfur.
//!
//! ## Source
//!
//! Common practice, no source; horticultural laboratories report S.

use super::prelude::*;
use crate::check::figure::takes_sulfur;
pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Note,
    limits: &[],
    gist: "sulfur was taken as sulfate",
    yields_to: &[],
    scope: Scope::Sample(find),
    text: include_str!("sulfur_taken_as_sulfate.rs"),
};

const CODE: &str = "sulfur-taken-as-sulfate";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    if !takes_sulfur(case.water) {
        return;
    }
    let message = format!(
        "{}: sulfur was taken as sulfate for charge balance and figures",
        case.who()
    );
    let help = "if the laboratory confirms it, name the column in the mapping: means = \"sulfate\", basis = \"S\"";
    found.push(case.found(CODE, Substance::Sulfur, message, help));
}
