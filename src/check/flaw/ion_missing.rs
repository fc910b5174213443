//! # ion-missing: an ion is missing or shown as nothing
//!
//! ## What it finds
//!
//! A report that does not agree with itself (charge balance, conductivity, hardness, alkalinity), where
//! one ion that was not reported, or reported as 0, would close the balance and explain the conductivity.
//!
//! ## Why it matters
//!
//! What is missing carries as much charge as the gap.
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
    code: "ion-missing",
    severity: Severity::Warning,
    limits: &[],
    gist: "an ion seems to be missing",
    yields_to: &[],
    scope: Scope::Cause,
    text: include_str!("ion_missing.rs"),
};
