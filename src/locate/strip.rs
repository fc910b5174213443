//! Heading lines, and the tables that hang under them.
//!
//! Everything here looks at a grid in one direction: a *line* is a row and a *track* is a column. For
//! `samples-across` the caller hands in the sheet turned by a quarter, so that the label column is a
//! heading line like any other, and the unit, method and limit columns are further heading lines.

use super::heads::{are_periods_of_groups, heads_groups};
use super::look::{Look, Reader};
use super::names::{NameLine, name_lines, segments};
use super::pairs::{states_identity, views};
use super::parts::parts;
use super::trim::trimmed;
use crate::place::{Address, Area};
use crate::read::{Cell, CellView, Grid};
use crate::vocabulary::Field;
use std::collections::BTreeMap;

/// Lines under the names that can still be headings (unit, basis, method, codes, limits …), more than
/// any report needs, so that a sheet of prose is not searched to its end.
const MOST_HEADING_LINES: u32 = 12;
/// Blank lines between the headings and the first sample.
const MOST_BLANK_LINES: u32 = 3;
/// Lines below the headings among which the first number stands. Else each of a hundred thousand headings that
/// follow each other would look for its own to the end of the sheet.
const MOST_LINES_WITHOUT_DATA: usize = 200;

/// A table hanging under a name line.
#[derive(Clone, Debug)]
pub(super) struct Table {
    pub(super) name_line: u32,
    /// In order; contains `name_line`.
    pub(super) heading_lines: Vec<u32>,
    pub(super) first_line: u32,
    pub(super) last_line: u32,
    pub(super) left: u32,
    pub(super) right: u32,
    /// How many cells under analytes hold values: what the table is worth when two readings of one
    /// sheet compete.
    pub(super) mass: usize,
}

impl Table {
    pub(super) fn area(&self) -> Area {
        let top = match self.heading_lines.first() {
            Some(line) => *line,
            None => self.first_line,
        };
        Area {
            top,
            left: self.left,
            bottom: self.last_line,
            right: self.right,
        }
    }
}

/// The tables under one name line: usually one, several where blank tracks part tables that stand
/// side by side. `taken` are the lines of other name lines, in order.
pub(super) fn tables_under(
    grid: &Grid,
    reader: &Reader<'_>,
    names: &NameLine,
    all: &[NameLine],
    across: bool,
) -> Vec<Table> {
    segments(grid, reader, names)
        .into_iter()
        .filter_map(|(left, right)| table(grid, reader, names, all, (left, right), across))
        .flat_map(|table| {
            if across {
                (parts(grid, reader, names, table).into_iter())
                    .map(|(names, table)| trimmed(grid, reader, &names, table))
                    .collect()
            } else {
                vec![table]
            }
        })
        .collect()
}

/// A table whose heading lines somebody has told: every heading that is no field counts as a name, since
/// a mapping knows words that the vocabulary does not.
pub(super) fn told_table(grid: &Grid, reader: &Reader<'_>, heading_lines: &[u32]) -> Option<Table> {
    let name_line = *heading_lines.first()?;
    let cells: Vec<u32> = heading_lines
        .iter()
        .flat_map(|line| grid.row(*line).iter().map(|(track, _)| *track))
        .collect();
    let (left, right) = (*cells.iter().min()?, *cells.iter().max()?);
    let left = left.min(grid.extent()?.left.max(left.saturating_sub(1)));
    let names: Vec<u32> = grid
        .row(name_line)
        .iter()
        .filter(|(_, cell)| !matches!(reader.look(cell.view()), Look::Field(_)))
        .map(|(track, _)| *track)
        .collect();
    let span = spans(grid, name_line, &names, right);
    let strip = Strip {
        across: false,
        name_line,
        grid,
        reader,
        left,
        right,
        names: &names,
        span,
    };
    let told = NameLine {
        line: name_line,
        upper: None,
        names: names.clone(),
        fields: Vec::new(),
    };
    let all = name_lines(grid, reader, false);
    let (first_line, last_line, mass) = strip.data(*heading_lines.last()?, &told, &all)?;
    Some(Table {
        name_line,
        heading_lines: heading_lines.to_vec(),
        first_line,
        last_line,
        left,
        right,
        mass,
    })
}

fn table(
    grid: &Grid,
    reader: &Reader<'_>,
    names: &NameLine,
    all: &[NameLine],
    (left, right): (u32, u32),
    across: bool,
) -> Option<Table> {
    let within = names.names_of((left, right));
    if within.is_empty() {
        return None;
    }
    let view = Strip {
        across,
        name_line: names.line,
        grid,
        reader,
        left,
        right,
        names: within,
        span: spans(grid, names.line, within, right),
    };
    let mut heading_lines = view.headings_above(names.upper.unwrap_or(names.line));
    heading_lines.extend(names.upper);
    heading_lines.push(names.line);
    let below = view.headings_below(names.line, all);
    heading_lines.extend(&below);
    let after = heading_lines.last().copied()?;
    let (first_line, last_line, mass) = view.data(after, names, all)?;
    Some(Table {
        name_line: names.line,
        heading_lines,
        first_line,
        last_line,
        left,
        right,
        mass,
    })
}

/// How far each name reaches: over its merged cells, or over the blank heading cells to its right when
/// the heading line has such gaps (a name standing over "Data" and "DF"). In the order of `names`, which
/// is that of the tracks; none reaches less far than one before it.
fn spans(grid: &Grid, line: u32, names: &[u32], right: u32) -> Vec<(u32, u32)> {
    let merged: BTreeMap<u32, u32> = grid
        .merges
        .iter()
        // Of two at one place the first counts.
        .rev()
        .filter(|m| m.top == line)
        .map(|m| (m.left, m.right.min(right)))
        .collect();
    let mut reach = 0;
    names
        .iter()
        .map(|track| {
            reach = reach.max(merged.get(track).map_or(*track, |end| *end));
            (*track, reach)
        })
        .collect()
}

struct Strip<'a, 'v> {
    across: bool,
    name_line: u32,
    grid: &'a Grid,
    reader: &'a Reader<'v>,
    left: u32,
    right: u32,
    names: &'a [u32],
    span: Vec<(u32, u32)>,
}

/// Counts of what stands in one line, within the strip.
#[derive(Debug, Default)]
struct Tally {
    cells: usize,
    /// Under analyte names.
    numbers: usize,
    units: usize,
    words: usize,
    /// Outside them.
    fields: usize,
    identity_numbers: usize,
    limits: usize,
    values_named: usize,
}

impl Strip<'_, '_> {
    /// Whether a track lies under a name. A label column can have a hundred thousand of them.
    fn is_under(&self, track: u32) -> bool {
        let behind = self.span.partition_point(|(from, _)| *from <= track);
        behind > 0 && self.span[behind - 1].1 >= track
    }

    /// The cells of a line, within the strip.
    fn cells(&self, line: u32) -> &[(u32, Cell)] {
        self.grid.stretch(line, self.left, self.right)
    }

    /// Those that stand to the right of the first track.
    fn over(&self, line: u32) -> &[(u32, Cell)] {
        self.grid.stretch(line, self.left + 1, self.right)
    }

    fn tally(&self, line: u32) -> Tally {
        let mut tally = Tally::default();
        for (track, cell) in self.cells(line) {
            tally.cells += 1;
            let under = self.is_under(*track);
            match self.reader.look(cell.view()) {
                Look::Number | Look::Date if under => tally.numbers += 1,
                Look::Number | Look::Date => tally.identity_numbers += 1,
                Look::Unit if under => tally.units += 1,
                Look::Field(Field::DetectionLimit | Field::QuantificationLimit) if !under => {
                    tally.limits += 1
                }
                Look::Field(Field::Value) => tally.values_named += 1,
                Look::Field(_) if !under => tally.fields += 1,
                Look::Words | Look::Analyte | Look::Field(_) if under => tally.words += 1,
                _ => {}
            }
        }
        tally
    }

    /// Group headings directly above the names: no numbers, and not the label–value pairs of a preamble.
    fn headings_above(&self, line: u32) -> Vec<u32> {
        let mut above = Vec::new();
        for candidate in (line.saturating_sub(3)..line).rev() {
            let tally = self.tally(candidate);
            let over = self.over(candidate).len();
            let merged = self.grid.merges.iter().any(|m| {
                m.top == candidate && m.right > m.left && m.left > self.left && m.left <= self.right
            });
            let heads = self.over(candidate);
            if are_periods_of_groups(heads, self.names)
                || heads_groups(self.grid, self.reader, heads, line, self.names)
            {
                above.insert(0, candidate);
                continue;
            }
            if tally.cells == 0 || tally.numbers + tally.identity_numbers > 0 || over == 0 {
                break;
            }
            // Two cells of a preamble ("Client:", "Thistle") are no group headings; a lone one is none either,
            // unless it says the unit of what stands below.
            let preamble = tally.fields > self.heads_of_blanks(candidate, line);
            if preamble || (over == 1 && !merged && !self.ends_with_unit(candidate)) {
                break;
            }
            above.insert(0, candidate);
        }
        above
    }

    /// Words of identity in a line that head the tracks which the line of names leaves blank. A colon makes a
    /// word the label of what stands beside it.
    fn heads_of_blanks(&self, above: u32, names: u32) -> usize {
        self.cells(above)
            .iter()
            .filter(|(t, _)| self.grid.get(Address::new(names, *t)).is_none())
            .filter(|(_, cell)| {
                matches!(self.reader.look(cell.view()), Look::Field(_))
                    && !cell.as_text().trim_end().ends_with(':')
            })
            .count()
    }

    /// "Major ions (mg/L)": the line's only cell over the names carries a unit in brackets.
    fn ends_with_unit(&self, line: u32) -> bool {
        self.over(line).iter().any(|(_, cell)| {
            let text = cell.as_text();
            text.trim()
                .strip_suffix([')', ']'])
                .and_then(|open| open.rsplit_once(['(', '[']))
                .is_some_and(|(words, unit)| !words.is_empty() && self.reader.is_unit(unit))
        })
    }

    /// Unit, basis, method, code and limit lines below the names; and the line that heads the identity
    /// tracks where the names stand above it.
    fn headings_below(&self, names: u32, all: &[NameLine]) -> Vec<u32> {
        let mut below = Vec::new();
        let stop = names.saturating_add(MOST_HEADING_LINES);
        let next_names = all
            .get(all.partition_point(|n| n.line <= names))
            .map_or(u32::MAX, |n| n.line);
        // Where a line of field names ("Sample ID", "Date", "Data") follows, all down to it are headings.
        // (A letterhead far right of the first sample is none; limits stand over samples in rows.)
        let between = names + 1..=stop.min(next_names.saturating_sub(1));
        let tallies = between.map(|line| (line, self.tally(line)));
        let is_data = |t: &Tally| {
            self.across && t.limits == 0 && t.units == 0 && t.numbers * 2 > self.names.len()
        };
        let mut heads = tallies.take_while(|(_, t)| !is_data(t));
        let head_of_fields = heads.find_map(|(line, t)| {
            let is_head = t.numbers == 0
                && t.identity_numbers == 0
                && t.units == 0
                && t.fields >= 2
                && !self.missing_words(line);
            is_head.then_some(line)
        });
        if let Some(last) = head_of_fields {
            below.extend((names + 1..=last).filter(|line| self.tally(*line).cells > 0));
        }
        let mut line = below.last().copied().unwrap_or(names) + 1;
        let mut blanks = 0;
        while line <= stop {
            let t = self.tally(line);
            if t.cells == 0 {
                blanks += 1;
                if blanks > MOST_BLANK_LINES {
                    break;
                }
                line += 1;
                continue;
            }
            if !self.is_heading(line, &t) {
                break;
            }
            below.push(line);
            line += 1;
        }
        below
    }

    fn is_heading(&self, line: u32, t: &Tally) -> bool {
        // Units, and at most as many odd cells beside them.
        let units = t.units > 0 && t.units >= t.numbers && t.units * 2 >= t.words;
        // A line that calls itself a limit.
        let limits = t.limits > 0 && t.fields == 0;
        // "0.042 mg/L" in most tracks directly under the headings, and nothing that names a sample.
        let limits_in_units =
            t.numbers > 0 && self.nameless(line) && self.with_unit(line) * 2 > t.numbers;
        // Methods, codes, fractions: words in at least half of the tracks, no number, no sample name.
        let words = t.numbers == 0
            && t.units == 0
            && t.words * 2 >= self.names.len().max(2)
            && (self.nameless(line) || self.is_headed(line))
            && !self.missing_words(line);
        // What the masses count ("NO3", "as N"), or a fraction: most tracks need none.
        let said_of_names =
            t.numbers == 0 && t.words > 0 && self.nameless(line) && self.are_of_the_names(line);
        let units_of_groups = t.numbers == 0 && self.reader.are_units(self.cells(line));
        units || units_of_groups || limits || limits_in_units || words || said_of_names
    }

    /// Nothing but units, species and fractions ("dissolved" under "Fe") stands under the names.
    fn are_of_the_names(&self, line: u32) -> bool {
        let name = |track: u32| {
            let before = self.names.partition_point(|name| *name <= track);
            let name = *self.names.get(before.checked_sub(1)?)?;
            Some(self.grid.view(Address::new(self.name_line, name)).as_text())
        };
        let is_said = |track: u32, text: &str| {
            self.reader.is_unit(text)
                || self.reader.vocabulary().read_basis(text).is_some()
                || name(track).is_some_and(|name| {
                    let whole = self.reader.heading(&format!("{name} {text}"));
                    whole.fraction.is_some() && whole.meaning == self.reader.heading(&name).meaning
                })
        };
        let mut cells = self.cells(line).iter().filter(|(t, _)| self.is_under(*t));
        cells.all(|(track, cell)| is_said(*track, cell.as_text().trim()))
    }

    /// No cell outside the analyte tracks, or only a word that labels the line ("Unit", "Methods") or that
    /// stands under analytes too: it names no sample.
    fn nameless(&self, line: u32) -> bool {
        let row = self.cells(line);
        let repeated = |text: &str| {
            (row.iter()).any(|(t, cell)| self.is_under(*t) && cell.as_text().trim() == text)
        };
        row.iter()
            .filter(|(t, _)| !self.is_under(*t))
            .all(|(_, cell)| {
                matches!(
                    self.reader.look(cell.view()),
                    Look::Field(
                        Field::Unit
                            | Field::Basis
                            | Field::Method
                            | Field::DetectionLimit
                            | Field::QuantificationLimit
                            | Field::Other
                            | Field::Fraction
                    ) | Look::Unit
                ) || repeated(cell.as_text().trim())
            })
    }

    /// The cell directly before the first name says what the line holds ("Method" over the methods of a
    /// certificate), whatever stands farther off, in its preamble.
    fn is_headed(&self, line: u32) -> bool {
        let before = self.names.first().and_then(|first| first.checked_sub(1));
        before.is_some_and(|track| {
            matches!(
                self.reader.look(self.grid.view(Address::new(line, track))),
                Look::Field(Field::Method | Field::Basis | Field::Fraction)
            )
        })
    }

    /// Cells that are a number and a unit together.
    fn with_unit(&self, line: u32) -> usize {
        self.cells(line)
            .iter()
            .filter(|(t, _)| self.is_under(*t))
            .filter(|(_, cell)| match cell.view() {
                CellView::Text(text) => {
                    unit_after_number(text).is_some_and(|unit| self.reader.is_unit(unit))
                }
                _ => false,
            })
            .count()
    }

    /// "ND", "n.a.", "-" in most tracks: a sample in which nothing was found, not a heading.
    fn missing_words(&self, line: u32) -> bool {
        let under = (self.cells(line).iter()).filter(|(t, _)| self.is_under(*t));
        let texts: Vec<_> = under
            .map(|(_, cell)| cell.as_text().trim().to_lowercase())
            .collect();
        let is_missing = |text: &&String| super::words::says_nothing_found(text);
        let missing = texts.iter().filter(is_missing).count();
        !texts.is_empty() && missing * 2 >= texts.len()
    }

    /// First and last line of data, and how many values they hold.
    fn data(&self, after: u32, names: &NameLine, all: &[NameLine]) -> Option<(u32, u32, usize)> {
        let mut first = None;
        let mut last = after;
        let mut mass = 0usize;
        let mut reach = after;
        // Lines up to here name no other sample.
        let mut known = after;
        for (nth, (line, _)) in (self.grid.rows_from(after.saturating_add(1))).enumerate() {
            // A long gap ends a table, unless a sheet is only shown in samples of its rows.
            let is_far = line > reach.saturating_add(MOST_BLANK_LINES + 6);
            let is_without_data = first.is_none() && (is_far || nth > MOST_LINES_WITHOUT_DATA);
            if let Some(other) = names_on(all, line) {
                if other.names_of((self.left, self.right)).is_empty() {
                    continue;
                }
                let is_new = !self.repeats(names.line, line)
                    || is_without_data
                    || self.is_renamed(last.max(known), line);
                if is_new {
                    break;
                }
                known = line.saturating_sub(1);
                continue;
            }
            let t = self.tally(line);
            match t.cells {
                0 => continue,
                _ if is_without_data => break,
                _ => (),
            }
            let nothing_found =
                t.numbers == 0 && t.words > 0 && self.missing_words(line) && t.cells > t.words;
            if t.numbers > 0 || nothing_found {
                if first.is_none() {
                    first = Some(line);
                }
                mass += t.numbers;
                last = line;
            }
            reach = line;
        }
        // Lines of identity without any value directly after the last one ("not sampled") stay inside.
        let first = first?;
        // Units may stand behind the values instead of before them.
        for line in last + 1..=last.saturating_add(2) {
            let t = self.tally(line);
            if t.units > 0 && t.numbers == 0 && t.units * 2 >= self.names.len().min(6) {
                last = line;
            }
        }
        for (line, _) in self.grid.rows_from(last.saturating_add(1)) {
            if self.across || line != last + 1 || names_on(all, line).is_some() {
                break;
            }
            let t = self.tally(line);
            if t.cells < 2 || t.words + t.units > 0 {
                break;
            }
            last = line;
        }
        Some((self.first_data_line(after, first), last, mass))
    }

    /// Lines between the headings and the first number that name a sample ("well not reached").
    fn first_data_line(&self, after: u32, first: u32) -> u32 {
        (after + 1..first)
            .find(|line| {
                let t = self.tally(*line);
                t.cells >= 2 && t.words == 0 && t.units == 0 && t.fields == 0
            })
            .unwrap_or(first)
    }

    /// Whether a line between two others says whose the samples below it are.
    fn is_renamed(&self, from: u32, to: u32) -> bool {
        !self.across
            && (self.grid.rows_from(from.saturating_add(1)))
                .take_while(|(line, _)| *line < to)
                .any(|(line, _)| states_identity(self.reader, views(self.cells(line))))
    }

    /// The same headings again, as on every printed page.
    fn repeats(&self, names: u32, line: u32) -> bool {
        let texts = |l: u32| {
            self.cells(l)
                .iter()
                .map(|(t, c)| (*t, c.as_text().trim().to_lowercase()))
                .collect::<Vec<_>>()
        };
        texts(names) == texts(line)
    }
}

/// The name line that a line is. `all` is in the order of the lines.
fn names_on(all: &[NameLine], line: u32) -> Option<&NameLine> {
    let at = all.binary_search_by_key(&line, |names| names.line).ok()?;
    Some(&all[at])
}

/// The unit behind the number in "0.042 mg/L"; `None` when the text is not of that form.
pub fn unit_after_number(text: &str) -> Option<&str> {
    let text = text.trim();
    if !super::look::is_number_like(text) {
        return None;
    }
    let start = text.find(|c: char| {
        !matches!(
            c,
            '0'..='9' | '.' | ',' | '<' | '>' | '≤' | '≥' | '=' | '+' | '-' | '*' | ' ' | '\u{a0}'
        )
    })?;
    Some(text[start..].trim()).filter(|unit| !unit.is_empty())
}
