//! Units, bases, and the conversion between them.

use std::fmt;

/// What a unit measures. Equal dimensions are not enough to convert: a basis decides.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Dimension {
    /// mg/L and its kin; `to_base` gives mg/L.
    Mass,
    /// mmol/L and its kin; `to_base` gives mmol/L.
    Amount,
    /// meq/L and its kin; `to_base` gives meq/L.
    Charge,
    /// °dH, °fH, °e, gpg, °KH; `to_base` gives meq/L.
    Hardness,
    /// `to_base` gives µS/cm.
    Conductivity,
    /// NTU; FNU is its own unit and never converted to NTU silently.
    Turbidity,
    /// Counts per volume; `to_base` gives per 100 mL.
    Count,
    /// °C, °F, K; affine.
    Temperature,
    Percent,
    Ph,
    /// mV.
    Potential,
    /// No unit (SAR).
    One,
}

#[derive(Clone, Debug, PartialEq)]
pub struct Unit {
    /// UCUM code where UCUM has one, else our own (`[dH]`).
    pub code: &'static str,
    pub dimension: Dimension,
    /// Multiplies a number in this unit into the dimension's base unit.
    pub to_base: f64,
    /// Added after multiplying; 0 except for temperatures.
    pub offset: f64,
}

/// The species that a mass counts: `N`, `NO3`, `CaCO3`, `P2O5`.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Basis(pub String);

impl fmt::Display for Basis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// canonical = number × `factor` + `offset`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conversion {
    pub factor: f64,
    pub offset: f64,
}

impl Conversion {
    pub fn apply(&self, number: f64) -> f64 {
        number.mul_add(self.factor, self.offset)
    }

    /// `None` where the conversion is not a plain factor (°F to °C).
    pub fn plain_factor(&self) -> Option<f64> {
        (self.offset == 0.0).then_some(self.factor)
    }
}

/// Why a number in this unit and basis cannot become the canonical one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Refusal {
    /// The unit measures something else (mS/cm of nitrate).
    UnitUnfit,
    /// The basis shares no element with the analyte (nitrate as P).
    BasisUnfit,
    /// The number depends on a basis that nobody stated.
    BasisMissing,
}
