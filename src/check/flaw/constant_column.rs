//! # constant-column: one number in a whole column
//!
//! ## What it finds
//!
//! A column of an ion, metal or nutrient that holds the same plain number in at least five samples
//! and in all that have it, while the samples differ otherwise.
//!
//! ## Why it matters
//!
//! A guideline, limit or detection-limit column was read as results, or a cell was filled down.
//!
//! ## When it is wrong
//!
//! Several samples of one mains water; numbers near the detection limit rounded to one digit.
//!
//! ## Source
//!
//! Common practice, no source.

use super::prelude::*;
use super::value_equals_limit::is_trace;
use crate::check::cause::COMPARED;
pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Warning,
    limits: &["samples"],
    gist: "a column holds one number only",
    yields_to: &[],
    scope: Scope::File(find),
    text: include_str!("constant_column.rs"),
};

const CODE: &str = "constant-column";

fn find(case: &FileCase<'_>, found: &mut Vec<Found>) {
    let fewest = case.limit("samples");
    for (column, entries) in case.columns {
        let Some(substance) = case.samples.column(*column).substance else {
            continue;
        };
        let Some((_, first)) = entries.first() else {
            continue;
        };
        let alike = entries
            .iter()
            .all(|(_, e)| e.value == first.value && e.censored.is_none());
        if !alike
            || first.value == 0.0
            || (entries.len() as f64) < fewest
            || !differ(case, substance)
        {
            continue;
        }
        // What a laboratory holds constant or computes.
        if matches!(
            substance,
            Substance::Temperature | Substance::Turbidity | Substance::Colour
        ) {
            continue;
        }
        let known = known_limit(substance, first.value)
            .map_or_else(String::new, |words| format!(" ({words})"));
        let number = significant(first.value);
        let reason = if known.is_empty() && is_trace(substance) {
            format!("the method's limit, '<{number}' without its sign, or a guideline?")
        } else {
            "was a limit or guideline column read as results?".to_owned()
        };
        let message = format!(
            "{} is exactly {number} in all {} samples{known}: {reason}",
            substance.name(),
            entries.len(),
        );
        let help = "compare with the report; a mapping can set the column aside";
        let mut one = Found::at(CODE, case.samples, entries[0].0, substance, message, help);
        one.sample = None;
        one.cells = entries.len() as u64;
        found.push(one);
    }
}

/// Whether the samples differ in anything else.
fn differ(case: &FileCase<'_>, but: Substance) -> bool {
    COMPARED.iter().filter(|s| **s != but).any(|s| {
        let mut values = case
            .group
            .iter()
            .filter_map(|sample| sample.as_read.plain(*s));
        values
            .next()
            .is_some_and(|first| values.any(|v| v != first))
    })
}

/// A well-known limit in one of the two bases: it betrays the basis of the column as well. EU directive
/// 2020/2184 (nitrate 50 mg/L) and WHO (11.3 as N), from memory.
fn known_limit(substance: Substance, value: f64) -> Option<&'static str> {
    let near = |limit: f64| (value / limit - 1.0).abs() < 0.01;
    match substance {
        Substance::Nitrate if near(50.0) => Some("the European limit for drinking water"),
        Substance::Nitrate if near(44.266) => Some("10 mg/L as N, a limit for drinking water"),
        Substance::Chloride | Substance::Sulfate if near(250.0) => {
            Some("the European limit for drinking water")
        }
        Substance::Sodium if near(200.0) => Some("the European limit for drinking water"),
        Substance::Iron if near(0.2) || near(0.3) => Some("a limit for drinking water"),
        Substance::Manganese if near(0.05) => Some("the European limit for drinking water"),
        _ => None,
    }
}
