//! # values-exchanged: two numbers or columns have changed places
//!
//! ## What it finds
//!
//! A report that does not agree with itself (charge balance, conductivity, hardness, alkalinity), where
//! exchanging two ions (calcium and magnesium, sodium and potassium, chloride and sulfate) brings everything
//! together, or back to what is usual for the source.
//!
//! ## Why it matters
//!
//! Sodium and potassium exchanged is invisible to the balance, and turns harm into feed on paper.
//!
//! ## When it is wrong
//!
//! Two faults at once can look like a third one. Explanations that fit equally well are named together.
//! Nothing is applied: figures are computed from the report as it stands until a mapping says otherwise.
//!
//! ## Source
//!
//! The design of these tests is common practice, no source; the yardsticks are Standard Methods 1030E,
//! 2510B and 2340B, from memory.

use super::prelude::*;

pub(super) const CHECK: Check = Check {
    code: "values-exchanged",
    severity: Severity::Warning,
    limits: &[],
    gist: "two numbers are exchanged",
    yields_to: &[],
    scope: Scope::Cause,
    text: include_str!("values_exchanged.rs"),
};
