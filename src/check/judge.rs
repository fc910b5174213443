//! From samples to figures and findings.

use super::figure;
use super::limits::Limits;
use super::samples::{Judged, Samples};
use crate::finding::Finding;
use crate::record::{Extract, Figures};
use crate::vocabulary::Vocabulary;
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::sync::Arc;

/// What the checks made of all samples.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Judgement {
    /// By sample key.
    pub figures: BTreeMap<Arc<str>, Figures>,
    /// By sample key, then place and code; those of files and sources stand at the sample that shows
    /// them.
    pub findings: Vec<Finding>,
}

/// Judges the samples of all extracts at once. For reports too large to hold, add their parts to a
/// [`Samples`] and call [`Samples::judge`].
pub fn judge(extracts: &[Extract], vocabulary: &Vocabulary, limits: &Limits) -> Judgement {
    let mut samples = Samples::new(vocabulary);
    for extract in extracts {
        samples.add(extract);
    }
    samples.judge(limits)
}

impl Samples<'_> {
    /// Figures and findings of all samples added. The same for any number of threads and any order
    /// of adding.
    pub fn judge(&self, limits: &Limits) -> Judgement {
        let judged: Vec<Judged<'_>> = (self.by_key.par_iter())
            .map(|(key, sample)| Judged::new(self, key, sample))
            .collect();
        let figures = (judged.par_iter())
            .map(|sample| (sample.key.clone(), figure::figures(self, sample, limits)))
            .collect();
        Judgement {
            figures,
            findings: Vec::new(),
        }
    }
}
