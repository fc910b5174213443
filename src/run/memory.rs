//! What the run holds of all samples grows with them. How much that is by now is counted, and said once
//! where it is much: before the machine's memory ends, which nobody could be told of.

use super::findings;
use crate::check::Samples;
use crate::finding::Finding;
use crate::record::{Extract, Measurement};

/// Bytes counted at which a run says so. At its end a run takes up to twice as much as is counted: 1.2
/// million samples of 25 results counted 1.4 GB and took 2.1, 1.3 million of one result 0.5 GB and 1.1.
const MUCH: usize = 1 << 30;

/// Says once that the samples take much memory.
#[derive(Debug)]
pub(super) struct Memory {
    much: usize,
    told: Option<Finding>,
}

impl Memory {
    pub(super) fn new(much: Option<usize>) -> Self {
        Self {
            much: much.unwrap_or(MUCH),
            told: None,
        }
    }

    /// Counts what is held after an extract was taken; the finding, where it is to be said now.
    pub(super) fn count(&mut self, samples: &Samples<'_>, taken: &Extract) -> Option<&Finding> {
        if self.told.is_some() {
            return None;
        }
        let bytes = samples.bytes() + taken.measurements.len() * size_of::<Measurement>();
        if bytes < self.much {
            return None;
        }
        self.told = Some(findings::memory_much(&taken.file, samples.len(), bytes));
        self.told.as_ref()
    }

    /// What was said.
    pub(super) const fn told(&self) -> Option<&Finding> {
        self.told.as_ref()
    }
}
