//! Lines that name analytes, and how blank tracks cut them into tables that stand side by side.

use super::cross::is_period;
use super::look::{Look, Reader};
use crate::place::Address;
use crate::read::{CellView, Grid};
use crate::vocabulary::{Field, Meaning};
use std::collections::{BTreeMap, BTreeSet};

/// A line in which analytes are named.
#[derive(Clone, Debug)]
pub(super) struct NameLine {
    pub(super) line: u32,
    /// The line directly above, where it names the tracks that this one leaves blank ("Well; pH; Cations; ;"
    /// over "; ; Ca; Mg").
    pub(super) upper: Option<u32>,
    /// Tracks whose cell names an analyte, in order.
    pub(super) names: Vec<u32>,
    /// In the order of the tracks.
    pub(super) fields: Vec<(u32, Field)>,
}

impl NameLine {
    /// The names from track `first` to track `last`.
    pub(super) fn names_of(&self, (first, last): (u32, u32)) -> &[u32] {
        let from = self.names.partition_point(|track| *track < first);
        let behind = self.names.partition_point(|track| *track <= last);
        self.names.get(from..behind).unwrap_or_default()
    }

    /// The fields from track `first` to track `last`.
    fn fields_of(&self, (first, last): (u32, u32)) -> impl Iterator<Item = Field> + '_ {
        let from = self.fields.partition_point(|(track, _)| *track < first);
        (self.fields.iter().skip(from))
            .take_while(move |(track, _)| *track <= last)
            .map(|(_, field)| *field)
    }
}

/// All lines of the grid that name analytes and hold no numbers to speak of. A line with one name only
/// counts when fields of identity stand beside it ("site, date, nitrate"); in a label column that is how a
/// form looks, so there it takes two.
pub(super) fn name_lines(grid: &Grid, reader: &Reader<'_>, across: bool) -> Vec<NameLine> {
    let mut found = Vec::new();
    let temperature = reader.vocabulary().find("temperature");
    for (line, cells) in grid.rows() {
        let mut names = Vec::new();
        let mut distinct = BTreeSet::new();
        let mut fields = Vec::new();
        let mut numbers = 0usize;
        for (track, cell) in cells {
            let CellView::Text(text) = cell.view() else {
                numbers += 1;
                continue;
            };
            match reader.look(cell.view()) {
                Look::Number | Look::Date => numbers += 1,
                Look::Analyte => {
                    names.push(*track);
                    match &reader.heading(text).meaning {
                        Meaning::Analyte(id) => distinct.extend([*id]),
                        Meaning::Ambiguous(ids) => distinct.extend(ids.first().copied()),
                        Meaning::Field(_) | Meaning::Unknown => {}
                    }
                }
                Look::Field(field) => fields.push((*track, field)),
                Look::Unit | Look::Words | Look::Blank => {}
            }
        }
        // One letter can be a code as well as an element ("U", "B", "P" as qualifiers or rock types),
        // so few names must be of more letters, or stand among fields, to make a heading.
        let letters = names
            .iter()
            .filter(|track| !longer_than_a_letter(grid, line, **track))
            .count();
        // "Parameter | Chloride" over a line of days is a caption.
        let is_a_caption = || {
            fields.iter().all(|(_, field)| *field == Field::Label)
                && (line + 1..=line + 2).any(|next| {
                    let days = grid
                        .row(next)
                        .iter()
                        .filter(|(_, cell)| is_period(cell.view()));
                    days.count() > 1
                })
        };
        let plain = (distinct.len() >= 3 && letters * 2 <= names.len().max(cells.len() / 2))
            || (distinct.len() >= 2
                && names
                    .iter()
                    .any(|track| longer_than_a_letter(grid, line, *track)))
            || (!across && distinct.len() == 1 && !fields.is_empty() && !is_a_caption());
        // Loggers of levels and weather have temperatures too: alone it tells nothing of water.
        let plain = plain && distinct.iter().any(|id| Some(*id) != temperature);
        // A heading line may number its samples or name years, but a line with as many numbers as
        // names is a line of values.
        if plain && numbers * 2 <= names.len() + fields.len() {
            found.push(NameLine {
                line,
                upper: None,
                names,
                fields,
            });
        }
    }
    if across {
        found
    } else {
        joined(grid, reader, found)
    }
}

/// Two neighbouring lines that name different tracks are one heading in two lines.
fn joined(grid: &Grid, reader: &Reader<'_>, lines: Vec<NameLine>) -> Vec<NameLine> {
    let mut whole: Vec<NameLine> = Vec::new();
    for mut lower in lines {
        let fits = |upper: &NameLine| {
            upper.line + 1 == lower.line
                && upper.upper.is_none()
                && upper.names.iter().all(|track| {
                    let below = grid.view(Address::new(lower.line, *track));
                    matches!(reader.look(below), Look::Blank | Look::Unit)
                })
        };
        if whole.last().is_some_and(fits)
            && let Some(upper) = whole.pop()
        {
            lower.upper = Some(upper.line);
            lower.names.extend(upper.names);
            lower.names.sort_unstable();
            lower.fields.extend(upper.fields);
            lower.fields.sort_unstable_by_key(|(track, _)| *track);
        }
        whole.push(lower);
    }
    whole
}

fn longer_than_a_letter(grid: &Grid, line: u32, track: u32) -> bool {
    grid.view(Address::new(line, track))
        .as_text()
        .trim()
        .chars()
        .count()
        > 1
}

/// Cuts the tracks at gaps that are blank in the heading and in the lines below it. Pieces without a
/// name of an analyte are given back to the piece on their right (identity stands left of values),
/// pieces with names but without identity of their own to the piece on their left.
pub(super) fn segments(grid: &Grid, reader: &Reader<'_>, names: &NameLine) -> Vec<(u32, u32)> {
    let mut used: BTreeMap<u32, ()> = BTreeMap::new();
    let deepest = names.line.saturating_add(40);
    for (line, cells) in grid
        .rows_from(names.line)
        .take_while(|(line, _)| *line <= deepest)
    {
        // A lone cell (title, remark) must not bridge a gap.
        if cells.len() > 1 || line == names.line {
            used.extend(cells.iter().map(|(track, _)| (*track, ())));
        }
    }
    let mut pieces: Vec<(u32, u32)> = Vec::new();
    for track in used.keys() {
        match pieces.last_mut() {
            Some((_, right)) if *right + 1 == *track => *right = *track,
            _ => pieces.push((*track, *track)),
        }
    }
    let named = |p: &(u32, u32)| !names.names_of(*p).is_empty();
    let identified = |p: &(u32, u32)| {
        names.fields_of(*p).any(|field| {
            matches!(
                field,
                Field::SampleRef
                    | Field::LabRef
                    | Field::Site
                    | Field::Source
                    | Field::Label
                    | Field::SampledOn
            )
        }) || (p.0..=p.1).next().is_some_and(|t| {
            // An unheaded first track of texts names the samples.
            grid.get(Address::new(names.line, t)).is_none()
                && holds_texts(grid, reader, names.line, t)
        })
    };
    let mut joined: Vec<(u32, u32)> = Vec::new();
    let mut waiting: Option<(u32, u32)> = None;
    for piece in pieces {
        if !named(&piece) {
            match (joined.last_mut(), waiting.as_mut()) {
                (_, Some(w)) => w.1 = piece.1,
                // Right of a table: remarks belong to it, other things do not.
                (Some(last), None) if remark_piece(names, &piece) => last.1 = piece.1,
                _ => waiting = Some(piece),
            }
            continue;
        }
        let left = waiting.take().map_or(piece.0, |w| w.0);
        let whole = (left, piece.1);
        match joined.last_mut() {
            Some(last) if !identified(&whole) => last.1 = piece.1,
            _ => joined.push(whole),
        }
    }
    joined
}

fn remark_piece(names: &NameLine, piece: &(u32, u32)) -> bool {
    names
        .fields_of(*piece)
        .any(|field| matches!(field, Field::Remark | Field::Other))
}

fn holds_texts(grid: &Grid, reader: &Reader<'_>, above: u32, track: u32) -> bool {
    (above + 1..=above.saturating_add(8))
        .filter(|line| {
            matches!(
                reader.look(grid.view(Address::new(*line, track))),
                Look::Words
            )
        })
        .count()
        >= 2
}
