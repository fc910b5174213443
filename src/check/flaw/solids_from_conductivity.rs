//! # solids-from-conductivity: dissolved solids were computed from conductivity
//!
//! ## What it finds
//!
//! The same ratio of dissolved solids to conductivity, within 0.5 %, in at least five samples of a
//! file.
//!
//! ## Why it matters
//!
//! The solids were not weighed but are conductivity times a factor: no evidence of their own, and
//! no ground to judge the ions by.
//!
//! ## When it is wrong
//!
//! Hardly ever.
//!
//! ## Source
//!
//! Common practice, no source.

use super::prelude::*;
use crate::check::cause::median;
use crate::check::samples::Judged;
pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Note,
    limits: &["samples", "spread_percent"],
    gist: "dissolved solids were computed from conductivity",
    yields_to: &[],
    scope: Scope::File(find),
    text: include_str!("solids_from_conductivity.rs"),
};

const CODE: &str = "solids-from-conductivity";

fn find(case: &FileCase<'_>, found: &mut Vec<Found>) {
    let ratios: Vec<(f64, &Judged<'_>)> = (case.group.iter())
        .filter_map(|sample| {
            let conductivity = sample
                .as_read
                .plain(Substance::Conductivity)
                .filter(|v| *v > 0.0)?;
            Some((
                sample.as_read.plain(Substance::DissolvedSolids)? / conductivity,
                *sample,
            ))
        })
        .collect();
    if (ratios.len() as f64) < case.limit("samples") {
        return;
    }
    let middle = median(&mut ratios.iter().map(|(r, _)| *r).collect::<Vec<_>>());
    let spread = case.limit("spread_percent") / 100.0;
    let near = ratios
        .iter()
        .filter(|(r, _)| (r / middle - 1.0).abs() <= spread)
        .count();
    // A typing error or two do not make them measured.
    if middle <= 0.0 || (near as f64) < 0.9 * ratios.len() as f64 {
        return;
    }
    let message = format!(
        "dissolved solids are {} times conductivity in {near} of {} samples: computed, not measured",
        significant(middle),
        ratios.len(),
    );
    let help = "do not take them for a second opinion on conductivity or ions";
    let mut one = Found::at(
        CODE,
        case.samples,
        ratios[0].1,
        Substance::DissolvedSolids,
        message,
        help,
    );
    one.sample = None;
    one.cells = near as u64;
    found.push(one);
}
