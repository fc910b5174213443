//! One analyte over several columns of samples: "pH | | | Chloride" over "North | South | Dam | North | South | Dam",
//! or over years.

use crate::locate::{Look, is_period};
use crate::map::heads::head::Head;
use crate::map::heads::tracks::Draft;
use crate::map::left_out::statistics::is_statistic;
use crate::map::plan::{Fact, Source, Track, TrackGroup, TrackRole};
use crate::map::sight::Sight;
use crate::read::CellView;
use crate::vocabulary::{Field, Meaning};
use std::collections::BTreeSet;

/// The line below the names of analytes that says whose each of their columns is.
pub(super) struct Parted {
    pub(super) line: u32,
    field: Field,
    /// For each analyte its columns, in one order.
    spans: Vec<Vec<u32>>,
}

/// Such a line, where it says the same below each of several analytes, and all columns hold numbers.
pub(super) fn parted(
    sight: &Sight<'_, '_>,
    heads: &[(u32, Head)],
    samples: &[u32],
) -> Option<Parted> {
    if sight.across {
        return None;
    }
    let named: Vec<(u32, u32)> = (heads.iter())
        .filter(|(_, head)| matches!(head.meaning, Meaning::Analyte(_)))
        .filter_map(|(track, head)| {
            let at = head.at?;
            (at.col == *track).then_some((at.row, *track))
        })
        .collect();
    let (row, first) = *named.first()?;
    let starts: Vec<u32> = named.iter().map(|(_, track)| *track).collect();
    if starts.len() < 2 || named.iter().any(|(other, _)| *other != row) {
        return None;
    }
    let last = samples.first().copied()?;
    (row + 1..=last).find_map(|line| {
        let cells: Vec<(u32, CellView<'_>)> = (sight.cells(line))
            .filter(|(track, _)| *track >= first)
            .map(|(track, cell)| (track, cell.view()))
            .collect();
        let spans: Vec<&[(u32, CellView<'_>)]> =
            (cells.chunk_by(|_, next| !starts.contains(&next.0))).collect();
        let text = |cell: &(u32, CellView<'_>)| cell.1.as_text().trim().to_owned();
        let names: Vec<String> = spans.first()?.iter().map(text).collect();
        let distinct: BTreeSet<&String> = names.iter().collect();
        let begin = |span: &&[(u32, CellView<'_>)]| span.first().map(|cell| cell.0);
        let is_same = (spans.iter()).all(|span| span.iter().map(text).eq(names.iter().cloned()))
            && spans.iter().filter_map(begin).eq(starts.iter().copied());
        let field = field_of(sight, &cells)?;
        let is_number = |track: u32| {
            let below = samples.iter().filter(|sample| **sample != line);
            let numbers = below
                .clone()
                .filter(|sample| sight.look(**sample, track) == Look::Number);
            numbers.count() * 2 > below.count()
        };
        let is_one = names.len() > 1
            && distinct.len() == names.len()
            && is_same
            && cells.iter().all(|(track, _)| is_number(*track));
        is_one.then(|| Parted {
            line,
            field,
            spans: (spans.iter())
                .map(|span| span.iter().map(|cell| cell.0).collect())
                .collect(),
        })
    })
}

/// What the names are: years and days, or places.
fn field_of(sight: &Sight<'_, '_>, cells: &[(u32, CellView<'_>)]) -> Option<Field> {
    if cells.iter().all(|(_, view)| is_period(*view)) {
        return Some(Field::SampledOn);
    }
    let can_name = |view: CellView<'_>| {
        let text = view.as_text();
        let text = text.trim();
        let look = sight.reader.look(view);
        let is_word = matches!(
            look,
            Look::Words | Look::Field(Field::Source | Field::Site | Field::SourceKind)
        );
        is_word && !is_statistic(text) && !sight.reader.vocabulary().speaks_of_fraction(text)
    };
    (cells.iter().all(|(_, view)| can_name(*view))).then_some(Field::Source)
}

impl Parted {
    /// The first column of each span holds its analyte, whatever the names below it mean elsewhere.
    pub(super) fn draft(&self, heads: &[(u32, Head)], drafts: &mut [Draft]) {
        for ((track, _), draft) in heads.iter().zip(drafts) {
            for span in self.spans.iter().filter(|span| span.contains(track)) {
                *draft = match span.first() == Some(track) {
                    true => Draft::Analyte,
                    false => Draft::Role(TrackRole::Unplaced("heading-shared".into())),
                };
            }
        }
    }

    /// Gives each column the analyte of its span; the groups are those of the names.
    pub(super) fn groups(&self, sight: &Sight<'_, '_>, tracks: &mut [Track]) -> Vec<TrackGroup> {
        let says = |field: Field| {
            (tracks.iter()).any(|track| matches!(&track.role, TrackRole::Field(f) if *f == field))
        };
        let field = match self.field {
            Field::Source if says(Field::Source) => Field::SampleRef,
            field => field,
        };
        if says(field) {
            return Vec::new();
        }
        for span in &self.spans {
            let role = (tracks.iter())
                .filter(|track| span.contains(&track.at))
                .find(|track| matches!(track.role, TrackRole::Analyte(_)))
                .map(|track| track.role.clone());
            let role = role.unwrap_or_else(|| TrackRole::Unplaced("heading-shared".into()));
            for track in tracks.iter_mut().filter(|track| span.contains(&track.at)) {
                track.role = role.clone();
            }
        }
        let first = self.spans.first().map_or(&[][..], |span| span);
        (first.iter().enumerate())
            .map(|(i, head)| TrackGroup {
                tracks: self
                    .spans
                    .iter()
                    .filter_map(|span| span.get(i))
                    .copied()
                    .collect(),
                fact: Fact {
                    field,
                    from: Source::Cell(sight.address(self.line, *head)),
                },
            })
            .collect()
    }
}
