//! # digits-beyond-measure: a column carries more digits than anybody measures
//!
//! ## What it finds
//!
//! Columns in which four of five numbers have seven or more significant digits.
//!
//! ## Why it matters
//!
//! No laboratory prints so many: the numbers were converted or computed by somebody on the way, and may
//! be in another unit or on another basis than the laboratory reported.
//!
//! ## When it is wrong
//!
//! A spreadsheet stores more than it shows; then the numbers may be the laboratory's own.
//!
//! ## Source
//!
//! Common practice, no source.

use super::prelude::*;

pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Note,
    limits: &["digits", "samples", "share"],
    gist: "a column carries more digits than anybody measures",
    yields_to: &[],
    scope: Scope::File(find),
    text: include_str!("digits_beyond_measure.rs"),
};

const CODE: &str = "digits-beyond-measure";

/// Named one by one; beyond, only counted.
const NAMED: usize = 6;

fn find(case: &FileCase<'_>, found: &mut Vec<Found>) {
    let limit = |name| case.limit(name);
    let digits_limit = limit("digits");
    let mut long: Vec<(Substance, &crate::check::samples::Judged<'_>, usize)> = Vec::new();
    for (id, entries) in case.columns {
        let column = case.samples.column(*id);
        // As printed; a conversion of ours makes digits of its own.
        let (Some(substance), Some(1.0)) = (column.substance, column.factor) else {
            continue;
        };
        let plain = || entries.iter().filter(|(_, e)| e.censored.is_none());
        let many = plain()
            .filter(|(_, e)| has_digits(e.value, digits_limit))
            .count();
        let all = plain().count() as f64;
        if all >= limit("samples") && many as f64 >= limit("share") * all {
            long.push((substance, entries[0].0, many));
        }
    }
    let Some((first, sample, _)) = long.first().copied() else {
        return;
    };
    let names: Vec<&str> = long.iter().take(NAMED).map(|(s, ..)| s.name()).collect();
    let more = match long.len() - names.len() {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    let message = format!(
        "seven digits or more in {}{more}: converted or computed on the way, not as a laboratory prints",
        names.join(", ")
    );
    let help = "ask for the report as it left the laboratory; compare units and bases with it";
    let mut one = Found::at(CODE, case.samples, sample, first, message, help);
    one.sample = None;
    one.cells = long.iter().map(|(.., many)| *many as u64).sum();
    found.push(one);
}

/// Whether the shortest way to write the number has so many significant digits.
fn has_digits(value: f64, least: f64) -> bool {
    !is_shorter(value.abs(), least) && digits(value) as f64 >= least
}

/// Whether a few decimals plainly write the number with fewer digits: it is the double next to a whole
/// number of that many digits over a power of ten.
fn is_shorter(value: f64, least: f64) -> bool {
    let whole_below = 10f64.powf((least - 1.0).clamp(0.0, 15.0).floor());
    [1.0, 10.0, 100.0, 1e3, 1e4, 1e5, 1e6]
        .into_iter()
        .any(|power| {
            let whole = (value * power).round();
            whole > 0.0 && whole < whole_below && whole / power == value
        })
}

/// Significant digits of the shortest way to write the number.
fn digits(value: f64) -> usize {
    let text = format!("{:e}", value.abs());
    let mantissa = text.split('e').next().map_or("", |mantissa| mantissa);
    mantissa.chars().filter(char::is_ascii_digit).count()
}
