//! # dissolved-above-total: more dissolved than there is in all
//!
//! ## What it finds
//!
//! A dissolved result above the total result of the same analyte in the same sample by more than 10
//! % and more than the lowest limit reported.
//!
//! ## Why it matters
//!
//! The two columns are exchanged, or the filtered bottle was contaminated (zinc, copper).
//!
//! ## When it is wrong
//!
//! Near the limit of quantification both numbers are uncertain.
//!
//! ## Source
//!
//! Part and whole; ASTM D596 (extract read). Tolerance: common practice.

use super::prelude::*;
use crate::vocabulary::Fraction;
pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Warning,
    limits: &["percent"],
    gist: "more is dissolved than there is in all",
    yields_to: &["value-impossible"],
    scope: Scope::Sample(find),
    text: include_str!("dissolved_above_total.rs"),
};

const CODE: &str = "dissolved-above-total";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    for (id, entries) in case.sample.ranked.iter() {
        let of = |fraction: Fraction| {
            entries.iter().find(|entry| {
                entry.censored.is_none()
                    && case.samples.column(entry.column).fraction == Some(fraction)
            })
        };
        let (Some(dissolved), Some(total)) = (of(Fraction::Dissolved), of(Fraction::Total)) else {
            continue;
        };
        let above = dissolved.value - total.value;
        // Two hundredths of a mg/L is what trace methods differ by.
        if above <= case.limit("percent") / 100.0 * total.value || above <= 0.02 {
            continue;
        }
        let analyte = case.samples.vocabulary.analyte(*id);
        let message = format!(
            "{}: dissolved {} {} is above total {}{}: columns exchanged?",
            case.who(),
            analyte.name,
            significant(dissolved.value),
            significant(total.value),
            in_unit(&analyte.unit),
        );
        let mut one = case.found(
            CODE,
            Substance::Iron,
            message,
            "compare both with the report",
        );
        one.place = case.samples.place(dissolved);
        one.analyte = Some(analyte.code.clone().into());
        found.push(one.weigh(dissolved.value / total.value.max(f64::MIN_POSITIVE)));
    }
}
