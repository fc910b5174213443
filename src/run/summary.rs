//! What a run did, in numbers and in groups of findings: the end of `gather`, for people and for
//! machines.

use crate::finding::{Finding, Severity};
use serde::Serialize;
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// The tally of one run. All counts are of the whole dataset except where they say 'this run'.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Summary {
    /// Reports read in this run.
    pub reports_read: usize,
    /// Reports whose bytes and words were the same as in the former run, kept as they were.
    pub reports_unchanged: usize,
    /// Reports that had been gathered before and whose bytes have changed.
    pub reports_replaced: usize,
    /// Reports of the dataset that were not among the paths of this run, kept.
    pub reports_kept: usize,
    /// Files that could not be read at all.
    pub files_refused: usize,
    /// Files with the bytes of another, read once.
    pub files_same_bytes: usize,
    pub results: u64,
    pub samples: usize,
    pub cells: u64,
    pub cells_unplaced: u64,
    pub balanced: usize,
    pub unbalanced: usize,
    pub incomplete: usize,
    /// Findings by cause, the most serious and most frequent first.
    pub groups: Vec<Group>,
}

/// All findings with one severity and code: one line with a count.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Group {
    #[serde(serialize_with = "severity_name")]
    pub severity: Severity,
    pub code: Cow<'static, str>,
    /// How many cells (or samples, or files) have it.
    pub cells: u64,
    /// In how many files.
    pub files: usize,
    /// The first of them, as the example: place, message, help.
    pub place: String,
    pub message: String,
    pub help: String,
}

fn severity_name<S: serde::Serializer>(severity: &Severity, s: S) -> Result<S::Ok, S::Error> {
    s.serialize_str(severity.name())
}

/// Findings grouped by severity and code as they come: the first of each is the example.
#[derive(Debug, Default)]
pub struct Groups(BTreeMap<(Severity, Cow<'static, str>), Gathering>);

/// A group, and the files that have it.
type Gathering = (Group, BTreeSet<Arc<str>>);

impl Groups {
    pub fn add(&mut self, finding: &Finding) {
        let (group, files) = self
            .0
            .entry((finding.severity, finding.code.clone()))
            .or_insert_with(|| {
                let group = Group {
                    severity: finding.severity,
                    code: finding.code.clone(),
                    cells: 0,
                    files: 0,
                    place: finding.place.to_string(),
                    message: finding.message.clone(),
                    help: finding.help.clone(),
                };
                (group, BTreeSet::new())
            });
        group.cells += finding.cells;
        if files.insert(finding.place.file.clone()) {
            group.files += 1;
        }
    }

    /// In the order in which a person should look.
    pub fn sorted(self) -> Vec<Group> {
        let mut groups: Vec<Group> = self.0.into_values().map(|(group, _)| group).collect();
        groups.sort_by(|a, b| {
            (b.severity, b.cells)
                .cmp(&(a.severity, a.cells))
                .then_with(|| a.code.cmp(&b.code))
        });
        groups
    }
}

impl Summary {
    /// Whether a finding is as severe as `level` or more.
    pub fn has_at_least(&self, level: Severity) -> bool {
        self.groups.iter().any(|g| g.severity >= level)
    }

    /// Findings of one severity, counted in cells.
    pub fn cells_of(&self, severity: Severity) -> u64 {
        self.groups
            .iter()
            .filter(|g| g.severity == severity)
            .map(|g| g.cells)
            .sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::Place;

    fn group(findings: &[Finding]) -> Vec<Group> {
        let mut groups = Groups::default();
        findings.iter().for_each(|f| groups.add(f));
        groups.sorted()
    }

    fn finding(severity: Severity, code: &'static str, file: &str, cells: u64) -> Finding {
        Finding::new(severity, code, Place::file(&file.into()), "what", "do").for_cells(cells)
    }

    #[test]
    fn findings_of_one_cause_are_one_line_with_a_count() {
        let groups = group(&[
            finding(Severity::Warning, "basis-assumed", "a.csv", 30),
            finding(Severity::Error, "value-unreadable", "a.csv", 1),
            finding(Severity::Warning, "basis-assumed", "b.csv", 12),
            finding(Severity::Warning, "date-ambiguous", "b.csv", 50),
        ]);
        let lines: Vec<_> = groups
            .iter()
            .map(|g| (g.severity.name(), g.code.as_ref(), g.cells, g.files))
            .collect();
        assert_eq!(
            lines,
            [
                ("error", "value-unreadable", 1, 1),
                ("warning", "date-ambiguous", 50, 1),
                ("warning", "basis-assumed", 42, 2),
            ]
        );
    }

    #[test]
    fn the_level_decides_whether_a_run_counts_as_with_findings() {
        let summary = Summary {
            groups: group(&[finding(Severity::Warning, "basis-assumed", "a.csv", 1)]),
            ..Summary::default()
        };
        assert!(summary.has_at_least(Severity::Note));
        assert!(summary.has_at_least(Severity::Warning));
        assert!(!summary.has_at_least(Severity::Error));
    }
}
