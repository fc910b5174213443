//! # season-in-history: the source goes with the seasons
//!
//! ## What it finds
//!
//! Sources with at least four samples each of the warm half-year (April to September) and of the cold
//! one, over at least two years, whose conductivity, chloride or nitrate differ between the two by more
//! than 20 % in the middle, with three in four samples of one on the same side of the other's middle.
//!
//! ## Why it matters
//!
//! One sample a year tells half of it; feed that fits in winter does not in summer.
//!
//! ## When it is wrong
//!
//! South of the equator the names of the halves change places; the difference stays.
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
    limits: &["samples", "percent", "share"],
    gist: "the source goes with the seasons",
    yields_to: &[],
    scope: Scope::Source(find),
    text: include_str!("season_in_history.rs"),
};

const CODE: &str = "season-in-history";

fn find(case: &SourceCase<'_>, found: &mut Vec<Found>) {
    let limit = |name| case.limit(name);
    let mut told = Vec::new();
    for substance in [
        Substance::Conductivity,
        Substance::Chloride,
        Substance::Nitrate,
    ] {
        let of = |warm: bool| -> Vec<(i16, f64)> {
            (case.history.iter())
                .filter_map(|sample| season(sample, substance))
                .filter(|(is_warm, ..)| *is_warm == warm)
                .map(|(_, year, value)| (year, value))
                .collect()
        };
        let (warm, cold) = (of(true), of(false));
        let enough = |half: &[(i16, f64)]| {
            half.len() as f64 >= limit("samples") && half.iter().any(|(year, _)| *year != half[0].0)
        };
        if !enough(&warm) || !enough(&cold) {
            continue;
        }
        let middle = |half: &[(i16, f64)]| {
            median(&mut half.iter().map(|(_, value)| *value).collect::<Vec<_>>())
        };
        let (in_warm, in_cold) = (middle(&warm), middle(&cold));
        let ratio = in_warm / in_cold;
        let share = |half: &[(i16, f64)], other: f64, above: bool| {
            let same = half.iter().filter(|(_, v)| (*v > other) == above).count();
            same as f64 / half.len() as f64
        };
        let steady = share(&warm, in_cold, ratio > 1.0) >= limit("share")
            && share(&cold, in_warm, ratio < 1.0) >= limit("share");
        if steady && ratio.max(1.0 / ratio) > 1.0 + limit("percent") / 100.0 {
            told.push((substance, in_warm, in_cold));
        }
    }
    let (Some((first, ..)), Some(last)) = (told.first().copied(), case.history.last()) else {
        return;
    };
    let listed: Vec<String> = (told.iter())
        .map(|(substance, warm, cold)| {
            format!(
                "{} {} from April to September, {} from October to March",
                substance.name(),
                significant(*warm),
                significant(*cold)
            )
        })
        .collect();
    let message = format!(
        "{}: the source goes with the seasons: {}",
        who(last.about),
        listed.join("; ")
    );
    let help =
        "sample in both halves of the year, and compare a sample with those of the same half";
    let mut one = Found::at(CODE, case.samples, last, first, message, help);
    one.cells = case.history.len() as u64;
    found.push(one);
}

/// Whether of the warm half-year, the year, the number; `None` without a date or a number.
fn season(sample: &Judged<'_>, substance: Substance) -> Option<(bool, i16, f64)> {
    let day = sample.about.sampled_on?;
    let value = sample.water().plain(substance).filter(|v| *v > 0.0)?;
    Some(((4..=9).contains(&day.month()), day.year(), value))
}
