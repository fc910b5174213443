//! The rows of a sheet, by number.

use super::cell::Cell;
use std::collections::BTreeMap;

/// The cells of a row that are not blank, by column.
pub(super) type Row = Vec<(u32, Cell)>;

/// Rows that have cells. As long as they come in their order, as they do from nearly all files, they stand
/// in a list, where a row is found at once; from then on, in a tree.
#[derive(Clone, Debug, Default)]
pub(super) struct Rows {
    /// Empty as soon as a row has come out of order.
    in_order: Vec<(u32, Row)>,
    any_order: BTreeMap<u32, Row>,
}

impl Rows {
    pub(super) fn get(&self, row: u32) -> Option<&Row> {
        match self.place(row) {
            Some(place) => Some(&self.in_order[place].1),
            None => self.any_order.get(&row),
        }
    }

    pub(super) fn get_mut(&mut self, row: u32) -> Option<&mut Row> {
        match self.place(row) {
            Some(place) => Some(&mut self.in_order[place].1),
            None => self.any_order.get_mut(&row),
        }
    }

    /// The cells of a row, made with room for `likely` of them where there is no such row yet.
    pub(super) fn entry(&mut self, row: u32, likely: usize) -> &mut Row {
        let new = || Vec::with_capacity(likely);
        if self.any_order.is_empty() && self.in_order.last().is_none_or(|(last, _)| *last < row) {
            self.in_order.push((row, new()));
        }
        match self.place(row) {
            Some(place) => &mut self.in_order[place].1,
            None => {
                self.any_order.extend(self.in_order.drain(..));
                self.any_order.entry(row).or_insert_with(new)
            }
        }
    }

    /// Where a row stands among those in order.
    fn place(&self, row: u32) -> Option<usize> {
        let (first, _) = self.in_order.first()?;
        // Behind the first no row stands farther than its number does; where none is blank, as far.
        let farthest = row.checked_sub(*first)? as usize;
        match self.in_order.get(farthest) {
            Some((at, _)) if *at == row => Some(farthest),
            _ => {
                let rows = &self.in_order[..farthest.min(self.in_order.len())];
                rows.binary_search_by_key(&row, |(at, _)| *at).ok()
            }
        }
    }

    pub(super) fn last(&self) -> Option<(u32, &Row)> {
        self.from(0).next_back()
    }

    /// The rows from a row on, in order.
    pub(super) fn from(&self, row: u32) -> impl DoubleEndedIterator<Item = (u32, &Row)> {
        let start = match (row, self.place(row)) {
            (0, _) => 0,
            (_, Some(place)) => place,
            (_, None) => self.in_order.partition_point(|(at, _)| *at < row),
        };
        let in_order = self.in_order[start..]
            .iter()
            .map(|(at, cells)| (*at, cells));
        // One of the two is empty.
        in_order.chain(self.any_order.range(row..).map(|(at, cells)| (*at, cells)))
    }
}

/// Each row once, in order.
impl FromIterator<(u32, Row)> for Rows {
    fn from_iter<I: IntoIterator<Item = (u32, Row)>>(rows: I) -> Self {
        Self {
            in_order: rows.into_iter().collect(),
            any_order: BTreeMap::new(),
        }
    }
}

impl PartialEq for Rows {
    fn eq(&self, other: &Self) -> bool {
        self.from(0).eq(other.from(0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// The second route: a tree from the beginning.
        #[test]
        fn rows_are_found_in_whatever_order_they_come(numbers in proptest::collection::vec(0u32..12, 0..12), sorted in any::<bool>(), from in 0u32..14) {
            let mut numbers = numbers;
            if sorted {
                numbers.sort_unstable();
            }
            let (mut rows, mut tree) = (Rows::default(), BTreeMap::<u32, Row>::new());
            for (number, col) in numbers.iter().zip(0..) {
                let cell = (col, Cell::number(f64::from(*number)));
                rows.entry(*number, 1).push(cell.clone());
                tree.entry(*number).or_default().push(cell);
            }
            prop_assert_eq!(rows.get(from), tree.get(&from));
            prop_assert_eq!(rows.get_mut(from), tree.get_mut(&from));
            prop_assert!(rows.from(from).eq(tree.range(from..).map(|(at, cells)| (*at, cells))));
            prop_assert!(rows.from(0).rev().eq(tree.iter().rev().map(|(at, cells)| (*at, cells))));
        }
    }
}
