//! Sparse sheets, and the report they belong to.

use super::cell::{Cell, CellView};
use super::findings::ENCODING_ASSUMED;
use super::rows::Rows;
use crate::finding::Finding;
use crate::place::{Address, Area};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Room made for a row at once, at most: a row that is longer finds its room as it grows.
const LIKELY_CELLS: usize = 64;

/// The non-blank cells of a sheet, by true row and column. Two cells in far corners cost two cells.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Grid {
    rows: Rows,
    cells: u64,
    /// How many texts were put, and their bytes.
    texts: u64,
    text_bytes: u64,
    /// Of the texts those that share their memory with no other, where the reader counted them.
    pub(super) own_texts: u64,
    /// Merged regions, where the format tells them. Only the top-left cell has a value.
    pub merges: Vec<Area>,
}

impl Grid {
    /// Puts a cell; a later one at the same address replaces it and gives it back. Blank text is not a
    /// cell.
    pub fn put(&mut self, at: Address, cell: Cell) -> Option<Cell> {
        if matches!(&cell.value, super::Value::Text(t) if t.trim().is_empty()) {
            return None;
        }
        if let super::Value::Text(text) = &cell.value {
            self.texts += 1;
            self.text_bytes += text.len() as u64;
        }
        // Cells mostly come row by row, and rows are mostly as long as the one before.
        let last = self.rows.last();
        let likely = last.map_or(1, |(_, cells)| cells.len().min(LIKELY_CELLS));
        let row = self.rows.entry(at.row, likely);
        let place = match row.last() {
            Some((last, _)) if *last >= at.col => {
                row.binary_search_by_key(&at.col, |(col, _)| *col)
            }
            _ => Err(row.len()),
        };
        match place {
            Ok(i) => Some(std::mem::replace(&mut row[i].1, cell)),
            Err(i) => {
                row.insert(i, (at.col, cell));
                self.cells += 1;
                None
            }
        }
    }

    /// Says how the number at `at` is shown; nothing where there is no number.
    pub(super) fn show(&mut self, at: Address, shown: super::Shown) {
        let Some(row) = self.rows.get_mut(at.row) else {
            return;
        };
        if let Ok(i) = row.binary_search_by_key(&at.col, |(col, _)| *col)
            && matches!(row[i].1.value, super::Value::Number(_))
        {
            row[i].1.shown = shown;
        }
    }

    pub fn get(&self, at: Address) -> Option<&Cell> {
        let row = self.rows.get(at.row)?;
        // No cell stands farther behind the first than its column does; in a row without gaps as far.
        let farthest = at.col.checked_sub(row.first()?.0)? as usize;
        match row.get(farthest) {
            Some((col, cell)) if *col == at.col => Some(cell),
            _ => {
                let row = &row[..farthest.min(row.len())];
                let i = row.binary_search_by_key(&at.col, |(col, _)| *col).ok()?;
                Some(&row[i].1)
            }
        }
    }

    pub fn view(&self, at: Address) -> CellView<'_> {
        self.get(at).map_or(CellView::Empty, Cell::view)
    }

    /// The cells of a row, by column; empty when the row is blank.
    pub fn row(&self, row: u32) -> &[(u32, Cell)] {
        self.rows.get(row).map_or(&[], Vec::as_slice)
    }

    /// The cells of a row from column `left` to column `right`, by column. A row can have a table beside
    /// each other table, so that looking at all of it for each of them would take for ever.
    pub fn stretch(&self, row: u32, left: u32, right: u32) -> &[(u32, Cell)] {
        let cells = self.row(row);
        let from = cells.partition_point(|(col, _)| *col < left);
        let behind = cells.partition_point(|(col, _)| *col <= right);
        cells.get(from..behind).unwrap_or_default()
    }

    /// The cells within an area, row by row.
    pub fn cells_in(&self, area: Area) -> impl Iterator<Item = (Address, &Cell)> {
        (self.rows_from(area.top))
            .take_while(move |(row, _)| *row <= area.bottom)
            .flat_map(move |(row, _)| {
                let cells = self.stretch(row, area.left, area.right).iter();
                cells.map(move |(col, cell)| (Address::new(row, *col), cell))
            })
    }

    /// The rows that have cells, in order.
    pub fn rows(&self) -> impl DoubleEndedIterator<Item = (u32, &[(u32, Cell)])> {
        self.rows_from(0)
    }

    /// The rows from a row on that have cells, in order.
    pub fn rows_from(&self, row: u32) -> impl DoubleEndedIterator<Item = (u32, &[(u32, Cell)])> {
        (self.rows.from(row)).map(|(row, cells)| (row, cells.as_slice()))
    }

    /// All cells in row order.
    pub fn cells(&self) -> impl Iterator<Item = (Address, &Cell)> {
        self.rows.from(0).flat_map(|(row, cells)| {
            cells
                .iter()
                .map(move |(col, cell)| (Address::new(row, *col), cell))
        })
    }

    /// How many cells are not blank.
    pub const fn count(&self) -> u64 {
        self.cells
    }

    /// Texts in the cells and their bytes, each counted as often as it was put.
    pub(super) const fn texts(&self) -> (u64, u64) {
        (self.texts, self.text_bytes)
    }

    pub fn is_empty(&self) -> bool {
        self.cells == 0
    }

    /// The smallest area that holds all cells; `None` for an empty sheet.
    pub fn extent(&self) -> Option<Area> {
        let rows = || self.rows.from(0);
        Some(Area {
            top: rows().next()?.0,
            left: rows().filter_map(|(_, r)| r.first()).map(|c| c.0).min()?,
            bottom: self.rows.last()?.0,
            right: rows().filter_map(|(_, r)| r.last()).map(|c| c.0).max()?,
        })
    }

    /// The same sheet with rows and columns exchanged, so that `samples-across` can be looked at as
    /// `samples-down`. Addresses must be exchanged back before they are shown.
    pub fn transposed(&self) -> Self {
        let mut cells_of: BTreeMap<u32, usize> = BTreeMap::new();
        for (at, _) in self.cells() {
            *cells_of.entry(at.col).or_default() += 1;
        }
        let mut rows: BTreeMap<u32, Vec<(u32, Cell)>> = (cells_of.into_iter())
            .map(|(col, cells)| (col, Vec::with_capacity(cells)))
            .collect();
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
            rows: rows.into_iter().collect(),
            cells: self.cells,
            texts: self.texts,
            text_bytes: self.text_bytes,
            own_texts: self.own_texts,
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
    /// Of the bytes, lower-case hexadecimal; empty where they could not be read.
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

impl Report {
    /// Adds a sheet, and what is told of it.
    pub(super) fn add(&mut self, (sheet, findings): (Sheet, Vec<Finding>)) {
        self.sheets.push(sheet);
        self.findings.extend(findings);
    }

    /// Whether nothing told the encoding of a text, so that Windows-1252 was taken.
    pub fn is_encoding_assumed(&self) -> bool {
        self.findings
            .iter()
            .any(|finding| finding.code == ENCODING_ASSUMED)
    }
}
