//! Units, bases, and what a conversion is. The arithmetic is in `convert`.

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
    /// NTU; FNU is its own unit, counted as NTU with a note.
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

impl Dimension {
    pub const ALL: [Self; 12] = [
        Self::Mass,
        Self::Amount,
        Self::Charge,
        Self::Hardness,
        Self::Conductivity,
        Self::Turbidity,
        Self::Count,
        Self::Temperature,
        Self::Percent,
        Self::Ph,
        Self::Potential,
        Self::One,
    ];

    /// The word used in `mappings/units.toml` and in messages.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Mass => "mass",
            Self::Amount => "amount",
            Self::Charge => "charge",
            Self::Hardness => "hardness",
            Self::Conductivity => "conductivity",
            Self::Turbidity => "turbidity",
            Self::Count => "count",
            Self::Temperature => "temperature",
            Self::Percent => "percent",
            Self::Ph => "ph",
            Self::Potential => "potential",
            Self::One => "one",
        }
    }

    pub fn parse(text: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|d| d.name() == text)
    }
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
    /// What has to be said when a number in this unit is used.
    pub note: Option<Note>,
}

/// The species that a mass counts: `N`, `NO3`, `CaCO3`, `P2O5`.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Basis(pub String);

impl fmt::Display for Basis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// What a conversion took for granted; a finding at the heading should say it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Note {
    /// ppm, ppb, mg/kg: 1 kg of water taken as 1 L.
    WaterDensity,
    /// Conductivity without a stated reference temperature, taken as at 25 °C.
    TakenAt25,
    /// Conductivity brought to 25 °C by the factors of ISO 7888 / EN 27888.
    BroughtTo25,
    /// A most probable number counted as colonies.
    MostProbableNumber,
    /// Turbidity by infrared light, counted as NTU.
    Formazin,
}

impl Note {
    /// One line, lower case, for a finding.
    pub const fn text(self) -> &'static str {
        match self {
            Self::WaterDensity => "1 kg of water taken as 1 L",
            Self::TakenAt25 => "no reference temperature stated, taken as at 25 °C",
            Self::BroughtTo25 => "brought to 25 °C by the factor of ISO 7888 / EN 27888",
            Self::MostProbableNumber => "most probable number counted as colonies",
            Self::Formazin => "FNU (ISO 7027) counted as NTU: both are set with formazin",
        }
    }
}

/// canonical = number × `factor` + `offset`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conversion {
    pub factor: f64,
    pub offset: f64,
    pub note: Option<Note>,
}

impl Conversion {
    /// A plain factor, nothing taken for granted.
    pub const fn by(factor: f64) -> Self {
        Self {
            factor,
            offset: 0.0,
            note: None,
        }
    }

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

/// A unit as people write it, where its code looks otherwise.
pub fn in_words(code: &str) -> &str {
    match code {
        "[dH]" => "°dH",
        "[fH]" => "°fH",
        "[eH]" => "°e",
        "[gr]/[gal_us]" => "gpg",
        "uS/cm" => "µS/cm",
        "ug/L" => "µg/L",
        "umol/L" => "µmol/L",
        "Cel" => "°C",
        "[degF]" => "°F",
        "[pH]" => "pH units",
        "[NTU]" => "NTU",
        "[FNU]" => "FNU",
        "[FAU]" => "FAU",
        "[ppm]" => "ppm",
        "[ppb]" => "ppb",
        "[hazen]" => "mg/L Pt",
        "[CFU]/(100.mL)" => "CFU/100 mL",
        "{MPN}/(100.mL)" => "MPN/100 mL",
        "[CFU]/mL" => "CFU/mL",
        code => code,
    }
}
