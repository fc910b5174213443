//! # date-origin-doubtful: a date four years and a day from its neighbours
//!
//! ## What it finds
//!
//! A sampling date that lies years from all others of its file, and among them when moved by 1462
//! days.
//!
//! ## Why it matters
//!
//! Spreadsheets count days from 1900 or from 1904; a date copied from one kind into the other is
//! 1462 days off.
//!
//! ## When it is wrong
//!
//! A sample of an earlier campaign, four years before, in a file of one year. Files that span many years
//! are left alone.
//!
//! ## Source
//!
//! Date systems of spreadsheet programs (OOXML, ISO/IEC 29500), from memory.

use super::prelude::*;
use jiff::civil::Date;
pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Warning,
    limits: &[],
    gist: "a date is four years and a day off",
    yields_to: &[],
    scope: Scope::Beside(find),
    text: include_str!("date_origin_doubtful.rs"),
};

const CODE: &str = "date-origin-doubtful";

/// Days between the two origins.
const APART: i32 = 1462;
/// Days around the middle within which most samples of a file lie that has one.
const CLOSE: i32 = 366;

fn find(case: &FileCase<'_>, found: &mut Vec<Found>) {
    let mut dates: Vec<Date> = case
        .group
        .iter()
        .filter_map(|s| s.about.sampled_on)
        .collect();
    if dates.len() < 3 {
        return;
    }
    dates.sort_unstable();
    let middle = dates[dates.len() / 2];
    // A file of many years has samples four years apart everywhere: only among close neighbours does one
    // stand out.
    let close = (dates.iter())
        .filter(|day| (**day - middle).get_days().abs() <= CLOSE)
        .count();
    if close * 4 < dates.len() * 3 {
        return;
    }
    for sample in case.group {
        let Some(day) = sample.about.sampled_on else {
            continue;
        };
        let off = (day - middle).get_days();
        // Half a year of scatter around the middle is a file's usual width.
        if off.abs() < 1000 || (off.abs() - APART).abs() > 183 {
            continue;
        }
        let message = format!(
            "{}: taken {} years from the other samples of this file, as far as the two date systems of \
             spreadsheets are apart",
            who(sample.about),
            significant(f64::from(off.abs()) / 365.25),
        );
        let help = "compare the date with the report";
        found.push(Found::at(
            CODE,
            case.samples,
            sample,
            Substance::Ph,
            message,
            help,
        ));
    }
}
