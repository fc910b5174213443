//! # value-impossible: a number that cannot be
//!
//! ## What it finds
//!
//! A number beyond the hard range of its analyte (pH 74, a negative concentration, calcium 90 000
//! mg/L): what only a typing, unit or column error can give. It stays in the results as it was
//! read, but no figure is made from it. The ranges are those of `analytes.toml`.
//!
//! ## Why it matters
//!
//! One such number spoils every figure made from it, and often shows that a whole column has the
//! wrong unit.
//!
//! ## When it is wrong
//!
//! Brines, leachates and feed solutions can lie beyond ranges meant for irrigation and drain water;
//! widen them in your own `analytes.toml`.
//!
//! ## Source
//!
//! Ranges: judgement, common practice, no source.

use super::prelude::*;
use crate::check::samples::is_impossible;
pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Error,
    limits: &[],
    gist: "a number cannot be",
    yields_to: CAUSES,
    scope: Scope::Sample(find),
    text: include_str!("value_impossible.rs"),
};

const CODE: &str = "value-impossible";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    let vocabulary = case.samples.vocabulary;
    for (id, entries) in case.sample.ranked.iter() {
        let analyte = vocabulary.analyte(*id);
        for entry in entries {
            if !is_impossible(analyte.hard_range, entry.value, entry.censored) {
                continue;
            }
            // A fault of the whole column explains it, and has been told.
            let explained = Substance::find(&analyte.code)
                .and_then(|substance| case.as_read.reading(substance))
                .is_some_and(|r| !is_impossible(analyte.hard_range, r.value, r.censored));
            if explained && entry.at == entries[0].at {
                continue;
            }
            let Some((low, high)) = analyte.hard_range else {
                continue;
            };
            let meant = [0.1, 10.0, 0.01, 100.0, 0.001, 1000.0]
                .into_iter()
                .map(|factor| entry.value * factor)
                .find(|v| {
                    let (low, high) = analyte.soft_range.unwrap_or((low, high));
                    (low..=high).contains(v) && *v > 0.0
                })
                .map_or_else(String::new, |v| format!("; was {} meant?", significant(v)));
            let message = format!(
                "{}: {} {} cannot be right (possible: {} to {}{}){meant}",
                case.who(),
                analyte.name,
                significant(entry.value),
                significant(low),
                significant(high),
                in_unit(&analyte.unit),
            );
            let help =
                "compare unit, decimal sign and column with the report; no figure is made from it";
            let mut one = case.found(CODE, Substance::Ph, message, help);
            one.place = case.samples.place(entry);
            one.analyte = Some(analyte.code.clone().into());
            found.push(one);
        }
    }
}
