//! # decimal-slip: a decimal sign has slipped
//!
//! ## What it finds
//!
//! A report that does not agree with itself (charge balance, conductivity, hardness, alkalinity), where
//! moving the decimal sign of one number brings everything together, or back to what is usual for the source.
//!
//! ## Why it matters
//!
//! A factor of ten or more in one number.
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
    code: "decimal-slip",
    severity: Severity::Warning,
    limits: &[],
    gist: "a decimal sign has slipped",
    yields_to: &[],
    scope: Scope::Cause,
    text: include_str!("decimal_slip.rs"),
};
