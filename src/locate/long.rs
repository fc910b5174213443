//! Tables of one result a row: a heading line that names the label and the value columns.

use super::look::{Look, Reader};
use crate::place::{Address, Area};
use crate::read::{CellView, Grid};
use crate::vocabulary::{Field, Meaning};

/// A `results-down` table.
#[derive(Clone, Debug)]
pub(super) struct LongTable {
    pub(super) heading: u32,
    pub(super) first_line: u32,
    pub(super) last_line: u32,
    pub(super) left: u32,
    pub(super) right: u32,
}

impl LongTable {
    pub(super) const fn area(&self) -> Area {
        Area {
            top: self.heading,
            left: self.left,
            bottom: self.last_line,
            right: self.right,
        }
    }
}

/// Rows that head a `results-down` table: exactly one label and one value column, and labels of analytes
/// under the first. Two value columns are two samples side by side.
pub(super) fn long_tables(grid: &Grid, reader: &Reader<'_>) -> Vec<LongTable> {
    let mut found: Vec<LongTable> = Vec::new();
    for (row, cells) in grid.rows() {
        if cells.len() < 2 || found.iter().any(|t| row >= t.heading && row <= t.last_line) {
            continue;
        }
        let looks: Vec<(u32, Look)> = cells
            .iter()
            .map(|(col, cell)| (*col, reader.look(cell.view())))
            .collect();
        let of = |field: Field| {
            looks
                .iter()
                .filter(|(_, l)| *l == Look::Field(field))
                .map(|(c, _)| *c)
                .collect::<Vec<_>>()
        };
        let (labels, values) = (of(Field::Label), of(Field::Value));
        let ([label], [value]) = (labels.as_slice(), values.as_slice()) else {
            continue;
        };
        if looks
            .iter()
            .any(|(_, l)| matches!(l, Look::Number | Look::Date))
        {
            continue;
        }
        let (left, right) = piece(&looks, *label, *value);
        if let Some((first_line, last_line)) = extent(grid, reader, row, left, right, *label) {
            found.push(LongTable {
                heading: row,
                first_line,
                last_line,
                left,
                right,
            });
        }
    }
    found
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

fn extent(
    grid: &Grid,
    reader: &Reader<'_>,
    heading: u32,
    left: u32,
    right: u32,
    label: u32,
) -> Option<(u32, u32)> {
    let mut first = None;
    let mut last = heading;
    let mut names = 0usize;
    let mut reach = heading;
    for (row, cells) in grid.rows().filter(|(row, _)| *row > heading) {
        let own = cells
            .iter()
            .filter(|(col, _)| *col >= left && *col <= right)
            .count();
        if own == 0 {
            continue;
        }
        // Another heading of the same kind starts another table; two blank rows with prose after end it.
        let CellView::Text(text) = grid.view(Address::new(row, label)) else {
            if row > reach + 2 {
                break;
            }
            continue;
        };
        let meaning = &reader.heading(text).meaning;
        if *meaning == Meaning::Field(Field::Label) {
            continue;
        }
        if own == 1 && row > reach + 1 {
            // A lone text after a gap: a footer, or a group heading when more results follow.
            continue;
        }
        if matches!(meaning, Meaning::Analyte(_) | Meaning::Ambiguous(_)) {
            names += 1;
        }
        first = first.or(Some(row));
        if own > 1 {
            last = row;
        }
        reach = row;
    }
    (names > 0 && last > heading).then_some((first?, last))
}
