//! # metal-unit-doubtful: a metal in mg/L that looks like µg/L
//!
//! ## What it finds
//!
//! A trace metal or boron at a concentration (mg/L) that growers' water practically never has, but
//! that is usual in µg/L.
//!
//! ## Why it matters
//!
//! A factor of a thousand in one row or one column: laboratories mix mg/L and µg/L on one sheet.
//!
//! ## When it is wrong
//!
//! Acid mine water and industrial effluents.
//!
//! ## Source
//!
//! Common practice, no source.

use super::prelude::*;

pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Warning,
    limits: &["iron", "manganese", "zinc", "copper", "boron", "aluminium"],
    gist: "a metal looks like µg/L",
    yields_to: &["value-impossible"],
    scope: Scope::Sample(find),
    text: include_str!("metal_unit_doubtful.rs"),
};

const CODE: &str = "metal-unit-doubtful";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    // Acid water does hold metals.
    if case.plain(Substance::Ph).is_some_and(|ph| ph < 4.5) {
        return;
    }
    for (metal, name) in [
        (Substance::Iron, "iron"),
        (Substance::Manganese, "manganese"),
        (Substance::Zinc, "zinc"),
        (Substance::Copper, "copper"),
        (Substance::Boron, "boron"),
        (Substance::Aluminium, "aluminium"),
    ] {
        let value = (case.as_read.plain(metal)).filter(|v| *v > case.limit(name));
        if let Some(value) = value {
            let message = format!(
                "{}: {name} {} mg/L: is it µg/L?",
                case.who(),
                significant(value)
            );
            found.push(case.found(
                CODE,
                metal,
                message,
                "compare the unit of this row or column with the report",
            ));
        }
    }
}
