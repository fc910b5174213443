//! Findings grouped by cause: forty cells with one cause are one finding with its first cell and a count.

use super::findings::{Problem, words};
use crate::finding::Finding;
use crate::place::{Address, Place};
use hashbrown::HashMap;
use hashbrown::hash_map::Entry;
use std::borrow::Cow;
use std::sync::Arc;

/// One cause: a code and what it is about (a label, a field).
type Cause = (&'static str, Arc<str>);

/// The findings of one sheet, in the order in which their causes first appeared.
#[derive(Debug, Default)]
pub(super) struct Tally {
    groups: Vec<Group>,
    index: HashMap<Cause, usize>,
}

#[derive(Debug)]
struct Group {
    finding: Finding,
}

/// Where a cell stands, without the cell.
#[derive(Clone, Debug)]
pub(super) struct Spot {
    pub file: Arc<str>,
    pub sheet: Arc<str>,
}

impl Spot {
    pub(super) fn place(&self, at: Address) -> Place {
        Place::cell(&self.file, &self.sheet, at)
    }
}

impl Tally {
    /// Counts one cell for a cause; the message is made for the first only. Gives the group, so that
    /// the same cause can be counted again without naming it.
    pub(super) fn add(
        &mut self,
        spot: &Spot,
        at: Address,
        subject: &Arc<str>,
        analyte: Option<&str>,
        problem: &Problem<'_>,
    ) -> usize {
        let code = problem.code();
        if let Some(group) = self.index.get(&(code, subject.clone())) {
            self.groups[*group].finding.cells += 1;
            return *group;
        }
        let (severity, message, help) = words(problem);
        let mut finding = Finding::new(severity, code, spot.place(at), message, help);
        if let Some(analyte) = analyte {
            finding = finding.of_analyte(analyte.to_owned());
        }
        finding.cause = Some(subject.clone());
        self.groups.push(Group { finding });
        let group = self.groups.len() - 1;
        self.index.insert((code, subject.clone()), group);
        group
    }

    /// Takes over a finding made elsewhere, as one of these causes.
    pub(super) fn put(&mut self, mut finding: Finding, subject: &Arc<str>) {
        let Cow::Borrowed(code) = finding.code else {
            self.groups.push(Group { finding });
            return;
        };
        let group = self.groups.len();
        match self.index.entry((code, subject.clone())) {
            Entry::Occupied(known) => self.groups[*known.get()].finding.cells += finding.cells,
            Entry::Vacant(free) => {
                free.insert(group);
                finding.cause = Some(subject.clone());
                self.groups.push(Group { finding });
            }
        }
    }

    pub(super) fn again(&mut self, group: usize) {
        self.groups[group].finding.cells += 1;
    }

    pub(super) fn into_findings(self) -> Vec<Finding> {
        self.groups.into_iter().map(|group| group.finding).collect()
    }
}
