//! Several samples in one line, side by side: the same analytes under "Bore 1" and again under "Bore 2".

use crate::finding::Finding;
use crate::locate::{Look, are_places, is_period};
use crate::map::findings::finding;
use crate::map::heads::resolve::Context;
use crate::map::left_out::controls::Names;
use crate::map::left_out::guides;
use crate::map::left_out::lines::{GUIDELINE, LIMIT, STATISTIC, Said, said};
use crate::map::left_out::medium::{OTHER_MEDIUM, is_other_medium};
use crate::map::plan::{Fact, LineRole, Source, Track, TrackGroup, TrackRole};
use crate::map::sight::Sight;
use crate::place::Address;
use crate::read::CellView;
use crate::vocabulary::{AnalyteId, Field};
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

/// Words over the same analytes that are taken for samples without being of a kind ("Inlet", "Outlet").
pub(super) fn tell_words(
    sight: &Sight<'_, '_>,
    context: &Context<'_>,
    groups: &[TrackGroup],
    findings: &mut Vec<Finding>,
) {
    let heads: Vec<(Address, CellView<'_>)> = (groups.iter())
        .filter(|group| group.fact.field != Field::SampledOn)
        .filter_map(|group| match group.fact.from {
            Source::Cell(at) => Some((at, sight.grid.view(at))),
            _ => None,
        })
        .collect();
    let views: Vec<CellView<'_>> = heads.iter().map(|(_, view)| *view).collect();
    let Some((at, _)) = heads
        .first()
        .filter(|_| !sight.across && !are_places(sight.reader, &views))
    else {
        return;
    };
    let names: Vec<String> = (views.iter())
        .map(|view| format!("'{}'", view.as_text().trim()))
        .collect();
    findings.push(finding(
        HEADS_AS_SAMPLES,
        context.place(*at),
        format!(
            "{} stand over the same analytes: each is taken for a sample of its own",
            names.join(", ")
        ),
        "set aside in a mapping what is no sample".into(),
    ));
}

/// The finding of words that are taken for samples.
pub(in crate::map) const HEADS_AS_SAMPLES: &str = "heads-as-samples";

/// Heads over the same analytes that are of no sample ("Result" and "Limit", "Mean" and "Maximum", "Water" and "Soil
/// extract"): the tracks below them are none of samples.
pub(super) fn leave_out_others(sight: &Sight<'_, '_>, tracks: &mut [Track]) {
    // "Cl" directly under "Mean" is left out already.
    let is_one = |track: &&Track| match &track.role {
        TrackRole::Analyte(_) => true,
        TrackRole::Unplaced(why) => **why == *STATISTIC,
        _ => false,
    };
    let ones: Vec<&Track> = tracks.iter().filter(is_one).collect();
    let analytes: Vec<&Track> = (ones.iter().copied())
        .filter(|track| matches!(track.role, TrackRole::Analyte(_)))
        .collect();
    if sight.across || apart(&analytes) {
        return;
    }
    let mut left_out: Vec<(u32, TrackRole)> = Vec::new();
    for line in sight.heading_lines {
        let heads = heads_over(sight, *line, &ones);
        let names: Names = (heads.iter())
            .map(|(_, view)| view.as_text().trim().into())
            .collect();
        let ends = (heads.iter().skip(1).map(|(from, _)| *from)).chain([u32::MAX]);
        for ((from, view), end) in heads.iter().zip(ends) {
            let (under, elsewhere): (Vec<&Track>, Vec<&Track>) =
                (analytes.iter()).partition(|track| (*from..end).contains(&track.at));
            let comes_again = under
                .iter()
                .any(|one| (elsewhere.iter()).any(|other| are_of_one(one, other)));
            if let (Some(role), true, true) = (
                of_no_sample(sight, *view, &names),
                heads.len() > 1,
                comes_again,
            ) {
                left_out.extend(under.iter().map(|track| (track.at, role.clone())));
            }
        }
    }
    for (at, role) in left_out {
        if let Some(track) = tracks.iter_mut().find(|track| track.at == at) {
            track.role = role;
        }
    }
}

/// "Dissolved" and "Total", each over several analytes, are of all of them.
pub(super) fn give_fractions(sight: &Sight<'_, '_>, tracks: &mut [Track]) {
    let analytes: Vec<&Track> = (tracks.iter())
        .filter(|track| matches!(track.role, TrackRole::Analyte(_)))
        .collect();
    if sight.across || apart(&analytes) {
        return;
    }
    let vocabulary = sight.reader.vocabulary();
    let Some(heads) = (sight.heading_lines.iter())
        .map(|line| heads_over(sight, *line, &analytes))
        .find(|heads| {
            (heads.iter()).all(|(_, view)| vocabulary.speaks_of_fraction(&view.as_text()))
                && are_over_the_same(heads, &analytes)
        })
    else {
        return;
    };
    for track in tracks.iter_mut() {
        let behind = heads.partition_point(|(from, _)| *from <= track.at);
        let head = behind.checked_sub(1).and_then(|i| heads.get(i));
        if let (TrackRole::Analyte(of), Some((_, view))) = (&mut track.role, head)
            && of.fraction.is_none()
        {
            let whole = format!("{} {}", of.label_text, view.as_text());
            of.fraction = sight.reader.heading(&whole).fraction;
        }
    }
}

fn are_of_one(one: &Track, other: &Track) -> bool {
    match (&one.role, &other.role) {
        (TrackRole::Analyte(one), TrackRole::Analyte(other)) => one.analyte == other.analyte,
        _ => false,
    }
}

/// What the tracks under a head are that names no sample.
fn of_no_sample(sight: &Sight<'_, '_>, head: CellView<'_>, names: &Names) -> Option<TrackRole> {
    let text = head.as_text();
    if sight.reader.vocabulary().speaks_of_fraction(&text) {
        return None;
    }
    match sight.reader.look(head) {
        Look::Field(Field::DetectionLimit | Field::QuantificationLimit) => {
            return Some(TrackRole::Unplaced(LIMIT.into()));
        }
        Look::Field(Field::Uncertainty) => return Some(TrackRole::Unplaced(STATISTIC.into())),
        _ => {}
    }
    if guides::is_guideline(&text) {
        return Some(TrackRole::SetAside(GUIDELINE.into()));
    }
    if guides::is_share(&text) {
        return Some(TrackRole::Unplaced(STATISTIC.into()));
    }
    if is_other_medium(&text) {
        return Some(TrackRole::Unplaced(OTHER_MEDIUM.into()));
    }
    match said(sight.reader, false, &text, names)? {
        Said::Limit(_) => Some(TrackRole::Unplaced(LIMIT.into())),
        Said::Role(LineRole::SetAside(reason)) => Some(TrackRole::SetAside(reason)),
        Said::Role(LineRole::Unplaced(reason)) => Some(TrackRole::Unplaced(reason)),
        Said::Role(_) => None,
    }
}

/// The cells of a heading line over the analytes; a name can stand over each of its analytes.
fn heads_over<'a>(
    sight: &Sight<'a, '_>,
    line: u32,
    analytes: &[&Track],
) -> Vec<(u32, CellView<'a>)> {
    let (Some(first), Some(last)) = (analytes.first(), analytes.last()) else {
        return Vec::new();
    };
    let mut heads: Vec<(u32, CellView<'a>)> = (sight.cells(line))
        .filter(|(track, _)| (first.at..=last.at).contains(track))
        .map(|(track, cell)| (track, cell.view()))
        .collect();
    heads.dedup_by(|next, head| next.1.as_text() == head.1.as_text());
    heads
}

/// Whether several heads stand over the same analytes each, one over the first of all.
fn are_over_the_same(heads: &[(u32, CellView<'_>)], analytes: &[&Track]) -> bool {
    let mut over: Vec<BTreeSet<AnalyteId>> = vec![BTreeSet::new(); heads.len()];
    for track in analytes {
        let behind = heads.partition_point(|(from, _)| *from <= track.at);
        let Some(over) = behind.checked_sub(1).and_then(|i| over.get_mut(i)) else {
            return false;
        };
        if let TrackRole::Analyte(of) = &track.role {
            over.insert(of.analyte);
        }
    }
    over.len() > 1
        && over
            .iter()
            .all(|under| under.len() > 1 && *under == over[0])
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
    let first = analytes.first()?.at;
    let mut heads = heads_over(sight, line, analytes);
    // Those over limits and means are left out.
    let is_over_one =
        |from: u32, behind: u32| (analytes.iter()).any(|track| (from..behind).contains(&track.at));
    let ends: Vec<u32> = (heads.iter().skip(1).map(|(track, _)| *track))
        .chain([u32::MAX])
        .collect();
    let mut ends = ends.into_iter();
    heads.retain(|(from, _)| ends.next().is_some_and(|end| is_over_one(*from, end)));
    let views: Vec<CellView<'_>> = heads.iter().map(|(_, view)| *view).collect();
    let field = if views.iter().all(|view| is_period(*view)) {
        Field::SampledOn
    } else if (are_places(sight.reader, &views) || part_the_same(sight, &heads, analytes))
        && !names_no_places(sight, &views)
    {
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

/// Whether heads are words that differ ("Before treatment", "After treatment"), each over all analytes of the table.
fn part_the_same(
    sight: &Sight<'_, '_>,
    heads: &[(u32, CellView<'_>)],
    analytes: &[&Track],
) -> bool {
    let texts: BTreeSet<_> = heads.iter().map(|(_, view)| view.as_text()).collect();
    // "Inlet" and "Outlet" head columns elsewhere.
    let is_word = |view: CellView<'_>| {
        let look = sight.reader.look(view);
        matches!(
            look,
            Look::Words | Look::Field(Field::Source | Field::SourceKind | Field::Site)
        )
    };
    heads.iter().all(|(_, view)| is_word(*view))
        && texts.len() == heads.len()
        && are_over_the_same(heads, analytes)
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
