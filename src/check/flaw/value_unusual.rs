//! # value-unusual: a number that is rare
//!
//! ## What it finds
//!
//! A number outside the soft range of its analyte: possible, but rare in water that is used for
//! growing.
//!
//! ## Why it matters
//!
//! Mostly it is true and matters to the grower; now and then it is the first sign of a wrong unit.
//!
//! ## When it is wrong
//!
//! Drain water, saline wells, rain: their numbers are rightly out of the ordinary.
//!
//! ## Source
//!
//! Ranges: judgement, common practice, no source.

use super::prelude::*;

pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Note,
    limits: &[],
    gist: "a number is unusual",
    yields_to: &["value-impossible"],
    scope: Scope::Sample(find),
    text: include_str!("value_unusual.rs"),
};

const CODE: &str = "value-unusual";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    let vocabulary = case.samples.vocabulary;
    for (id, entries) in case.sample.ranked.iter() {
        let analyte = vocabulary.analyte(*id);
        let (Some(entry), Some((low, high))) = (entries.first(), analyte.soft_range) else {
            continue;
        };
        // A low concentration is no news; a low pH or conductivity is.
        let too_low = entry.value < low && matches!(analyte.code.as_str(), "ph" | "conductivity");
        if entry.censored.is_some() || !(too_low || entry.value > high) {
            continue;
        }
        let message = format!(
            "{}: {} {}{} is unusual (mostly {} to {})",
            case.who(),
            analyte.name,
            significant(entry.value),
            in_unit(&analyte.unit),
            significant(low),
            significant(high),
        );
        let mut one = case.found(
            CODE,
            Substance::Ph,
            message,
            "right, if the source is known for it",
        );
        one.place = case.samples.place(entry);
        one.analyte = Some(analyte.code.clone().into());
        found.push(one.weigh(entry.value / high));
    }
}
