//! A water: one number for each analyte of one sample, as the chemistry takes it. Knows nothing of
//! files and cells; `sample` keeps where each number stood.

use super::substance::Substance;
use crate::record::Censored;

/// A number in the analyte's canonical unit. Where censored it is the limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    pub value: f64,
    pub censored: Option<Censored>,
}

impl Reading {
    pub const fn plain(value: f64) -> Self {
        Self {
            value,
            censored: None,
        }
    }

    /// The number when a result below its limit counts as `share` of the limit (0 to 1). `None` for
    /// `>100`: how far above, nobody knows. Not detected without a limit counts as nothing.
    pub fn at(self, share: f64) -> Option<f64> {
        match self.censored {
            None => Some(self.value),
            Some(Censored::Below) => Some(self.value * share),
            Some(Censored::Above) => None,
            Some(Censored::Absent) => Some(0.0),
        }
    }
}

/// What follows from the pH of a water alone. Powers of ten are dear, and no explanation that is tried
/// changes the pH.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Acidity {
    /// meq/L of the hydrogen ion.
    pub hydrogen: f64,
    /// 10^(pH−10).
    pub ten: f64,
}

/// 10^(pH−10): hydroxide, relative to pH 10.
pub(super) fn ten(ph: f64) -> f64 {
    10f64.powf(ph - 10.0)
}

impl Acidity {
    fn of(ph: f64) -> Self {
        Self {
            hydrogen: 1000.0 * 10f64.powf(-ph),
            ten: ten(ph),
        }
    }
}

/// Numbers and what they are lie apart: waters are copied often, and half as large so.
#[derive(Clone, Debug, PartialEq)]
pub struct Water {
    /// 0 where there is none.
    values: [f64; Substance::COUNT],
    kinds: [Kind; Substance::COUNT],
    /// Whether the analyte was determined in the unfiltered water.
    total: [bool; Substance::COUNT],
    /// Of the pH, where it is a plain number.
    acidity: Option<Acidity>,
}

/// What a number is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    None,
    Plain,
    Censored(Censored),
}

impl Default for Water {
    fn default() -> Self {
        Self {
            values: [0.0; Substance::COUNT],
            kinds: [Kind::None; Substance::COUNT],
            total: [false; Substance::COUNT],
            acidity: None,
        }
    }
}

impl Water {
    /// From plain numbers in canonical units.
    pub fn of(values: &[(Substance, f64)]) -> Self {
        let mut water = Self::default();
        for &(substance, value) in values {
            water.set(substance, Reading::plain(value));
        }
        water
    }

    pub fn set(&mut self, substance: Substance, reading: Reading) {
        self.values[substance as usize] = reading.value;
        self.kinds[substance as usize] = match reading.censored {
            None => Kind::Plain,
            Some(censored) => Kind::Censored(censored),
        };
        if substance == Substance::Ph {
            self.acidity = self.plain(substance).map(Acidity::of);
        }
    }

    pub(super) fn put(&mut self, substance: Substance, reading: Option<Reading>) {
        match reading {
            Some(reading) => self.set(substance, reading),
            None => self.clear(substance),
        }
    }

    pub fn clear(&mut self, substance: Substance) {
        self.values[substance as usize] = 0.0;
        self.kinds[substance as usize] = Kind::None;
        if substance == Substance::Ph {
            self.acidity = None;
        }
    }

    /// `None` without a plain pH.
    pub(super) const fn acidity(&self) -> Option<Acidity> {
        self.acidity
    }

    pub(super) fn mark_total(&mut self, substance: Substance) {
        self.total[substance as usize] = true;
    }

    /// Whether the number is of the unfiltered water, so that not all of it need be dissolved.
    pub(super) fn is_total(&self, substance: Substance) -> bool {
        self.total[substance as usize]
    }

    #[inline]
    pub fn reading(&self, substance: Substance) -> Option<Reading> {
        let censored = match self.kinds[substance as usize] {
            Kind::None => return None,
            Kind::Plain => None,
            Kind::Censored(censored) => Some(censored),
        };
        Some(Reading {
            value: self.values[substance as usize],
            censored,
        })
    }

    /// The number where it is a plain one.
    pub fn plain(&self, substance: Substance) -> Option<f64> {
        self.reading(substance)
            .filter(|r| r.censored.is_none())
            .map(|r| r.value)
    }

    /// The number with a censored one counted as `share` of its limit.
    #[inline]
    pub fn at(&self, substance: Substance, share: f64) -> Option<f64> {
        self.reading(substance)?.at(share)
    }

    pub(super) fn has_limits(&self) -> bool {
        self.kinds.contains(&Kind::Censored(Censored::Below))
    }
}
