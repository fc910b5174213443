//! # carbonate-hardness-above-total: carbonate hardness above total hardness
//!
//! ## What it finds
//!
//! A reported carbonate hardness above the reported total hardness by more than 10 % and 9 mg/L
//! CaCO3 (0.5 °dH).
//!
//! ## Why it matters
//!
//! Softened or sodium bicarbonate water (then it is alkalinity, not hardness), or the two are
//! exchanged.
//!
//! ## When it is wrong
//!
//! Usage: in German-speaking countries carbonate hardness is printed as acid capacity times 2.8,
//! whatever the hardness.
//!
//! ## Source
//!
//! Definition (Standard Methods 2340); usage read.

use super::prelude::*;

pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Note,
    limits: &["percent", "mg_l"],
    gist: "carbonate hardness is above total hardness",
    yields_to: &[],
    scope: Scope::Sample(find),
    text: include_str!("carbonate_hardness_above_total.rs"),
};

const CODE: &str = "carbonate-hardness-above-total";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    let (Some(carbonate), Some(total)) = (
        case.plain(Substance::HardnessCarbonate),
        case.plain(Substance::Hardness),
    ) else {
        return;
    };
    let above = carbonate - total;
    if above <= case.limit("mg_l") || above <= case.limit("percent") / 100.0 * total {
        return;
    }
    let message = format!(
        "{}: carbonate hardness {} is above total hardness {} mg/L CaCO3: softened or sodium bicarbonate water, or \
         the two are exchanged",
        case.who(),
        significant(carbonate),
        significant(total),
    );
    found.push(case.found(
        CODE,
        Substance::HardnessCarbonate,
        message,
        "ask whether the water was softened",
    ));
}
