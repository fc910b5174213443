//! Rows that are records of their own. Where each row says when or where its water was taken, the table
//! holds one result a row, whatever its headings are called; read as samples side by side, its codes,
//! limits and coordinates would become results.

use super::block::{Block, Layout, ResultColumns};
use super::cross::is_period;
use super::look::{Look, Reader};
use super::names::NameLine;
use super::strip::Table;
use crate::place::{Address, Area};
use crate::read::{CellView, Grid};
use crate::reading::{DateFault, DateOrder, read_date, sign};
use crate::vocabulary::Field;
use std::borrow::Cow;
use std::collections::BTreeMap;

/// So often the same label with the same unit is no second method of one laboratory.
const REPEATED: usize = 3;

/// The `results-down` table that an `across` table is in truth: a block whose column of values nobody has
/// named. `None` where its columns can be samples. `grid` is turned: its lines are the sheet's columns, its
/// tracks the sheet's rows; `names.line` is the column of the labels.
pub(super) fn records(
    grid: &Grid,
    reader: &Reader<'_>,
    names: &NameLine,
    table: &Table,
) -> Option<Block> {
    let rows = names.names_of((table.left, table.right));
    let (first, last) = (*rows.first()?, *rows.last()?);
    let columns = columns_beside(grid, names.line, rows);
    let heading = first.checked_sub(1).filter(|above| {
        (columns.iter()).any(|column| grid.get(Address::new(*column, *above)).is_some())
    });
    if rows.len() < 2 || !are_records(grid, reader, rows, &columns, heading, names.line) {
        return None;
    }
    let edges = columns.iter().copied().chain([names.line]);
    let (left, right) = (edges.clone().min()?, edges.max()?);
    Some(Block {
        layout: Layout::ResultsDown,
        area: Area {
            top: heading.unwrap_or(first),
            left,
            bottom: last,
            right,
        },
        heading_lines: heading.into_iter().collect(),
        first_line: first,
        results: ResultColumns {
            label: Some(names.line),
            value: None,
        },
        cross: None,
    })
}

fn are_records(
    grid: &Grid,
    reader: &Reader<'_>,
    rows: &[u32],
    columns: &[u32],
    heading: Option<u32>,
    labels: u32,
) -> bool {
    let heading_of = |column: u32| match heading {
        Some(above) => reader.look(grid.view(Address::new(column, above))),
        None => Look::Blank,
    };
    // Columns that would become samples.
    let of_numbers = (columns.iter())
        .filter(|column| !matches!(heading_of(**column), Look::Field(_)))
        .filter(|column| {
            (rows.iter()).any(|row| is_number(reader, grid.view(Address::new(**column, *row))))
        })
        .count();
    let counts = label_counts(grid, reader, labels, rows);
    let repeats = counts.values().any(|count| *count > 1);
    let is_under_a_day = |column: &u32| {
        heading.is_some_and(|above| is_period(grid.view(Address::new(*column, above))))
    };
    let are_under_days = columns
        .iter()
        .filter(|column| is_under_a_day(column))
        .count()
        > 1;
    let tells = |column: u32| {
        match heading_of(column) {
            Look::Field(Field::SampledOn) => share(grid, column, rows, is_day),
            Look::Field(Field::Latitude | Field::Longitude) => {
                share(grid, column, rows, |cell| is_number(reader, cell))
            }
            Look::Field(
                Field::Client
                | Field::Site
                | Field::Source
                | Field::Region
                | Field::SampleRef
                | Field::LabRef,
            ) => {
                let is_name = |cell: CellView<'_>| {
                    matches!(cell, CellView::Text(_)) && !is_number(reader, cell)
                };
                share(grid, column, rows, is_name)
                    || are_under_days && is_given_once(grid, column, rows, is_name)
            }
            Look::Words | Look::Blank => {
                ((of_numbers > 1 || repeats) && share(grid, column, rows, is_day))
                    || holds_signs(grid, column, rows)
            }
            // The day of an analysis stands beside each parameter of a certificate.
            _ => false,
        }
    };
    columns.iter().any(|column| tells(*column)) || most_repeat(&counts, rows.len())
}

/// The columns that stand beside the labels without a gap; a heading over nothing is none.
fn columns_beside(grid: &Grid, labels: u32, rows: &[u32]) -> Vec<u32> {
    let above = rows.first().and_then(|row| row.checked_sub(1));
    let used = |column: &u32| {
        (rows.iter().chain(&above)).any(|row| grid.get(Address::new(*column, *row)).is_some())
    };
    let right = (labels + 1..).take_while(used);
    let left = (0..labels).rev().take_while(used);
    right.chain(left).collect()
}

/// Whether at least half of the rows have such a cell.
fn share(grid: &Grid, column: u32, rows: &[u32], is: impl Fn(CellView<'_>) -> bool) -> bool {
    let count = (rows.iter())
        .filter(|row| is(grid.view(Address::new(column, **row))))
        .count();
    count > 1 && count * 2 >= rows.len()
}

/// A name over the blanks of the rows that it holds for.
fn is_given_once(
    grid: &Grid,
    column: u32,
    rows: &[u32],
    is_name: impl Fn(CellView<'_>) -> bool,
) -> bool {
    let mut cells = rows.iter().map(|row| grid.view(Address::new(column, *row)));
    cells.next().is_some_and(&is_name) && cells.all(|cell| cell.is_empty() || is_name(cell))
}

fn is_number(reader: &Reader<'_>, cell: CellView<'_>) -> bool {
    reader.look(cell) == Look::Number
}

/// A day, in whatever order.
pub fn is_day(cell: CellView<'_>) -> bool {
    match cell {
        CellView::Date(..) => true,
        CellView::Text(text) => matches!(
            read_date(text, DateOrder::Undecided),
            Ok(_) | Err(DateFault::Ambiguous { .. })
        ),
        _ => false,
    }
}

/// Nothing but comparison signs: they qualify numbers, which column's nobody says.
fn holds_signs(grid: &Grid, column: u32, rows: &[u32]) -> bool {
    let mut texts = (rows.iter())
        .map(|row| grid.view(Address::new(column, *row)).as_text())
        .filter(|text| !text.trim().is_empty())
        .peekable();
    texts.peek().is_some() && texts.all(|text| sign(text.trim()).is_some())
}

/// How often each label stands there with the same unit beside it.
fn label_counts<'g>(
    grid: &'g Grid,
    reader: &Reader<'_>,
    labels: u32,
    rows: &[u32],
) -> BTreeMap<Vec<Cow<'g, str>>, usize> {
    let mut counts = BTreeMap::new();
    for row in rows {
        let units = columns_beside(grid, labels, &[*row])
            .into_iter()
            .filter(|column| reader.look(grid.view(Address::new(*column, *row))) == Look::Unit);
        let texts = std::iter::once(labels)
            .chain(units)
            .map(|column| grid.view(Address::new(column, *row)).as_text());
        *counts.entry(texts.collect()).or_insert(0) += 1;
    }
    counts
}

/// Most labels stand there several times.
fn most_repeat(counts: &BTreeMap<Vec<Cow<'_, str>>, usize>, rows: usize) -> bool {
    let repeated: usize = counts.values().filter(|count| **count >= REPEATED).sum();
    repeated * 2 > rows
}
