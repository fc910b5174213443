//! # columns-repeat: two columns hold the same numbers, or one is the other times a factor
//!
//! ## What it finds
//!
//! Two different ions (or pH, or conductivity) whose numbers are the same in all samples that have
//! both, or stand at one ratio in all of them. At least five samples with at least three different
//! numbers.
//!
//! ## Why it matters
//!
//! A column was copied into the place of another, or computed from another: one of the two was not
//! measured.
//!
//! ## When it is wrong
//!
//! A dilution series of one water has constant ratios throughout; where all columns do, nothing is
//! told.
//!
//! ## Source
//!
//! Common practice, no source.

use super::prelude::*;
use crate::check::samples::{ColumnId, Judged};
use std::collections::BTreeSet;

pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Warning,
    limits: &["samples", "different", "spread_percent"],
    gist: "a column repeats another",
    yields_to: &[],
    scope: Scope::File(find),
    text: include_str!("columns_repeat.rs"),
};

const CODE: &str = "columns-repeat";

/// What is measured each by itself.
const MEASURED: [Substance; 10] = [
    Substance::Ph,
    Substance::Conductivity,
    Substance::Bicarbonate,
    Substance::Calcium,
    Substance::Magnesium,
    Substance::Sodium,
    Substance::Potassium,
    Substance::Chloride,
    Substance::Sulfate,
    Substance::Nitrate,
];

/// Two columns that go together in all of so many samples.
struct Pair<'g, 's> {
    one: (ColumnId, Substance),
    other: (ColumnId, Substance),
    /// The second over the first, as printed.
    ratio: f64,
    samples: usize,
    first: &'g Judged<'s>,
}

impl Pair<'_, '_> {
    /// Whether both columns hold the same numbers.
    fn is_same(&self) -> bool {
        (self.ratio - 1.0).abs() < 1e-9
    }
}

/// Pairs at a constant ratio that somebody may have computed; more are a dilution series.
const DILUTED: usize = 2;

/// A column of one substance and its numbers as printed, by position in the group.
struct Numbers {
    of: (ColumnId, Substance),
    printed: Vec<Option<f64>>,
}

fn find(case: &FileCase<'_>, found: &mut Vec<Found>) {
    let columns: Vec<Numbers> = (case.columns.keys())
        .filter_map(|id| Some((*id, case.samples.column(*id).substance?)))
        .filter(|(_, substance)| MEASURED.contains(substance))
        .map(|of| Numbers {
            of,
            printed: (case.group.iter())
                .map(|sample| printed(case, sample, of))
                .collect(),
        })
        .collect();
    let mut pairs = Vec::new();
    for (i, one) in columns.iter().enumerate() {
        for other in &columns[i + 1..] {
            if one.of.1 == other.of.1 {
                continue;
            }
            pairs.extend(pair(case, one, other));
        }
    }
    // One water in several dilutions: all stand at one ratio to each other.
    if pairs.iter().filter(|pair| !pair.is_same()).count() > DILUTED {
        pairs.retain(Pair::is_same);
    }
    found.extend(pairs.iter().map(|pair| tell(case, pair)));
}

/// A number as the report has it; `None` unless it is a plain one above nothing.
fn printed(
    case: &FileCase<'_>,
    sample: &Judged<'_>,
    (id, substance): (ColumnId, Substance),
) -> Option<f64> {
    let entry = sample.entry(substance).filter(|e| e.column == id)?;
    let factor = case.samples.column(id).factor.filter(|f| *f > 0.0)?;
    (entry.censored.is_none() && entry.value > 0.0).then_some(entry.value / factor)
}

fn pair<'a>(case: &FileCase<'a>, one: &Numbers, other: &Numbers) -> Option<Pair<'a, 'a>> {
    let both = || (one.printed.iter().zip(&other.printed)).filter_map(|(a, b)| (*a).zip(*b));
    let (a, b) = both().next()?;
    let ratio = b / a;
    let most = case.limit("spread_percent") / 100.0;
    let near = |(a, b): (f64, f64)| (b / a / ratio - 1.0).abs() <= most || b == a && ratio == 1.0;
    // Mostly the second or the third number tells.
    if !both().all(near) {
        return None;
    }
    let different: BTreeSet<u64> = both().map(|(a, _)| a.to_bits()).collect();
    let samples = both().count();
    let enough = samples as f64 >= case.limit("samples")
        && different.len() as f64 >= case.limit("different");
    enough.then_some(Pair {
        one: one.of,
        other: other.of,
        ratio,
        samples,
        first: case.columns.get(&other.of.0)?.first()?.0,
    })
}

fn tell(case: &FileCase<'_>, pair: &Pair<'_, '_>) -> Found {
    let (one, other) = (pair.one.1.name(), pair.other.1.name());
    let message = if pair.is_same() {
        format!(
            "{one} and {other} are the same number in all {} samples: was one column copied over the other?",
            pair.samples
        )
    } else {
        format!(
            "{other} is {} times {one} in all {} samples: computed from it, not measured",
            significant(pair.ratio),
            pair.samples
        )
    };
    let help = "compare both columns with the report as it left the laboratory";
    let substance = pair.other.1;
    let mut found = Found::at(CODE, case.samples, pair.first, substance, message, help);
    found.sample = None;
    found.cells = pair.samples as u64;
    found
}
