//! Results that a report gives twice for one sample, with other values.

use super::findings::{Problem, words};
use crate::finding::Finding;
use crate::place::Place;
use crate::record::{Extract, Measurement, RecipeId, SampleId};
use crate::vocabulary::{AnalyteId, Fraction, Vocabulary};
use hashbrown::HashMap;

/// More findings of this kind for one file are told as one: nobody reads them singly.
const MOST: usize = 200;

/// Two results of one analyte of one sample that differ by more than their rounding.
struct Pair<'e> {
    first: &'e Measurement,
    other: &'e Measurement,
}

/// What a repetition is told by: two labels of one analyte are one cause whatever the samples, one
/// sample described twice is one cause whatever the analytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum Cause {
    Labels(RecipeId, RecipeId),
    Sample(SampleId),
}

/// One finding for each cause, with the number of cells. All results stay.
pub(super) fn findings(extract: &Extract, vocabulary: &Vocabulary) -> Vec<Finding> {
    let mut causes: Vec<(Cause, Pair<'_>, u64)> = Vec::new();
    let mut index: HashMap<Cause, usize> = HashMap::new();
    let mut left_out = 0;
    for pair in pairs(extract) {
        let (first, other) = (pair.first, pair.other);
        let same_line = first.sheet == other.sheet
            && (first.at.row == other.at.row || first.at.col == other.at.col);
        let cause = if same_line && first.recipe != other.recipe {
            Cause::Labels(first.recipe, other.recipe)
        } else {
            Cause::Sample(first.sample)
        };
        if let Some(known) = index.get(&cause) {
            causes[*known].2 += 2;
        } else if causes.len() == MOST {
            left_out += 2;
        } else {
            index.insert(cause, causes.len());
            causes.push((cause, pair, 2));
        }
    }
    let mut found: Vec<Finding> = causes
        .iter()
        .map(|(cause, pair, cells)| finding(extract, vocabulary, *cause, pair, *cells))
        .collect();
    if left_out > 0
        && let Some(last) = found.last_mut()
    {
        last.cells += left_out;
        last.message
            .push_str(&format!(", and {left_out} more cells of this file"));
    }
    found
}

/// For each analyte of each sample the first result and the first that differs from it.
fn pairs(extract: &Extract) -> Vec<Pair<'_>> {
    let mut found = Vec::new();
    let mut kinds: Vec<(AnalyteId, Option<Fraction>)> = Vec::new();
    let kind_of: Vec<usize> = (extract.recipes.iter())
        .map(|recipe| {
            let kind = (recipe.analyte, recipe.fraction);
            let known = kinds.iter().position(|known| *known == kind);
            known.unwrap_or_else(|| {
                kinds.push(kind);
                kinds.len() - 1
            })
        })
        .collect();
    // Of the sample at hand, and of those before it what none since has had.
    let mut firsts: Vec<Option<First<'_>>> = Vec::new();
    firsts.resize_with(kinds.len(), || None);
    let by_sample = BySample::new(extract);
    for of_sample in by_sample.groups() {
        for other in of_sample {
            let first = &mut firsts[kind_of[other.recipe.0 as usize]];
            match first {
                Some(known) if known.result.sample == other.sample => {
                    if !known.told && differ(extract, known.result, other) {
                        found.push(Pair {
                            first: known.result,
                            other,
                        });
                        known.told = true;
                    }
                }
                _ => {
                    *first = Some(First {
                        result: other,
                        told: false,
                    });
                }
            }
        }
    }
    found.sort_by_key(|pair| (pair.first.sheet, pair.first.at));
    found
}

/// The first result of an analyte in one sample, and whether one that differs was found.
struct First<'e> {
    result: &'e Measurement,
    told: bool,
}

/// The results of an extract, sample by sample.
struct BySample<'e> {
    all: &'e [Measurement],
    /// Indices of all results: those of the first sample, those of the second, ….
    order: Vec<usize>,
    /// Where each sample ends in `order`.
    ends: Vec<usize>,
}

impl<'e> BySample<'e> {
    fn new(extract: &'e Extract) -> Self {
        let all = &extract.measurements;
        let mut places = vec![0; extract.samples.len()];
        for measurement in all {
            places[measurement.sample.0 as usize] += 1;
        }
        let mut before = 0;
        for place in &mut places {
            before += std::mem::replace(place, before);
        }
        // Each place moves on as its sample fills, and is that sample's end when all is done.
        let mut order = vec![0; all.len()];
        for (index, measurement) in all.iter().enumerate() {
            let place = &mut places[measurement.sample.0 as usize];
            order[*place] = index;
            *place += 1;
        }
        Self {
            all,
            order,
            ends: places,
        }
    }

    /// Within a sample the results stand in the order of the report.
    fn groups(&self) -> impl Iterator<Item = impl Iterator<Item = &'e Measurement>> {
        let starts = std::iter::once(&0).chain(&self.ends);
        starts
            .zip(&self.ends)
            .map(|(&start, &end)| (self.order[start..end].iter()).map(|&index| &self.all[index]))
    }
}

fn finding(
    extract: &Extract,
    vocabulary: &Vocabulary,
    cause: Cause,
    pair: &Pair<'_>,
    cells: u64,
) -> Finding {
    let (first, other) = (pair.first, pair.other);
    let analyte = &vocabulary
        .analyte(extract.recipe(first.recipe).analyte)
        .code;
    let sheet = |m: &Measurement| extract.sheets[usize::from(m.sheet)].sheet.clone();
    let there = if first.sheet == other.sheet {
        other.at.to_string()
    } else {
        format!("{}!{}", sheet(other), other.at)
    };
    let mut name = format!(
        "{analyte} '{}' in {} and '{}' in {there}",
        first.value_text, first.at, other.value_text,
    );
    let more = cells / 2 - 1;
    let code = match cause {
        Cause::Labels(..) => "reported-twice",
        Cause::Sample(_) => "same-sample-other-value",
    };
    if more > 0 {
        let of = match cause {
            Cause::Labels(..) => "samples",
            Cause::Sample(_) => "analytes",
        };
        name.push_str(&format!(", and {more} more {of}"));
    }
    let (severity, message, help) = words(&Problem::Sample { code, name: &name });
    let place = Place::cell(&extract.file, &sheet(first), first.at);
    let finding = Finding::new(severity, code, place, message, help).for_cells(cells);
    match cause {
        Cause::Labels(..) if more > 0 => finding.of_analyte(analyte.clone()),
        Cause::Sample(_) if more > 0 => finding.of_sample(&extract.sample(first.sample).key),
        _ => finding
            .of_sample(&extract.sample(first.sample).key)
            .of_analyte(analyte.clone()),
    }
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
