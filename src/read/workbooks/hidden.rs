//! Rows and columns that a sheet hides: they are read like all others, and told once.

use crate::place::Address;
use crate::read::grid::Grid;
use std::collections::BTreeSet;

/// The first and the last of each run of them, in any order.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Hidden {
    rows: Vec<(u32, u32)>,
    columns: Vec<(u32, u32)>,
}

/// Those that hold something.
#[derive(Debug, PartialEq)]
pub(super) struct Found {
    pub(super) rows: usize,
    pub(super) columns: usize,
    /// The first of their cells.
    pub(super) first: Address,
}

impl Hidden {
    pub(super) fn rows(&mut self, first: u32, last: u32) {
        add(&mut self.rows, first, last);
    }

    pub(super) fn columns(&mut self, first: u32, last: u32) {
        add(&mut self.columns, first, last);
    }

    /// `None` where nothing of the sheet is hidden.
    pub(super) fn found(self, grid: &Grid) -> Option<Found> {
        if self.rows.is_empty() && self.columns.is_empty() {
            return None;
        }
        let (hidden_rows, hidden_columns) = (apart(self.rows), apart(self.columns));
        let (mut rows, mut columns, mut first) = (0, BTreeSet::new(), None);
        for (row, cells) in grid.rows() {
            let is_hidden = holds(&hidden_rows, row);
            rows += usize::from(is_hidden);
            for (column, _) in cells {
                if holds(&hidden_columns, *column) {
                    columns.insert(*column);
                } else if !is_hidden {
                    continue;
                }
                first = first.or(Some(Address::new(row, *column)));
            }
        }
        Some(Found {
            rows,
            columns: columns.len(),
            first: first?,
        })
    }
}

fn add(runs: &mut Vec<(u32, u32)>, first: u32, last: u32) {
    match runs.last_mut() {
        Some((_, end)) if end.checked_add(1) == Some(first) => *end = last,
        _ => runs.push((first, last)),
    }
}

/// The runs in order, none of which reaches into the next.
fn apart(mut runs: Vec<(u32, u32)>) -> Vec<(u32, u32)> {
    runs.sort_unstable();
    let mut apart: Vec<(u32, u32)> = Vec::new();
    for (first, last) in runs {
        match apart.last_mut() {
            Some((_, end)) if *end >= first => *end = last.max(*end),
            _ => apart.push((first, last)),
        }
    }
    apart
}

fn holds(runs: &[(u32, u32)], at: u32) -> bool {
    let run = runs.partition_point(|(_, last)| *last < at);
    runs.get(run).is_some_and(|(first, _)| *first <= at)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::read::Cell;

    #[test]
    fn rows_and_columns_with_cells_are_counted() {
        let mut grid = Grid::default();
        for (row, column) in [(0, 0), (1, 0), (2, 1), (9, 2)] {
            grid.put(Address::new(row, column), Cell::number(1.0));
        }
        let mut hidden = Hidden::default();
        assert_eq!(hidden.clone().found(&grid), None);
        hidden.rows(5, 7);
        assert_eq!(hidden.clone().found(&grid), None);
        hidden.rows(1, 1);
        hidden.rows(2, 2);
        hidden.columns(2, 16_383);
        hidden.columns(3, 4);
        let found = Found {
            rows: 2,
            columns: 1,
            first: Address::new(1, 0),
        };
        assert_eq!(hidden.found(&grid), Some(found));
        let mut all = Hidden::default();
        all.columns(0, u32::MAX);
        all.columns(0, 1);
        assert_eq!(all.found(&grid).map(|found| found.columns), Some(3));
    }
}
