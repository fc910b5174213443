//! A block seen in its own direction: lines and tracks instead of rows and columns.

use crate::locate::{Block, Layout, Look, Reader, ResultColumns};
use crate::place::{Address, Area};
use crate::read::{Cell, CellView, Grid};
use std::borrow::Cow;

/// A block of a sheet. For `samples-across` the grid is the sheet turned by a quarter; addresses given
/// out are always true ones.
pub(super) struct Sight<'a, 'v> {
    pub(super) grid: &'a Grid,
    pub(super) across: bool,
    pub(super) reader: &'a Reader<'v>,
    pub(super) heading_lines: &'a [u32],
    pub(super) first_line: u32,
    pub(super) last_line: u32,
    pub(super) left: u32,
    pub(super) right: u32,
    /// Blank heading cells take the text to their left.
    pub(super) fill: bool,
    pub(super) results: ResultColumns,
    /// Merged regions that touch a heading line, in this grid's direction.
    merges: Vec<Area>,
}

impl<'a, 'v> Sight<'a, 'v> {
    /// `grid` has to be turned already where the block runs across.
    pub(super) fn new(
        grid: &'a Grid,
        reader: &'a Reader<'v>,
        block: &'a Block,
        fill: bool,
    ) -> Self {
        let across = block.layout == Layout::SamplesAcross;
        let (top, bottom, left, right) = if across {
            (
                block.area.left,
                block.area.right,
                block.area.top,
                block.area.bottom,
            )
        } else {
            (
                block.area.top,
                block.area.bottom,
                block.area.left,
                block.area.right,
            )
        };
        let merges = grid
            .merges
            .iter()
            .filter(|m| {
                m.top <= block.first_line && m.bottom >= top && m.left <= right && m.right >= left
            })
            .copied()
            .collect();
        Self {
            grid,
            across,
            reader,
            heading_lines: &block.heading_lines,
            first_line: block.first_line,
            last_line: bottom,
            left,
            right,
            fill,
            results: block.results,
            merges,
        }
    }

    pub(super) const fn address(&self, line: u32, track: u32) -> Address {
        if self.across {
            Address::new(track, line)
        } else {
            Address::new(line, track)
        }
    }

    pub(super) fn cell(&self, line: u32, track: u32) -> CellView<'a> {
        self.grid.view(Address::new(line, track))
    }

    pub(super) fn look(&self, line: u32, track: u32) -> Look {
        self.reader.look(self.cell(line, track))
    }

    /// The texts that head a track.
    pub(super) fn headings(&self, track: u32) -> impl Iterator<Item = Cow<'a, str>> {
        (self.heading_lines.iter())
            .filter_map(move |line| self.heading_cell(*line, track))
            .map(|(_, cell)| cell.as_text())
    }

    /// The heading cell of a track in a line: its own, or the one whose merged region covers it.
    pub(super) fn heading_cell(&self, line: u32, track: u32) -> Option<(Address, &'a Cell)> {
        let at = Address::new(line, track);
        if let Some(cell) = self.grid.get(at) {
            return Some((at, cell));
        }
        if let Some(merge) = self.merges.iter().find(|m| m.contains(at)) {
            let origin = Address::new(merge.top, merge.left);
            return self.grid.get(origin).map(|cell| (origin, cell));
        }
        if self.fill {
            let origin = (self.left..track)
                .rev()
                .map(|t| Address::new(line, t))
                .find(|a| self.grid.get(*a).is_some())?;
            return self.grid.get(origin).map(|cell| (origin, cell));
        }
        None
    }

    /// Lines of data that have any cell within the block.
    pub(super) fn lines(&self) -> Vec<u32> {
        self.grid
            .rows_from(self.first_line)
            .map(|(line, _)| line)
            .take_while(|line| *line <= self.last_line)
            .filter(|line| self.cells(*line).next().is_some())
            .collect()
    }

    /// The cells of a line within the block.
    pub(super) fn cells(&self, line: u32) -> impl Iterator<Item = (u32, &'a Cell)> + Clone + '_ {
        self.grid
            .stretch(line, self.left, self.right)
            .iter()
            .map(|(t, cell)| (*t, cell))
    }
}
