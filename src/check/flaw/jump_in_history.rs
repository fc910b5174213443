//! # jump-in-history: numbers far from the source's own history
//!
//! ## What it finds
//!
//! In a source with at least four samples, numbers more than five spreads (1.4826 times the median
//! deviation, of logarithms, at least 6 %) and more than a factor of 1.4 from the middle. All of a
//! sample are told together; where all ions moved by one factor, that is said.
//!
//! ## Why it matters
//!
//! The source changed, or something went wrong with this sample: basis, unit, place of sampling,
//! wrong bottle.
//!
//! ## When it is wrong
//!
//! Surface and rain water with the seasons; sources with few samples. A true change is worth
//! knowing too.
//!
//! ## Source
//!
//! Median and median deviation: common practice (robust statistics); limits: judgement.

use super::prelude::*;
use crate::check::cause::{COMPARED, median};
pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Warning,
    limits: &["spreads", "ratio"],
    gist: "numbers are far from the source's history",
    yields_to: &[
        "basis-doubtful",
        "decimal-slip",
        "dilution-doubtful",
        "ion-missing",
        "unit-doubtful",
        "values-exchanged",
        "softened-water",
        "charge-imbalance",
        "samples-repeat",
    ],
    scope: Scope::Sample(find),
    text: include_str!("jump_in_history.rs"),
};

const CODE: &str = "jump-in-history";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    let Some(usual) = case.usual.filter(|usual| usual.of_source) else {
        return;
    };
    let mut far: Vec<(Substance, f64, f64, f64)> = Vec::new();
    let mut ratios = Vec::new();
    for substance in COMPARED {
        let (Some((middle, spreads)), Some(value)) = (
            usual.deviation(substance, case.water),
            case.plain(substance),
        ) else {
            continue;
        };
        let ratio = value / middle;
        ratios.push(ratio);
        if spreads.abs() > case.limit("spreads") && ratio.max(1.0 / ratio) > case.limit("ratio") {
            far.push((substance, value, middle, spreads.abs()));
        }
    }
    let Some((worst, ..)) = far.iter().copied().max_by(|a, b| a.3.total_cmp(&b.3)) else {
        return;
    };
    let together = together(&ratios);
    // Where everything went one way, one number says it.
    let shown = if together.is_some() { 1 } else { SHOWN };
    far.sort_by(|a, b| b.3.total_cmp(&a.3));
    let listed: Vec<String> = (far.iter().take(shown))
        .map(|(substance, value, middle, _)| {
            format!(
                "{} {} (usually about {})",
                substance.name(),
                significant(*value),
                significant(*middle)
            )
        })
        .collect();
    let rest = match together {
        Some(ratio) => format!("; everything is {} times the usual", significant(ratio)),
        None if far.len() > SHOWN => format!(" and {} more", far.len() - SHOWN),
        None => String::new(),
    };
    let message = format!("{}: {}{rest}", case.who(), listed.join(", "));
    let help = "compare with the report and with where and when the sample was taken; if the source changed, sample again";
    found.push(
        case.found(CODE, worst, message, help)
            .weigh(far.len() as f64),
    );
}

/// Numbers named; more of them say no more.
const SHOWN: usize = 4;

/// One ratio for nearly all: a dilution, evaporation, rain.
fn together(ratios: &[f64]) -> Option<f64> {
    if ratios.len() < 5 {
        return None;
    }
    let middle = median(&mut ratios.to_vec());
    let near = ratios
        .iter()
        .filter(|r| (*r / middle - 1.0).abs() < 0.15)
        .count();
    (5 * near >= 4 * ratios.len() && middle.max(1.0 / middle) > 1.3).then_some(middle)
}
