//! The plan: what `normalize` executes. Nothing in it can be invalid, nothing is left to decide
//! except what a `results-down` row says of itself.

use super::expressed::notes::BasisNote;
use super::rules::{LabelRule, StatedUnit};
use crate::finding::Finding;
use crate::locate::{Layout, Wording};
use crate::place::{Address, Area};
use crate::read::Grid;
use crate::record::Origin;
use crate::vocabulary::{AnalyteId, Basis, Conversion, Field, Fraction};
use std::collections::BTreeMap;
use std::sync::Arc;

pub use crate::reading::{DateOrder, Decimal, Locale, QualifierCode};

#[derive(Clone, Debug, Default)]
pub struct Plan {
    /// Name of the mapping, or `recognised`.
    pub mapping: Arc<str>,
    pub locale: Locale,
    /// Codes of this laboratory, as written; looked up before the common words.
    pub codes: BTreeMap<String, QualifierCode>,
    /// Negative concentrations mean 'below the absolute value': only a mapping or strong evidence
    /// in the file says so.
    pub negative_is_below: bool,
    /// A mapping says that negative concentrations are what was measured (noise around zero).
    pub negatives_are_measured: bool,
    /// Numbers that mean 'missing' in this file (9999999).
    pub missing_numbers: Vec<f64>,
    /// What the mapping says of labels, for the rows of `results-down` blocks (all other layouts have
    /// it in their tracks already). The first that fits counts.
    pub labels: Vec<LabelRule>,
    /// For `results-down` rows that state no unit of their own; from the mapping.
    pub default_unit: Option<StatedUnit>,
    /// Likewise, for rows that state no basis.
    pub default_basis: Vec<(AnalyteId, Basis)>,
    /// What notes of the report say of bases, for the rows of `results-down` blocks.
    pub basis_notes: Vec<BasisNote>,
    /// Samples of several sheets that share a reference are one sample.
    pub join_sheets: bool,
    /// One entry for each sheet of the report, in the report's order.
    pub sheets: Vec<SheetPlan>,
    pub findings: Vec<Finding>,
}

/// Every cell of a sheet that no block and no set-aside area covers is a heading (titles) when it is
/// listed in `titles`, else unplaced with reason `outside-tables`.
#[derive(Clone, Debug, Default)]
pub struct SheetPlan {
    pub blocks: Vec<BlockPlan>,
    /// Areas set aside, with the reason.
    pub set_aside: Vec<(Area, Arc<str>)>,
    pub titles: Vec<Address>,
    /// Cells outside blocks that gave identity, in order where the sheet has blocks.
    pub identity: Vec<Address>,
}

/// A *line* carries one sample (or one result): a row, or a column when `across`. A *track* runs at
/// right angles through all lines: a column, or a row when `across`.
#[derive(Clone, Debug)]
pub struct BlockPlan {
    pub layout: Layout,
    /// Lines are columns, tracks are rows.
    pub across: bool,
    pub first_line: u32,
    /// Inclusive; `u32::MAX` where the table runs to the end of a streamed file.
    pub last_line: u32,
    /// Lines between first and last that are no samples: statistics, repeated headings, sub-headings,
    /// limits. Their cells count as headings, or as unplaced with the reason given.
    pub not_samples: BTreeMap<u32, LineRole>,
    /// Heading, unit, basis and method cells of this block.
    pub headings: Vec<Address>,
    /// By position, at most one track a position.
    pub tracks: Vec<Track>,
    /// Tracks of identity whose blank cells say what the line before says: names given once for several
    /// lines. Only where the whole report was seen.
    pub carried: Vec<u32>,
    /// Where a line carries several samples side by side ("Bore 1", "Bore 2" over the same analytes): the
    /// tracks of each. Empty where it carries one.
    pub groups: Vec<TrackGroup>,
    /// Identity that holds for every sample of the block.
    pub facts: Vec<Fact>,
    /// `form`: values at given cells, one sample for the whole block; `cross-table`: likewise, but each value
    /// with a sample of its own. Lines and tracks are then empty.
    pub form: Vec<FormCell>,
    /// `results-down`: the unit in the heading of the limits ("LOD (µg/L)").
    pub limit_unit: Option<Arc<str>>,
    /// `results-down`: the lines from which on results are of a fraction, or of none that is said ("Dissolved
    /// metals", then "Major ions").
    pub fractions: BTreeMap<u32, Option<Fraction>>,
    /// How lines are judged that the plan was not made from; `None` where it was made from all.
    pub unseen: Option<Unseen>,
}

impl BlockPlan {
    /// A block of single values, none yet.
    pub(super) const fn of_values(layout: Layout) -> Self {
        Self {
            layout,
            across: false,
            first_line: 0,
            last_line: 0,
            not_samples: BTreeMap::new(),
            headings: Vec::new(),
            tracks: Vec::new(),
            carried: Vec::new(),
            limit_unit: None,
            fractions: BTreeMap::new(),
            groups: Vec::new(),
            facts: Vec::new(),
            form: Vec::new(),
            unseen: None,
        }
    }

    /// Whether a track, a fact or the values themselves say any of the fields of its samples.
    pub(super) fn says(&self, fields: &[Field]) -> bool {
        (self.facts.iter()).any(|fact| fields.contains(&fact.field)) || self.says_within(fields)
    }

    /// Likewise, from within the table.
    pub(super) fn says_within(&self, fields: &[Field]) -> bool {
        let is_one = |field: &Field| fields.contains(field);
        let of_tracks = |track: &Track| matches!(&track.role, TrackRole::Field(f) if is_one(f));
        let of_value = |cell: &FormCell| cell.own.iter().any(|fact| is_one(&fact.field));
        self.tracks.iter().any(of_tracks)
            || self.groups.iter().any(|group| is_one(&group.fact.field))
            || self.form.first().is_some_and(of_value)
    }

    /// The lines of a table have dates each and no other name: a course over time of one source.
    pub(super) fn is_course(&self) -> bool {
        self.says_within(&[Field::SampledOn]) && self.is_unnamed()
    }

    /// Nothing but a day is said of its samples.
    pub(super) fn is_dated_only(&self) -> bool {
        self.says(&[Field::SampledOn]) && self.is_unnamed()
    }

    /// Nothing but perhaps a day tells its samples apart.
    pub(super) fn is_unnamed(&self) -> bool {
        !self.says(&[Field::SampleRef, Field::LabRef, Field::Source, Field::Site])
    }
}

/// More lines than a sheet can have: walking the lines of a block ends whatever the plan says.
const MOST_LINES: u32 = 1 << 20;

impl BlockPlan {
    /// Leaves all lines and cells that would be placed where they are, for this reason; how many.
    pub(super) fn place_nothing(&mut self, reason: &str) -> u64 {
        let mut count = 0;
        if self.form.is_empty() {
            let last = self.first_line.saturating_add(MOST_LINES);
            for line in self.first_line..=self.last_line.min(last) {
                self.not_samples.entry(line).or_insert_with(|| {
                    count += 1;
                    LineRole::Unplaced(reason.into())
                });
            }
        }
        for cell in &mut self.form {
            count += 1;
            cell.role = TrackRole::Unplaced(reason.into());
        }
        if let Some(unseen) = &mut self.unseen {
            unseen.none_is_sample = Some(reason.into());
        }
        count
    }
}

impl BlockPlan {
    /// Whether some line or cell is placed; all lines of a table of statistics, say, are something else.
    pub(super) fn places_anything(&self) -> bool {
        let others = self.not_samples.range(self.first_line..=self.last_line);
        let lines = (self.last_line.saturating_sub(self.first_line) as usize).saturating_add(1);
        let is_placed =
            |cell: &FormCell| !matches!(cell.role, TrackRole::Unplaced(_) | TrackRole::SetAside(_));
        if self.form.is_empty() {
            others.count() < lines
        } else {
            self.form.iter().any(is_placed)
        }
    }
}

/// What is known of the lines of a long text of which only some were shown.
#[derive(Clone, Debug, Default)]
pub struct Unseen {
    /// None of them is a sample, for this reason (a table of controls).
    pub none_is_sample: Option<Arc<str>>,
    /// Texts by which a mapping sets a line aside, with the reason.
    pub set_aside: Vec<(Wording, Arc<str>)>,
    /// A line without any name is no sample: nearly all of those shown have one.
    pub must_be_named: bool,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LineRole {
    Heading,
    /// Belongs to the sample line at `of`: its qualifiers or uncertainties, cell beside cell (a column
    /// beside the sample's column in an `across` block).
    Companion {
        of: u32,
        role: ValueRole,
    },
    SetAside(Arc<str>),
    Unplaced(Arc<str>),
}

/// Tracks whose values are of one sample of each line.
#[derive(Clone, Debug)]
pub struct TrackGroup {
    /// Their positions, analytes and what belongs to them.
    pub tracks: Vec<u32>,
    /// What the group's own heading says of the sample.
    pub fact: Fact,
}

#[derive(Clone, Debug)]
pub struct Track {
    /// Column of a row-wise block, row of an `across` block.
    pub at: u32,
    pub role: TrackRole,
}

#[derive(Clone, Debug)]
pub enum TrackRole {
    Analyte(Box<AnalyteTrack>),
    /// Identity of the line's sample; dates included. In a `results-down` block also the parts of the
    /// result: label, value, unit, basis, fraction, qualifier, limits.
    Field(Field),
    /// Belongs to the analyte track at `of`: a qualifier, limit, uncertainty, method or unit cell.
    Companion {
        of: u32,
        role: ValueRole,
    },
    SetAside(Arc<str>),
    /// Not understood; every cell of the track goes to `unplaced` with this reason.
    Unplaced(Arc<str>),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ValueRole {
    Qualifier,
    DetectionLimit,
    QuantificationLimit,
    Uncertainty,
    Method,
    Unit,
    /// Yes or no: whether the value is below a limit, or whether it was found.
    Flag {
        yes_is_below: bool,
    },
}

/// A column (or row) of numbers of one analyte, all decided.
#[derive(Clone, Debug)]
pub struct AnalyteTrack {
    pub analyte: AnalyteId,
    pub fraction: Option<Fraction>,
    pub conversion: Conversion,
    pub label_text: Arc<str>,
    pub unit_text: Option<Arc<str>>,
    pub basis_text: Option<Arc<str>>,
    pub unit_from: Origin,
    /// Code of the finding that told the assumption, where `unit_from` is `Assumed`.
    pub assumption: Option<&'static str>,
    /// What the unit and basis are, so that a cell with a unit of its own can be compared.
    pub basis: Option<Basis>,
    /// The limit of detection that holds for the whole track, in the track's unit (from a limit
    /// line); what 'ND' and '<LOD' mean. A limit of unknown kind stands here.
    pub limit: Option<Limit>,
    /// The limit of quantification, where the report tells it apart; what '<LOQ' and 'BQL' mean.
    pub quantification_limit: Option<Limit>,
}

/// A limit of detection or quantification, in the unit of its track.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit {
    pub number: f64,
    pub at: Address,
}

/// Identity from outside the lines: a constant of the mapping, a file-name group, a cell above.
#[derive(Clone, Debug)]
pub struct Fact {
    pub field: Field,
    pub from: Source,
}

#[derive(Clone, Debug)]
pub enum Source {
    /// The cell to read; it counts as identity.
    Cell(Address),
    /// Part of a cell ("pH: 7.2", "Client: Thistle"): the cell, and the text taken from it.
    Part(Address, Arc<str>),
    /// From the mapping or the file name.
    Text(Arc<str>),
}

impl Source {
    /// What it says, without blanks at its ends.
    pub(super) fn text(&self, grid: &Grid) -> Arc<str> {
        match self {
            Self::Part(_, text) | Self::Text(text) => text.clone(),
            Self::Cell(at) => grid.view(*at).as_text().trim().into(),
        }
    }
}

/// One value of a form or a cross-table.
#[derive(Clone, Debug)]
pub struct FormCell {
    pub value: Address,
    /// Text to read instead of the whole cell, where label and value share one.
    pub part: Option<Arc<str>>,
    pub role: TrackRole,
    /// Unit, limit, qualifier cells that belong to this value.
    pub companions: Vec<(Address, ValueRole)>,
    /// What identifies the value's own sample, in a cross-table; empty where the block has one sample.
    pub own: Vec<Fact>,
}
