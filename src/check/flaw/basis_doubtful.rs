//! # basis-doubtful: a number counts another species than it seems
//!
//! ## What it finds
//!
//! A report that does not agree with itself (charge balance, conductivity, hardness, alkalinity), where
//! reading an ion on another basis (nitrate as N, alkalinity as HCO3, sulfate as S, calcium as CaCO3, potassium
//! as K2O) brings everything together. For a whole column the finding says in how many samples.
//!
//! ## Why it matters
//!
//! A basis misread is a factor of 1.22 (bicarbonate) to 4.43 (nitrate), and every sample of the laboratory has it.
//!
//! ## When it is wrong
//!
//! Two faults at once can look like a third one. Explanations that fit equally well are named together. Of
//! a sample that is only strange for its source none is told that would take a good balance away.
//! Nothing is applied: figures are computed from the report as it stands until a mapping says otherwise.
//!
//! ## Source
//!
//! The design of these tests is common practice, no source; the yardsticks are Standard Methods 1030E,
//! 2510B and 2340B, from memory.

use super::prelude::*;

pub(super) const CHECK: Check = Check {
    code: "basis-doubtful",
    severity: Severity::Warning,
    limits: &[],
    gist: "a basis is doubtful",
    yields_to: &[],
    scope: Scope::Cause,
    text: include_str!("basis_doubtful.rs"),
};
