//! Rows and columns that a sheet hides: they are read like all others, and told once.

use super::grid::Grid;
use crate::place::Address;
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
    pub(super) fn found(mut self, grid: &Grid) -> Option<Found> {
        if self.rows.is_empty() && self.columns.is_empty() {
            return None;
        }
        self.rows.sort_unstable();
        let (mut rows, mut columns, mut first) = (0, BTreeSet::new(), None);
        for (row, cells) in grid.rows() {
            let at = self.rows.partition_point(|(_, last)| *last < row);
            let is_hidden = self.rows.get(at).is_some_and(|(from, _)| *from <= row);
            rows += usize::from(is_hidden);
            for (column, _) in cells {
                if holds(&self.columns, *column) {
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
        Some((_, end)) if *end + 1 == first => *end = last,
        _ => runs.push((first, last)),
    }
}

/// Sheets have few runs of hidden columns.
fn holds(runs: &[(u32, u32)], at: u32) -> bool {
    runs.iter()
        .any(|(first, last)| (*first..=*last).contains(&at))
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
        let found = Found {
            rows: 2,
            columns: 1,
            first: Address::new(1, 0),
        };
        assert_eq!(hidden.found(&grid), Some(found));
    }
}
