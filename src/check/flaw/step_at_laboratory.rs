//! # step-at-laboratory: a step by a known factor when the laboratory changed
//!
//! ## What it finds
//!
//! In one source, an analyte whose middle before and after a change of laboratory differs by a
//! factor that is a known conversion (1.219, 4.43, 3.0, 2.29, 1.2, 1.116, 2, 10, 1000 ...) within 3
//! %, with at least three samples on both sides and little scatter.
//!
//! ## Why it matters
//!
//! The two laboratories report on different bases or units; the history shows a change that never
//! happened.
//!
//! ## When it is wrong
//!
//! True changes that happen to equal such a factor.
//!
//! ## Source
//!
//! Factors from IUPAC 2021 atomic weights; 1.116 ISO 7888 (20 to 25 °C), ratio of published limits
//! read. Tolerance: common practice.

use super::prelude::*;
use crate::check::cause::{COMPARED, middle_and_spread};
use crate::check::samples::Judged;
pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Warning,
    limits: &["percent", "samples"],
    gist: "a step by a known factor when the laboratory changed",
    yields_to: &[],
    scope: Scope::Source(find),
    text: include_str!("step_at_laboratory.rs"),
};

const CODE: &str = "step-at-laboratory";

fn find(case: &SourceCase<'_>, found: &mut Vec<Found>) {
    let labs: Vec<Option<&str>> = (case.history.iter())
        .map(|s| s.about.lab.as_deref())
        .collect();
    let Some(change) = (1..labs.len())
        .find(|i| labs[*i].is_some() && labs[*i - 1].is_some() && labs[*i] != labs[*i - 1])
    else {
        return;
    };
    let (before, after) = case.history.split_at(change);
    let after: Vec<_> = after
        .iter()
        .take_while(|s| s.about.lab == after[0].about.lab)
        .collect();
    for substance in COMPARED {
        let of = |samples: &mut dyn Iterator<Item = &Judged<'_>>| -> Vec<f64> {
            samples
                .filter_map(|s| s.water().plain(substance))
                .filter(|v| *v > 0.0)
                .map(f64::ln)
                .collect()
        };
        let old = of(&mut before.iter().copied());
        let new = of(&mut after.iter().map(|s| **s));
        let fewest = case.limit("samples");
        if (old.len() as f64) < fewest || (new.len() as f64) < fewest {
            continue;
        }
        let ((old, old_spread), (new, new_spread)) =
            (middle_and_spread(old), middle_and_spread(new));
        let step = (new - old).exp();
        // With more scatter than this any factor would fit.
        if old_spread.max(new_spread) > 0.1 {
            continue;
        }
        let tolerance = case.limit("percent") / 100.0;
        let Some((factor, words)) = FACTORS.iter().find(|(factor, _)| {
            [*factor, 1.0 / factor]
                .iter()
                .any(|f| (step / f - 1.0).abs() <= tolerance)
        }) else {
            continue;
        };
        let message = format!(
            "{}: {} from {} is {} times what it was from the laboratory before, which is the factor of {words} \
             ({factor})",
            who(after[0].about),
            substance.name(),
            after[0]
                .about
                .lab
                .as_deref()
                .unwrap_or("the new laboratory"),
            significant(step),
        );
        let help = "ask both laboratories on which basis, in which unit and at which temperature they report";
        let mut one = Found::at(CODE, case.samples, after[0], substance, message, help);
        one.cells = after.len() as u64;
        found.push(one);
    }
}

/// Known factors, and what they are.
const FACTORS: [(f64, &str); 10] = [
    (1.2193, "CaCO3 to HCO3"),
    (4.4266, "N to NO3"),
    (2.9961, "S to SO4"),
    (1.2046, "K to K2O"),
    (1.3992, "Ca to CaO"),
    (2.4973, "Ca to CaCO3"),
    (1.6583, "Mg to MgO"),
    (1.116, "conductivity at 20 °C to 25 °C"),
    (10.0, "a decimal place"),
    (1000.0, "a unit prefix"),
];
