//! Faults of a whole column: one explanation held against every sample of a file that has it.

use super::fit::{Fit, SOUND, Term, Yardstick};
use super::hypothesis::{
    Fault, Hypothesis, Undo, carbonates_as_calcium_carbonate, dilutions, exchanges, rereadings,
};
use super::usual::{CAP, Usual, median};
use crate::check::samples::{Column, ColumnId, Judged, Samples};
use crate::check::substance::Substance;
use crate::check::water::Water;
use rayon::prelude::*;
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::{Mutex, PoisonError};

/// Fewer samples than this say nothing about a column that they do not say one by one.
const FEWEST: usize = 3;

/// Faults looked for in one file, one after the other.
const FAULTS_A_FILE: usize = 3;

/// Undoing a column fault must make this share of the samples that it moves better ...
const IMPROVED: f64 = 0.7;
/// ... clearly: mean relief over its standard error ...
const CLEARLY: f64 = 2.5;
/// ... and leave either this share of the disagreement, or so little a sample (sum of squares of
/// standard deviations) as sound reports show.
const LEFT: f64 = 0.5;
const LEFT_A_SAMPLE: f64 = 3.0;
/// Standard deviations by which undoing must move a sample for it to have a say.
const TELLING: f64 = 0.7;
/// Sum of squares that must go in all, beyond the doubt: some four standard deviations.
const LEAST_RELIEF: f64 = 14.0;
/// What more samples than this share is no longer chance, but may be a habit of the file that no
/// explanation here knows.
const ENOUGH: f64 = 60.0;
/// Explanations nearer than this in relief, or than this share of it, fit equally well.
const EQUAL: f64 = 3.0;
const EQUAL_SHARE: f64 = 0.08;

/// Doubt that all samples of a file were diluted and that it was forgotten for all.
const DILUTION_OF_ALL: f64 = 4.0;

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

/// What the sources' own history in other files says of the column.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::check) struct History {
    /// Numbers whose source has a history.
    pub samples: usize,
    /// Of these, within two spreads of it.
    pub before: usize,
    pub after: usize,
    /// Sum of squares that undoing takes away.
    relief: f64,
}

/// A hypothesis over the samples that it touches.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::check) struct Proposal {
    pub hypothesis: Hypothesis,
    pub before: Tally,
    pub after: Tally,
    pub history: Option<History>,
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

/// Looks for faults of whole columns among the samples of one file. `waters`, and `fits`, which are
/// theirs, come back as they would be without the faults found, so that later checks do not tell their
/// consequences once more. `elsewhere` is what is usual for the source of each sample in other files.
pub(in crate::check) fn column_faults<'f>(
    samples: &'f Samples<'_>,
    group: &[&Judged<'_>],
    waters: &mut [Water],
    fits: &mut [Fit],
    elsewhere: &'f [Option<&Usual>],
) -> (Vec<ColumnFault>, Leanings<'f>) {
    let labels = labels(samples, group);
    let mut faults = Vec::new();
    let mut last_heard = None;
    for _ in 0..FAULTS_A_FILE {
        let heard = Heard::of(waters, fits, elsewhere);
        let fault = (heard.as_ref()).and_then(|heard| worst_fault(samples, &labels, heard));
        last_heard = heard.map(Heard::kept);
        let Some(fault) = fault else {
            break;
        };
        for position in &fault.touched {
            let undone = fault.proposals[0].hypothesis.undone(&waters[*position]);
            fits[*position] = Fit::of(&undone);
            waters[*position] = undone;
        }
        faults.push(fault);
    }
    let leanings = Leanings {
        samples,
        labels,
        heard: last_heard,
        known: Mutex::default(),
    };
    (faults, leanings)
}

/// Which way the samples of a file lean on rereadings that are not clear enough to be told. Each is found
/// out when it is asked for: mostly nobody asks.
pub(in crate::check) struct Leanings<'f> {
    samples: &'f Samples<'f>,
    labels: Labels,
    /// `None` where too few can tell.
    heard: Option<Heard<'f, 'f>>,
    known: Mutex<BTreeMap<(ColumnId, usize), f64>>,
}

impl Leanings<'_> {
    /// The disagreement that a rereading of a column would take away from its samples; `None` where the
    /// file has no such rereading. Of several columns of one substance the last counts.
    pub(in crate::check) fn relief(&self, hypothesis: &Hypothesis) -> Option<f64> {
        let heard = self.heard.as_ref()?;
        let about = hypothesis.about;
        let columns = self
            .labels
            .range((about, ColumnId(0))..=(about, ColumnId(u32::MAX)));
        columns.rev().find_map(|((_, id), having)| {
            let rereadings = rereadings(about, self.samples.column(*id));
            let position = (rereadings.iter()).position(|h| h.words == hypothesis.words)?;
            let key = (*id, position);
            let known = || self.known.lock().unwrap_or_else(PoisonError::into_inner);
            if let Some(relief) = known().get(&key) {
                return Some(*relief);
            }
            let rereading = &rereadings[position];
            let touched = spread(&heard.touched(rereading, having), HEARD);
            let relief = heard.relief(rereading, &touched);
            known().insert(key, relief);
            Some(relief)
        })
    }
}

fn labels(samples: &Samples<'_>, group: &[&Judged<'_>]) -> Labels {
    let mut labels = Labels::new();
    for (position, sample) in group.iter().enumerate() {
        for entry in sample.ranked.chosen() {
            if let Some(substance) = samples.column(entry.column).substance {
                (labels.entry((substance, entry.column)).or_default()).push(position);
            }
        }
    }
    labels
}

fn worst_fault(
    samples: &Samples<'_>,
    labels: &Labels,
    heard: &Heard<'_, '_>,
) -> Option<ColumnFault> {
    // So many for one thread as have something to do; mostly some eight hypotheses to a question.
    let at_once = HEARD.div_ceil(8 * heard.all.len());
    let mut proposals: Vec<(Proposal, ColumnId, Vec<usize>)> =
        (questions(samples, labels, &heard.all).into_par_iter())
            .with_min_len(at_once)
            .flat_map_iter(|question| {
                let Some(first) = question.hypotheses.first() else {
                    return Vec::new();
                };
                let touched = heard.touched(first, question.having);
                let asked = spread(&touched, HEARD);
                let as_read = heard.as_read(first, &asked);
                (question.hypotheses.into_iter())
                    .filter_map(|hypothesis| heard.hold(hypothesis, &as_read))
                    .map(|proposal| (proposal, question.column, touched.clone()))
                    .collect()
            })
            .collect();
    proposals.sort_by(|a, b| a.0.score.total_cmp(&b.0.score));
    // Of several dilutions only the best is worth saying.
    let mut dilutions = 0;
    proposals.retain(|(proposal, ..)| {
        dilutions += usize::from(proposal.hypothesis.fault == Fault::Dilution);
        proposal.hypothesis.fault != Fault::Dilution || dilutions == 1
    });
    proposals.truncate(3);
    let (best, column, touched) = proposals.first().cloned()?;
    // What brings fewer than half as many into balance explains nothing.
    let balanced = |proposal: &Proposal| proposal.after.within_5;
    proposals.retain(|(proposal, ..)| 2 * balanced(proposal) >= balanced(&best));
    let equal = (proposals.iter())
        .take_while(|(proposal, ..)| {
            proposal.score - best.score < EQUAL.max(EQUAL_SHARE * -best.score)
                && 5 * balanced(proposal) >= 4 * balanced(&best)
        })
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

/// Hypotheses that would change the same numbers, each by another factor.
struct Question<'h> {
    hypotheses: Vec<Hypothesis>,
    /// What they are about.
    column: ColumnId,
    /// Positions of the samples that have it.
    having: &'h [usize],
}

/// Every hypothesis.
fn questions<'h>(samples: &Samples<'_>, labels: &'h Labels, all: &'h [usize]) -> Vec<Question<'h>> {
    let mut questions = Vec::new();
    let mut first: BTreeMap<Substance, ColumnId> = BTreeMap::new();
    for ((substance, id), having) in labels {
        first.entry(*substance).or_insert(*id);
        questions.push(Question {
            hypotheses: rereadings(*substance, samples.column(*id)),
            column: *id,
            having,
        });
    }
    let column = |substance: Substance| -> Option<(&Column, ColumnId)> {
        let id = *first.get(&substance)?;
        Some((samples.column(id), id))
    };
    let mut of_several = |hypotheses: Vec<Hypothesis>| {
        if let Some((_, column)) = (hypotheses.first()).and_then(|first| column(first.about)) {
            questions.push(Question {
                hypotheses,
                column,
                having: all,
            });
        }
    };
    if let (Some((bicarbonate, _)), Some((carbonate, _))) =
        (column(Substance::Bicarbonate), column(Substance::Carbonate))
    {
        let hypothesis = carbonates_as_calcium_carbonate(bicarbonate, carbonate);
        of_several(hypothesis.into_iter().collect());
    }
    let factor = |substance| column(substance).and_then(|(column, _)| column.factor);
    for exchange in exchanges(factor) {
        of_several(vec![exchange]);
    }
    // A laboratory forgets the dilution of one sample, hardly that of all.
    let dilutions = dilutions().into_iter().map(|hypothesis| Hypothesis {
        doubt: hypothesis.doubt + DILUTION_OF_ALL,
        ..hypothesis
    });
    of_several(dilutions.collect());
    questions
}

/// What is known of the samples that a hypothesis touches before it is undone.
struct AsRead<'t> {
    /// Positions of the samples.
    touched: &'t [usize],
    /// Their disagreement.
    bad: f64,
    /// Of each number concerned how far it is from the history of the sources, where enough have one.
    deviations: Vec<Deviations>,
    /// All of the disagreement with histories: no hypothesis takes away more.
    far: f64,
}

/// How far the numbers of one substance are from the history of their sources, in spreads.
struct Deviations {
    substance: Substance,
    /// By position of the sample.
    spreads: Vec<(usize, f64)>,
    far: f64,
}

/// The samples of a file that explanations are held against.
struct Heard<'w, 'f> {
    waters: Cow<'w, [Water]>,
    fits: Cow<'w, [Fit]>,
    /// In scatters of the file.
    scaled: Vec<Fit>,
    yardstick: Yardstick,
    elsewhere: &'f [Option<&'f Usual>],
    /// Positions of those that can tell.
    all: Vec<usize>,
}

impl<'w, 'f> Heard<'w, 'f> {
    /// `fits` are those of the waters; `None` where too few can tell.
    fn of(
        waters: &'w [Water],
        fits: &'w [Fit],
        elsewhere: &'f [Option<&'f Usual>],
    ) -> Option<Self> {
        let all: Vec<usize> = (0..waters.len()).filter(|i| fits[*i].can_tell()).collect();
        if all.len() < FEWEST {
            return None;
        }
        let yardstick = Yardstick::of(fits);
        let scaled = fits.iter().map(|fit| yardstick.scaled(fit)).collect();
        Some(Self {
            waters: Cow::Borrowed(waters),
            fits: Cow::Borrowed(fits),
            scaled,
            yardstick,
            elsewhere,
            all,
        })
    }

    /// With waters and fits of its own.
    fn kept(self) -> Heard<'f, 'f> {
        Heard {
            waters: Cow::Owned(self.waters.into_owned()),
            fits: Cow::Owned(self.fits.into_owned()),
            scaled: self.scaled,
            yardstick: self.yardstick,
            elsewhere: self.elsewhere,
            all: self.all,
        }
    }

    /// Positions of those of `having` that undoing changes.
    fn touched(&self, hypothesis: &Hypothesis, having: &[usize]) -> Vec<usize> {
        (having.iter().copied())
            .filter(|i| self.fits[*i].can_tell() && hypothesis.touches(&self.waters[*i]))
            .collect()
    }

    /// The samples `touched` as they are.
    fn as_read<'t>(&self, hypothesis: &Hypothesis, touched: &'t [usize]) -> AsRead<'t> {
        let fits: Vec<Fit> = touched.iter().map(|i| self.scaled[*i]).collect();
        let deviations: Vec<Deviations> = (hypothesis.substances().into_iter())
            .filter_map(|substance| {
                let spreads: Vec<(usize, f64)> = (touched.iter())
                    .filter_map(|i| {
                        let usual = self.elsewhere[*i]?;
                        let water = &self.waters[*i];
                        let undone = hypothesis.undone_reading(substance, water)?;
                        let is_compared = undone.censored.is_none() && undone.value > 0.0;
                        let was = usual.spreads(substance, water).filter(|_| is_compared)?;
                        Some((*i, was))
                    })
                    .collect();
                (spreads.len() >= FEWEST).then(|| Deviations {
                    substance,
                    far: far(&mut spreads.iter().map(|(_, was)| *was).collect::<Vec<_>>()),
                    spreads,
                })
            })
            .collect();
        AsRead {
            touched,
            bad: self.yardstick.together(&fits),
            far: deviations.iter().map(|of| of.far).sum(),
            deviations,
        }
    }

    fn undone(&self, hypothesis: &Hypothesis, position: usize) -> Fit {
        Fit::of(&hypothesis.undone(&self.waters[position]))
    }

    /// The disagreement that a hypothesis takes away from the samples it touches.
    fn relief(&self, hypothesis: &Hypothesis, touched: &[usize]) -> f64 {
        let new: Vec<Fit> = (touched.iter())
            .map(|i| self.yardstick.scaled(&self.undone(hypothesis, *i)))
            .collect();
        let as_read = self.as_read(hypothesis, touched);
        let history = self.history(hypothesis, &as_read);
        let known = history.map_or(0.0, |history| history.relief);
        as_read.bad - self.yardstick.together(&new) + known
    }

    /// Holds one hypothesis against the samples it touches; `None` when it does not help clearly. Only
    /// samples that it moves have a say: nitrate says nothing where there is hardly any.
    fn hold(&self, hypothesis: Hypothesis, as_read: &AsRead<'_>) -> Option<Proposal> {
        let AsRead { touched, bad, .. } = *as_read;
        let needed = LEAST_RELIEF + 2.0 * hypothesis.doubt;
        // More than all of the disagreement cannot be taken away.
        if bad + as_read.far < needed {
            return None;
        }
        let history = self.history(&hypothesis, as_read);
        let known = history.map_or(0.0, |history| history.relief);
        if bad + known < needed {
            return None;
        }
        // Even if all others improved, more would be too many.
        let most = (1.0 - IMPROVED) * touched.len() as f64 + 1.0;
        if known < needed && self.surely_not_improved(&hypothesis, touched, most) > most {
            return None;
        }
        let (mut before, mut after) = (Tally::default(), Tally::default());
        let mut new = Vec::with_capacity(touched.len());
        let mut relief = Vec::with_capacity(touched.len());
        let mut not_improved = 0.0;
        for i in touched {
            let fit = self.undone(&hypothesis, *i);
            before.add(&self.fits[*i]);
            after.add(&fit);
            let (was, is) = (&self.scaled[*i], self.yardstick.scaled(&fit));
            if was.moved(&is) >= TELLING {
                let gone = was.badness() - is.badness();
                relief.push(gone);
                not_improved += if gone > 0.0 { 0.0 } else { 1.0 };
                if not_improved > most && known < needed {
                    return None;
                }
            }
            new.push(is);
        }
        let left = self.yardstick.together(&new);
        let gone = (bad - left) * (ENOUGH / relief.len() as f64).min(1.0);
        let so_little = LEFT_A_SAMPLE * touched.len() as f64;
        let by_numbers = is_clear(&relief)
            && gone + known >= needed
            && (left <= LEFT * bad || left <= so_little);
        // What no balance shows a history does, if the balance has nothing against it.
        let by_history = known >= needed && left - bad <= 0.25 * known;
        (by_numbers || by_history).then_some(Proposal {
            score: left - bad - known + 2.0 * hypothesis.doubt,
            hypothesis,
            before,
            after,
            history,
        })
    }

    /// How many of the samples touched do not improve, as far as that is plain from their balance;
    /// counted until it is more than `most`.
    fn surely_not_improved(&self, hypothesis: &Hypothesis, touched: &[usize], most: f64) -> f64 {
        let mut not_improved = 0.0;
        for i in touched {
            let Some(shift) = hypothesis.shift(&self.waters[*i]) else {
                continue;
            };
            let (fit, scaled) = (&self.fits[*i], &self.scaled[*i]);
            if fit.is_no_better_with(shift, scaled, &self.yardstick, TELLING) {
                not_improved += 1.0;
                if not_improved > most {
                    break;
                }
            }
        }
        not_improved
    }

    /// What the history of the sources says; `None` where too few have one.
    fn history(&self, hypothesis: &Hypothesis, as_read: &AsRead<'_>) -> Option<History> {
        let mut history = History {
            samples: 0,
            before: 0,
            after: 0,
            relief: 0.0,
        };
        let is_near = |spreads: f64| usize::from(spreads.abs() <= 2.0);
        for old in &as_read.deviations {
            let mut new: Vec<f64> = (old.spreads.iter())
                .filter_map(|(i, _)| {
                    let undone = hypothesis.undone_reading(old.substance, &self.waters[*i])?;
                    self.elsewhere[*i]?.spreads_of(old.substance, undone.value)
                })
                .collect();
            // A number that vanishes when it is undone tells nothing.
            if new.len() < old.spreads.len() {
                continue;
            }
            history.samples += old.spreads.len();
            history.before += (old.spreads.iter())
                .map(|(_, was)| is_near(*was))
                .sum::<usize>();
            history.after += new.iter().map(|is| is_near(*is)).sum::<usize>();
            history.relief += old.far - far(&mut new);
        }
        (history.samples > 0).then_some(history)
    }
}

/// Spreads by which all sources of a file may be off together: another laboratory, a wet year.
const BIAS: f64 = 0.5;

/// How far numbers are from the history of their sources, in spreads; what they share counts once.
fn far(deviations: &mut [f64]) -> f64 {
    let shared = median(deviations);
    let own: f64 = (deviations.iter())
        .map(|d| (d - shared).powi(2).min(CAP))
        .sum();
    own + shared.powi(2) / (1.0 / deviations.len() as f64 + BIAS.powi(2))
}

/// Whether undoing helps most of the samples that it moves, and more than by chance.
fn is_clear(relief: &[f64]) -> bool {
    if relief.len() < FEWEST {
        return false;
    }
    let n = relief.len() as f64;
    let improved = relief.iter().filter(|r| **r > 0.0).count() as f64 / n;
    let average = relief.iter().sum::<f64>() / n;
    let variance = relief.iter().map(|r| (r - average).powi(2)).sum::<f64>() / n;
    // Even samples that all agree say no more than this exactly.
    let error = (variance / n).sqrt().max(0.1);
    improved >= IMPROVED && average / error >= CLEARLY
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
