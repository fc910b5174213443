//! # units-contradict: one result in two units that do not belong together
//!
//! ## What it finds
//!
//! An analyte that stands twice in one line of a report, in two units or on two bases (mg/L beside
//! meq/L), where the two differ by more than 10 % once both are in one unit.
//!
//! ## Why it matters
//!
//! Both columns say the same water: one of them has another unit or basis than it says, or stands in
//! another row. Neither can be believed before it is known which.
//!
//! ## When it is wrong
//!
//! Small numbers printed with one digit (0.1 meq/L) carry up to half of it; those are left out.
//!
//! ## Source
//!
//! Common practice, no source.

use super::prelude::*;
use crate::check::samples::{Entry, Samples};

pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Error,
    limits: &["percent", "units_of_last_digit"],
    gist: "two units of one result contradict each other",
    yields_to: &[],
    scope: Scope::Sample(find),
    text: include_str!("units_contradict.rs"),
};

const CODE: &str = "units-contradict";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    for (id, entries) in case.sample.ranked.iter() {
        let Some(first) = entries.first().filter(|entry| entry.censored.is_none()) else {
            continue;
        };
        let twin = (entries.iter().skip(1))
            .find(|other| is_twin(case.samples, first, other) && apart(case, first, other));
        let Some(twin) = twin else { continue };
        let analyte = case.samples.vocabulary.analyte(*id);
        let printed = |entry: &Entry| {
            let column = case.samples.column(entry.column);
            let number = column.factor.map_or(entry.value, |f| entry.value / f);
            format!("{} {}", significant(number), unit(case.samples, entry))
        };
        let message = format!(
            "{}: {} {} and {} do not belong together: the second is {}{}",
            case.who(),
            analyte.name,
            printed(first),
            printed(twin),
            significant(twin.value),
            in_unit(&analyte.unit),
        );
        let help = "compare both columns with the report: one has another unit or basis than it says, or its \
                    rows have slipped";
        let mut one = case.found(CODE, Substance::Ph, message, help);
        one.place = case.samples.place(first);
        one.analyte = Some(analyte.code.clone().into());
        found.push(one.weigh((first.value / twin.value).ln().abs()));
    }
}

/// The unit as the report has it, with its basis.
fn unit(samples: &Samples<'_>, entry: &Entry) -> String {
    let column = samples.column(entry.column);
    let text = |text: &Option<std::sync::Arc<str>>| text.as_deref().unwrap_or("").trim().to_owned();
    let (unit, basis) = (text(&column.unit_text), text(&column.basis_text));
    match basis.is_empty() {
        true => unit,
        false => format!("{unit} as {basis}"),
    }
}

/// The same result in other words: same line, same fraction, another unit or basis.
fn is_twin(samples: &Samples<'_>, one: &Entry, other: &Entry) -> bool {
    let (a, b) = (samples.column(one.column), samples.column(other.column));
    other.censored.is_none()
        && a.file == b.file
        && one.sheet == other.sheet
        && (one.at.row == other.at.row || one.at.col == other.at.col)
        && a.fraction == b.fraction
        && a.unit_text.is_some()
        && b.unit_text.is_some()
        && (a.unit_text != b.unit_text || a.basis_text != b.basis_text)
        && a.factor != b.factor
}

fn apart(case: &SampleCase<'_>, one: &Entry, other: &Entry) -> bool {
    let difference = (one.value - other.value).abs();
    let coarse = [one, other].map(|entry| last_digit(case.samples, entry));
    difference > case.limit("percent") / 100.0 * one.value.max(other.value)
        && difference > case.limit("units_of_last_digit") * coarse[0].max(coarse[1])
}

/// What one unit of the last digit printed is worth, in the canonical unit.
fn last_digit(samples: &Samples<'_>, entry: &Entry) -> f64 {
    let factor = samples.column(entry.column).factor.filter(|f| *f > 0.0);
    let factor = factor.map_or(1.0, |factor| factor);
    // Dividing by the factor leaves dust in the fifteenth digit.
    let printed = format!("{:.9}", entry.value / factor);
    let decimals = (printed.trim_end_matches('0').split_once('.')).map_or(0, |(_, d)| d.len());
    factor * 10f64.powi(-i32::try_from(decimals).map_or(0, |d| d))
}
