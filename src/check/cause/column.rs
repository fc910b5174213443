//! Faults of a whole column: one explanation held against every sample of a file that has it.

use super::fit::{Fit, SOUND, Term};
use super::hypothesis::{
    Hypothesis, Undo, carbonates_as_calcium_carbonate, dilutions, exchanges, rereadings,
};
use crate::check::samples::{Column, ColumnId, Judged, Samples};
use crate::check::substance::Substance;
use crate::check::water::Water;
use std::collections::BTreeMap;

/// Fewer samples than this say nothing about a column that they do not say one by one.
const FEWEST: usize = 3;

/// Faults looked for in one file, one after the other.
const FAULTS_A_FILE: usize = 3;

/// A column fault must take away this share of the disagreement ...
const RELIEF: f64 = 0.5;
/// ... in this share of the samples that it touches ...
const IMPROVED: f64 = 0.7;
/// ... and clearly: mean relief over its standard error.
const CLEARLY: f64 = 2.5;
/// Mean disagreement a sample (sum of squares of standard deviations) from which on a column is sick.
const SICK: f64 = 3.5;
/// Standard deviations by which undoing must move a sample for it to have a say.
const TELLING: f64 = 0.7;
/// Sum of squares that must go in all: three samples two and a half standard deviations out.
const LEAST_RELIEF: f64 = 18.0;
/// Explanations nearer than this in relief, or than this share of it, fit equally well.
const EQUAL: f64 = 3.0;
const EQUAL_SHARE: f64 = 0.08;

/// Samples that are heard for one explanation: more of them make a national archive slow and no answer
/// surer (the share that improves is known to about one in a hundred).
const HEARD: usize = 2_000;

/// At most `most` of the positions, evenly spread over all of them and always the same.
pub(in crate::check) fn spread<T: Copy>(positions: &[T], most: usize) -> Vec<T> {
    if positions.len() <= most {
        return positions.to_vec();
    }
    (0..most)
        .map(|i| positions[i * positions.len() / most])
        .collect()
}

/// How many samples agree with themselves, counted both ways.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(in crate::check) struct Tally {
    /// Samples whose balance can be told, of those that were heard.
    pub balances: usize,
    /// Of these, within 2 % and within 5 % (or the same in meq/L of dilute water).
    pub within_2: usize,
    pub within_5: usize,
    /// Samples with measured and calculated conductivity, and those within 10 %.
    pub conductivities: usize,
    pub within_10: usize,
}

impl Tally {
    fn add(&mut self, fit: &Fit) {
        if let Some(residual) = fit.residual(Term::Balance) {
            self.balances += 1;
            self.within_2 += usize::from(residual.abs() <= 1.0);
            self.within_5 += usize::from(residual.abs() <= SOUND);
        }
        if let Some(ratio) = fit.conductivity_ratio {
            self.conductivities += 1;
            self.within_10 += usize::from((0.9..=1.1).contains(&ratio));
        }
    }
}

/// A hypothesis over the samples that it touches.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::check) struct Proposal {
    pub hypothesis: Hypothesis,
    pub before: Tally,
    pub after: Tally,
    /// Doubt less the disagreement that undoing takes away; the smaller the better.
    score: f64,
}

/// What ails a file's columns, best explanation first, at most three.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::check) struct ColumnFault {
    pub proposals: Vec<Proposal>,
    /// How many of the proposals fit as well as the first, itself included.
    pub equal: usize,
    /// The column of the best explanation.
    pub column: ColumnId,
    /// Positions of the samples it touches.
    pub touched: Vec<usize>,
}

impl ColumnFault {
    /// Takes the fault out of the water of a sample, where the sample has it.
    pub(in crate::check) fn undo(&self, sample: &Judged<'_>, water: &mut Water) {
        let hypothesis = &self.proposals[0].hypothesis;
        let has_column = match &hypothesis.undo {
            Undo::Scale(factors) if factors.len() == 1 => {
                (sample.entry(hypothesis.about)).is_some_and(|entry| entry.column == self.column)
            }
            // What concerns several columns is held against all samples.
            _ => true,
        };
        if has_column && Fit::of(water).can_tell() && hypothesis.touches(water) {
            *water = hypothesis.undone(water);
        }
    }
}

/// The label of each substance's column in a sample, and who has it.
type Labels = BTreeMap<(Substance, ColumnId), Vec<usize>>;

/// Looks for faults of whole columns among the samples of one file. `waters` come back as they would be
/// without the faults found, so that later checks do not tell their consequences once more.
pub(in crate::check) fn column_faults(
    samples: &Samples<'_>,
    group: &[&Judged<'_>],
    waters: &mut [Water],
) -> Vec<ColumnFault> {
    let labels = labels(group);
    let mut faults = Vec::new();
    for _ in 0..FAULTS_A_FILE {
        let Some(fault) = worst_fault(samples, &labels, waters) else {
            break;
        };
        for position in &fault.touched {
            waters[*position] = fault.proposals[0].hypothesis.undone(&waters[*position]);
        }
        faults.push(fault);
    }
    faults
}

fn labels(group: &[&Judged<'_>]) -> Labels {
    let mut labels = Labels::new();
    for (position, sample) in group.iter().enumerate() {
        for substance in Substance::ALL {
            if let Some(entry) = sample.entry(*substance) {
                (labels.entry((*substance, entry.column)).or_default()).push(position);
            }
        }
    }
    labels
}

fn worst_fault(samples: &Samples<'_>, labels: &Labels, waters: &[Water]) -> Option<ColumnFault> {
    let fits: Vec<Fit> = waters.iter().map(Fit::of).collect();
    let all: Vec<usize> = (0..waters.len()).filter(|i| fits[*i].can_tell()).collect();
    if all.len() < FEWEST {
        return None;
    }
    let mut proposals: Vec<(Proposal, ColumnId, Vec<usize>)> = Vec::new();
    for (hypothesis, column, having) in candidates(samples, labels, &all) {
        let touched: Vec<usize> = (having.into_iter())
            .filter(|i| fits[*i].can_tell() && hypothesis.touches(&waters[*i]))
            .collect();
        if let Some(proposal) = hold(hypothesis, &spread(&touched, HEARD), waters, &fits) {
            proposals.push((proposal, column, touched));
        }
    }
    proposals.sort_by(|a, b| a.0.score.total_cmp(&b.0.score));
    proposals.truncate(3);
    let (best, column, touched) = proposals.first().cloned()?;
    let equal = (proposals.iter())
        .filter(|(proposal, ..)| proposal.score - best.score < EQUAL.max(EQUAL_SHARE * -best.score))
        .count();
    Some(ColumnFault {
        proposals: proposals
            .into_iter()
            .map(|(proposal, ..)| proposal)
            .collect(),
        equal,
        column,
        touched,
    })
}

/// Every hypothesis with the column it is about and the samples that have that column.
fn candidates(
    samples: &Samples<'_>,
    labels: &Labels,
    all: &[usize],
) -> Vec<(Hypothesis, ColumnId, Vec<usize>)> {
    let mut candidates = Vec::new();
    let mut first: BTreeMap<Substance, ColumnId> = BTreeMap::new();
    for ((substance, id), having) in labels {
        first.entry(*substance).or_insert(*id);
        for hypothesis in rereadings(*substance, samples.column(*id)) {
            candidates.push((hypothesis, *id, having.clone()));
        }
    }
    let column = |substance: Substance| -> Option<(&Column, ColumnId)> {
        let id = *first.get(&substance)?;
        Some((samples.column(id), id))
    };
    if let (Some((bicarbonate, id)), Some((carbonate, _))) =
        (column(Substance::Bicarbonate), column(Substance::Carbonate))
        && let Some(hypothesis) = carbonates_as_calcium_carbonate(bicarbonate, carbonate)
    {
        candidates.push((hypothesis, id, all.to_vec()));
    }
    let factor = |substance| column(substance).and_then(|(column, _)| column.factor);
    for hypothesis in exchanges(factor).into_iter().chain(dilutions()) {
        if let Some((_, id)) = column(hypothesis.about) {
            candidates.push((hypothesis, id, all.to_vec()));
        }
    }
    candidates
}

/// Holds one hypothesis against the samples it touches; `None` when it does not help clearly. Only
/// samples that it moves have a say: nitrate says nothing where there is hardly any.
fn hold(
    hypothesis: Hypothesis,
    touched: &[usize],
    waters: &[Water],
    fits: &[Fit],
) -> Option<Proposal> {
    let (mut before, mut after) = (Tally::default(), Tally::default());
    let mut relief = Vec::with_capacity(touched.len());
    let (mut bad, mut left) = (0.0, 0.0);
    for i in touched {
        let fit = Fit::of(&hypothesis.undone(&waters[*i]));
        before.add(&fits[*i]);
        after.add(&fit);
        if fits[*i].moved(&fit) < TELLING {
            continue;
        }
        let (old, new) = (fits[*i].badness(), fit.badness());
        bad += old;
        left += new;
        relief.push(old - new);
    }
    if relief.len() < FEWEST {
        return None;
    }
    let n = relief.len() as f64;
    let improved = relief.iter().filter(|r| **r > 0.0).count() as f64 / n;
    let average = relief.iter().sum::<f64>() / n;
    let variance = relief.iter().map(|r| (r - average).powi(2)).sum::<f64>() / n;
    // Even samples that all agree say no more than this exactly.
    let error = (variance / n).sqrt().max(0.1);
    let helps = bad / n >= SICK
        && bad - left >= LEAST_RELIEF
        && left <= RELIEF * bad
        && improved >= IMPROVED
        && average / error >= CLEARLY;
    helps.then_some(Proposal {
        score: left - bad + 2.0 * hypothesis.doubt,
        hypothesis,
        before,
        after,
    })
}

#[cfg(test)]
mod tests {
    use super::spread;

    #[test]
    fn a_spread_is_even_and_never_more_than_asked_for() {
        let all: Vec<usize> = (0..10).collect();
        assert_eq!(spread(&all, 5), [0, 2, 4, 6, 8]);
        assert_eq!(spread(&all, 10), all);
        assert_eq!(spread(&all, 20), all);
        assert!(spread::<usize>(&[], 3).is_empty());
    }
}
