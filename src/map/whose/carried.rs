//! Names given once for several lines: merged cells, and blanks under the first line of a group.

use crate::finding::Finding;
use crate::map::findings::finding;
use crate::map::heads::resolve::Context;
use crate::map::plan::{Track, TrackRole};
use crate::map::sight::Sight;
use crate::reading::is_ditto;
use crate::text::fold;
use crate::vocabulary::Field;
use std::collections::{BTreeMap, BTreeSet};

pub(in crate::map) const BLANK_AS_ABOVE: &str = "blank-as-above";

/// The tracks whose blank cells say what the line before says. `lines` are those of samples or results;
/// `apart` is the track by which the lines of one name must differ (the day, the label of a result); those of
/// one day must differ by name (and label).
pub(in crate::map) fn carried(
    sight: &Sight<'_, '_>,
    context: &Context<'_>,
    tracks: &[Track],
    lines: &[u32],
    apart: Field,
    findings: &mut Vec<Finding>,
) -> Vec<u32> {
    let position = |wanted: Field| {
        (tracks.iter())
            .find(|t| matches!(&t.role, TrackRole::Field(field) if *field == wanted))
            .map(|t| t.at)
    };
    let mut found = Vec::new();
    for track in tracks {
        let TrackRole::Field(field) = &track.role else {
            continue;
        };
        if !field.is_identity() {
            continue;
        }
        let is_full = !lines.iter().any(|line| is_blank(sight, *line, track.at));
        if is_full && says_the_same(sight, track.at, lines) {
            found.push(track.at);
            continue;
        }
        if !has_blanks(sight, track.at, lines) {
            continue;
        }
        if is_merged(sight, track.at, lines) {
            found.push(track.at);
            continue;
        }
        let names = matches!(field, Field::Client | Field::Site | Field::Source)
            || (apart == Field::Label || sight.across)
                && matches!(field, Field::SampleRef | Field::LabRef);
        let by: Vec<u32> = if *field == Field::SampledOn {
            let name = [Field::Source, Field::SampleRef, Field::Site]
                .into_iter()
                .find_map(position);
            let of_result = position(apart).filter(|_| apart == Field::Label);
            name.into_iter().chain(of_result).collect()
        } else {
            position(apart).filter(|_| names).into_iter().collect()
        };
        if by.is_empty() && !is_of_letter(*field) {
            continue;
        }
        let Some(first) = once_a_group(sight, track.at, (&by, &found), lines)
            .or_else(|| once_for_all(sight, track.at, *field, lines))
        else {
            continue;
        };
        let name = sight.cell(first.0, track.at).as_text().trim().to_owned();
        findings.push(
            finding(
                BLANK_AS_ABOVE,
                context.place(sight.address(first.1, track.at)),
                format!("blank under a name given once: taken as '{name}' above"),
                "write the name in each line of the report if it is another".into(),
            )
            .for_cells(
                (lines.iter())
                    .filter(|line| is_blank(sight, **line, track.at))
                    .count() as u64,
            ),
        );
        found.push(track.at);
    }
    found
}

/// "Idem" in a line behind the first.
fn says_the_same(sight: &Sight<'_, '_>, track: u32, lines: &[u32]) -> bool {
    let mut says = (lines.iter()).map(|line| is_ditto(&sight.cell(*line, track).as_text()));
    says.next() == Some(false) && says.any(|same| same)
}

fn is_blank(sight: &Sight<'_, '_>, line: u32, track: u32) -> bool {
    sight.cell(line, track).as_text().trim().is_empty()
}

fn has_blanks(sight: &Sight<'_, '_>, track: u32, lines: &[u32]) -> bool {
    let starts = lines
        .first()
        .is_some_and(|line| !is_blank(sight, *line, track));
    starts && lines.iter().any(|line| is_blank(sight, *line, track))
}

/// Whether each blank cell of a track belongs to a merged region that begins with a filled one.
fn is_merged(sight: &Sight<'_, '_>, track: u32, lines: &[u32]) -> bool {
    // By their first lines: a column can have very many.
    let merges: BTreeMap<u32, u32> = (sight.grid.merges.iter())
        .filter(|merge| merge.left == track && merge.bottom > merge.top)
        .map(|merge| (merge.top, merge.bottom))
        .collect();
    (lines.iter())
        .filter(|line| is_blank(sight, **line, track))
        .all(|line| {
            let region = merges.range(..=*line).next_back();
            region.is_some_and(|(top, bottom)| bottom >= line && !is_blank(sight, *top, track))
        })
}

/// Whether a field is of a whole letter more often than of one of its samples.
const fn is_of_letter(field: Field) -> bool {
    matches!(
        field,
        Field::Client | Field::Lab | Field::Region | Field::ReceivedOn | Field::ReportedOn
    )
}

/// "Client | Thistle" in a row over the samples of a letter: the client of all of them.
fn once_for_all(
    sight: &Sight<'_, '_>,
    track: u32,
    field: Field,
    lines: &[u32],
) -> Option<(u32, u32)> {
    let (first, others) = lines.split_first()?;
    let is_once = others.iter().all(|line| is_blank(sight, *line, track));
    let is_said = sight.across && is_of_letter(field) && is_once;
    let next = others.first().filter(|_| is_said)?;
    Some((*first, *next))
}

/// Whether each name stands in the first line of its group and in no other: the lines of a group differ by
/// other tracks, in which none is blank. The first line of a name, and the first blank one.
fn once_a_group(
    sight: &Sight<'_, '_>,
    track: u32,
    (by, given_once): (&[u32], &[u32]),
    lines: &[u32],
) -> Option<(u32, u32)> {
    if by.is_empty() {
        return None;
    }
    let mut names = BTreeSet::new();
    let mut of_group = BTreeSet::new();
    let mut last = None;
    let mut first_blank = None;
    // The others can be given once likewise.
    let mut said: Vec<String> = vec![String::new(); by.len()];
    for line in lines {
        let name = fold(sight.cell(*line, track).as_text().trim());
        if !name.is_empty() {
            if !names.insert(name) {
                return None;
            }
            of_group.clear();
            last = Some(*line);
        } else if first_blank.is_none() {
            first_blank = last.map(|named| (named, *line));
        }
        for (said, track) in said.iter_mut().zip(by) {
            let text = fold(sight.cell(*line, *track).as_text().trim());
            if !text.is_empty() || !given_once.contains(track) {
                *said = text;
            }
        }
        let others = said.clone();
        if others.iter().any(String::is_empty) || !of_group.insert(others) {
            return None;
        }
    }
    first_blank
}
