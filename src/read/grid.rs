//! Sparse sheets, and the report they belong to.

use super::cell::{Cell, CellView};
use crate::finding::Finding;
use crate::place::{Address, Area};
use std::collections::BTreeMap;
use std::sync::Arc;

/// The non-blank cells of a sheet, by true row and column. Two cells in far corners cost two cells.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Grid {
    rows: BTreeMap<u32, Vec<(u32, Cell)>>,
    cells: u64,
    /// Bytes of all texts that were put.
    texts: u64,
    /// Merged regions, where the format tells them. Only the top-left cell has a value.
    pub merges: Vec<Area>,
}

impl Grid {
    /// Puts a cell; a later one at the same address replaces it. Blank text is not a cell.
    pub fn put(&mut self, at: Address, cell: Cell) {
        if matches!(&cell.value, super::Value::Text(t) if t.trim().is_empty()) {
            return;
        }
        if let super::Value::Text(text) = &cell.value {
            self.texts += text.len() as u64;
        }
        let row = self.rows.entry(at.row).or_default();
        match row.binary_search_by_key(&at.col, |(col, _)| *col) {
            Ok(i) => row[i].1 = cell,
            Err(i) => {
                row.insert(i, (at.col, cell));
                self.cells += 1;
            }
        }
    }

    /// Says how the number at `at` is shown; nothing where there is no number.
    pub(super) fn show(&mut self, at: Address, shown: super::Shown) {
        let Some(row) = self.rows.get_mut(&at.row) else {
            return;
        };
        if let Ok(i) = row.binary_search_by_key(&at.col, |(col, _)| *col)
            && matches!(row[i].1.value, super::Value::Number(_))
        {
            row[i].1.shown = shown;
        }
    }

    pub fn get(&self, at: Address) -> Option<&Cell> {
        let row = self.rows.get(&at.row)?;
        let i = row.binary_search_by_key(&at.col, |(col, _)| *col).ok()?;
        Some(&row[i].1)
    }

    pub fn view(&self, at: Address) -> CellView<'_> {
        self.get(at).map_or(CellView::Empty, Cell::view)
    }

    /// The cells of a row, by column; empty when the row is blank.
    pub fn row(&self, row: u32) -> &[(u32, Cell)] {
        self.rows.get(&row).map_or(&[], Vec::as_slice)
    }

    /// The rows that have cells, in order.
    pub fn rows(&self) -> impl DoubleEndedIterator<Item = (u32, &[(u32, Cell)])> {
        self.rows
            .iter()
            .map(|(row, cells)| (*row, cells.as_slice()))
    }

    /// The rows from a row on that have cells, in order.
    pub fn rows_from(&self, row: u32) -> impl DoubleEndedIterator<Item = (u32, &[(u32, Cell)])> {
        self.rows
            .range(row..)
            .map(|(row, cells)| (*row, cells.as_slice()))
    }

    /// All cells in row order.
    pub fn cells(&self) -> impl Iterator<Item = (Address, &Cell)> {
        self.rows.iter().flat_map(|(row, cells)| {
            cells
                .iter()
                .map(|(col, cell)| (Address::new(*row, *col), cell))
        })
    }

    /// How many cells are not blank.
    pub const fn count(&self) -> u64 {
        self.cells
    }

    /// Bytes of text in the cells, each counted as often as it was put.
    pub(super) const fn text_bytes(&self) -> u64 {
        self.texts
    }

    pub fn is_empty(&self) -> bool {
        self.cells == 0
    }

    /// The smallest area that holds all cells; `None` for an empty sheet.
    pub fn extent(&self) -> Option<Area> {
        let (top, _) = self.rows.first_key_value()?;
        let (bottom, _) = self.rows.last_key_value()?;
        let left = self
            .rows
            .values()
            .filter_map(|r| r.first())
            .map(|c| c.0)
            .min()?;
        let right = self
            .rows
            .values()
            .filter_map(|r| r.last())
            .map(|c| c.0)
            .max()?;
        Some(Area {
            top: *top,
            left,
            bottom: *bottom,
            right,
        })
    }

    /// The same sheet with rows and columns exchanged, so that `samples-across` can be looked at as
    /// `samples-down`. Addresses must be exchanged back before they are shown.
    pub fn transposed(&self) -> Self {
        let mut rows: BTreeMap<u32, Vec<(u32, Cell)>> = BTreeMap::new();
        // Row after row: each column gets its cells in order.
        for (at, cell) in self.cells() {
            rows.entry(at.col).or_default().push((at.row, cell.clone()));
        }
        let turned = |m: &Area| Area {
            top: m.left,
            left: m.top,
            bottom: m.right,
            right: m.bottom,
        };
        Self {
            rows,
            cells: self.cells,
            texts: self.texts,
            merges: self.merges.iter().map(turned).collect(),
        }
    }
}

#[derive(Clone, Debug, Default)]
pub struct Sheet {
    /// Empty for delimited text.
    pub name: Arc<str>,
    /// Hidden sheets are read, and skipped by `map` unless a mapping names them.
    pub hidden: bool,
    pub grid: Grid,
}

/// One file, read whole (or, for a long delimited text, the rows that decisions are made from).
#[derive(Clone, Debug, Default)]
pub struct Report {
    /// Path relative to the gathered root.
    pub file: Arc<str>,
    /// Of the bytes, lower-case hexadecimal.
    pub sha256: Arc<str>,
    pub sheets: Vec<Sheet>,
    /// The separator of a delimited text; `None` for a workbook. `;` is weak evidence of decimal commas.
    pub delimiter: Option<char>,
    /// Only some rows of a long text are here, to decide from; the text goes on between and after them.
    pub partial: bool,
    /// Nothing of the file could be read; the findings say why. Not the same as an empty file.
    pub refused: bool,
    pub findings: Vec<Finding>,
}
