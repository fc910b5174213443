//! Stage 1, read: a path becomes sheets of cells, each with its true row and column.
//!
//! Knows file signatures, `calamine`, `csv`, encodings, size limits. Knows nothing of chemistry,
//! and decides nothing about what a cell means.

mod cell;
mod grid;

pub use cell::{Cell, CellView, Shown, Value};
pub use grid::{Grid, Report, Sheet};
