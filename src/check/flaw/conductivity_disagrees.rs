//! # conductivity-disagrees: the ions do not explain the conductivity
//!
//! ## What it finds
//!
//! A conductivity calculated from the ions that is not within 0.9 to 1.1 of the measured one: a note; a
//! warning outside 0.8 to 1.25; an error outside 0.5 to 2.
//!
//! ## Why it matters
//!
//! The ions may balance and all be ten times too high (a dilution forgotten), or conductivity may have the
//! wrong unit (mS read as µS). The calculation is independent of the balance.
//!
//! ## When it is wrong
//!
//! Acid water and very saline water; a conductivity at 20 °C that the report calls simply conductivity
//! (1.116 lower); a reading taken in the field on another day.
//!
//! ## Source
//!
//! Standard Methods 1030E (0.9 to 1.1) and 2510B (calculation), from memory; the wider bands are common
//! practice.

use super::prelude::*;

pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Warning,
    limits: &[
        "note_below",
        "note_above",
        "warning_below",
        "warning_above",
        "error_below",
        "error_above",
    ],
    gist: "the ions do not explain the conductivity",
    yields_to: CAUSES_AND_BALANCE,
    scope: Scope::Sample(find),
    text: include_str!("conductivity_disagrees.rs"),
};

const CODE: &str = "conductivity-disagrees";

/// µS/cm: in water this dilute the calculation is as uncertain as the difference.
const DILUTE_US_CM: f64 = 20.0;

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    let (Some(ratio), Some(measured)) = (
        case.fit.conductivity_ratio,
        case.plain(Substance::Conductivity),
    ) else {
        return;
    };
    let beyond = |low: &str, high: &str| ratio < case.limit(low) || ratio > case.limit(high);
    let calculated = ratio * measured;
    if !beyond("note_below", "note_above") || (calculated - measured).abs() < DILUTE_US_CM {
        return;
    }
    let (grade, words) = if beyond("error_below", "error_above") {
        (
            Grade::Graver,
            "one of them has a wrong unit or a dilution was forgotten",
        )
    } else if beyond("warning_below", "warning_above") {
        (
            Grade::Usual,
            "an ion or the conductivity is wrong, or an ion is missing",
        )
    } else {
        (Grade::Milder, "a little more than sound reports do")
    };
    let message = format!(
        "{}: the ions explain {} µS/cm, measured are {} ({ratio:.2} times): {words}",
        case.who(),
        significant(calculated),
        significant(measured),
    );
    let help = match grade {
        Grade::Milder => "ask at what temperature conductivity was measured",
        _ => "compare the unit of conductivity and the units of the ions with the report",
    };
    found.push(
        case.found(CODE, Substance::Conductivity, message, help)
            .grade(grade)
            .weigh(ratio.ln().abs()),
    );
}
