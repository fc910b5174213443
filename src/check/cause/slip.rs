//! Rows that slipped: from one sample of a report on, the numbers of some neighbouring columns stand one
//! row too high or too low. Each column is sound by itself; only together they show it.

use super::fit::Fit;
use crate::check::samples::{Judged, Samples};
use crate::check::substance::Substance;
use crate::check::water::Water;
use std::ops::Range;

/// Samples in one run whose numbers slipped; fewer are told one by one.
const FEWEST: usize = 4;

/// Badness that undoing must take away from each sample of a run on average.
const RELIEF_A_SAMPLE: f64 = 6.0;

/// Share of the samples of a run that must agree with themselves afterwards.
const SOUND_AFTER: f64 = 0.8;

/// Files with more samples than this are not looked through: each is held against each block.
const MOST_SAMPLES: usize = 2_000;

/// Where the true numbers stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::check) enum Toward {
    /// In the row before.
    Before,
    /// In the row after.
    After,
}

/// A run of samples whose numbers in some columns are those of their neighbours.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::check) struct Slip {
    /// Positions of the samples concerned, in the order of the report.
    pub samples: Vec<usize>,
    /// The columns, in the order of the report.
    pub substances: Vec<Substance>,
    pub toward: Toward,
    /// Samples of the run that agree with themselves as read, and with the slip undone.
    pub sound_before: usize,
    pub sound_after: usize,
    /// The waters of the run with the slip undone, in the same order.
    pub undone: Vec<Water>,
    relief: f64,
}

/// Looks for the run of slipped rows that explains most; `None` where no run does. `fits` are those of
/// `waters`.
pub(in crate::check) fn slip(
    samples: &Samples<'_>,
    group: &[&Judged<'_>],
    waters: &[Water],
    fits: &[Fit],
) -> Option<Slip> {
    if group.len() > MOST_SAMPLES {
        return None;
    }
    let is_unsound = |fit: &&Fit| fit.can_tell() && !fit.is_sound();
    if fits.iter().filter(is_unsound).count() + 1 < FEWEST {
        return None;
    }
    let order = order_of_report(samples, group);
    let fits: Vec<Fit> = order.iter().map(|i| fits[*i]).collect();
    // Slipped rows stand together; what is unsound here and there has not slipped.
    let told: Vec<bool> = (fits.iter().filter(|fit| fit.can_tell()))
        .map(Fit::is_sound)
        .collect();
    let is_sick = |run: &[bool]| run.iter().filter(|sound| **sound).count() <= 1;
    if !told.windows(FEWEST).any(is_sick) {
        return None;
    }
    let columns = columns_of_report(group, &order);
    let mut best: Option<Slip> = None;
    for first in 0..columns.len() {
        for last in first + 1..=columns.len() {
            // All columns together are the samples themselves.
            if last - first == columns.len() {
                continue;
            }
            for toward in [Toward::Before, Toward::After] {
                let block = &columns[first..last];
                let slip = hold(block, toward, &order, waters, &fits);
                if let Some(slip) = slip
                    && (best.as_ref()).is_none_or(|held| slip.relief > held.relief)
                {
                    best = Some(slip);
                }
            }
        }
    }
    best
}

/// Positions in the order in which the samples stand in the report.
fn order_of_report(samples: &Samples<'_>, group: &[&Judged<'_>]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..group.len()).collect();
    order.sort_by_cached_key(|i| {
        let entries = Substance::ALL.iter().filter_map(|s| group[*i].entry(*s));
        entries
            .map(|entry| (samples.file_of(entry), entry.sheet, entry.at))
            .min()
    });
    order
}

/// The substances of the report in the order of their columns; of their rows where samples stand side
/// by side.
fn columns_of_report(group: &[&Judged<'_>], order: &[usize]) -> Vec<Substance> {
    let Some(sample) = order.first().map(|i| group[*i]) else {
        return Vec::new();
    };
    let mut columns: Vec<_> = (super::hypothesis::SLIPPING.iter())
        .filter_map(|s| Some((sample.entry(*s)?.at, *s)))
        .collect();
    columns.sort_by_key(|(at, _)| *at);
    columns
        .into_iter()
        .map(|(_, substance)| substance)
        .collect()
}

/// Holds one block of columns against all samples; the best run of samples, where it is good enough.
fn hold(
    block: &[Substance],
    toward: Toward,
    order: &[usize],
    waters: &[Water],
    fits: &[Fit],
) -> Option<Slip> {
    let undone = |line: usize| -> Option<Water> {
        let neighbour = match toward {
            Toward::Before => line.checked_sub(1)?,
            Toward::After => line + 1,
        };
        let neighbour = &waters[*order.get(neighbour)?];
        let mut water = waters[order[line]].clone();
        for substance in block {
            water.put(*substance, neighbour.reading(*substance));
        }
        Some(water)
    };
    let trials: Vec<Option<(Water, Fit)>> = (0..order.len())
        .map(|line| {
            let water = undone(line)?;
            let fit = Fit::of(&water);
            Some((water, fit))
        })
        .collect();
    let relief = |line: usize| match &trials[line] {
        // A water that cannot be told neither helps nor harms.
        Some((_, fit)) if fit.can_tell() && fits[line].can_tell() => {
            fits[line].badness() - fit.badness()
        }
        _ => 0.0,
    };
    let (run, gone) = best_run(order.len(), relief)?;
    let told: Vec<usize> = run.filter(|line| relief(*line) != 0.0).collect();
    let n = told.len() as f64;
    let sound_before = (told.iter()).filter(|line| fits[**line].is_sound()).count();
    let after = |line: usize| trials[line].as_ref().is_some_and(|(_, fit)| fit.is_sound());
    let sound_after = told.iter().filter(|line| after(**line)).count();
    let helps = told.len() >= FEWEST
        && gone >= RELIEF_A_SAMPLE * n
        && sound_after as f64 >= SOUND_AFTER * n
        && 3 * sound_before <= sound_after;
    helps.then(|| Slip {
        samples: told.iter().map(|line| order[*line]).collect(),
        substances: block.to_vec(),
        toward,
        sound_before,
        sound_after,
        undone: (told.iter())
            .filter_map(|line| trials[*line].as_ref().map(|(water, _)| water.clone()))
            .collect(),
        relief: gone,
    })
}

/// The run of lines with the largest sum.
fn best_run(lines: usize, relief: impl Fn(usize) -> f64) -> Option<(Range<usize>, f64)> {
    let (mut best, mut start, mut sum) = (None, 0, 0.0);
    for line in 0..lines {
        if sum <= 0.0 {
            (start, sum) = (line, 0.0);
        }
        sum += relief(line);
        if sum > best.as_ref().map_or(0.0, |(_, most)| *most) {
            best = Some((start..line + 1, sum));
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::best_run;

    #[test]
    fn the_best_run_is_the_one_with_the_largest_sum() {
        let of = |numbers: &[f64]| best_run(numbers.len(), |i| numbers[i]);
        assert_eq!(of(&[-1.0, 2.0, -1.0, 3.0, -9.0, 3.5]), Some((1..4, 4.0)));
        assert_eq!(of(&[-1.0, -2.0]), None);
        assert_eq!(of(&[]), None);
    }
}
