//! What a check gets to see: one sample, one file, or one source's history.

use super::cause::{Fit, Usual};
use super::figure::charge::Charges;
use super::found::{Found, who};
use super::limits::{CheckLimits, Limits};
use super::samples::{ColumnId, Entry, Judged, Samples};
use super::substance::Substance;
use super::water::Water;
use crate::place::Place;
use hashbrown::HashMap;
use std::collections::BTreeMap;

/// One sample. `water`, `charges` and `fit` are as they would be without the faults already found in
/// whole columns, so that a check does not tell a consequence once more.
pub(super) struct SampleCase<'a> {
    pub samples: &'a Samples<'a>,
    pub sample: &'a Judged<'a>,
    pub water: &'a Water,
    /// The same with the numbers that cannot be.
    pub as_read: &'a Water,
    pub charges: &'a Charges,
    pub fit: &'a Fit,
    pub limits: &'a Limits,
    /// Those of the check that looks at the case.
    pub own: &'a CheckLimits,
    /// Samples in the file whose numbers stand beside this one's.
    pub usual: Option<&'a Usual>,
}

impl SampleCase<'_> {
    pub(super) fn who(&self) -> String {
        who(self.sample.about)
    }

    /// A plain number, in the canonical unit.
    pub(super) fn plain(&self, substance: Substance) -> Option<f64> {
        self.water.plain(substance)
    }

    /// A number of the check that looks.
    pub(super) fn limit(&self, name: &str) -> f64 {
        self.own.number(name)
    }

    pub(super) fn found(
        &self,
        code: &'static str,
        substance: Substance,
        message: String,
        help: impl Into<String>,
    ) -> Found {
        Found::at(code, self.samples, self.sample, substance, message, help)
    }

    /// A finding about the sample as a whole, told at one of its cells.
    pub(super) fn found_at(
        &self,
        code: &'static str,
        place: Place,
        message: String,
        help: impl Into<String>,
    ) -> Found {
        Found::of_sample(code, self.sample, place, message, help)
    }
}

/// The entries that count of each column, over the samples of a file.
pub(super) type Columns<'g, 's> = BTreeMap<ColumnId, Vec<(&'g Judged<'s>, &'s Entry)>>;

pub(super) fn columns<'g, 's>(group: &'g [&'g Judged<'s>]) -> Columns<'g, 's> {
    let mut columns: Vec<(ColumnId, Vec<(&Judged<'_>, &Entry)>)> = Vec::new();
    let mut positions: HashMap<ColumnId, usize> = HashMap::new();
    for sample in group {
        for (guess, entry) in sample.ranked.chosen().enumerate() {
            // Samples of one file mostly have the same columns in the same order.
            if let Some((id, entries)) = columns.get_mut(guess)
                && *id == entry.column
            {
                entries.push((*sample, entry));
                continue;
            }
            let position = *positions.entry(entry.column).or_insert_with(|| {
                columns.push((entry.column, Vec::new()));
                columns.len() - 1
            });
            columns[position].1.push((*sample, entry));
        }
    }
    columns.into_iter().collect()
}

/// The samples of one file, in the order of their keys.
pub(super) struct FileCase<'a> {
    pub samples: &'a Samples<'a>,
    pub group: &'a [&'a Judged<'a>],
    /// What counts of each column.
    pub columns: &'a Columns<'a, 'a>,
    /// Limits of the check that looks at the case.
    pub own: &'a CheckLimits,
}

impl FileCase<'_> {
    /// A number of the check that looks.
    pub(super) fn limit(&self, name: &str) -> f64 {
        self.own.number(name)
    }
}

/// The samples of one source, by date.
pub(super) struct SourceCase<'a> {
    pub samples: &'a Samples<'a>,
    pub history: &'a [&'a Judged<'a>],
    /// Limits of the check that looks at the case.
    pub own: &'a CheckLimits,
}

impl SourceCase<'_> {
    /// A number of the check that looks.
    pub(super) fn limit(&self, name: &str) -> f64 {
        self.own.number(name)
    }
}
