//! Several samples in one line, side by side: the same analytes under "Bore 1" and again under "Bore 2".

use super::controls::Names;
use super::lines::said;
use super::plan::{Fact, Source, Track, TrackGroup, TrackRole};
use super::sight::Sight;
use crate::locate::{are_places, is_period};
use crate::read::CellView;
use crate::vocabulary::Field;
use std::collections::BTreeSet;
use std::ops::Range;

/// The groups of a table's tracks; none where a line carries one sample.
pub(super) fn groups(sight: &Sight<'_, '_>, tracks: &[Track]) -> Vec<TrackGroup> {
    let analytes: Vec<&Track> = (tracks.iter())
        .filter(|track| matches!(track.role, TrackRole::Analyte(_)))
        .collect();
    if apart(&analytes) {
        return Vec::new();
    }
    if sight.across {
        return sections(sight, &analytes, tracks).unwrap_or_default();
    }
    let says = |field: Field| {
        (tracks.iter()).any(|track| matches!(&track.role, TrackRole::Field(f) if *f == field))
    };
    by_heads(sight, &analytes, tracks, &says).unwrap_or_else(|| {
        (sight.heading_lines.iter())
            .find_map(|line| under(sight, *line, &analytes, tracks, &says))
            .unwrap_or_default()
    })
}

/// The groups of heads that name a place each ("Bore 1 EC", "Bore 1 pH", "Bore 2 EC"), in the order of their first
/// tracks.
fn by_heads(
    sight: &Sight<'_, '_>,
    analytes: &[&Track],
    tracks: &[Track],
    says: &impl Fn(Field) -> bool,
) -> Option<Vec<TrackGroup>> {
    let field = if says(Field::Source) {
        Field::SampleRef
    } else {
        Field::Source
    };
    if says(field) {
        return None;
    }
    let head = |track: u32| {
        (sight.heading_lines.iter()).find_map(|line| {
            let text = sight.cell(*line, track).as_text();
            let place = sight.reader.place_in(&text)?;
            Some((sight.address(*line, track), place))
        })
    };
    let mut groups: Vec<(&str, TrackGroup)> = Vec::new();
    for analyte in analytes {
        let (at, place) = head(analyte.at)?;
        let belongs = |track: &&Track| {
            track.at == analyte.at
                || matches!(&track.role, TrackRole::Companion { of, .. } if *of == analyte.at)
        };
        let own = tracks.iter().filter(belongs).map(|track| track.at);
        match groups.iter_mut().find(|(known, _)| *known == place) {
            Some((_, group)) => group.tracks.extend(own),
            None => {
                let fact = Fact {
                    field,
                    from: Source::Part(at, place.into()),
                };
                let tracks = own.collect();
                groups.push((place, TrackGroup { tracks, fact }));
            }
        }
    }
    Some(groups.into_iter().map(|(_, group)| group).collect())
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
    let mut heads: Vec<(u32, CellView<'_>)> = (sight.cells(line))
        .filter(|(track, _)| (first..=last).contains(track))
        .map(|(track, cell)| (track, cell.view()))
        .collect();
    // A name can stand over each of its analytes.
    heads.dedup_by(|next, head| next.1.as_text() == head.1.as_text());
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
    let ends = heads.iter().skip(1).map(|(track, _)| *track);
    (heads.iter().zip(ends.chain([u32::MAX])))
        .map(|((from, _), behind)| {
            let fact = Fact {
                field,
                from: Source::Cell(sight.address(line, *from)),
            };
            group(analytes, tracks, *from..behind, fact)
        })
        .collect()
}

/// "Bore 1" above its analytes and "Bore 2" above the same again, each alone in its row: the labels of an
/// `across` table are those of several samples.
fn sections(
    sight: &Sight<'_, '_>,
    analytes: &[&Track],
    tracks: &[Track],
) -> Option<Vec<TrackGroup>> {
    let labels = *sight.heading_lines.first()?;
    let first = analytes.first()?.at;
    let is_alone = |track: u32| {
        let lines = sight.lines();
        lines
            .iter()
            .all(|line| *line == labels || sight.cell(*line, track).is_empty())
    };
    let heads: Vec<u32> = (tracks.iter())
        .filter(|track| matches!(track.role, TrackRole::Unplaced(_)) && track.at > first)
        .map(|track| track.at)
        .filter(|at| is_alone(*at))
        .collect();
    let heads: Vec<u32> = first.checked_sub(1).into_iter().chain(heads).collect();
    let views: Vec<CellView<'_>> = heads.iter().map(|at| sight.cell(labels, *at)).collect();
    if !are_places(sight.reader, &views) || names_no_places(sight, &views) {
        return None;
    }
    let ends = heads.iter().skip(1).copied();
    (heads.iter().copied().zip(ends.chain([u32::MAX])))
        .map(|(head, end)| {
            let fact = Fact {
                field: Field::Source,
                from: Source::Cell(sight.address(labels, head)),
            };
            group(analytes, tracks, head..end, fact)
        })
        .collect()
}

/// The tracks of a stretch; `None` where it has no analyte, or one twice.
fn group(
    analytes: &[&Track],
    tracks: &[Track],
    range: Range<u32>,
    fact: Fact,
) -> Option<TrackGroup> {
    let of_group: Vec<&Track> = (analytes.iter().copied())
        .filter(|track| range.contains(&track.at))
        .collect();
    let is_of = |track: &&Track| match &track.role {
        TrackRole::Analyte(_) => range.contains(&track.at),
        TrackRole::Companion { of, .. } => range.contains(of),
        _ => false,
    };
    (!of_group.is_empty() && apart(&of_group)).then(|| TrackGroup {
        tracks: tracks.iter().filter(is_of).map(|track| track.at).collect(),
        fact,
    })
}

/// Statistics, controls, limits: of no place.
fn names_no_places(sight: &Sight<'_, '_>, heads: &[CellView<'_>]) -> bool {
    let text = |view: &CellView<'_>| view.as_text().trim().to_owned();
    let names: Names = heads.iter().map(|view| text(view).into()).collect();
    (heads.iter()).any(|view| said(sight.reader, false, &text(view), &names).is_some())
}
