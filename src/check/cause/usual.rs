//! What is usual for a source, or for the waters of a file: the middle and the spread of each number.
//! A slip that no balance shows (sodium and potassium exchanged) is unusual all the same.

use crate::check::substance::Substance;
use crate::check::water::Water;

/// What is compared.
pub(in crate::check) const COMPARED: [Substance; 11] = [
    Substance::Calcium,
    Substance::Magnesium,
    Substance::Sodium,
    Substance::Potassium,
    Substance::Bicarbonate,
    Substance::Alkalinity,
    Substance::Chloride,
    Substance::Sulfate,
    Substance::Nitrate,
    Substance::Conductivity,
    Substance::Hardness,
];

/// Fewer samples than this are no history.
pub(in crate::check) const FEWEST: usize = 4;

/// Fewer samples of a source in other files than this tell nothing of a column: many sources speak at
/// once there, so that each may know less.
const FEWEST_ELSEWHERE: usize = 2;

/// Fewer samples than this do not tell what is usual in a file.
const FEWEST_IN_FILE: usize = 8;

/// Natural-logarithm spread of a steady source's numbers: sampling and laboratory together are rarely
/// better than 6 %. Judgement.
const LEAST_SPREAD: f64 = 0.06;

/// What a 0 counts for where the other waters of a file have some: little, they are other waters.
const NOTHING_IN_FILE: f64 = 4.0;

/// One number that is out of the way counts no more than this.
pub(super) const CAP: f64 = 16.0;

/// Numbers whose ratio is steadier than either: dilution and evaporation leave it alone.
const PAIRED: [(Substance, Substance); 4] = [
    (Substance::Potassium, Substance::Sodium),
    (Substance::Magnesium, Substance::Calcium),
    (Substance::Sulfate, Substance::Chloride),
    (Substance::Nitrate, Substance::Chloride),
];

/// The least spread of the logarithm of a ratio among the waters of a file, which are of many kinds.
const LEAST_SPREAD_OF_RATIO: f64 = 0.4;

/// Middle and spread of the logarithms; `None` where there are too few.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::check) struct Usual {
    middles: [Option<(f64, f64)>; COMPARED.len()],
    ratios: [Option<(f64, f64)>; PAIRED.len()],
    /// Whether the waters are of one source; else they only share a file.
    pub of_source: bool,
}

/// So many waters of a file are enough to know what is usual in it.
const ENOUGH: usize = 400;

impl Usual {
    /// From all samples of one source, the one to be judged among them: middle and median deviation do
    /// not mind one that is out of the way. `None` where there are too few.
    pub(in crate::check) fn of_source<'w>(
        waters: impl Iterator<Item = &'w Water> + Clone,
    ) -> Option<Self> {
        Self::of(waters, FEWEST, true)
    }

    /// From the samples of one source in other files than the one to be judged.
    pub(in crate::check) fn of_other_files<'w>(
        waters: impl Iterator<Item = &'w Water> + Clone,
    ) -> Option<Self> {
        Self::of(waters, FEWEST_ELSEWHERE, true)
    }

    /// From all samples of one file.
    pub(in crate::check) fn of_file(waters: &[Water]) -> Option<Self> {
        let every = waters.len().div_ceil(ENOUGH).max(1);
        Self::of(waters.iter().step_by(every), FEWEST_IN_FILE, false)
    }

    fn of<'w>(
        waters: impl Iterator<Item = &'w Water> + Clone,
        fewest: usize,
        of_source: bool,
    ) -> Option<Self> {
        if waters.clone().take(fewest).count() < fewest {
            return None;
        }
        let middles = COMPARED.map(|substance| {
            let logs: Vec<f64> = (waters.clone())
                .filter_map(|water| water.plain(substance))
                .filter(|value| *value > 0.0)
                .map(f64::ln)
                .collect();
            (logs.len() >= fewest).then(|| middle_and_spread(logs))
        });
        let ratios = PAIRED.map(|pair| {
            let logs: Vec<f64> = waters.clone().filter_map(|w| log_ratio(w, pair)).collect();
            let (middle, spread) = (logs.len() >= fewest).then(|| middle_and_spread(logs))?;
            let least = if of_source {
                0.0
            } else {
                LEAST_SPREAD_OF_RATIO
            };
            Some((middle, spread.max(least)))
        });
        Some(Self {
            middles,
            ratios,
            of_source,
        })
    }

    /// Sum of squared deviations in spreads, each capped.
    pub(in crate::check) fn strangeness(&self, water: &Water) -> f64 {
        let far =
            |log: f64, (middle, spread): (f64, f64)| ((log - middle) / spread).powi(2).min(CAP);
        // Nothing where there is always something is as strange as can be, for one source.
        let of_nothing = if self.of_source { CAP } else { NOTHING_IN_FILE };
        let numbers = (COMPARED.iter().zip(&self.middles)).filter_map(|(substance, middle)| {
            let middle = (*middle)?;
            match water.plain(*substance)? {
                0.0 => Some(of_nothing),
                value if value > 0.0 => Some(far(value.ln(), middle)),
                _ => None,
            }
        });
        let ratios = (PAIRED.into_iter().zip(&self.ratios))
            .filter_map(|(pair, middle)| Some(far(log_ratio(water, pair)?, (*middle)?)));
        numbers.sum::<f64>() + ratios.sum::<f64>()
    }

    /// The usual number; `None` where there are too few.
    pub(in crate::check) fn middle(&self, substance: Substance) -> Option<f64> {
        let position = COMPARED.iter().position(|s| *s == substance)?;
        self.middles[position].map(|(middle, _)| middle.exp())
    }

    /// The usual number and how many spreads away the water's is; `None` without a usual.
    pub(in crate::check) fn deviation(
        &self,
        substance: Substance,
        water: &Water,
    ) -> Option<(f64, f64)> {
        Some((self.middle(substance)?, self.spreads(substance, water)?))
    }

    /// How many spreads away from the usual number the water's is; `None` without a usual.
    pub(in crate::check) fn spreads(&self, substance: Substance, water: &Water) -> Option<f64> {
        self.spreads_of(substance, water.plain(substance)?)
    }

    /// How many spreads away from the usual number another is; `None` without a usual.
    pub(in crate::check) fn spreads_of(&self, substance: Substance, value: f64) -> Option<f64> {
        let position = COMPARED.iter().position(|s| *s == substance)?;
        let (middle, spread) = self.middles[position].filter(|_| value > 0.0)?;
        Some((value.ln() - middle) / spread)
    }
}

/// `None` unless both are plain numbers above nothing.
fn log_ratio(water: &Water, (one, other): (Substance, Substance)) -> Option<f64> {
    let plain = |substance| water.plain(substance).filter(|v| *v > 0.0);
    Some((plain(one)? / plain(other)?).ln())
}

/// Median, and 1.4826 times the median deviation from it (the spread of a normal distribution).
pub(in crate::check) fn middle_and_spread(mut numbers: Vec<f64>) -> (f64, f64) {
    let middle = median(&mut numbers);
    let mut deviations: Vec<f64> = numbers.iter().map(|n| (n - middle).abs()).collect();
    (middle, (1.4826 * median(&mut deviations)).max(LEAST_SPREAD))
}

/// The middle number; `numbers` must not be empty.
pub(in crate::check) fn median(numbers: &mut [f64]) -> f64 {
    numbers.sort_by(f64::total_cmp);
    let half = numbers.len() / 2;
    if numbers.len() % 2 == 1 {
        numbers[half]
    } else {
        (numbers[half - 1] + numbers[half]) / 2.0
    }
}
