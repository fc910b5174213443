//! Label–value pairs: a label beside its value, above it, or in one cell with it.

use super::look::{Look, Reader, is_number_like};
use super::records::is_day;
use super::strip::unit_after_number;
use super::words::says_nothing_found;
use crate::place::{Address, Areas};
use crate::read::{Cell, CellView, Grid};
use crate::vocabulary::{Field, Meaning};
use std::ops::Range;
use std::sync::Arc;

/// How far right of its label a value can stand; forms leave room for long labels.
pub const FARTHEST_VALUE: u32 = 8;

/// "Date of receipt at laboratory".
const MOST_WORDS_OF_A_LABEL: usize = 5;

/// A label and the value that belongs to it.
#[derive(Clone, Debug, PartialEq)]
pub struct Pair {
    pub label: Address,
    /// The label without colon and dotted leaders.
    pub label_text: Arc<str>,
    pub value: Address,
    /// The bytes of the value's cell that are the value, where it shares a cell with the label.
    pub part: Option<Range<usize>>,
    /// A unit in a cell of its own, behind the value.
    pub unit: Option<Address>,
    /// The label names an analyte; otherwise a field.
    pub analyte: bool,
}

/// The pairs of a sheet outside the given areas, in the order of their labels.
pub fn pairs(grid: &Grid, reader: &Reader<'_>, outside: &Areas) -> Vec<Pair> {
    let free = |at: Address| !outside.contain(at);
    let mut found: Vec<Pair> = Vec::new();
    // The row last asked for, and the columns of its labels over values.
    let mut over: (Option<u32>, Vec<u32>) = (None, Vec::new());
    for (label, cell) in grid.cells().filter(|(at, _)| free(*at)) {
        let CellView::Text(text) = cell.view() else {
            continue;
        };
        if found.iter().rev().take(8).any(|p| p.value == label) {
            continue;
        }
        let inlines = inlines(reader, text);
        if let Some((first, _)) = inlines.first() {
            if is_analyte(reader, first) && goes_on(grid, label, text) {
                continue;
            }
            found.extend(inlines.into_iter().map(|(name, part)| Pair {
                label,
                analyte: is_analyte(reader, &name),
                label_text: name,
                value: label,
                part: Some(part),
                unit: None,
            }));
            continue;
        }
        let name = bare_label(text);
        let analyte = match &reader.heading(name).meaning {
            Meaning::Analyte(_) | Meaning::Ambiguous(_) => true,
            Meaning::Field(_) => false,
            Meaning::Unknown => continue,
        };
        if over.0 != Some(label.row) {
            over = (Some(label.row), labels_over_values(grid, reader, label.row));
        }
        if !analyte && over.1.contains(&label.col) {
            let value = Address::new(label.row + 1, label.col);
            found.push(Pair {
                label,
                label_text: name.into(),
                value,
                part: None,
                unit: None,
                analyte,
            });
            continue;
        }
        let sure = ends_as_label(text)
            || stands_in_a_list_of_pairs(grid, reader, label)
            || are_pairs(reader, views(grid.row(label.row)));
        let Some(value) = value_beside(grid, reader, label, analyte, sure, &free) else {
            continue;
        };
        let unit = analyte
            .then(|| unit_behind(grid, reader, value, &free))
            .flatten();
        // A lone letter is a code ("U", "B") unless it is written as a label, or its number has a unit.
        if analyte && name.len() < 2 && !ends_as_label(text) && unit.is_none() {
            let number = grid.view(value).as_text();
            if !unit_after_number(&number).is_some_and(|unit| reader.is_unit(unit)) {
                continue;
            }
        }
        found.push(Pair {
            label,
            label_text: name.into(),
            value,
            part: None,
            unit,
            analyte,
        });
    }
    found
}

/// "Client | Report no. | Date sampled" over what each says: the columns of the labels, where nothing else stands in
/// the next row, and no third one of values.
fn labels_over_values(grid: &Grid, reader: &Reader<'_>, row: u32) -> Vec<u32> {
    let (labels, values) = (grid.row(row), grid.row(row + 1));
    let is_known = |(_, cell): &&(u32, Cell)| matches!(reader.look(cell.view()), Look::Field(_));
    let are_texts = (labels.iter())
        .all(|(_, cell)| matches!(reader.look(cell.view()), Look::Field(_) | Look::Words));
    let over = |col: u32| labels.binary_search_by_key(&col, |(col, _)| *col).is_ok();
    let says = |(_, cell): &(u32, Cell)| {
        matches!(
            reader.look(cell.view()),
            Look::Words | Look::Number | Look::Date
        )
    };
    // "Sample | Bore 1" below is a pair; else they are the first rows of a table.
    let below = grid.row(row + 2);
    let is_pair = below.len() == 2 && is_known(&&below[0]);
    let is_one = are_texts
        && labels.iter().filter(is_known).count() * 2 > labels.len()
        && values.len() > 1
        && values.iter().all(|value| over(value.0) && says(value))
        && (is_pair
            || !below
                .iter()
                .any(|(col, _)| over(*col) && *col != labels[0].0))
        && !ends_as_label(&labels[0].1.view().as_text());
    match is_one {
        true => values.iter().map(|(col, _)| *col).collect(),
        false => Vec::new(),
    }
}

/// "Sample | Spring" over "Sampled | 1.7.2026": two cells in the row, and in the next, each time a label first.
fn stands_in_a_list_of_pairs(grid: &Grid, reader: &Reader<'_>, label: Address) -> bool {
    let is_pair = |row: u32| match grid.row(row) {
        [(col, first), (_, second)] => {
            *col == label.col
                && matches!(reader.look(first.view()), Look::Field(_))
                && matches!(
                    reader.look(second.view()),
                    Look::Words | Look::Date | Look::Number
                )
        }
        _ => false,
    };
    let is_alone = matches!(grid.row(label.row), [(col, _), _] if *col == label.col);
    // No table of two columns, whose rows stand below: nothing does, or results.
    let ends = match grid.row(label.row + 1) {
        [] => true,
        [(_, next), ..] => matches!(
            reader.look(next.view()),
            Look::Analyte | Look::Field(Field::Label)
        ),
    };
    is_alone && (ends || is_pair(label.row + 1) || label.row > 0 && is_pair(label.row - 1))
}

/// "Calcium: 1" beside "8 mmol/l": a number that was cut in two where the decimal comma was.
fn goes_on(grid: &Grid, at: Address, text: &str) -> bool {
    let next = grid.view(Address::new(at.row, at.col + 1)).as_text();
    text.ends_with(|c: char| c.is_ascii_digit()) && next.starts_with(|c: char| c.is_ascii_digit())
}

/// A label without what leads the eye to its value.
pub fn bare_label(text: &str) -> &str {
    text.trim()
        .trim_end_matches(['.', '…', '_', '·', ' ', '\u{a0}', ':', '='])
        .trim()
}

fn ends_as_label(text: &str) -> bool {
    text.trim_end().ends_with([':', '…', '=']) || text.trim_end().ends_with("..")
}

/// The cells of a row as they are seen.
pub(super) fn views(row: &[(u32, Cell)]) -> impl ExactSizeIterator<Item = CellView<'_>> {
    row.iter().map(|(_, cell)| cell.view())
}

/// Whether a row says whose the water is, or where or when it was taken ("Client: Thistle"): a table that
/// begins below it is not the one above, though it has the same headings.
pub fn states_identity<'c>(
    reader: &Reader<'_>,
    row: impl ExactSizeIterator<Item = CellView<'c>>,
) -> bool {
    states(reader, row, |field| field.is_identity())
}

/// Whether a row says which sample it was, or where or when it was taken.
pub(super) fn tells_samples_apart<'c>(
    reader: &Reader<'_>,
    row: impl ExactSizeIterator<Item = CellView<'c>>,
) -> bool {
    states(reader, row, |field| {
        use Field::{LabRef, SampleRef, SampledOn, Site, Source};
        matches!(field, SampleRef | LabRef | Source | Site | SampledOn)
    })
}

/// "Sample | Bore 2 | Sampled | 13.1.2026": labels, each before what it says.
pub fn are_pairs<'c>(
    reader: &Reader<'_>,
    row: impl ExactSizeIterator<Item = CellView<'c>>,
) -> bool {
    // Two or three of them; rows can be long.
    if !matches!(row.len(), 4 | 6) {
        return false;
    }
    let row: Vec<CellView<'_>> = row.collect();
    let values = || {
        row.iter()
            .skip(1)
            .step_by(2)
            .map(|value| reader.look(*value))
    };
    let is_plain = |look: Look| matches!(look, Look::Words | Look::Date | Look::Number);
    // "Tank" is a known word too; beside a day it is what the label before it says.
    let is_kind = |look: Look| {
        matches!(
            look,
            Look::Field(Field::Source | Field::SourceKind | Field::Site | Field::Region)
        )
    };
    row.iter()
        .step_by(2)
        .all(|label| matches!(reader.look(*label), Look::Field(_)))
        && (values().all(is_plain)
            || values().all(|look| is_plain(look) || is_kind(look))
                && row.iter().skip(1).step_by(2).any(|cell| is_day(*cell)))
}

fn states<'c>(
    reader: &Reader<'_>,
    row: impl ExactSizeIterator<Item = CellView<'c>>,
    is_wanted: impl Fn(Field) -> bool,
) -> bool {
    let is_wanted = |name: &str| {
        let meaning = &reader.heading(name).meaning;
        matches!(meaning, Meaning::Field(field) if is_wanted(*field))
    };
    let row: Vec<CellView<'_>> = row.collect();
    let are_pairs = row.len() == 2 || are_pairs(reader, row.iter().copied());
    row.iter().any(|cell| match cell {
        CellView::Text(text) => {
            let labels = ends_as_label(text) || are_pairs;
            (labels && is_wanted(bare_label(text)))
                || inline(reader, text).is_some_and(|(name, _)| is_wanted(&name))
        }
        _ => false,
    })
}

/// The name of a sample that a row of one or two cells states ("Sample: Bore 3", "Source | Pond").
pub(super) fn name_said(reader: &Reader<'_>, row: &[CellView<'_>]) -> Option<(Field, String)> {
    let field = |name: &str| match reader.heading(name).meaning {
        Meaning::Field(
            field @ (Field::SampleRef | Field::LabRef | Field::Source | Field::Site),
        ) => Some(field),
        _ => None,
    };
    match row {
        [one] => {
            let text = one.as_text();
            let (name, part) = inlines(reader, &text).into_iter().next()?;
            Some((field(&name)?, text.get(part)?.to_owned()))
        }
        [label, value] => {
            let said = value.as_text().trim().to_owned();
            Some((field(bare_label(&label.as_text()))?, said)).filter(|(_, said)| !said.is_empty())
        }
        _ => None,
    }
}

fn is_analyte(reader: &Reader<'_>, name: &str) -> bool {
    matches!(
        reader.heading(name).meaning,
        Meaning::Analyte(_) | Meaning::Ambiguous(_)
    )
}

/// "Sample: Bore 3, Client: Hill": pairs in one cell, one behind the other.
fn inlines(reader: &Reader<'_>, text: &str) -> Vec<(Arc<str>, Range<usize>)> {
    let mut found = Vec::new();
    let mut from = 0;
    while let Some((name, part)) = inline(reader, &text[from..]) {
        let (start, end) = (from + part.start, from + part.end);
        let is_field = matches!(reader.heading(&name).meaning, Meaning::Field(_));
        let next = is_field
            .then(|| next_label(reader, &text[start..end]))
            .flatten();
        let Some(next) = next else {
            let end = start
                + if is_field {
                    before_other_pair(&text[start..end])
                } else {
                    end - start
                };
            found.push((name, start..end));
            break;
        };
        let ends = |c: char| {
            c.is_whitespace() || matches!(c, ',' | ';' | '|' | '/' | '-' | '–' | '•' | '·')
        };
        let value = text[start..start + next].trim_end_matches(ends);
        found.push((name, start..start + value.len()));
        from = start + next;
    }
    found
}

/// Where a value ends before a pair whose label nobody knows: "Alder Farm - Our ref.: 17".
fn before_other_pair(value: &str) -> usize {
    let cuts = [" - ", " – ", " | ", "   "]
        .into_iter()
        .filter_map(|gap| value.find(gap));
    let is_label = |cut: &usize| {
        let rest = value[*cut..].trim_start_matches(|c: char| !c.is_alphanumeric());
        rest.starts_with(char::is_alphabetic) && rest.contains(':')
    };
    cuts.filter(is_label).min().unwrap_or(value.len())
}

/// Where within a value a label of identity begins, of a few words, that a colon ends and something stands
/// before.
fn next_label(reader: &Reader<'_>, value: &str) -> Option<usize> {
    value.match_indices(':').find_map(|(colon, _)| {
        let before = value[..colon].trim_end();
        let mut starts = before
            .rmatch_indices(char::is_whitespace)
            .map(|(at, gap)| at + gap.len());
        let is_label = |start: &usize| {
            let heading = reader.heading(&before[*start..]);
            let says_whose = |field: Field| field.is_identity() || field == Field::ReportRef;
            matches!(heading.meaning, Meaning::Field(field) if says_whose(field))
        };
        // The longer label says more: "Sampled on:".
        let near: Vec<usize> = starts.by_ref().take(MOST_WORDS_OF_A_LABEL).collect();
        near.into_iter().filter(is_label).min()
    })
}

/// "pH: 7.2", "Calcium ........ 118 mg/l": label and value in one cell. The label must be known; a text
/// that happens to hold a colon is prose otherwise.
fn inline(reader: &Reader<'_>, text: &str) -> Option<(Arc<str>, Range<usize>)> {
    let cuts = text
        .match_indices([':', '='])
        .map(|(i, s)| (i, i + s.len()))
        .chain(text.find("...").map(|i| {
            (
                i,
                i + text[i..].len() - text[i..].trim_start_matches(['.', ' ']).len(),
            )
        }));
    for (end, start) in cuts {
        let name = bare_label(&text[..end]);
        let value = text[start..].trim();
        if name.is_empty() || value.is_empty() {
            continue;
        }
        let is_value = match reader.heading(name).meaning {
            Meaning::Unknown => false,
            Meaning::Field(_) => true,
            Meaning::Analyte(_) | Meaning::Ambiguous(_) => {
                is_number_like(value) || says_nothing_found(&value.to_lowercase())
            }
        };
        if is_value {
            let from = text.len() - text[start..].trim_start().len();
            return Some((name.into(), from..from + value.len()));
        }
    }
    None
}

fn value_beside(
    grid: &Grid,
    reader: &Reader<'_>,
    label: Address,
    analyte: bool,
    sure: bool,
    free: &impl Fn(Address) -> bool,
) -> Option<Address> {
    let fits = |at: Address| -> bool {
        let cell = grid.view(at);
        match reader.look(cell) {
            Look::Blank => false,
            Look::Number => true,
            Look::Date => !analyte,
            // "Certificate of analysis" over "Client: Alder Farm" is a title.
            Look::Words if !analyte => inline(reader, &cell.as_text()).is_none(),
            Look::Words => says_nothing_found(&cell.as_text().trim().to_lowercase()),
            // A value may read as a known word ("Iron Bridge" is not, but "Borehole" is one): only a
            // label that ends as a label may take it, and never another label.
            Look::Field(_) | Look::Analyte | Look::Unit => {
                !analyte && sure && !ends_as_label(&cell.as_text())
            }
        }
    };
    let right = grid
        .row(label.row)
        .iter()
        .map(|(col, _)| Address::new(label.row, *col))
        .find(|at| at.col > label.col);
    if let Some(at) = right
        && at.col - label.col <= FARTHEST_VALUE
        && free(at)
        && fits(at)
    {
        return Some(at);
    }
    let below = Address::new(label.row + 1, label.col);
    // Two numbers under a label are a column of a table, not the value of a form.
    let column = reader.look(grid.view(Address::new(label.row + 2, label.col))) == Look::Number;
    if column {
        return None;
    }
    // Below only where nothing stands beside, and no label stands before it: otherwise a column of labels would take each other's values.
    let is_of_another = (grid.row(below.row).iter())
        .rfind(|(col, _)| *col < below.col)
        .is_some_and(|(_, cell)| !analyte && matches!(reader.look(cell.view()), Look::Field(_)));
    (right.is_none_or(|at| at.col - label.col > FARTHEST_VALUE)
        && free(below)
        && fits(below)
        && !is_of_another)
        .then_some(below)
}

fn unit_behind(
    grid: &Grid,
    reader: &Reader<'_>,
    value: Address,
    free: &impl Fn(Address) -> bool,
) -> Option<Address> {
    let own = match grid.view(value) {
        CellView::Text(text) => unit_after_number(text).is_some(),
        _ => false,
    };
    let at = Address::new(value.row, value.col + 1);
    (!own && free(at) && reader.look(grid.view(at)) == Look::Unit).then_some(at)
}
