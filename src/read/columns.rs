//! A printed report: no separator, but columns lined up with spaces, or a label and its value joined
//! by dots. Cells stand where two or more spaces (or three or more dots) part them.

use super::bounds::CELLS;
use super::cell::Cell;
use super::findings::Flaw;
use super::grid::Grid;
use crate::finding::Finding;
use crate::place::{Address, Place};
use std::sync::Arc;

/// Puts the cells of a printed text on a grid.
pub(super) fn read(text: &str, file: &Arc<str>, grid: &mut Grid) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (line, content) in text.lines().enumerate() {
        let Ok(row) = u32::try_from(line) else { break };
        if !content.trim().is_empty() {
            if grid.count() >= CELLS {
                findings.push(
                    Flaw::CellBound {
                        what: "cells",
                        bound: CELLS,
                    }
                    .at(Place::file(file)),
                );
                break;
            }
            grid.put(Address::new(row, 0), Cell::text(content));
        }
    }
    findings
}
