//! How well a water agrees with itself: charge balance, conductivity, and whatever else the report
//! says twice. The yardstick that explanations are held against.

use super::usual::median;
use crate::check::figure::charge::{Charges, calcium, charges, magnesium};
use crate::check::figure::{conductivity, hardness, sodium, solids};
use crate::check::substance::{CACO3_PER_MG, Substance};
use crate::check::water::Water;

/// One standard deviation of each agreement in sound reports. From Standard Methods 1030E's acceptance
/// bands (about two and a half of these) and from our own tally over published data; judgement.
mod spread {
    /// Of the difference of the sums, as share of both sums ...
    pub(super) const BALANCE: f64 = 0.02;
    /// ... but never less than this, meq/L: rounding in dilute water.
    pub(super) const BALANCE_MEQ: f64 = 0.08;
    /// Of the logarithm of calculated to measured conductivity.
    pub(super) const CONDUCTIVITY: f64 = 0.06;
    /// µS/cm: what carbon dioxide and rounding do to a dilute water.
    pub(super) const CONDUCTIVITY_US_CM: f64 = 6.0;
    pub(super) const HARDNESS: f64 = 0.04;
    pub(super) const SOLIDS: f64 = 0.15;
    pub(super) const ALKALINITY: f64 = 0.05;
    pub(super) const ADSORPTION: f64 = 0.06;
}

/// What two statements of a report can disagree about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::check) enum Term {
    Balance,
    Conductivity,
    Hardness,
    Solids,
    Alkalinity,
    Adsorption,
    /// Not a disagreement: how far conductivity and the sum of cations are from any water that is used
    /// for growing. Decides between 'conductivity in mS/cm' and 'all ions a thousand times too large'.
    Plausible,
}

const TERMS: usize = 7;

/// Disagreements in standard deviations, signed; `None` where there are no two statements to compare.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(in crate::check) struct Fit {
    residuals: [Option<f64>; TERMS],
    /// 100 (C − A) / (C + A).
    pub balance_percent: Option<f64>,
    /// Calculated over measured.
    pub conductivity_ratio: Option<f64>,
    /// Cations and anions, meq/L.
    sums: Option<(f64, f64)>,
}

/// The difference of the sums in standard deviations.
fn unbalance((cations, anions): (f64, f64)) -> f64 {
    let width = (spread::BALANCE * (cations + anions)).max(spread::BALANCE_MEQ);
    (cations - anions) / width
}

/// Sums that are added to differ from sums that are counted anew by some 10⁻¹⁴; what is decided by them
/// must be clear by more.
const CLEAR: f64 = 1.0 + 1e-6;

/// No disagreement counts for more than this: a wild one says 'wrong', not 'how wrong'.
const CAP: f64 = 64.0;

impl Fit {
    pub(in crate::check) fn of(water: &Water) -> Self {
        let charges = charges(water, 0.5, 0.5);
        Self::from(water, &charges)
    }

    pub(in crate::check) fn from(water: &Water, charges: &Charges) -> Self {
        let mut fit = Self::of_balance(charges);
        fit.complete(water, charges);
        fit
    }

    /// The fit of a water that agrees with itself as the samples of a file do; `None` for any other, and
    /// where no balance tells. Most explanations that are tried leave it at that.
    pub(in crate::check) fn if_sound(water: &Water, yardstick: &Yardstick) -> Option<Self> {
        let charges = charges(water, 0.5, 0.5);
        let mut fit = Self::of_balance(&charges);
        if !fit.can_tell() || !fit.against(yardstick).is_sound() {
            return None;
        }
        fit.complete(water, &charges);
        fit.against(yardstick).is_sound().then_some(fit)
    }

    /// The balance alone.
    fn of_balance(charges: &Charges) -> Self {
        let mut fit = Self {
            balance_percent: charges.balance_percent(),
            sums: charges.cations.zip(charges.anions),
            ..Self::default()
        };
        fit.set(Term::Balance, fit.sums.map(unbalance));
        fit
    }

    /// The balance in standard deviations with so many meq/L more of cations and of anions.
    fn shifted(&self, shift: (f64, f64)) -> Option<f64> {
        let (cations, anions) = self.sums?;
        Some(unbalance((cations + shift.0, anions + shift.1))).filter(|r| r.is_finite())
    }

    /// Whether a water with so many meq/L more of cations and of anions is surely not in balance as the
    /// samples of a file are.
    pub(in crate::check) fn is_off_with(&self, shift: (f64, f64), yardstick: &Yardstick) -> bool {
        let off = (self.shifted(shift)).map(|r| yardstick.habits[0].apart(r).abs());
        off.is_some_and(|off| off > CLEAR * SOUND)
    }

    /// Whether a water with so many meq/L more of cations and of anions surely moves by `least` and
    /// disagrees as much as before; `scaled` is this fit in scatters of the file.
    pub(in crate::check) fn is_no_better_with(
        &self,
        shift: (f64, f64),
        scaled: &Self,
        yardstick: &Yardstick,
        least: f64,
    ) -> bool {
        let is = (self.shifted(shift)).map(|r| r / yardstick.habits[0].width);
        let pair = is.zip(scaled.residual(Term::Balance));
        pair.is_some_and(|(is, was)| {
            (is - was).abs() > CLEAR * least && (is * is).min(CAP) > CLEAR * scaled.badness()
        })
    }

    /// Everything but the balance.
    fn complete(&mut self, water: &Water, charges: &Charges) {
        let measured = water.plain(Substance::Conductivity).filter(|ec| *ec > 0.0);
        if let Some(measured) = measured
            && let Some(computed) = conductivity::conductivity(charges)
        {
            self.conductivity_ratio = Some(computed / measured);
            let width = spread::CONDUCTIVITY + spread::CONDUCTIVITY_US_CM / measured.max(computed);
            self.set(Term::Conductivity, apart(computed, measured, width));
        }
        if let Some(reported) = water.plain(Substance::Hardness)
            && let Some((ca, mg)) = calcium(water, 0.5).zip(magnesium(water, 0.5))
        {
            let hard = hardness::total(ca, mg);
            // 2 mg/L is rounding.
            let width = spread::HARDNESS + 2.0 / hard.max(reported).max(2.0);
            self.set(Term::Hardness, apart(hard, reported, width));
        }
        // Solids say little more than conductivity does, and often are conductivity times a factor.
        if measured.is_none()
            && let Some(reported) = water.plain(Substance::DissolvedSolids)
            && let Some(solids) = solids::dissolved_solids(water, charges, 0.5)
        {
            self.set(Term::Solids, apart(reported, solids, spread::SOLIDS));
        }
        if let (Some(alkalinity), true) = (
            water.plain(Substance::Alkalinity),
            water.plain(Substance::Bicarbonate).is_some(),
        ) && let Some(charge) = charges.carbonates.charge
        {
            let reported = alkalinity * CACO3_PER_MG;
            let width = spread::ALKALINITY + 0.05 / reported.max(charge).max(0.05);
            self.set(Term::Alkalinity, apart(charge, reported, width));
        }
        self.set(Term::Plausible, Some(implausible(charges, measured)));
        if let Some(reported) = water.plain(Substance::SodiumAdsorptionRatio)
            && let Some(((na, ca), mg)) = (charges.meq(Substance::Sodium))
                .zip(charges.meq(Substance::Calcium))
                .zip(charges.meq(Substance::Magnesium))
            && let Some(ratio) = sodium::adsorption_ratio(na, ca, mg)
        {
            let width = spread::ADSORPTION + 0.05 / ratio.max(reported).max(0.05);
            self.set(Term::Adsorption, apart(ratio, reported, width));
        }
    }

    fn set(&mut self, term: Term, residual: Option<f64>) {
        self.residuals[term as usize] = residual.filter(|r| r.is_finite());
    }

    pub(in crate::check) fn residual(&self, term: Term) -> Option<f64> {
        self.residuals[term as usize]
    }

    /// Whether both yardsticks of the ions are there, or at least the balance.
    pub(in crate::check) fn can_tell(&self) -> bool {
        self.residual(Term::Balance).is_some()
    }

    /// Sum of squares, each capped; 0 is perfect, about the number of terms is usual.
    pub(in crate::check) fn badness(&self) -> f64 {
        (self.residuals.iter().flatten())
            .map(|r| (r * r).min(CAP))
            .sum()
    }

    /// The worst disagreement, in standard deviations.
    pub(in crate::check) fn worst(&self) -> f64 {
        (self.residuals[..Term::Plausible as usize].iter().flatten())
            .fold(0.0, |worst, r| worst.max(r.abs()))
    }

    /// The largest change of a disagreement from one fit to the other, in standard deviations.
    pub(in crate::check) fn moved(&self, other: &Self) -> f64 {
        (self.residuals.iter().zip(&other.residuals))
            .map(|pair| match pair {
                (Some(a), Some(b)) => (a - b).abs(),
                (None, None) => 0.0,
                // A yardstick that comes or goes is a change.
                _ => CAP.sqrt(),
            })
            .fold(0.0, f64::max)
    }

    /// Whether nothing disagrees more than sound reports do now and then.
    pub(in crate::check) fn is_sound(&self) -> bool {
        self.worst() <= SOUND
    }

    /// The same disagreements, held against what is usual among the samples of a file.
    pub(in crate::check) fn against(&self, yardstick: &Yardstick) -> Self {
        let mut fit = *self;
        for (term, habit) in HABITUAL.into_iter().zip(&yardstick.habits) {
            fit.set(term, self.residual(term).map(|r| habit.apart(r)));
        }
        fit
    }
}

/// Terms in which the samples of a file may be alike.
const HABITUAL: [Term; 2] = [Term::Balance, Term::Conductivity];

/// What the samples of one file have in common in one term, in standard deviations of [`spread`].
#[derive(Clone, Copy, Debug, PartialEq)]
struct Habit {
    bias: f64,
    width: f64,
}

/// Largest bias of a file that is not held against its samples: 2 % of charge balance (an ion that
/// nobody determines), 9 % of conductivity (another reference temperature). Judgement.
const LARGEST_BIAS: [f64; 2] = [1.0, 1.5];

/// A careful laboratory comes this much closer than [`spread`] says.
const LEAST_WIDTH: f64 = 0.5;

/// [`spread`] counts as much as so many samples of the file.
const WEIGHT_OF_PRIOR: f64 = 6.0;

/// Fewer samples than this do not tell how good a laboratory is.
const FEWEST: usize = 8;

impl Habit {
    const NONE: Self = Self {
        bias: 0.0,
        width: 1.0,
    };

    /// Of the residuals of a file; a tenth of them may be wild.
    fn of(mut residuals: Vec<f64>, largest_bias: f64) -> Self {
        if residuals.len() < FEWEST {
            return Self::NONE;
        }
        let n = residuals.len() as f64;
        let bias = median(&mut residuals).clamp(-largest_bias, largest_bias);
        let mut apart: Vec<f64> = residuals.iter().map(|r| (r - bias).abs()).collect();
        let core = 1.4826 * median(&mut apart);
        // 1.645: nine in ten of a normal distribution.
        let most = apart[(0.9 * (n - 1.0)).floor() as usize] / 1.645;
        let seen = core.max(most).powi(2);
        let width = ((n * seen + WEIGHT_OF_PRIOR) / (n + WEIGHT_OF_PRIOR)).sqrt();
        Self {
            bias,
            width: width.clamp(LEAST_WIDTH, 1.0),
        }
    }

    fn apart(self, residual: f64) -> f64 {
        (residual - self.bias) / self.width
    }
}

/// Standard deviations by which sound files are off as a whole, in each of [`HABITUAL`]: 1.2 % of charge
/// balance, 6 % of conductivity. Judgement.
const BIAS: [f64; 2] = [0.6, 1.0];

/// How well the samples of one file agree with themselves: the bias that they share and their scatter.
/// A sample is held against the others of its laboratory, not against all laboratories.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::check) struct Yardstick {
    habits: [Habit; 2],
}

impl Yardstick {
    /// The same disagreements in scatters of this file; what its samples share is left in them.
    pub(in crate::check) fn scaled(&self, fit: &Fit) -> Fit {
        let mut fit = *fit;
        for (term, habit) in HABITUAL.into_iter().zip(&self.habits) {
            fit.set(term, fit.residual(term).map(|r| r / habit.width));
        }
        fit
    }

    /// Disagreement of the samples of a file taken together, in scatters of this file: sum of squares,
    /// each capped. What they share in charge balance or in conductivity counts once, not for each
    /// sample, since a file is off as a whole now and then; what goes with the amount of an ion counts
    /// in full. `fits` as from [`Yardstick::scaled`].
    pub(in crate::check) fn together(&self, fits: &[Fit]) -> f64 {
        let mut sum = 0.0;
        for ((term, habit), bias) in HABITUAL.into_iter().zip(&self.habits).zip(BIAS) {
            let mut residuals: Vec<f64> = fits.iter().filter_map(|f| f.residual(term)).collect();
            if residuals.is_empty() {
                continue;
            }
            let shared = median(&mut residuals);
            let own: f64 = (residuals.iter())
                .map(|r| (r - shared).powi(2).min(CAP))
                .sum();
            let bias = (bias / habit.width).powi(2);
            sum += own + shared.powi(2) / (1.0 / residuals.len() as f64 + bias);
        }
        let others = fits.iter().map(|fit| {
            let habitual = HABITUAL.into_iter().filter_map(|term| fit.residual(term));
            fit.badness() - habitual.map(|r| (r * r).min(CAP)).sum::<f64>()
        });
        sum + others.sum::<f64>()
    }

    /// From all waters of a file; that of every laboratory where there are few.
    pub(in crate::check) fn of(fits: &[Fit]) -> Self {
        let habit = |i: usize| {
            let residuals = fits.iter().filter_map(|fit| fit.residual(HABITUAL[i]));
            Habit::of(residuals.collect(), LARGEST_BIAS[i])
        };
        Self {
            habits: [habit(0), habit(1)],
        }
    }
}

/// Usual bounds of conductivity (µS/cm) and of the sum of cations (meq/L; a hundredth of it). Judgement:
/// from clean rain to strong drain water.
const USUAL_CONDUCTIVITY: (f64, f64) = (20.0, 3000.0);

/// How far outside the usual bounds, in units of a factor of two.
fn implausible(charges: &Charges, measured: Option<f64>) -> f64 {
    let beyond = |value: f64, (low, high): (f64, f64)| {
        if (low..=high).contains(&value) {
            return 0.0;
        }
        let value = value.max(f64::MIN_POSITIVE);
        (low / value).ln().max((value / high).ln()).max(0.0) / std::f64::consts::LN_2
    };
    let (low, high) = USUAL_CONDUCTIVITY;
    let of_ions = (charges.cations).map_or(0.0, |c| beyond(c, (low / 100.0, high / 100.0)));
    let of_conductivity = measured.map_or(0.0, |ec| beyond(ec, USUAL_CONDUCTIVITY));
    of_ions.max(of_conductivity)
}

/// Standard deviations: two and a half is 5 % of charge balance.
pub(in crate::check) const SOUND: f64 = 2.5;

/// Natural logarithm of the ratio in standard deviations; a number that is nothing where the other is
/// something is as far apart as can be told.
fn apart(one: f64, other: f64, width: f64) -> Option<f64> {
    match (one > 0.0, other > 0.0) {
        (true, true) => Some((one / other).ln() / width),
        (false, false) => None,
        (true, false) => Some(CAP.sqrt()),
        (false, true) => Some(-CAP.sqrt()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::published::WATERS;
    use crate::check::water::Reading;

    #[test]
    fn published_waters_agree_with_themselves() {
        for published in WATERS {
            let fit = Fit::of(&published.water());
            assert!(fit.can_tell(), "{}", published.name);
            assert!(fit.is_sound(), "{}: {fit:?}", published.name);
        }
    }

    #[test]
    fn err_a_slipped_number_does_not() {
        let mut water = WATERS[0].water();
        let calcium = water.plain(Substance::Calcium).unwrap();
        water.set(Substance::Calcium, Reading::plain(10.0 * calcium));
        assert!(!Fit::of(&water).is_sound());
    }
}
