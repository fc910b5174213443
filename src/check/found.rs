//! What a check found, before severity, acknowledgement and grouping.

use super::samples::{Judged, Samples};
use super::substance::Substance;
use crate::place::Place;
use crate::record::Sample;
use std::borrow::Cow;
use std::sync::Arc;

/// How far from the check's own severity.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Grade {
    Milder,
    Usual,
    Graver,
}

#[derive(Clone, Debug, PartialEq)]
pub(super) struct Found {
    pub code: &'static str,
    pub grade: Grade,
    pub place: Place,
    pub sample: Option<Arc<str>>,
    pub analyte: Option<Cow<'static, str>>,
    pub message: String,
    pub help: String,
    pub cells: u64,
    /// How bad it is among its like: the worst stands for the others when they are told as one.
    pub weight: f64,
}

impl Found {
    /// A finding about one number of a sample.
    pub(super) fn at(
        code: &'static str,
        samples: &Samples<'_>,
        sample: &Judged<'_>,
        substance: Substance,
        message: String,
        help: impl Into<String>,
    ) -> Self {
        Self {
            analyte: Some(Cow::Borrowed(substance.code())),
            ..Self::of_sample(
                code,
                sample,
                place_of(samples, sample, substance),
                message,
                help,
            )
        }
    }

    /// A finding about a sample as a whole.
    pub(super) fn of_sample(
        code: &'static str,
        sample: &Judged<'_>,
        place: Place,
        message: String,
        help: impl Into<String>,
    ) -> Self {
        Self {
            code,
            grade: Grade::Usual,
            place,
            sample: Some(sample.key.clone()),
            analyte: None,
            message,
            help: help.into(),
            cells: 1,
            weight: 0.0,
        }
    }

    pub(super) fn grade(mut self, grade: Grade) -> Self {
        self.grade = grade;
        self
    }

    pub(super) fn weigh(mut self, weight: f64) -> Self {
        self.weight = weight;
        self
    }
}

/// The cell of a substance; else of any number of the sample, else its file.
pub(super) fn place_of(samples: &Samples<'_>, sample: &Judged<'_>, substance: Substance) -> Place {
    let entry = sample
        .entry(substance)
        .or_else(|| (sample.ranked.chosen()).min_by_key(|entry| (samples.place(entry), entry.at)));
    match entry {
        Some(entry) => samples.place(entry),
        None => Place::file(&"".into()),
    }
}

/// How a person would name the sample: 'Bore North, 2026-05-12'.
pub(super) fn who(sample: &Sample) -> String {
    let name = [
        &sample.sample_ref,
        &sample.source,
        &sample.site,
        &sample.lab_ref,
    ]
    .into_iter()
    .flatten()
    .map(|name| name.trim())
    .find(|name| !name.is_empty())
    .unwrap_or(&sample.key);
    match sample.sampled_on {
        Some(day) => format!("{name}, {day}"),
        None => name.to_owned(),
    }
}
