//! Faults of a single sample: one cell, two neighbours, or all its ions.

use super::fit::{Fit, SOUND, Term};
use super::hypothesis::{
    Fault, Hypothesis, decimal_slips, dilutions, exchanges, missing_ions, rereadings,
};
use super::usual::Usual;
use crate::check::figure::charge::charges;
use crate::check::samples::{Judged, Samples};
use crate::check::substance::Substance;
use crate::check::water::Water;

/// An explanation must take away this much disagreement beyond its doubt.
const RELIEF: f64 = 4.0;

/// ... and much more where the sample agrees with itself and is only strange.
const RELIEF_OF_STRANGE: f64 = 14.0;

/// Explanations nearer than this fit equally well.
const EQUAL: f64 = 1.5;

/// Doubt that one cell alone was reported in another unit or basis: mostly whole columns are.
const ONE_CELL_REREAD: f64 = 1.5;

/// Doubt that an ion is missing which the samples beside it lack as well.
const NOBODY_HAS_IT: f64 = 1.5;

#[derive(Clone, Debug, PartialEq)]
pub(in crate::check) struct SampleProposal {
    pub hypothesis: Hypothesis,
    pub after: Fit,
    score: f64,
}

/// What would explain a sample, best first, at most three; empty when nothing does.
#[derive(Clone, Debug, Default, PartialEq)]
pub(in crate::check) struct SampleFault {
    pub proposals: Vec<SampleProposal>,
    /// How many fit as well as the first, itself included.
    pub equal: usize,
}

/// Looks for the single fault of a sample that does not agree with itself, or with its own kind.
pub(in crate::check) fn sample_fault(
    samples: &Samples<'_>,
    sample: &Judged<'_>,
    water: &Water,
    usual: Option<&Usual>,
) -> SampleFault {
    let before = Fit::of(water);
    let strange = |water: &Water| usual.map_or(0.0, |usual| usual.strangeness(water));
    let before_badness = before.badness() + strange(water);
    // Only strange: a file's waters differ anyway, so all that counts there is an exchange.
    let sound = before.is_sound();
    let of_source = usual.is_some_and(|usual| usual.of_source);
    let relief = if sound { RELIEF_OF_STRANGE } else { RELIEF };
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
        let undone = hypothesis.undone(water);
        let after = Fit::of(&undone);
        if !after.is_sound() || !after.can_tell() {
            continue;
        }
        // Supplying an ion adds an analyte that was not judged before; no credit for that.
        let score = after.badness() + strange(&undone) + 2.0 * hypothesis.doubt;
        if before_badness - score >= relief {
            proposals.push(SampleProposal {
                hypothesis,
                after,
                score,
            });
        }
    }
    proposals.sort_by(|a, b| a.score.total_cmp(&b.score));
    let equal = (proposals.iter())
        .filter(|p| p.score - proposals[0].score < EQUAL)
        .count();
    proposals.truncate(3);
    SampleFault {
        equal: equal.min(proposals.len()),
        proposals,
    }
}

fn candidates(samples: &Samples<'_>, sample: &Judged<'_>, water: &Water) -> Vec<Hypothesis> {
    let mut all = Vec::new();
    for substance in Substance::ALL {
        if let Some(entry) = sample.entry(*substance) {
            let column = samples.column(entry.column);
            all.extend(rereadings(*substance, column).into_iter().map(|mut h| {
                h.doubt += ONE_CELL_REREAD;
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
/// its own source (a history sees what no balance shows) or, in two ions at once, for its file.
pub(in crate::check) fn needs_explanation(fit: &Fit, water: &Water, usual: Option<&Usual>) -> bool {
    let apart = [Term::Balance, Term::Conductivity]
        .into_iter()
        .filter_map(|term| fit.residual(term))
        .any(|residual| residual.abs() > SOUND);
    apart || usual.is_some_and(|usual| usual.strangeness(water) > STRANGE)
}

/// Sum of squared deviations from the usual: one number five spreads away, or two at four.
const STRANGE: f64 = 15.0;
