//! Results that a report gives twice for one sample, with other values.

use super::findings::{Problem, words};
use crate::finding::Finding;
use crate::place::Place;
use crate::record::{Extract, Measurement};
use crate::vocabulary::Vocabulary;
use std::sync::Arc;

/// More findings of this kind for one file are told as one: nobody reads them singly.
const MOST: usize = 200;

/// One finding for each analyte of a sample whose results differ by more than their rounding. Both
/// results stay.
pub(super) fn findings(extract: &Extract, vocabulary: &Vocabulary) -> Vec<Finding> {
    let mut order: Vec<u32> =
        (0..u32::try_from(extract.measurements.len()).unwrap_or(u32::MAX)).collect();
    let key = |index: &u32| {
        let m = &extract.measurements[*index as usize];
        let recipe = extract.recipe(m.recipe);
        (m.sample, recipe.analyte, recipe.fraction, m.sheet, m.at)
    };
    order.sort_unstable_by_key(key);
    let mut found = Vec::new();
    let mut left_out = 0;
    for group in order.chunk_by(|a, b| {
        let (a, b) = (key(a), key(b));
        (a.0, a.1, a.2) == (b.0, b.1, b.2)
    }) {
        let Some((first, rest)) = group.split_first() else {
            continue;
        };
        let first = &extract.measurements[*first as usize];
        let Some(other) = rest
            .iter()
            .map(|index| &extract.measurements[*index as usize])
            .find(|other| differ(extract, first, other))
        else {
            continue;
        };
        if found.len() == MOST {
            left_out += 1;
            continue;
        }
        found.push(finding(extract, vocabulary, first, other));
    }
    if left_out > 0
        && let Some(last) = found.last_mut()
    {
        last.cells += left_out;
        last.message
            .push_str(&format!(", and {left_out} more of this file"));
    }
    found
}

fn finding(
    extract: &Extract,
    vocabulary: &Vocabulary,
    first: &Measurement,
    other: &Measurement,
) -> Finding {
    let recipe = extract.recipe(first.recipe);
    let analyte = vocabulary.analyte(recipe.analyte);
    let same_line = first.sheet == other.sheet
        && (first.at.row == other.at.row || first.at.col == other.at.col);
    let code = if same_line && first.recipe != other.recipe {
        "reported-twice"
    } else {
        "same-sample-other-value"
    };
    let sheet = |m: &Measurement| extract.sheets[usize::from(m.sheet)].sheet.clone();
    let name = format!(
        "{} '{}' in {} and '{}' in {}",
        analyte.code,
        first.value_text,
        first.at,
        other.value_text,
        if first.sheet == other.sheet {
            other.at.to_string()
        } else {
            format!("{}!{}", sheet(other), other.at)
        },
    );
    let (severity, message, help) = words(&Problem::Sample { code, name: &name });
    let place = Place::cell(&extract.file, &sheet(first), first.at);
    let key: Arc<str> = extract.sample(first.sample).key.clone();
    Finding::new(severity, code, place, message, help)
        .of_sample(&key)
        .of_analyte(analyte.code.clone())
        .for_cells(2)
}

/// Whether two results differ by more than half a unit in the last printed digit of each. A limit and a
/// number above it, or two limits of other methods, do not contradict each other.
fn differ(extract: &Extract, a: &Measurement, b: &Measurement) -> bool {
    let (Some(x), Some(y)) = (a.value, b.value) else {
        return false;
    };
    if a.censored.is_some() || b.censored.is_some() {
        return false;
    }
    let slack = |m: &Measurement| {
        let factor = extract.recipe(m.recipe).factor.map_or(0.0, f64::abs);
        half_last_digit(&m.value_text) * factor
    };
    let rounding = slack(a) + slack(b);
    // A billionth covers what the conversions themselves round.
    (x - y).abs() > rounding + 1e-9 * x.abs().max(y.abs())
}

/// Half a unit of the last digit after the decimal sign; 0.5 for whole numbers.
fn half_last_digit(text: &str) -> f64 {
    let behind = text.rsplit_once(['.', ',']).map_or(0, |(_, fraction)| {
        fraction.bytes().take_while(u8::is_ascii_digit).count()
    });
    0.5 * 10f64.powi(-i32::try_from(behind.min(20)).unwrap_or(20))
}
