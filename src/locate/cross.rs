//! Cross-tables: one analyte, places along one side, days along the other, a result in each cell. Or each row
//! of an analyte and a place of its own, and days along the top.

use super::block::Block;
use super::look::{Look, Reader};
use super::pairs::bare_label;
use super::records::is_day;
use super::words::says_nothing_found;
use crate::place::{Address, Area, Areas};
use crate::read::{Cell, CellView, Grid};
use crate::reading::{DateFault, DateOrder, read_date};
use crate::text::fold;
use crate::vocabulary::{Field, Meaning};
use std::collections::BTreeSet;
use std::ops::RangeInclusive;

/// How far above a cross-table its caption can stand.
const FARTHEST_CAPTION: u32 = 3;
/// Fewer results across or down are no table.
const FEWEST: usize = 2;

/// What stands where in a cross-table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CrossTable {
    pub of: Of,
    /// The row of heads above the results.
    pub heads: u32,
    /// The column of labels beside the results.
    pub labels: u32,
    /// The results, without heads and labels.
    pub results: Area,
}

/// What a cross-table is of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Of {
    /// One analyte.
    One {
        named: Named,
        /// Cells of its unit and basis alone: behind or under a caption, or the corner.
        units: Vec<Address>,
        /// Days are the heads and places the labels; else the other way round.
        days_across: bool,
        /// What a place is called in the corner; a source where nothing is said.
        place: Field,
    },
    /// The labels name an analyte each, and the heads are days. What the other columns beside the results
    /// say: columns and their fields.
    Each(Vec<(u32, Field)>),
}

/// Where the one analyte of a cross-table is named.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Named {
    /// In the corner, or in a caption above.
    Cell(Address),
    /// In the name of the sheet.
    Sheet,
}

impl CrossTable {
    /// With heads, labels and caption.
    pub(super) fn area(&self) -> Area {
        let (top, left) = match &self.of {
            Of::One { .. } => {
                let at = self.named_at();
                (at.row, at.col)
            }
            Of::Each(beside) => (
                self.heads,
                beside.first().map_or(self.labels, |(col, _)| *col),
            ),
        };
        Area {
            top: self.heads.min(top),
            left: self.labels.min(left),
            ..self.results
        }
    }

    /// The cell that names the one analyte; the corner where the sheet does.
    pub const fn named_at(&self) -> Address {
        match self.of {
            Of::One {
                named: Named::Cell(at),
                ..
            } => at,
            _ => Address::new(self.heads, self.labels),
        }
    }

    /// Where analytes are named.
    pub(super) const fn names(&self) -> Area {
        match &self.of {
            Of::One { .. } => {
                let at = self.named_at();
                Area {
                    top: at.row,
                    left: at.col,
                    bottom: at.row,
                    right: at.col,
                }
            }
            Of::Each(_) => Area {
                left: self.labels,
                right: self.labels,
                ..self.results
            },
        }
    }
}

/// The cross-tables outside the given areas, top to bottom.
pub(super) fn cross_tables(
    grid: &Grid,
    sheet: &str,
    reader: &Reader<'_>,
    outside: &Areas,
) -> Vec<CrossTable> {
    let mut found: Vec<CrossTable> = Vec::new();
    for (row, cells) in grid.rows() {
        let is_within = found.last().is_some_and(|t| t.results.bottom >= row);
        let is_free = |(col, _): &(u32, Cell)| !outside.contain(Address::new(row, *col));
        if is_within || cells.len() < FEWEST || !cells.iter().all(is_free) {
            continue;
        }
        let above = found.last().map_or(0, |t| t.results.bottom + 1);
        let on = On {
            grid,
            sheet,
            reader,
            above,
        };
        let table = days_across(&on, row)
            .or_else(|| days_down(&on, row))
            .filter(|table| !outside.contain(Address::new(table.names().top, table.names().left)));
        found.extend(table);
    }
    found
}

/// A sheet, from the row `above` on.
struct On<'a, 'v> {
    grid: &'a Grid,
    sheet: &'a str,
    reader: &'a Reader<'v>,
    above: u32,
}

/// Heads are days; each row below begins with the name of a place.
fn days_across(on: &On<'_, '_>, heads: u32) -> Option<CrossTable> {
    let (grid, reader) = (on.grid, on.reader);
    let cells = grid.row(heads);
    let first = cells.iter().position(|(_, cell)| is_period(cell.view()))?;
    let days = cells[first..]
        .iter()
        .take_while(|(_, cell)| is_period(cell.view()))
        .count();
    if first > 1 || days < FEWEST || !differ(&cells[first..first + days]) {
        return None;
    }
    let columns = cells[first].0..=cells[first + days - 1].0;
    let below = heads + 1;
    let labels = grid.row(below).first()?.0;
    let corner = cells.first().filter(|_| first == 1);
    if labels >= *columns.start() || corner.is_some_and(|(col, _)| *col != labels) {
        return None;
    }
    let at = Address::new(heads, labels);
    let named = named_analyte(on, at)?;
    let mut names = BTreeSet::new();
    let mut is_line = |row: u32| {
        let Some((col, label)) = grid.row(row).first() else {
            return false;
        };
        *col == labels
            && is_name(reader, label.view())
            && names.insert(fold(&label.as_text()))
            && are_results(grid, reader, row, &columns)
    };
    let bottom = (below..).take_while(|row| is_line(*row)).last()?;
    let results = area(below..=bottom, &columns);
    table(grid, reader, at, named, results, true)
}

/// Labels are days; each head is the name of a place.
fn days_down(on: &On<'_, '_>, heads: u32) -> Option<CrossTable> {
    let (grid, reader) = (on.grid, on.reader);
    let below = heads + 1;
    let &(labels, ref day) = grid.row(below).first()?;
    if !is_day(day.view()) {
        return None;
    }
    let places: Vec<&(u32, Cell)> = (grid.row(heads).iter())
        .filter(|(col, _)| *col != labels)
        .collect();
    let columns = places.first()?.0..=places.last()?.0;
    let views: Vec<CellView<'_>> = places.iter().map(|(_, cell)| cell.view()).collect();
    if *columns.start() < labels || !are_places(reader, &views) {
        return None;
    }
    let at = Address::new(heads, labels);
    let named = named_analyte(on, at)?;
    let is_line = |row: u32| {
        (grid.row(row).first()).is_some_and(|(col, day)| *col == labels && is_day(day.view()))
            && are_results(grid, reader, row, &columns)
    };
    let bottom = (below..).take_while(|row| is_line(*row)).last()?;
    let results = area(below..=bottom, &columns);
    table(grid, reader, at, named, results, false)
}

const fn area(rows: RangeInclusive<u32>, columns: &RangeInclusive<u32>) -> Area {
    Area {
        top: *rows.start(),
        left: *columns.start(),
        bottom: *rows.end(),
        right: *columns.end(),
    }
}

/// What names the one analyte of a table, and the cells of its unit: its corner, or a caption not far above, with its
/// unit in the same cell, in the next, in a row of its own or the corner; or the sheet, where no caption says anything
/// else. It is looked for before anything else, since every row can look like the head of a table.
fn named_analyte(on: &On<'_, '_>, corner: Address) -> Option<(Named, Vec<Address>)> {
    let text = |at: Address| on.grid.view(at).as_text();
    let is_analyte = |at: Address| is_caption(on.reader, &text(at));
    if is_analyte(corner) {
        return Some((Named::Cell(corner), Vec::new()));
    }
    let look = |at: &Address| on.reader.look(on.grid.view(*at));
    let are_units = |cells: &[Address]| cells.iter().all(|at| look(at) == Look::Unit);
    let mut units: Vec<Address> = Some(corner)
        .filter(|at| are_units(&[*at]))
        .into_iter()
        .collect();
    let mut is_other = false;
    for row in (corner.row.saturating_sub(FARTHEST_CAPTION).max(on.above)..corner.row).rev() {
        let cells = on.grid.row(row).iter();
        let cells: Vec<Address> = cells.map(|(col, _)| Address::new(row, *col)).collect();
        // "Parameter: | Chloride | mg/L", or without its first cell.
        let said = match cells.as_slice() {
            [label, said @ ..] if !said.is_empty() && is_label(on.reader, &text(*label)) => said,
            cells => cells,
        };
        match said {
            [] => {}
            [at, behind @ ..] if is_analyte(*at) && are_units(behind) => {
                units.extend(behind);
                return Some((Named::Cell(*at), units));
            }
            said if are_units(said) => units.extend(said),
            [at, ..] => {
                let text = text(*at);
                let is_identity = matches!(
                    on.reader.heading(bare_label(&text)).meaning,
                    Meaning::Field(field) if field.is_identity()
                );
                is_other |= !is_identity && !fold(&text).contains(&fold(on.sheet));
            }
        }
    }
    let is_sheet = !is_other && is_caption(on.reader, on.sheet);
    is_sheet.then_some((Named::Sheet, units))
}

/// Whether a text names one analyte, alone or behind the word for one.
fn is_caption(reader: &Reader<'_>, text: &str) -> bool {
    matches!(
        reader.heading(caption(reader, text)).meaning,
        Meaning::Analyte(_)
    )
}

/// "Chloride (mg/L)", also in "Parameter: Chloride (mg/L)".
pub fn caption<'t>(reader: &Reader<'_>, text: &'t str) -> &'t str {
    match text.split_once(':') {
        Some((label, said)) if is_label(reader, label) => said.trim(),
        _ => text.trim(),
    }
}

/// "Parameter:", "Unit"
fn is_label(reader: &Reader<'_>, text: &str) -> bool {
    matches!(
        reader.heading(bare_label(text)).meaning,
        Meaning::Field(Field::Label | Field::Unit | Field::Basis)
    )
}

/// The table, where it is one; `None` where its results are too few, or where its labels are headed as something
/// else.
fn table(
    grid: &Grid,
    reader: &Reader<'_>,
    corner: Address,
    (named, units): (Named, Vec<Address>),
    results: Area,
    days_across: bool,
) -> Option<CrossTable> {
    let place = match reader.look(grid.view(corner)) {
        Look::Field(field @ (Field::Source | Field::Site | Field::SampleRef)) => field,
        // Over a column of labels that are no days it heads a row of another kind.
        Look::Field(_) if days_across => return None,
        _ => Field::Source,
    };
    let rows = (results.bottom - results.top) as usize + 1;
    (rows >= FEWEST).then_some(CrossTable {
        of: Of::One {
            named,
            units,
            days_across,
            place,
        },
        heads: corner.row,
        labels: corner.col,
        results,
    })
}

/// A `results-down` table without a column of results whose numbers stand under days: "Source; Parameter;
/// Unit; 2021-01-12; 2021-02-14". `None` where a column beside them says what is not known, or what a cell
/// alone cannot have (qualifiers, limits, another day).
pub(super) fn each_under_days(
    grid: &Grid,
    reader: &Reader<'_>,
    table: &Block,
) -> Option<CrossTable> {
    let heads = *table.heading_lines.first()?;
    let labels = table
        .results
        .label
        .filter(|_| table.results.value.is_none())?;
    let cells = grid.stretch(heads, table.area.left, table.area.right);
    let first = cells.iter().position(|(_, cell)| is_period(cell.view()))?;
    let (beside, days) = cells.split_at(first);
    // What stands behind the days ("Mean", "Trend") is left where it is.
    let count = days
        .iter()
        .take_while(|(_, cell)| is_period(cell.view()))
        .count();
    let (days, behind) = days.split_at(count);
    let is_day_behind = behind.iter().any(|(_, cell)| is_period(cell.view()));
    if days.len() < FEWEST || is_day_behind || !differ(days) {
        return None;
    }
    let columns = days.first()?.0..=days.last()?.0;
    let field = |(col, cell): &(u32, Cell)| match reader.look(cell.view()) {
        Look::Field(
            field @ (Field::Client
            | Field::Site
            | Field::Source
            | Field::SourceKind
            | Field::Region
            | Field::SampleRef
            | Field::LabRef
            | Field::Unit
            | Field::Basis
            | Field::Method
            | Field::Remark
            | Field::Other),
        ) => Some((*col, field)),
        _ => None,
    };
    let beside: Vec<(u32, Field)> = (beside.iter())
        .filter(|(col, _)| *col != labels)
        .map(field)
        .collect::<Option<_>>()?;
    let rows = table.first_line..=table.area.bottom;
    let is_headed = |(col, _): &(u32, Cell)| cells.iter().any(|(head, _)| head == col);
    let is_line = |row: u32| {
        (grid.stretch(row, table.area.left, *columns.end()).iter()).all(is_headed)
            && grid.view(Address::new(row, labels)) != CellView::Empty
            && (grid
                .stretch(row, *columns.start(), *columns.end())
                .is_empty()
                || are_results(grid, reader, row, &columns))
    };
    rows.clone().all(is_line).then(|| CrossTable {
        of: Of::Each(beside),
        heads,
        labels,
        results: area(rows, &columns),
    })
}

/// A day, or a year or month that a whole column is of.
pub fn is_period(cell: CellView<'_>) -> bool {
    is_day(cell)
        || match cell {
            CellView::Number(year, _) => (1950.0..=2100.0).contains(&year) && year.fract() == 0.0,
            CellView::Text(text) => {
                read_date(text, DateOrder::Undecided) == Err(DateFault::Partial)
            }
            _ => false,
        }
}

fn differ(heads: &[(u32, Cell)]) -> bool {
    let texts: BTreeSet<_> = heads.iter().map(|(_, cell)| cell.as_text()).collect();
    texts.len() == heads.len()
}

/// A text that names no analyte, no unit and no day: it can be the name of a place.
fn is_name(reader: &Reader<'_>, cell: CellView<'_>) -> bool {
    let CellView::Text(text) = cell else {
        return false;
    };
    matches!(reader.look(cell), Look::Words | Look::Field(_))
        && !is_period(cell)
        && reader.heading(text.trim()).unit.is_none()
        && !ends_in_a_symbol(text.trim())
}

/// "Depth (m)": what stands in brackets may be a unit of length or time, which no vocabulary of waters has.
fn ends_in_a_symbol(text: &str) -> bool {
    (text.strip_suffix([')', ']']))
        .and_then(|text| text.rsplit_once(['(', '[']))
        .is_some_and(|(_, within)| within.chars().count() < 4)
}

/// Whether heads of columns are the names of several places, each once. A name can as well be of another
/// quantity ("Depth"): it must be one of several of a kind ("Well A", "Well B"), or be numbered.
pub fn are_places(reader: &Reader<'_>, heads: &[CellView<'_>]) -> bool {
    let texts: Vec<_> = heads.iter().map(|head| head.as_text()).collect();
    let apart: BTreeSet<&str> = texts.iter().map(|text| &**text).collect();
    apart.len() == texts.len() && are_names_of_places(reader, &apart)
}

/// The same of texts that differ.
pub(super) fn are_names_of_places(reader: &Reader<'_>, names: &BTreeSet<&str>) -> bool {
    let texts: BTreeSet<String> = names.iter().map(|name| fold(name)).collect();
    let kind = |text: &str| text.split_whitespace().next().map(str::to_owned);
    let is_one = |text: &String| {
        let of_a_kind = texts.iter().filter(|other| kind(other) == kind(text));
        text.trim().ends_with(|c: char| c.is_ascii_digit()) || of_a_kind.count() > 1
    };
    texts.len() == names.len()
        && texts.len() >= FEWEST
        && names
            .iter()
            .all(|name| is_name(reader, CellView::Text(name)))
        && texts.iter().all(is_one)
}

/// Whether a row's cells in these columns are results, at least one of them.
fn are_results(grid: &Grid, reader: &Reader<'_>, row: u32, columns: &RangeInclusive<u32>) -> bool {
    let cells = grid.stretch(row, *columns.start(), *columns.end());
    let can_be = |cell: CellView<'_>| {
        reader.look(cell) == Look::Number
            || says_nothing_found(&cell.as_text().trim().to_lowercase())
    };
    !cells.is_empty() && cells.iter().all(|(_, cell)| can_be(cell.view()))
}
