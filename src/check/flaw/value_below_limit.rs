//! # value-below-limit: numbers below the limit of their own column
//!
//! ## What it finds
//!
//! A plain number below half the smallest limit (`<0.05`) that stands in the same column of the
//! same file.
//!
//! ## Why it matters
//!
//! The `<` was lost on the way, or the limit is in another unit than the number.
//!
//! ## When it is wrong
//!
//! Limits that differ from day to day or with dilution.
//!
//! ## Source
//!
//! Common practice, no source.

use super::prelude::*;
use crate::record::Censored;
pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Warning,
    limits: &[],
    gist: "numbers are below their own limit",
    yields_to: &[],
    scope: Scope::Beside(find),
    text: include_str!("value_below_limit.rs"),
};

const CODE: &str = "value-below-limit";

fn find(case: &FileCase<'_>, found: &mut Vec<Found>) {
    for (column, entries) in case.columns {
        let Some(substance) = case.samples.column(*column).substance else {
            continue;
        };
        let limits = entries
            .iter()
            .filter(|(_, e)| e.censored == Some(Censored::Below));
        let Some(limit) = limits.map(|(_, e)| e.value).min_by(f64::total_cmp) else {
            continue;
        };
        for (sample, entry) in entries {
            if entry.censored.is_none() && entry.value > 0.0 && entry.value < 0.5 * limit {
                let message = format!(
                    "{}: {} {} is below the limit of its column, {}: was the '<' lost, or is the limit in another unit?",
                    who(sample.about),
                    substance.name(),
                    significant(entry.value),
                    significant(limit),
                );
                let help = "compare with the report";
                let one = Found::at(CODE, case.samples, sample, substance, message, help);
                found.push(one.weigh(limit / entry.value));
            }
        }
    }
}
