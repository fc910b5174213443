//! Conductivity of which nobody states the unit, in numbers that are hardly µS/cm: growers write "EC 1.8" and mean
//! mS/cm. Taken as µS/cm for granted they would be wrong by a thousand, so they give no number.

use super::evidence::{Resolved, View, limit};
use crate::finding::Finding;
use crate::map::findings::{UNIT_ASSUMED, UNIT_MISSING, finding};
use crate::map::plan::AnalyteTrack;
use crate::place::Place;
use crate::read::{CellView, Shown};
use crate::vocabulary::Vocabulary;
use std::sync::Arc;

/// µS/cm; only water from a membrane or a still has less. Common practice, no source.
const LEAST: f64 = 20.0;

/// Whether a track is one of conductivity whose unit was taken for granted.
fn is_assumed(vocabulary: &Vocabulary, track: &AnalyteTrack) -> bool {
    track.assumption == Some(UNIT_ASSUMED) && vocabulary.find("conductivity") == Some(track.analyte)
}

/// Whether a number is too small for µS/cm.
fn is_small(number: f64) -> bool {
    number > 0.0 && number < LEAST
}

/// Whether the number of a cell, with a point or a comma, is too small for the unit that was taken for granted. Where
/// the cell holds a unit, in its text or in its number format, it is not.
pub fn is_cell_too_small(
    vocabulary: &Vocabulary,
    track: &AnalyteTrack,
    cell: CellView<'_>,
) -> bool {
    let number = || cell.as_text().trim().replace(',', ".").parse();
    is_assumed(vocabulary, track)
        && !matches!(cell, CellView::Number(_, Shown::With(_)))
        && number().is_ok_and(is_small)
}

/// Refuses the tracks of a table all of whose numbers are so small.
pub(super) fn refuse(
    view: &View<'_, '_, '_>,
    tracks: &mut [Resolved],
    findings: &mut Vec<Finding>,
) {
    for (index, resolved) in tracks.iter_mut().enumerate() {
        let Some(Ok(track)) = &*resolved else {
            continue;
        };
        if !is_assumed(view.context.vocabulary, track) {
            continue;
        }
        let at = view.heads[index].0;
        let cells = || view.lines.iter().map(|line| view.sight.cell(*line, at));
        // A number format can hold a unit.
        if cells().any(|cell| matches!(cell, CellView::Number(_, Shown::With(_)))) {
            continue;
        }
        let numbers = cells().filter_map(|cell| limit(cell, view.decimal));
        let largest = numbers.fold(0.0, f64::max);
        if is_small(largest) {
            *resolved = Some(Err(UNIT_MISSING.into()));
            view.forget(UNIT_ASSUMED, index, findings);
            let head = &view.heads[index].1;
            let label = head.label.as_deref().unwrap_or_default();
            findings.extend(head.at.map(|at| {
                let numbers = format!("its numbers, up to {largest}, are small");
                missing(view.context.place(at), label, &numbers)
            }));
        }
    }
}

/// The same of a single number of a form, whose label stands at `place`.
pub(in crate::map) fn refuse_one(
    place: Place,
    label: &str,
    findings: &mut Vec<Finding>,
) -> Arc<str> {
    findings.retain(|finding| finding.code != UNIT_ASSUMED || finding.place != place);
    findings.push(missing(place, label, "its number is small"));
    UNIT_MISSING.into()
}

fn missing(place: Place, label: &str, numbers: &str) -> Finding {
    finding(
        UNIT_MISSING,
        place,
        format!("'{label}' has no unit, and {numbers} for µS/cm: not placed"),
        "state it in the report, or in a mapping: unit = \"mS/cm\", or \"uS/cm\" if they are"
            .into(),
    )
}
