//! # metal-in-soft-water: zinc or copper in water almost without salts
//!
//! ## What it finds
//!
//! Conductivity below 100 µS/cm with zinc above 0.5 or copper above 0.2 mg/L.
//!
//! ## Why it matters
//!
//! Soft water takes zinc from galvanised roofs and gutters and copper from new pipes; it counts as
//! supply of trace elements and can be too much.
//!
//! ## When it is wrong
//!
//! Contaminated bottles.
//!
//! ## Source
//!
//! Zinc from galvanised roofs: read in a survey of rainwater; limits common practice.

use super::prelude::*;

pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Note,
    limits: &["conductivity", "zinc", "copper"],
    gist: "zinc or copper in soft water",
    yields_to: &["decimal-slip", "unit-doubtful", "dilution-doubtful"],
    scope: Scope::Sample(find),
    text: include_str!("metal_in_soft_water.rs"),
};

const CODE: &str = "metal-in-soft-water";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    let soft = case
        .plain(Substance::Conductivity)
        .is_some_and(|ec| ec < case.limit("conductivity"));
    if !soft {
        return;
    }
    for (metal, name, from) in [
        (Substance::Zinc, "zinc", "a galvanised roof, gutter or pipe"),
        (Substance::Copper, "copper", "copper pipe"),
    ] {
        if let Some(value) = case.plain(metal).filter(|v| *v > case.limit(name)) {
            let message = format!(
                "{}: {name} {} mg/L in water almost without salts: from {from}? It counts as supply",
                case.who(),
                significant(value),
            );
            found.push(case.found(
                CODE,
                metal,
                message,
                "subtract it from the trace elements of the feed",
            ));
        }
    }
}
