//! One result in two units side by side ("mg/l" and "me/l"): the first is taken, the second proves it.

use super::columns::{median, value};
use super::findings::finding;
use super::head::Head;
use super::plan::{AnalyteTrack, Decimal};
use super::resolve::Context;
use super::sight::Sight;
use crate::finding::Finding;
use std::sync::Arc;

/// Lines that must be comparable before anything is concluded; a table of one sample has only one.
const FEWEST: usize = 1;
/// Rounding of printed figures, as a share. Common practice, no source.
const ROUNDING: f64 = 0.03;

/// Reason of a track that repeats another in another unit; set aside, not unplaced.
pub(super) const SAME_RESULT: &str = "same-result-in-other-unit";

type Resolved = Option<Result<AnalyteTrack, Arc<str>>>;

/// Compares each track with an earlier one of the same analyte and fraction whose unit is another.
pub(super) fn settle(
    sight: &Sight<'_, '_>,
    context: &Context<'_>,
    heads: &[(u32, Head)],
    resolved: &mut [Resolved],
    lines: &[u32],
    decimal: Decimal,
    findings: &mut Vec<Finding>,
) {
    for j in 1..heads.len() {
        for i in 0..j {
            let (Some(Ok(a)), Some(Ok(b))) = (&resolved[i], &resolved[j]) else {
                continue;
            };
            if a.analyte != b.analyte
                || a.fraction != b.fraction
                || a.conversion == b.conversion && a.basis == b.basis
            {
                continue;
            }
            let ratios: Vec<f64> = lines
                .iter()
                .filter_map(|line| {
                    let first = a
                        .conversion
                        .apply(value(sight, *line, heads[i].0, decimal)?);
                    let second = b
                        .conversion
                        .apply(value(sight, *line, heads[j].0, decimal)?);
                    (first > 0.0 && second > 0.0).then(|| first / second)
                })
                .collect();
            if ratios.len() < FEWEST || (ratios.len() * 2 < lines.len() && lines.len() > 3) {
                continue;
            }
            // Two determinations may agree on the whole; one result printed twice agrees line by line.
            let alike = ratios
                .iter()
                .filter(|r| (**r - 1.0).abs() <= ROUNDING)
                .count()
                * 5
                >= ratios.len() * 4;
            let Some(ratio) = median(ratios) else {
                continue;
            };
            let (Some(first_at), Some(second_at)) = (heads[i].1.at, heads[j].1.at) else {
                continue;
            };
            let code = context.vocabulary.analyte(a.analyte).code.clone();
            if alike {
                // The one whose unit or basis was assumed gives way.
                let keep_second = a.assumption.is_some() && b.assumption.is_none();
                let (dropped, kept_at, dropped_at) = if keep_second {
                    (i, second_at, first_at)
                } else {
                    (j, first_at, second_at)
                };
                resolved[dropped] = Some(Err(SAME_RESULT.into()));
                findings.push(
                    finding(
                        "same-result-twice",
                        context.place(dropped_at),
                        format!("the same results as {kept_at} in another unit; those are taken"),
                        String::new(),
                    )
                    .of_analyte(code),
                );
            } else if near_each_other(heads[i].0, heads[j].0) && (ratio - 1.0).abs() > ROUNDING {
                findings.push(
                    finding(
                        "units-disagree",
                        context.place(second_at),
                        format!("does not agree with the same analyte in {first_at}: {ratio:.3} times as much there"),
                        "one of the two units or bases is not what it seems; say which in a mapping".into(),
                    )
                    .of_analyte(code),
                );
            }
        }
    }
}

/// Tracks further apart are two determinations, not one in two units.
const fn near_each_other(a: u32, b: u32) -> bool {
    a.abs_diff(b) <= 2
}
