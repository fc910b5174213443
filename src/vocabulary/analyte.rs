//! Analytes: what a laboratory can report of a water, one entry each of `mappings/analytes.toml`.

use super::{Basis, Dimension, Unit};
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

/// What a mass unit means when neither heading nor unit says 'as …'.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Silent {
    /// The species itself; nobody means anything else (sodium).
    Understood,
    /// Taken as the canonical basis, always with a finding (nitrate).
    Assumed,
    /// Not placed.
    Refused,
}

/// A name in one language (`en`, … or `symbol`), as it stands in the table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Name {
    pub language: &'static str,
    pub text: String,
    /// What the name implies: `nitrate nitrogen` counts N.
    pub basis: Option<Basis>,
    pub fraction: Option<Fraction>,
}

#[derive(Clone, Debug)]
pub struct Analyte {
    /// Code of the canonical schema, `nitrate`.
    pub code: String,
    /// English name for people, `nitrate`.
    pub name: String,
    /// CAS registry number; `None` where there is no one substance.
    pub cas: Option<String>,
    /// UCUM code of the canonical unit, `mg/L`.
    pub unit: String,
    /// Column name in `samples`, `nitrate_mg_l`.
    pub column: String,
    /// What the canonical mass counts (`NO3`, `CaCO3`); `None` where there is no basis.
    pub basis: Option<Basis>,
    /// Charge of the ion in a balance; 0 where it has none.
    pub charge: i8,
    /// Codes of the units that laboratories use, the most usual first.
    pub units: Vec<String>,
    /// Bases that laboratories use, the canonical one first.
    pub bases: Vec<Basis>,
    pub silent: Silent,
    /// Whether 'dissolved' and 'total' say something of it (not of alkalinity).
    pub has_fractions: bool,
    /// What is taken when a report states no unit, with a finding; `None` where no default is safe.
    pub assumed_unit: Option<Unit>,
    /// What is taken when a report states no basis, with a finding; `None` where no default is safe
    /// or none is needed because there is no basis.
    pub assumed_basis: Option<Basis>,
    /// In the canonical unit: beyond it only an error can be.
    pub hard_range: Option<(f64, f64)>,
    /// In the canonical unit: beyond it, look again.
    pub soft_range: Option<(f64, f64)>,
    pub names: Vec<Name>,
    /// A unit of this dimension beside the name means the other analyte (oxygen in percent).
    pub(super) instead: Vec<(Dimension, AnalyteId)>,
    /// Symbols that mean the ion only with its charge, because a subscript was lost (`CO_-2`).
    pub(super) charged_symbols: Vec<String>,
}
