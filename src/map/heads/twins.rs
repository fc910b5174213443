//! One result in two units side by side ("mg/l" and "me/l"): the first is taken, the second proves it.

use super::columns::{median, value};
use super::head::Head;
use super::resolve::Context;
use crate::finding::Finding;
use crate::map::expressed::evidence::Resolved;
use crate::map::findings::finding;
use crate::map::plan::{AnalyteTrack, Decimal};
use crate::map::sight::Sight;
use crate::vocabulary::AnalyteId;
use std::collections::BTreeMap;

/// Lines that must be comparable before anything is concluded; a table of one sample has only one.
const FEWEST: usize = 1;
/// Rounding of printed figures, as a share. Common practice, no source.
const ROUNDING: f64 = 0.03;

/// Tracks of one analyte that later ones are compared with, the first of them: a table that has more says
/// nothing by them, and to compare each of thousands with all others takes hours.
const MOST: usize = 32;

/// Reason of a track that repeats another in another unit; set aside, not unplaced.
pub(in crate::map) const SAME_RESULT: &str = "same-result-in-other-unit";

/// Compares each track with an earlier one of the same analyte and fraction whose unit is another.
pub(in crate::map) fn settle(
    sight: &Sight<'_, '_>,
    context: &Context<'_>,
    heads: &[(u32, Head)],
    resolved: &mut [Resolved],
    lines: &[u32],
    decimal: Decimal,
    findings: &mut Vec<Finding>,
) {
    let mut earlier: BTreeMap<AnalyteId, Vec<usize>> = BTreeMap::new();
    for j in 0..heads.len() {
        let Some(Ok(AnalyteTrack { analyte, .. })) = &resolved[j] else {
            continue;
        };
        let of_analyte = earlier.entry(*analyte).or_default();
        for i in of_analyte.iter().copied().take(MOST) {
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
        of_analyte.push(j);
    }
}

/// "Fe2+" and "Fe3+" side by side are two states of one element; neither of them is its concentration, and one
/// of them beside "Fe, total" is not either.
pub(in crate::map) fn states_apart(
    context: &Context<'_>,
    heads: &[(u32, Head)],
    resolved: &mut [Resolved],
    findings: &mut Vec<Finding>,
) {
    let state = |i: usize| heads[i].1.label.as_deref().and_then(charge_of_iron);
    let analyte = |resolved: &[Resolved], i: usize| match &resolved[i] {
        Some(Ok(track)) => Some(track.analyte),
        _ => None,
    };
    let charged: Vec<usize> = (0..heads.len())
        .filter(|i| analyte(resolved, *i).is_some() && state(*i).is_some())
        .collect();
    let apart = |i: usize| {
        (0..heads.len())
            .any(|j| analyte(resolved, j) == analyte(resolved, i) && state(j) != state(i))
    };
    let states: Vec<usize> = charged.iter().copied().filter(|i| apart(*i)).collect();
    for i in states {
        resolved[i] = Some(Err("state-of-element".into()));
        let (Some(at), Some(label)) = (heads[i].1.at, heads[i].1.label.as_deref()) else {
            continue;
        };
        findings.push(finding(
            "analyte-in-states",
            context.place(at),
            format!("'{label}' is one of several states of an element: not its concentration"),
            "set it aside in a mapping, or say there what it is".into(),
        ));
    }
}

/// The charge written behind the symbol of iron, the only analyte with two: "Fe2+", "Fe(III)", "Fe³⁺".
fn charge_of_iron(label: &str) -> Option<char> {
    let squashed: String = crate::text::squash(label)
        .chars()
        .filter(|c| c.is_alphanumeric() || *c == '+')
        .collect();
    let rest = squashed.strip_prefix("Fe")?;
    if rest.starts_with("III") || rest.starts_with("3+") || rest.starts_with("+3") {
        return Some('3');
    }
    (rest.starts_with("II") || rest.starts_with("2+") || rest.starts_with("+2")).then_some('2')
}

/// Tracks further apart are two determinations, not one in two units.
const fn near_each_other(a: u32, b: u32) -> bool {
    a.abs_diff(b) <= 2
}
