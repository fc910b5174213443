//! What one report gave. The unit in which a dataset grows: a changed file replaces its extract, a
//! file that has gone keeps the extract read back from the dataset.

use crate::finding::Finding;
use crate::place::Address;
use crate::vocabulary::{AnalyteId, Fraction};
use compact_str::CompactString;
use jiff::civil::Date;
use std::sync::Arc;

/// Where unit and basis came from. The weaker of the two counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Origin {
    /// The value's own cell ("12.3 mg/l").
    Cell,
    /// The row's own unit or basis cell.
    Row,
    Heading,
    Mapping,
    /// A stated default; always with a finding.
    Assumed,
}

impl Origin {
    pub const fn name(self) -> &'static str {
        match self {
            Self::Cell => "cell",
            Self::Row => "row",
            Self::Heading => "heading",
            Self::Mapping => "mapping",
            Self::Assumed => "assumed",
        }
    }

    pub fn parse(text: &str) -> Option<Self> {
        [
            Self::Cell,
            Self::Row,
            Self::Heading,
            Self::Mapping,
            Self::Assumed,
        ]
        .into_iter()
        .find(|o| o.name() == text)
    }
}

/// How a result is not a plain number.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Censored {
    /// `<0.05`; the measurement's value is the limit.
    Below,
    /// `>100`; the measurement's value is the limit.
    Above,
    /// Reported as not detected, no limit given; the measurement has no value.
    Absent,
}

impl Censored {
    pub const fn name(self) -> &'static str {
        match self {
            Self::Below => "below",
            Self::Above => "above",
            Self::Absent => "absent",
        }
    }

    pub fn parse(text: &str) -> Option<Self> {
        [Self::Below, Self::Above, Self::Absent]
            .into_iter()
            .find(|c| c.name() == text)
    }
}

/// Index into [`Extract::recipes`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RecipeId(pub u32);

/// Index into [`Extract::samples`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SampleId(pub u32);

/// Everything that is the same for all numbers under one (label, unit, basis, fraction): resolved
/// once, looked up for every row.
#[derive(Clone, Debug, PartialEq)]
pub struct Recipe {
    pub analyte: AnalyteId,
    pub fraction: Option<Fraction>,
    /// Canonical value ÷ number read; `None` where the conversion is not a plain factor.
    pub factor: Option<f64>,
    /// Exactly as the report had them; `None` where it had none.
    pub label_text: Option<Arc<str>>,
    pub unit_text: Option<Arc<str>>,
    pub basis_text: Option<Arc<str>>,
    pub unit_from: Origin,
    /// Code of the finding that told the assumption, where `unit_from` is `Assumed`.
    pub assumption: Option<&'static str>,
}

/// One result: a row of `results`.
#[derive(Clone, Debug, PartialEq)]
pub struct Measurement {
    pub sample: SampleId,
    pub recipe: RecipeId,
    /// In the analyte's canonical unit; the limit itself where censored; `None` only when absent.
    pub value: Option<f64>,
    pub censored: Option<Censored>,
    /// The cell's text, as it stood. Most are short enough to lie in here.
    pub value_text: CompactString,
    /// Index into [`Extract::sheets`].
    pub sheet: u16,
    pub at: Address,
}

/// A sample as one report speaks of it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sample {
    /// Stable: made from the identity alone, never from path or row where the sample has a name.
    pub key: Arc<str>,
    pub client: Option<Arc<str>>,
    pub site: Option<Arc<str>>,
    /// The water source as the report names it.
    pub source: Option<Arc<str>>,
    pub source_kind: Option<Arc<str>>,
    pub region: Option<Arc<str>>,
    pub sample_ref: Option<Arc<str>>,
    pub lab: Option<Arc<str>>,
    pub lab_ref: Option<Arc<str>>,
    pub sampled_on: Option<Date>,
    pub reported_on: Option<Date>,
    pub received_on: Option<Date>,
    /// Degrees, WGS 84 as stated; `None` where the report has none.
    pub latitude: Option<f64>,
    pub longitude: Option<f64>,
}

/// A non-blank cell that became nothing, and why.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Unplaced {
    /// Index into [`Extract::sheets`].
    pub sheet: u16,
    pub at: Address,
    pub text: Box<str>,
    /// Kebab-case reason, `analyte-unknown`.
    pub reason: Arc<str>,
}

/// The tally of one sheet. Law: cells = results + identity + headings + set_aside + unplaced.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SheetAccount {
    /// Sheet name; empty for delimited text.
    pub sheet: Arc<str>,
    /// Name of the mapping used, or `recognised`.
    pub mapping: Arc<str>,
    /// Non-blank cells.
    pub cells: u64,
    pub results: u64,
    pub identity: u64,
    pub headings: u64,
    pub set_aside: u64,
    pub unplaced: u64,
}

impl SheetAccount {
    pub const fn holds(&self) -> bool {
        self.cells == self.results + self.identity + self.headings + self.set_aside + self.unplaced
    }
}

/// All that one report gave.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Extract {
    /// Path relative to the gathered root.
    pub file: Arc<str>,
    /// Of the file's bytes, lower-case hexadecimal; empty where not all of them could be read, so that the
    /// next run reads the file again.
    pub sha256: Arc<str>,
    pub sheets: Vec<SheetAccount>,
    pub recipes: Vec<Recipe>,
    pub samples: Vec<Sample>,
    /// In the order of the cells: sheet, row, column.
    pub measurements: Vec<Measurement>,
    /// Of the stages up to `normalize`; those of `check` are made anew on every run.
    pub findings: Vec<Finding>,
    pub unplaced: Vec<Unplaced>,
}

impl Extract {
    pub fn recipe(&self, id: RecipeId) -> &Recipe {
        &self.recipes[id.0 as usize]
    }

    pub fn sample(&self, id: SampleId) -> &Sample {
        &self.samples[id.0 as usize]
    }
}
