//! Findings grouped by cause: forty cells with one cause are one finding with its first cell and a count.

use super::findings::{Problem, words};
use crate::finding::Finding;
use crate::place::{Address, Place};
use std::collections::HashMap;
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
    cause: Cause,
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
        self.groups.push(Group {
            cause: (code, subject.clone()),
            finding,
        });
        let group = self.groups.len() - 1;
        self.index.insert((code, subject.clone()), group);
        group
    }

    pub(super) fn again(&mut self, group: usize) {
        self.groups[group].finding.cells += 1;
    }

    /// Puts the groups of a later part of the same sheet behind these; equal causes become one.
    pub(super) fn append(&mut self, later: Self) {
        for group in later.groups {
            match self.index.get(&group.cause) {
                Some(known) => self.groups[*known].finding.cells += group.finding.cells,
                None => {
                    self.index.insert(group.cause.clone(), self.groups.len());
                    self.groups.push(group);
                }
            }
        }
    }

    pub(super) fn into_findings(self) -> Vec<Finding> {
        self.groups.into_iter().map(|group| group.finding).collect()
    }
}
