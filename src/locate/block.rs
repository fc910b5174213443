//! A block: one table (or form) of a sheet.

use super::cross::CrossTable;
use crate::place::Area;

/// The layouts of reports, in our own words.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Layout {
    /// One sample a row, analytes across; 1 to 4 heading rows.
    SamplesDown,
    /// Analytes down, one sample a column.
    SamplesAcross,
    /// One result a row: label, value, unit, ….
    ResultsDown,
    /// Labels beside or above their values, scattered.
    Form,
    /// One analyte: places along one side, days along the other, each result a sample. Recognised where it
    /// stands; no mapping asks for it.
    CrossTable,
}

impl Layout {
    /// Those that a mapping can ask for.
    pub const ALL: [Self; 4] = [
        Self::SamplesDown,
        Self::SamplesAcross,
        Self::ResultsDown,
        Self::Form,
    ];

    pub const fn name(self) -> &'static str {
        match self {
            Self::SamplesDown => "samples-down",
            Self::SamplesAcross => "samples-across",
            Self::ResultsDown => "results-down",
            Self::Form => "form",
            Self::CrossTable => "cross-table",
        }
    }

    pub fn parse(text: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|l| l.name() == text)
    }
}

/// A table's place, direction and headings. Lines are rows, or columns when `layout` is
/// `SamplesAcross`.
#[derive(Clone, Debug, PartialEq)]
pub struct Block {
    pub layout: Layout,
    /// Headings and data together.
    pub area: Area,
    /// The heading lines, outermost first (name, unit, basis, …).
    pub heading_lines: Vec<u32>,
    /// First line of data; the last is the area's edge.
    pub first_line: u32,
    /// Of `ResultsDown` only.
    pub results: ResultColumns,
    /// Of `CrossTable` only.
    pub cross: Option<CrossTable>,
}

/// The columns of a `results-down` table without which there are no results; `None` where the headings
/// do not tell, so that a mapping has to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ResultColumns {
    pub label: Option<u32>,
    pub value: Option<u32>,
}
