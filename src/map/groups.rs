//! Several samples in one line, side by side: the same analytes under "Bore 1" and again under "Bore 2".

use super::controls::Names;
use super::lines::said;
use super::plan::{Fact, Source, Track, TrackGroup, TrackRole};
use super::sight::Sight;
use crate::locate::{are_places, is_period};
use crate::read::CellView;
use crate::vocabulary::Field;
use std::collections::BTreeSet;

/// The groups of a table's tracks; none where a line carries one sample.
pub(super) fn groups(sight: &Sight<'_, '_>, tracks: &[Track]) -> Vec<TrackGroup> {
    let analytes: Vec<&Track> = (tracks.iter())
        .filter(|track| matches!(track.role, TrackRole::Analyte(_)))
        .collect();
    if sight.across || apart(&analytes) {
        return Vec::new();
    }
    let says = |field: Field| {
        (tracks.iter()).any(|track| matches!(&track.role, TrackRole::Field(f) if *f == field))
    };
    (sight.heading_lines.iter())
        .find_map(|line| under(sight, *line, &analytes, tracks, &says))
        .unwrap_or_default()
}

/// Whether no two of the tracks are of the same analyte and fraction.
fn apart(analytes: &[&Track]) -> bool {
    let kinds: BTreeSet<_> = (analytes.iter())
        .filter_map(|track| match &track.role {
            TrackRole::Analyte(track) => Some((track.analyte, track.fraction)),
            _ => None,
        })
        .collect();
    kinds.len() == analytes.len()
}

/// The groups that the cells of a heading line make, each from its cell to the next; `None` where they name
/// neither places nor days, or where one of them holds an analyte twice.
fn under(
    sight: &Sight<'_, '_>,
    line: u32,
    analytes: &[&Track],
    tracks: &[Track],
    says: &impl Fn(Field) -> bool,
) -> Option<Vec<TrackGroup>> {
    let (first, last) = (analytes.first()?.at, analytes.last()?.at);
    let heads: Vec<(u32, CellView<'_>)> = (sight.cells(line))
        .filter(|(track, _)| (first..=last).contains(track))
        .map(|(track, cell)| (track, cell.view()))
        .collect();
    let views: Vec<CellView<'_>> = heads.iter().map(|(_, view)| *view).collect();
    let field = if views.iter().all(|view| is_period(*view)) {
        Field::SampledOn
    } else if are_places(sight.reader, &views) && !names_no_places(sight, &views) {
        if says(Field::Source) {
            Field::SampleRef
        } else {
            Field::Source
        }
    } else {
        return None;
    };
    if heads.len() < 2 || heads.first()?.0 != first || says(field) {
        return None;
    }
    let mut groups = Vec::new();
    let ends = heads.iter().skip(1).map(|(track, _)| *track);
    for ((from, _), behind) in heads.iter().zip(ends.chain([u32::MAX])) {
        let range = *from..behind;
        let of_group: Vec<&Track> = (analytes.iter().copied())
            .filter(|track| range.contains(&track.at))
            .collect();
        if of_group.is_empty() || !apart(&of_group) {
            return None;
        }
        let is_of = |track: &&Track| match &track.role {
            TrackRole::Analyte(_) => range.contains(&track.at),
            TrackRole::Companion { of, .. } => range.contains(of),
            _ => false,
        };
        groups.push(TrackGroup {
            tracks: (tracks.iter().filter(is_of))
                .map(|track| track.at)
                .collect(),
            fact: Fact {
                field,
                from: Source::Cell(sight.address(line, *from)),
            },
        });
    }
    Some(groups)
}

/// Statistics, controls, limits: of no place.
fn names_no_places(sight: &Sight<'_, '_>, heads: &[CellView<'_>]) -> bool {
    let text = |view: &CellView<'_>| view.as_text().trim().to_owned();
    let names: Names = heads.iter().map(|view| text(view).into()).collect();
    (heads.iter()).any(|view| said(sight.reader, false, &text(view), &names).is_some())
}
