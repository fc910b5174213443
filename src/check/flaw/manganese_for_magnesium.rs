//! # manganese-for-magnesium: manganese and magnesium look exchanged
//!
//! ## What it finds
//!
//! Manganese above 3 mg/L with magnesium below 0.5 mg/L in one sample.
//!
//! ## Why it matters
//!
//! The names differ by a letter or two in many languages (Mangan, mangaan); a heading was misread.
//!
//! ## When it is wrong
//!
//! Acid mine water.
//!
//! ## Source
//!
//! Common practice, no source.

use super::prelude::*;

pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Warning,
    limits: &["manganese", "magnesium"],
    gist: "manganese and magnesium look exchanged",
    yields_to: &["value-impossible"],
    scope: Scope::Sample(find),
    text: include_str!("manganese_for_magnesium.rs"),
};

const CODE: &str = "manganese-for-magnesium";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    let (Some(manganese), Some(magnesium)) = (
        case.plain(Substance::Manganese),
        case.water.at(Substance::Magnesium, 1.0),
    ) else {
        return;
    };
    if manganese <= case.limit("manganese") || magnesium >= case.limit("magnesium") {
        return;
    }
    let message = format!(
        "{}: manganese {} and magnesium {} mg/L: usually the other way round; was a heading misread?",
        case.who(),
        significant(manganese),
        significant(magnesium),
    );
    found.push(case.found(
        CODE,
        Substance::Manganese,
        message,
        "compare both headings with the report",
    ));
}
