//! Faults of a single sample: one cell, two neighbours, or all its ions.

use super::column::Leanings;
use super::fit::{Fit, SOUND, Term, Yardstick};
use super::hypothesis::{
    Fault, Hypothesis, decimal_slips, dilutions, exchanges, is_metal, missing_ions, rereadings,
};
use super::usual::Usual;
use crate::check::figure::charge::charges;
use crate::check::samples::{Judged, Samples};
use crate::check::substance::Substance;
use crate::check::water::Water;

/// An explanation must take away this much disagreement beyond its doubt.
const RELIEF: f64 = 4.0;

/// ... more where it agrees with itself as laboratories go, though not as this one does ...
const RELIEF_WITHIN_BOUNDS: f64 = 12.0;

/// ... and much more where it is only strange, for its source or for its file.
const RELIEF_OF_STRANGE: f64 = 14.0;
const RELIEF_OF_STRANGER: f64 = 20.0;

/// Explanations nearer than this fit equally well ...
const EQUAL: f64 = 1.5;
/// ... and so do those whose numbers fit as well and that are not much harder to believe.
const EQUAL_NUMBERS: f64 = 1.0;
const MUCH_HARDER: f64 = 5.0;
/// What fits worse than the best by more than this is no second opinion.
const WORTH_SAYING: f64 = 9.0;

/// A balance that holds so well, in standard deviations (2 % of charge balance) ...
const BALANCED: f64 = 1.0;
/// ... speaks against what would take it so much further off (as much again).
const SPOILT: f64 = 1.0;

/// Share of a disagreement that may be left where it is explained.
const LEFT: f64 = 0.5;

/// Sum of squares by which the whole column must lean on an explanation.
const LEANING: f64 = 6.0;

/// Doubt that one cell alone was reported in another unit or basis: mostly whole columns are.
const ONE_CELL_REREAD: f64 = 1.0;

/// Doubt that an ion is missing which the samples beside it lack as well.
const NOBODY_HAS_IT: f64 = 1.5;

#[derive(Clone, Debug, PartialEq)]
pub(in crate::check) struct SampleProposal {
    pub hypothesis: Hypothesis,
    /// As it stands, not against the file.
    pub after: Fit,
    /// Disagreement left, in scatters of the file.
    badness: f64,
    score: f64,
}

/// What would explain a sample, best first, at most three; empty when nothing does.
#[derive(Clone, Debug, Default, PartialEq)]
pub(in crate::check) struct SampleFault {
    pub proposals: Vec<SampleProposal>,
    /// How many fit as well as the first, itself included.
    pub equal: usize,
}

/// Looks for the single fault of a sample that does not agree with itself, or with its own kind. `plain`
/// is the water's fit.
pub(in crate::check) fn sample_fault(
    samples: &Samples<'_>,
    sample: &Judged<'_>,
    water: &Water,
    plain: &Fit,
    usual: Option<&Usual>,
    yardstick: &Yardstick,
    leanings: &Leanings<'_>,
) -> SampleFault {
    let before = plain.against(yardstick);
    let strange = |water: &Water| usual.map_or(0.0, |usual| usual.strangeness(water));
    let before_badness = before.badness() + strange(water);
    // Only strange: a file's waters differ anyway, so all that counts there is an exchange.
    let sound = before.is_sound();
    let of_source = usual.is_some_and(|usual| usual.of_source);
    let relief = match (plain.is_sound(), sound) {
        (true, true) if of_source => RELIEF_OF_STRANGE,
        (true, true) => RELIEF_OF_STRANGER,
        (true, false) => RELIEF_WITHIN_BOUNDS,
        (false, _) => RELIEF,
    };
    let mut proposals: Vec<SampleProposal> = Vec::new();
    for mut hypothesis in candidates(samples, sample, water) {
        // What no sample of the file reports is not this sample's fault.
        if hypothesis.fault == Fault::Missing
            && usual.is_some_and(|usual| usual.middle(hypothesis.about).is_none())
        {
            hypothesis.doubt += NOBODY_HAS_IT;
        }
        let idle = sound && !of_source && hypothesis.fault != Fault::Exchange;
        if idle || !hypothesis.touches(water) {
            continue;
        }
        let shift = hypothesis.shift(water);
        if shift.is_some_and(|shift| plain.is_off_with(shift, yardstick)) {
            continue;
        }
        let undone = hypothesis.undone(water);
        let Some(undone_fit) = Fit::if_sound(&undone, yardstick) else {
            continue;
        };
        // A source that changed is strange too, but its ions still balance. Numbers do not change ten
        // times, nor with each other.
        let is_rereading = matches!(hypothesis.fault, Fault::Basis | Fault::Unit);
        if is_rereading && plain.is_sound() && spoils_balance(plain, &undone_fit) {
            continue;
        }
        let after = undone_fit.against(yardstick);
        if !sound && after.badness() > LEFT * before.badness() {
            continue;
        }
        // Supplying an ion adds an analyte that was not judged before; no credit for that.
        let left = after.badness() + strange(&undone);
        if before_badness - (left + 2.0 * hypothesis.doubt) < relief {
            continue;
        }
        hypothesis.doubt += lean(&hypothesis, leanings);
        let score = left + 2.0 * hypothesis.doubt;
        if before_badness - score >= relief {
            proposals.push(SampleProposal {
                hypothesis,
                after: undone_fit,
                badness: after.badness(),
                score,
            });
        }
    }
    proposals.sort_by(|a, b| a.score.total_cmp(&b.score));
    leave_one_of_a_kind(&mut proposals);
    let best = proposals.first().map_or(0.0, |best| best.score);
    proposals.retain(|proposal| proposal.score - best <= WORTH_SAYING);
    let equal = (proposals.iter())
        .take_while(|p| fits_as_well(p, &proposals[0]))
        .count();
    proposals.truncate(3);
    SampleFault {
        equal: equal.min(proposals.len()),
        proposals,
    }
}

/// Whether undoing takes a water that balances well clearly further off.
fn spoils_balance(before: &Fit, after: &Fit) -> bool {
    let off = |fit: &Fit| fit.residual(Term::Balance).map(f64::abs);
    let pair = off(before).zip(off(after));
    pair.is_some_and(|(was, is)| was <= BALANCED && is > was + SPOILT)
}

/// Of several decimal places, or of several dilutions, only the best is worth saying.
fn leave_one_of_a_kind(proposals: &mut Vec<SampleProposal>) {
    let mut told = Vec::new();
    proposals.retain(|proposal| {
        let hypothesis = &proposal.hypothesis;
        let kind = (hypothesis.fault, hypothesis.about);
        let one_of_many = matches!(hypothesis.fault, Fault::Decimal | Fault::Dilution);
        let first = !one_of_many || !told.contains(&kind);
        told.push(kind);
        first
    });
}

fn fits_as_well(one: &SampleProposal, best: &SampleProposal) -> bool {
    let harder = one.score - best.score;
    let worse = one.badness - best.badness;
    harder < EQUAL || worse < EQUAL_NUMBERS && harder < MUCH_HARDER
}

/// What the other samples of the column have to say: where they lean on the same explanation it is the
/// column's, else this cell's alone.
fn lean(hypothesis: &Hypothesis, leanings: &Leanings<'_>) -> f64 {
    if !matches!(hypothesis.fault, Fault::Basis | Fault::Unit) {
        return 0.0;
    }
    match leanings.relief(hypothesis) {
        Some(relief) if relief >= LEANING => 0.0,
        _ => ONE_CELL_REREAD,
    }
}

fn candidates(samples: &Samples<'_>, sample: &Judged<'_>, water: &Water) -> Vec<Hypothesis> {
    let mut all = Vec::new();
    for substance in Substance::ALL {
        // One cell of a trace metal explains no balance.
        if let Some(entry) = sample.entry(*substance).filter(|_| !is_metal(*substance)) {
            let column = samples.column(entry.column);
            all.extend(rereadings(*substance, column).into_iter().map(|mut h| {
                // A mapping speaks of whole columns.
                h.rule = None;
                h
            }));
        }
    }
    let factor = |substance: Substance| {
        let entry = sample.entry(substance)?;
        samples.column(entry.column).factor
    };
    all.extend(exchanges(factor));
    all.extend(decimal_slips(water));
    all.extend(dilutions());
    let charges = charges(water, 0.5, 0.5);
    let sums = charges.cations.zip(charges.anions);
    if let Some((cations, anions)) = sums {
        all.extend(missing_ions(water, cations, anions));
    }
    all
}

/// Whether a sample needs an explanation: it does not agree with itself, or it agrees but is strange for
/// its own source (a history sees what no balance shows) or, in two ions at once, for its file. `fit`
/// is the water's.
pub(in crate::check) fn needs_explanation(
    water: &Water,
    fit: &Fit,
    usual: Option<&Usual>,
    yardstick: &Yardstick,
) -> bool {
    let fit = fit.against(yardstick);
    let apart = [Term::Balance, Term::Conductivity]
        .into_iter()
        .filter_map(|term| fit.residual(term))
        .any(|residual| residual.abs() > SOUND);
    apart || usual.is_some_and(|usual| usual.strangeness(water) > STRANGE)
}

/// Sum of squared deviations from the usual: one number five spreads away, or two at four.
const STRANGE: f64 = 15.0;
