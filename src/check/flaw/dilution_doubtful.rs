//! # dilution-doubtful: all ions are off by one factor
//!
//! ## What it finds
//!
//! A report that does not agree with itself (charge balance, conductivity, hardness, alkalinity), where
//! one factor on all ions (10, 100, 1000, 5, 2) makes them explain the conductivity, while they balance.
//!
//! ## Why it matters
//!
//! A dilution that was forgotten or counted twice: the balance cannot see it, every ion is wrong.
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
    code: "dilution-doubtful",
    severity: Severity::Warning,
    limits: &[],
    gist: "all ions are off by one factor",
    yields_to: &[],
    scope: Scope::Cause,
    text: include_str!("dilution_doubtful.rs"),
};
