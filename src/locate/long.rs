//! Tables of one result a row: a heading line that names the label and the value columns.

use super::block::ResultColumns;
use super::look::{Look, Reader};
use super::pairs::{states_identity, tells_samples_apart, views};
use crate::place::{Address, Area};
use crate::read::{Cell, CellView, Grid};
use crate::vocabulary::{Field, Meaning};
use std::collections::{BTreeMap, BTreeSet};

/// Rows that show what a column holds.
const SHOWN_ROWS: usize = 200;
/// Different labels that a column without a heading of the trade must name, so that it counts as labels.
const FEWEST_LABELS: usize = 3;

/// A `results-down` table.
#[derive(Clone, Debug)]
pub(super) struct LongTable {
    pub(super) heading: u32,
    /// The heading, or the first line where that stands apart from it.
    pub(super) top: u32,
    pub(super) first_line: u32,
    pub(super) last_line: u32,
    pub(super) left: u32,
    pub(super) right: u32,
    pub(super) columns: ResultColumns,
}

impl LongTable {
    pub(super) const fn area(&self) -> Area {
        Area {
            top: self.top,
            left: self.left,
            bottom: self.last_line,
            right: self.right,
        }
    }
}

/// Headings without an analyte below that are looked at: each is followed to the end of the sheet, and
/// no report has so many.
const MOST_WITHOUT_RESULTS: usize = 500;

/// Rows that head a `results-down` table: a value column, and a column of labels, told by its heading or
/// by what stands in it.
pub(super) fn long_tables(grid: &Grid, reader: &Reader<'_>) -> Vec<LongTable> {
    let mut found: Vec<LongTable> = Vec::new();
    let mut tried = 0;
    for (row, cells) in grid.rows() {
        if cells.len() < 2 || found.last().is_some_and(|t| row <= t.last_line) {
            continue;
        }
        let looks: Option<Vec<(u32, Look)>> = (cells.iter())
            .map(|(col, cell)| match reader.look(cell.view()) {
                Look::Number | Look::Date => None,
                look => Some((*col, look)),
            })
            .collect();
        let Some(looks) = looks else {
            continue;
        };
        let Some(value) = value_column(grid, row, &looks) else {
            continue;
        };
        tried += 1;
        if tried > found.len() + MOST_WITHOUT_RESULTS {
            break;
        }
        let Some(label) = label_column(grid, reader, row, &looks, value) else {
            continue;
        };
        let (left, right) = piece(&looks, label, value);
        let columns = (left, right, label);
        let titles = titles_of_samples(grid, reader, row, columns);
        let mut from = Some(row + 1);
        while let Some(start) = from.take() {
            let Some(stretch) = stretch(grid, reader, (row, start), columns, &titles) else {
                break;
            };
            let follows = start == row + 1 && !stretch.is_led;
            found.push(LongTable {
                heading: row,
                top: if follows { row } else { stretch.first },
                first_line: stretch.first,
                last_line: stretch.last,
                left,
                right,
                columns: ResultColumns {
                    label: Some(label),
                    value: Some(value),
                },
            });
            from = stretch.next;
        }
    }
    found
}

/// The column of values under a heading row. Two are two samples side by side, and no table of results,
/// unless they say the same twice: then the one that has the `<` signs.
fn value_column(grid: &Grid, heading: u32, looks: &[(u32, Look)]) -> Option<u32> {
    let values = headed(looks, Field::Value);
    match values.as_slice() {
        [value] => Some(signed_twin(grid, heading, looks, *value).unwrap_or(*value)),
        [a, b] => {
            let mut signs = (0usize, 0usize);
            for (row, _) in grid.rows_from(heading + 1).take(SHOWN_ROWS) {
                let [first, second] =
                    [*a, *b].map(|col| grid.view(Address::new(row, col)).as_text());
                let bare = |text: &str| text.trim_start_matches(is_sign).to_owned();
                if bare(&first) != bare(&second) {
                    return None;
                }
                signs.0 += usize::from(first.starts_with(is_sign));
                signs.1 += usize::from(second.starts_with(is_sign));
            }
            Some(if signs.1 > signs.0 { *b } else { *a })
        }
        _ => None,
    }
}

/// The column that gives the numbers of the value column as they were reported: the same wherever it has no
/// sign, and "<0.01" where the other has a number put in its place (half of the limit, the limit, zero). One that has
/// signs of its own has nothing put in their place: beside it stand results of an earlier report.
fn signed_twin(grid: &Grid, heading: u32, looks: &[(u32, Look)], value: u32) -> Option<u32> {
    let number = |text: &str| text.trim().parse::<f64>().ok();
    let is_twin = |col: u32| {
        let (mut alike, mut signed) = (0usize, 0usize);
        for (row, _) in grid.rows_from(heading + 1).take(SHOWN_ROWS) {
            let [of_value, other] =
                [value, col].map(|col| grid.view(Address::new(row, col)).as_text());
            let (of_value, other) = (of_value.trim(), other.trim());
            if of_value.starts_with('<') {
                return false;
            }
            if other.starts_with(is_sign) && other.contains(|c: char| c.is_ascii_digit()) {
                let limit = number(other.trim_start_matches(is_sign));
                let is_above = number(of_value)
                    .zip(limit)
                    .is_some_and(|(n, limit)| n > limit);
                if is_above && other.starts_with('<') {
                    return false;
                }
                signed += 1;
            } else if of_value == other
                || number(of_value).is_some_and(|n| Some(n) == number(other))
            {
                alike += usize::from(!other.is_empty());
            } else if !other.is_empty() && !of_value.is_empty() {
                return false;
            }
        }
        signed > 0 && alike > 0
    };
    (looks.iter())
        .filter(|(col, look)| *col != value && *look == Look::Words)
        .map(|(col, _)| *col)
        .find(|col| is_twin(*col))
}

fn is_sign(c: char) -> bool {
    matches!(c, '<' | '>' | '≤' | '≥' | '=' | ' ' | '\u{a0}')
}

/// The column of labels: the one that is headed so. Of several (a short and a full name), and where none
/// is headed so, the one in which most texts name analytes.
fn label_column(
    grid: &Grid,
    reader: &Reader<'_>,
    heading: u32,
    looks: &[(u32, Look)],
    value: u32,
) -> Option<u32> {
    let labels = headed(looks, Field::Label);
    if let [label] = labels.as_slice() {
        return Some(*label);
    }
    let told = !labels.is_empty();
    let candidates = (looks.iter())
        .filter(|(col, look)| {
            if told {
                labels.contains(col)
            } else {
                *col != value && *look == Look::Words
            }
        })
        .map(|(col, _)| (*col, names(grid, reader, heading, *col)));
    let (col, _) = candidates
        .filter(|(_, names)| {
            told || (names.analytes >= FEWEST_LABELS && names.analytes * 2 >= names.texts)
        })
        // The first of those with most analytes.
        .max_by(|(a, of_a), (b, of_b)| of_a.analytes.cmp(&of_b.analytes).then(b.cmp(a)))?;
    Some(col)
}

/// Different texts of a column, and how many of them name an analyte.
#[derive(Debug, Default)]
struct Names {
    texts: usize,
    analytes: usize,
}

fn names(grid: &Grid, reader: &Reader<'_>, heading: u32, col: u32) -> Names {
    let mut seen: BTreeSet<&str> = BTreeSet::new();
    let mut names = Names::default();
    for (row, _) in grid.rows_from(heading + 1).take(SHOWN_ROWS) {
        if let CellView::Text(text) = grid.view(Address::new(row, col))
            && seen.insert(text)
        {
            names.texts += 1;
            names.analytes += usize::from(matches!(
                reader.heading(text).meaning,
                Meaning::Analyte(_) | Meaning::Ambiguous(_)
            ));
        }
    }
    names
}

fn headed(looks: &[(u32, Look)], field: Field) -> Vec<u32> {
    (looks.iter())
        .filter(|(_, look)| *look == Look::Field(field))
        .map(|(col, _)| *col)
        .collect()
}

/// The run of heading cells that holds label and value, without the blank columns that part it from
/// another table.
fn piece(looks: &[(u32, Look)], label: u32, value: u32) -> (u32, u32) {
    let (mut left, mut right) = (label.min(value), label.max(value));
    for (col, _) in looks {
        if *col == right + 1 {
            right = *col;
        }
    }
    for (col, _) in looks.iter().rev() {
        if *col + 1 == left {
            left = *col;
        }
    }
    (left, right)
}

/// Lines of results under one heading that are of one sample, or say themselves of which they are.
struct Stretch {
    first: u32,
    last: u32,
    /// Between the heading and the first line stands of which sample they are.
    is_led: bool,
    /// The line from which on results of another sample follow under the same heading.
    next: Option<u32>,
}

/// Rows of one text that name the sample of the results below them ("Bore 1", "Bore 2"): the first stands before all
/// results, and below each the same labels come again. "Cations" and "Anions" stand over other labels each, or come
/// again themselves.
fn titles_of_samples(
    grid: &Grid,
    reader: &Reader<'_>,
    heading: u32,
    (left, right, label): (u32, u32, u32),
) -> Vec<u32> {
    let mut all: Vec<(u32, &str, BTreeSet<&str>)> = Vec::new();
    for (row, _) in grid.rows_from(heading + 1) {
        let cells = grid.stretch(row, left, right);
        let name = grid.view(Address::new(row, label));
        if heads_labels(reader, name) {
            break;
        }
        if let Some(named) = analyte(reader, name) {
            let Some((_, _, labels)) = all.last_mut() else {
                return Vec::new();
            };
            labels.insert(named);
        } else if let CellView::Text(text) = name
            && is_title(reader, cells)
            && !states_identity(reader, views(cells))
        {
            all.push((row, text.trim(), BTreeSet::new()));
        }
    }
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for (_, text, _) in &all {
        *counts.entry(text).or_default() += 1;
    }
    let mut titles: Vec<(u32, BTreeSet<&str>)> = Vec::new();
    for (row, text, labels) in all {
        match titles.last_mut() {
            Some((_, known)) if counts[text] > 1 => known.extend(labels),
            _ => titles.push((row, labels)),
        }
    }
    // A remark below the last results.
    titles.pop_if(|(_, labels)| labels.is_empty());
    let come_again = titles.iter().all(|(_, labels)| {
        let again = labels.intersection(&titles[0].1).count() * 2;
        again > 0 && again >= labels.len() && again >= titles[0].1.len()
    });
    if titles.len() > 1 && come_again {
        titles.into_iter().map(|(row, _)| row).collect()
    } else {
        Vec::new()
    }
}

/// The results under a heading, from a line on. A line that says of which sample the results below it are
/// ("Sample: B", "Sampled | 12.3.2024") ends them, and so does a heading of the same kind below such a line.
fn stretch(
    grid: &Grid,
    reader: &Reader<'_>,
    (heading, start): (u32, u32),
    (left, right, label): (u32, u32, u32),
    titles: &[u32],
) -> Option<Stretch> {
    let mut first = None;
    let mut last = heading;
    let mut names = 0usize;
    let mut reach = start - 1;
    let mut met: BTreeSet<&str> = BTreeSet::new();
    let mut next = None;
    let (mut is_led, mut says_whose, mut is_over) = (false, false, false);
    // Whether a title stands behind the last name; the name that comes next, and its row, when last looked for.
    let mut has_title = false;
    let mut ahead: Option<(u32, Option<&str>)> = None;
    for (row, _) in grid.rows_from(start) {
        let cells = grid.stretch(row, left, right);
        if cells.is_empty() {
            continue;
        }
        has_title |= is_title(reader, cells);
        if titles.binary_search(&row).is_ok() {
            if names > 0 {
                next = Some(row);
                break;
            }
            (is_led, first, reach) = (true, None, row);
            continue;
        }
        let name = grid.view(Address::new(row, label));
        let named = analyte(reader, name);
        // Another heading of the same kind below whose the water is starts another table.
        if heads_labels(reader, name) {
            let mut starts_anew = || {
                if ahead.is_none_or(|(at, _)| at <= row) {
                    let mut below = grid.rows_from(row + 1).filter_map(|(below, _)| {
                        let name = analyte(reader, grid.view(Address::new(below, label)))?;
                        Some((below, Some(name)))
                    });
                    ahead = Some(below.next().unwrap_or((u32::MAX, None)));
                }
                let name = ahead.and_then(|(_, name)| name);
                name.is_some_and(|name| met.contains(name))
            };
            if is_over || says_whose || has_title && starts_anew() {
                break;
            }
            continue;
        }
        // Pairs beside each other can reach beyond the table.
        let whole = grid.row(row);
        let pairs = if cells.len() > 2 && matches!(whole.len(), 4 | 6) {
            whole
        } else {
            cells
        };
        if named.is_none() && states_identity(reader, views(pairs)) {
            says_whose = true;
            if tells_samples_apart(reader, views(pairs)) {
                if names > 0 {
                    is_over = true;
                } else {
                    (is_led, first) = (true, None);
                }
            }
            continue;
        }
        // Two blank rows with prose after end it.
        if !matches!(name, CellView::Text(_)) {
            if row > reach + 2 {
                break;
            }
            continue;
        }
        if cells.len() == 1 && row > reach + 1 {
            // A lone text after a gap: a footer, or a group heading when more results follow.
            continue;
        }
        if let Some(named) = named {
            if is_over {
                next = Some(row);
                break;
            }
            names += 1;
            (has_title, says_whose) = (false, false);
            met.insert(named);
        }
        if is_over {
            continue;
        }
        first = first.or(Some(row));
        if cells.len() > 1 {
            last = row;
        }
        reach = row;
    }
    (names > 0 && last > heading).then_some(Stretch {
        first: first?,
        last,
        is_led,
        next,
    })
}

fn heads_labels(reader: &Reader<'_>, cell: CellView<'_>) -> bool {
    matches!(cell, CellView::Text(text) if reader.heading(text).meaning == Meaning::Field(Field::Label))
}

/// The text of a cell that names an analyte.
fn analyte<'c>(reader: &Reader<'_>, cell: CellView<'c>) -> Option<&'c str> {
    let CellView::Text(text) = cell else {
        return None;
    };
    let meaning = &reader.heading(text).meaning;
    matches!(meaning, Meaning::Analyte(_) | Meaning::Ambiguous(_)).then(|| text.trim())
}

/// A text alone in its row that may name a sample: "Dissolved metals" heads a group of results.
fn is_title(reader: &Reader<'_>, cells: &[(u32, Cell)]) -> bool {
    let [(_, cell)] = cells else { return false };
    let CellView::Text(text) = cell.view() else {
        return false;
    };
    reader.heading(text).meaning == Meaning::Unknown
        && !reader.vocabulary().speaks_of_fraction(text)
}
