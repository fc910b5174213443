//! # unit-doubtful: a number has another unit than it seems
//!
//! ## What it finds
//!
//! A report that does not agree with itself (charge balance, conductivity, hardness, alkalinity), where
//! reading a number in another unit (meq/L, mmol/L, µg/L, °dH, °fH; mS/cm, mS/m) brings everything together. For
//! a whole column the finding says in how many samples.
//!
//! ## Why it matters
//!
//! Factors of two to a thousand. Conductivity in the wrong thousand hides every other fault.
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
    code: "unit-doubtful",
    severity: Severity::Warning,
    limits: &[],
    gist: "a unit is doubtful",
    yields_to: &[],
    scope: Scope::Cause,
    text: include_str!("unit_doubtful.rs"),
};
