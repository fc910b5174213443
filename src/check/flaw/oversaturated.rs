//! # oversaturated: more lime or gypsum than water holds
//!
//! ## What it finds
//!
//! A calcite saturation index (Langelier form) above 1.5, or a product of calcium and sulfate
//! (mmol²/L²) that exceeds what gypsum allows by far.
//!
//! ## Why it matters
//!
//! That much calcium would have fallen out: calcium, pH or sulfate is wrong, or lime from the
//! bottle was dissolved by acid.
//!
//! ## When it is wrong
//!
//! Water just pumped or warmed; water with scale inhibitors; pH that rose in the bottle.
//!
//! ## Source
//!
//! Standard Methods 2330B, from memory; the gypsum product at high ionic strength is judgement;
//! limits common practice.

use super::prelude::*;
use crate::check::figure::calcite::saturation_ph;
use crate::check::figure::conductivity::ionic_strength;
pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Note,
    limits: &["calcite_index", "gypsum_product"],
    gist: "more lime or gypsum than the water can hold",
    yields_to: CAUSES_AND_BALANCE,
    scope: Scope::Sample(find),
    text: include_str!("oversaturated.rs"),
};

const CODE: &str = "oversaturated";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    let (Some(ph), Some(calcium)) = (
        case.plain(Substance::Ph),
        case.charges.meq(Substance::Calcium),
    ) else {
        return;
    };
    let strength = ionic_strength(case.charges);
    let temperature = case
        .plain(Substance::Temperature)
        .unwrap_or(case.limits.saturation_temperature_cel);
    let index = case
        .charges
        .meq(Substance::Bicarbonate)
        .and_then(|bicarbonate| {
            Some(
                ph - saturation_ph(
                    calcium / 2000.0,
                    bicarbonate / 1000.0,
                    temperature,
                    strength,
                )?,
            )
        });
    if let Some(index) = index.filter(|index| *index > case.limit("calcite_index")) {
        let message = format!(
            "{}: with pH {ph} this much calcium would have fallen out as lime (saturation index {index:+.1})",
            case.who(),
        );
        found.push(
            case.found(
                CODE,
                Substance::Ph,
                message,
                "ask when pH was measured; it rises in the bottle",
            )
            .weigh(index),
        );
    }
    let product = case
        .charges
        .meq(Substance::Sulfate)
        .map(|sulfate| calcium * sulfate / 4.0);
    if let Some(product) = product.filter(|p| *p > case.limit("gypsum_product")) {
        let message = format!(
            "{}: calcium and sulfate are more than gypsum lets stand in solution (product {} mmol²/L²)",
            case.who(),
            significant(product),
        );
        found.push(case.found(
            CODE,
            Substance::Sulfate,
            message,
            "compare the units of both with the report",
        ));
    }
}
