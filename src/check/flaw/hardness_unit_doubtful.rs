//! # hardness-unit-doubtful: a file's hardness has another unit than it seems
//!
//! ## What it finds
//!
//! In at least three samples and in four of five samples of a file, reported hardness misses what
//! calcium and magnesium give by the same known factor (°dH for °fH, mmol/L for mg/L, as CaO for as
//! CaCO3).
//!
//! ## Why it matters
//!
//! The whole column is wrong by that factor, and the hardness classes with it.
//!
//! ## When it is wrong
//!
//! Calcium and magnesium may be wrong by the same factor instead; charge balance tells.
//!
//! ## Source
//!
//! Standard Methods 2340B, from memory; definitions of the degrees read.

use super::hardness_disagrees::{hardness_twice, otherwise};
use super::prelude::*;
use crate::check::samples::Judged;
pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Warning,
    limits: &[],
    gist: "the unit of hardness is doubtful",
    yields_to: &[],
    scope: Scope::File(find),
    text: include_str!("hardness_unit_doubtful.rs"),
};

const CODE: &str = "hardness-unit-doubtful";

/// Share of the samples that must agree.
const AGREE: f64 = 0.8;

fn find(case: &FileCase<'_>, found: &mut Vec<Found>) {
    let mut readings: std::collections::BTreeMap<&'static str, Vec<&Judged<'_>>> =
        Default::default();
    let mut having = 0;
    for sample in case.group {
        let Some((reported, computed)) = hardness_twice(&sample.as_read) else {
            continue;
        };
        having += 1;
        if (reported / computed).ln().abs() > 0.1
            && let Some(words) = otherwise(reported, computed)
        {
            readings.entry(words).or_default().push(sample);
        }
    }
    let Some((words, samples)) = readings
        .into_iter()
        .max_by_key(|(_, samples)| samples.len())
    else {
        return;
    };
    if samples.len() < 3 || (samples.len() as f64) < AGREE * f64::from(having) {
        return;
    }
    let message = format!(
        "hardness follows from calcium and magnesium in {} of {having} samples if {words}, as read in none of them",
        samples.len()
    );
    let help = "compare the unit of hardness with the report; if it agrees, give it in the mapping, under [labels]: \
                unit = \"°dH\" (or °fH, mmol/L, meq/L)";
    let mut one = Found::at(
        CODE,
        case.samples,
        samples[0],
        Substance::Hardness,
        message,
        help,
    );
    one.sample = None;
    one.cells = samples.len() as u64;
    found.push(one);
}
