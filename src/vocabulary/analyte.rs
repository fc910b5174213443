//! Analytes: what a laboratory can report of a water, one entry each of `mappings/analytes.toml`.

use super::{Basis, Unit};
use std::fmt;

/// Index into [`super::Vocabulary::analytes`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct AnalyteId(pub u16);

/// What part of the water was analysed; `None` elsewhere means the report does not say.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Fraction {
    Dissolved,
    Total,
}

impl Fraction {
    pub const fn name(self) -> &'static str {
        match self {
            Self::Dissolved => "dissolved",
            Self::Total => "total",
        }
    }
}

impl fmt::Display for Fraction {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

#[derive(Clone, Debug)]
pub struct Analyte {
    /// Code of the canonical schema, `nitrate`.
    pub code: String,
    /// English name for people, `nitrate`.
    pub name: String,
    /// UCUM code of the canonical unit, `mg/L`.
    pub unit: String,
    /// Column name in `samples`, `nitrate_mg_l`.
    pub column: String,
    /// What the canonical mass counts (`NO3`, `CaCO3`); `None` where there is no basis.
    pub basis: Option<Basis>,
    /// Charge of the ion in a balance; 0 where it has none.
    pub charge: i8,
    /// What is taken when a report states no unit, with a finding; `None` where no default is safe.
    pub assumed_unit: Option<Unit>,
    /// What is taken when a report states no basis, with a finding; `None` where no default is safe.
    pub assumed_basis: Option<Basis>,
    /// In the canonical unit: beyond it only an error can be.
    pub hard_range: Option<(f64, f64)>,
    /// In the canonical unit: beyond it, look again.
    pub soft_range: Option<(f64, f64)>,
}
