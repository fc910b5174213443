//! Classes: a number, the steps it falls into, the name it gets.

use super::super::substance::{Substance, mass};
use super::super::water::Water;
use crate::record::{FigureKind, FigureValue, Figures};
use serde::Deserialize;
use std::borrow::Cow;
use std::collections::BTreeSet;
use std::sync::{Mutex, PoisonError};

/// What is classed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::check) enum Quantity {
    /// A derived column, by its position in [`Figures::COLUMNS`].
    Figure(usize),
    /// An analyte in its canonical unit, plain numbers only.
    Analyte(Substance),
    /// An ion's charge in meq/L.
    Charge(Substance),
    /// Nitrate as N, mg/L.
    NitrateNitrogen,
}

/// Names beside those of derived columns and analytes.
pub(super) const OTHER_QUANTITIES: [(&str, Quantity); 4] = [
    ("sodium_meq_l", Quantity::Charge(Substance::Sodium)),
    ("chloride_meq_l", Quantity::Charge(Substance::Chloride)),
    (
        "bicarbonate_meq_l",
        Quantity::Charge(Substance::Bicarbonate),
    ),
    ("nitrate_nitrogen_mg_l", Quantity::NitrateNitrogen),
];

impl Quantity {
    /// `None` for a name that is none of ours.
    pub(super) fn find(name: &str) -> Option<Self> {
        let other = OTHER_QUANTITIES.iter().find(|(other, _)| *other == name);
        if let Some((_, quantity)) = other {
            return Some(*quantity);
        }
        let figure =
            (Figures::COLUMNS.iter()).position(|c| c.name == name && c.kind == FigureKind::Number);
        figure
            .map(Self::Figure)
            .or_else(|| Substance::find(name).map(Self::Analyte))
    }

    /// The number; `None` where it is missing.
    pub(in crate::check) fn of(self, water: &Water, figures: &Figures, share: f64) -> Option<f64> {
        match self {
            Self::Figure(index) => match figures.value(index)? {
                FigureValue::Number(number) => number,
                FigureValue::Text(_) => None,
            },
            Self::Analyte(substance) => water.at(substance, share),
            Self::Charge(Substance::Bicarbonate) => {
                Some(figures.bicarbonate_used_mg_l? * Substance::Bicarbonate.charge_per_mg()?)
            }
            Self::Charge(substance) => {
                Some(water.at(substance, share)? * substance.charge_per_mg()?)
            }
            Self::NitrateNitrogen => {
                let nitrate = super::super::figure::charge::nitrate(water, share)?;
                Some(nitrate * mass::NITROGEN / Substance::Nitrate.ion()?.mass)
            }
        }
    }
}

/// How far a step reaches.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::check) enum Reach {
    Below(f64),
    UpTo(f64),
    Rest,
}

impl Reach {
    const fn holds(self, number: f64) -> bool {
        match self {
            Self::Below(limit) => number < limit,
            Self::UpTo(limit) => number <= limit,
            Self::Rest => true,
        }
    }

    /// The step in words.
    pub(in crate::check) fn in_words(self, name: &str) -> String {
        match self {
            Self::Below(limit) => format!("{name} below {limit}"),
            Self::UpTo(limit) => format!("{name} up to {limit}"),
            Self::Rest => format!("{name} above"),
        }
    }

    /// The limit; `None` for the rest.
    pub(in crate::check) const fn limit(self) -> Option<f64> {
        match self {
            Self::Below(limit) | Self::UpTo(limit) => Some(limit),
            Self::Rest => None,
        }
    }
}

/// A name of a step as the figures of every sample can carry it without a copy: kept, once, for the life
/// of the program. Names are few and limits are read once.
pub(super) fn kept(name: &str) -> &'static str {
    static KEPT: Mutex<BTreeSet<&'static str>> = Mutex::new(BTreeSet::new());
    let mut names = KEPT.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some(known) = names.get(name) {
        return known;
    }
    let new: &'static str = Box::leak(name.into());
    names.insert(new);
    new
}

/// A name, [`kept`].
pub(super) fn read_kept<'d, D: serde::Deserializer<'d>>(
    name: D,
) -> Result<Cow<'static, str>, D::Error> {
    String::deserialize(name).map(|name| Cow::Borrowed(kept(&name)))
}

#[derive(Clone, Debug, PartialEq)]
pub(in crate::check) struct Class {
    /// Column of `samples` that gets the name.
    pub figure: String,
    /// Its position in [`Figures::COLUMNS`].
    pub column: usize,
    /// Name of the quantity, as written.
    pub of: String,
    pub quantity: Quantity,
    /// In order; the last is the rest.
    pub steps: Vec<(&'static str, Reach)>,
    pub source: String,
}

impl Class {
    pub(in crate::check) fn name_of(&self, number: f64) -> Option<&'static str> {
        let (name, _) = self.steps.iter().find(|(_, reach)| reach.holds(number))?;
        Some(name)
    }
}

/// A row of the infiltration table; conductivities in µS/cm.
#[derive(Clone, Copy, Debug, PartialEq, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::check) struct InfiltrationRow {
    #[serde(deserialize_with = "read_positive")]
    pub ratio_up_to: f64,
    #[serde(deserialize_with = "read_positive")]
    pub none_above: f64,
    #[serde(deserialize_with = "read_positive")]
    pub severe_below: f64,
}

pub(super) const POSITIVE: &str = "a number above 0 is needed here";

/// A number that is finite and above 0: with any other a limit holds for everything or for nothing.
pub(super) fn read_positive<'d, D: serde::Deserializer<'d>>(from: D) -> Result<f64, D::Error> {
    let number = f64::deserialize(from)?;
    match is_positive(number) {
        true => Ok(number),
        false => Err(serde::de::Error::custom(POSITIVE)),
    }
}

pub(super) fn is_positive(number: f64) -> bool {
    number.is_finite() && number > 0.0
}

/// Restriction by sodium adsorption ratio and conductivity together; `None` beyond the table.
pub(in crate::check) fn infiltration(
    rows: &[InfiltrationRow],
    ratio: f64,
    conductivity: f64,
) -> Option<&'static str> {
    let row = rows.iter().find(|row| ratio <= row.ratio_up_to)?;
    Some(if conductivity > row.none_above {
        "none"
    } else if conductivity < row.severe_below {
        "severe"
    } else {
        "slight to moderate"
    })
}

/// A sloping line: the ratio up to which a sodium class reaches.
#[derive(Clone, Debug, PartialEq, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::check) struct SodiumLine {
    #[serde(deserialize_with = "read_kept")]
    pub name: Cow<'static, str>,
    #[serde(deserialize_with = "read_positive")]
    pub at: f64,
    #[serde(deserialize_with = "read_positive")]
    pub slope: f64,
}

/// Conductivity, µS/cm, below which the lines are not continued: the printed diagram starts there.
const LINES_START: f64 = 100.0;

impl SodiumLine {
    /// The ratio up to which the class reaches at a conductivity in µS/cm.
    pub(in crate::check) fn ratio(&self, conductivity: f64) -> f64 {
        self.at - self.slope * conductivity.max(LINES_START).log10()
    }
}
