//! Trace elements of which nobody states the unit: a laboratory measures them in one run and gives them in one
//! unit, mg/L or µg/L (common practice, no source). Where the numbers of some cannot be mg/L, none is taken as
//! mg/L for granted; what is settled so stays an assumption, told as a warning.

use super::evidence::{Resolved, View, limit};
use super::ion_units::take;
use super::stated::TRACES;
use crate::finding::Finding;
use crate::map::findings::{UNIT_ASSUMED, UNIT_MISSING};
use crate::map::heads::columns::{is_nines, median};
use crate::vocabulary::AnalyteId;

/// Elements that must be unusual in mg/L and usual in µg/L.
const FEWEST: usize = 3;
/// Acid waters dissolve metals, brines hold boron, strontium, lithium and barium: there mg/L is no surprise.
/// Common practice, no source.
const PH: std::ops::RangeInclusive<f64> = 6.0..=9.5;
const MOST_SALT: f64 = 2000.0;

/// A trace element without a unit.
struct Trace {
    index: usize,
    /// Impossible in mg/L.
    is_impossible: bool,
    /// Rare in mg/L, and usual in µg/L.
    is_micro: bool,
}

pub(super) fn settle(
    view: &View<'_, '_, '_>,
    tracks: &mut [Resolved],
    findings: &mut Vec<Finding>,
) {
    let traces: Vec<Trace> = (TRACES.iter())
        .filter_map(|code| view.context.vocabulary.find(code))
        .flat_map(|id| of_analyte(view, tracks, id))
        .collect();
    let micro = traces.iter().filter(|t| t.is_micro).count();
    let impossible = traces.iter().find(|t| t.is_impossible);
    let (Some(impossible), true) = (impossible, micro >= FEWEST && micro * 2 >= traces.len())
    else {
        return;
    };
    if !is_ordinary_water(view, tracks) {
        return;
    }
    let label = view.heads[impossible.index]
        .1
        .label
        .as_deref()
        .unwrap_or_default();
    let why = format!(
        "in mg/L '{label}' would be impossible and {micro} of {} trace elements rare",
        traces.len()
    );
    for trace in traces {
        let index = trace.index;
        if trace.is_micro && take(view, tracks, index, "ug/L", findings) {
            if let Some(Ok(track)) = &mut tracks[index] {
                track.assumption = Some("unit-from-numbers");
            }
            view.tell(
                index,
                "unit-from-numbers",
                format!("in ug/L: {why}"),
                findings,
            );
        } else {
            tracks[index] = Some(Err(UNIT_MISSING.into()));
            view.forget(UNIT_ASSUMED, index, findings);
            let what = format!("in mg/L or in ug/L: {why}; not placed");
            view.tell(index, UNIT_MISSING, what, findings);
        }
    }
}

/// The tracks of an analyte whose unit is assumed.
fn of_analyte(view: &View<'_, '_, '_>, tracks: &[Resolved], id: AnalyteId) -> Vec<Trace> {
    let analyte = view.context.vocabulary.analyte(id);
    let (Some((_, rare)), Some((_, most))) = (analyte.soft_range, analyte.hard_range) else {
        return Vec::new();
    };
    let is_silent = |track: &Resolved| matches!(track, Some(Ok(t)) if t.analyte == id && t.assumption == Some(UNIT_ASSUMED));
    let indexes = (0..tracks.len()).filter(|index| is_silent(&tracks[*index]));
    let trace = |index| {
        let middle = middle(view, index);
        Trace {
            index,
            is_impossible: middle.is_some_and(|n| n > most),
            is_micro: middle.is_some_and(|n| n > rare && n / 1000.0 <= rare),
        }
    };
    indexes.map(trace).collect()
}

/// The middle of a track's numbers, limits with a sign among them.
fn middle(view: &View<'_, '_, '_>, index: usize) -> Option<f64> {
    let at = view.heads[index].0;
    let of_line = |line: &u32| limit(view.sight.cell(*line, at), view.decimal);
    let numbers = view.lines.iter().filter_map(of_line);
    median(numbers.filter(|n| *n > 0.0 && !is_nines(*n)).collect())
}

/// Neither acid nor a brine, as pH shows, and sodium and chloride where they are given.
fn is_ordinary_water(view: &View<'_, '_, '_>, tracks: &[Resolved]) -> bool {
    let middle_of = |code: &str| {
        let id = view.context.vocabulary.find(code)?;
        let of = |track: &Resolved| matches!(track, Some(Ok(t)) if t.analyte == id);
        let index = tracks.iter().position(of)?;
        match &tracks[index] {
            Some(Ok(track)) => Some(track.conversion.apply(middle(view, index)?)),
            _ => None,
        }
    };
    middle_of("ph").is_some_and(|ph| PH.contains(&ph))
        && ["sodium", "chloride"]
            .into_iter()
            .filter_map(middle_of)
            .all(|n| n < MOST_SALT)
}
