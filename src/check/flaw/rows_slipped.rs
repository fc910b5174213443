//! # rows-slipped: numbers of some columns stand in the row of another sample
//!
//! ## What it finds
//!
//! Runs of at least four samples that do not agree with themselves, but do (four of five within 5 % of
//! charge balance) when the numbers of some neighbouring columns are taken from the row before or after.
//!
//! ## Why it matters
//!
//! A cell was deleted or inserted in one part of a table: every number is right, and every sample below
//! is wrong.
//!
//! ## When it is wrong
//!
//! Waters that are nearly alike fit in each other's rows; those are not told, since they agree with
//! themselves as read. A report of more than 2 000 samples is not looked through.
//!
//! ## Source
//!
//! Yardsticks: Standard Methods 1030E and 2510B, from memory; the search is ours.

use super::prelude::*;

pub(super) const CHECK: Check = Check {
    code: "rows-slipped",
    severity: Severity::Warning,
    limits: &[],
    gist: "rows have slipped",
    yields_to: &[],
    scope: Scope::Cause,
    text: include_str!("rows_slipped.rs"),
};
