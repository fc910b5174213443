//! The single faults that turn a sound report into an unsound one, and what each would undo.

use super::significant::significant;
use super::way::{Way, ways};
use crate::check::samples::Column;
use crate::check::substance::{CACO3_PER_MG, Substance};
use crate::check::water::{Reading, Water};
use crate::record::Origin;
use smallvec::{SmallVec, smallvec};
use std::fmt;

/// What would have to be done to the numbers.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::check) enum Undo {
    /// Multiply each substance by its factor.
    Scale(SmallVec<[(Substance, f64); 2]>),
    /// Every ion by one factor.
    ScaleIons(f64),
    /// The numbers of two columns changed places; factors as the columns have them.
    Exchange((Substance, f64), (Substance, f64)),
    /// An ion that is there was not reported, or as nothing; mg/L that would be needed.
    Supply(Substance, f64),
}

/// What kind of fault it is: decides the finding's code and its words.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(in crate::check) enum Fault {
    Basis,
    Unit,
    Exchange,
    Decimal,
    Dilution,
    Missing,
}

/// Completes 'fits if ...': "nitrate is as N". Many explanations are tried and few are told, so that the
/// text is made where it is told.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::check) enum Words {
    Is(Substance, &'static Way),
    ConvertedTwice(Substance, &'static Way),
    AsCalciumCarbonate,
    Exchanged(Substance, Substance),
    /// Number read, number meant.
    Slipped(Substance, f64, f64),
    /// What undoes it.
    Diluted(f64),
    /// mg/L that would be needed.
    NotReported(Substance, f64),
    ReportedAsNothing(Substance, f64),
}

impl fmt::Display for Words {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::Is(substance, way) => write!(f, "{} is {}", substance.name(), way.words),
            Self::ConvertedTwice(substance, way) => {
                let (times, side) = too_much_by(way.per_one);
                write!(
                    f,
                    "{} was converted {} once too often ({} times too {side})",
                    substance.name(),
                    way.words.replacen("as ", "from ", 1),
                    significant(times)
                )
            }
            Self::AsCalciumCarbonate => f.write_str("bicarbonate and carbonate are as CaCO3"),
            Self::Exchanged(one, other) => {
                write!(f, "{} and {} are exchanged", one.name(), other.name())
            }
            Self::Slipped(substance, read, meant) => write!(
                f,
                "the decimal sign of {} slipped ({} for {})",
                substance.name(),
                significant(read),
                significant(meant)
            ),
            Self::Diluted(factor) => {
                let (times, side) = too_much_by(1.0 / factor);
                write!(
                    f,
                    "all ions are {} times too {side} (a dilution)",
                    significant(times)
                )
            }
            Self::NotReported(substance, amount) => {
                missing(f, substance, "is not reported", amount)
            }
            Self::ReportedAsNothing(substance, amount) => {
                missing(f, substance, "0 stands for 'not measured'", amount)
            }
        }
    }
}

fn too_much_by(times: f64) -> (f64, &'static str) {
    if times > 1.0 {
        (times, "large")
    } else {
        (1.0 / times, "small")
    }
}

fn missing(f: &mut fmt::Formatter<'_>, ion: Substance, said: &str, amount: f64) -> fmt::Result {
    let (name, amount) = (ion.name(), significant(amount));
    write!(
        f,
        "{name} {said} (about {amount} mg/L would close the balance)"
    )
}

#[derive(Clone, Debug, PartialEq)]
pub(in crate::check) struct Hypothesis {
    pub fault: Fault,
    pub undo: Undo,
    /// The substance whose cell is shown.
    pub about: Substance,
    pub words: Words,
    /// What a mapping would say of the label: `basis = "N"`; `None` where no mapping can help.
    pub rule: Option<&'static str>,
    /// How much more than the commonest fault it takes to believe this one, in units of badness.
    pub doubt: f64,
}

impl Hypothesis {
    /// The water as it would be.
    pub(in crate::check) fn undone(&self, water: &Water) -> Water {
        let mut undone = water.clone();
        for substance in self.substances() {
            undone.put(substance, self.undone_reading(substance, water));
        }
        undone
    }

    /// One of the numbers that it concerns, as it would be.
    pub(in crate::check) fn undone_reading(
        &self,
        substance: Substance,
        water: &Water,
    ) -> Option<Reading> {
        let moved = |(from, per_from): (Substance, f64), per_to: f64| {
            water.reading(from).map(|reading| Reading {
                value: reading.value / per_from * per_to,
                ..reading
            })
        };
        match &self.undo {
            Undo::Scale(factors) => {
                let factor = factors.iter().find(|(s, _)| *s == substance);
                times(water, substance, factor.map_or(1.0, |(_, factor)| *factor))
            }
            Undo::ScaleIons(factor) => times(water, substance, *factor),
            Undo::Exchange(one, other) if one.0 == substance => moved(*other, one.1),
            Undo::Exchange(one, other) => moved(*one, other.1),
            Undo::Supply(_, amount) => Some(Reading::plain(*amount)),
        }
    }

    /// Whether undoing it changes this water at all.
    pub(in crate::check) fn touches(&self, water: &Water) -> bool {
        let there = |s: Substance| water.at(s, 1.0).is_some_and(|v| v > 0.0);
        match &self.undo {
            Undo::Scale(factors) => factors.iter().any(|(s, _)| there(*s)),
            Undo::ScaleIons(_) => true,
            Undo::Exchange((one, _), (other, _)) => {
                there(*one) && there(*other) && water.at(*one, 1.0) != water.at(*other, 1.0)
            }
            Undo::Supply(..) => true,
        }
    }

    /// What undoing it adds to the cations and to the anions of a water that it touches, meq/L; `None`
    /// where that takes a count of all ions.
    pub(in crate::check) fn shift(&self, water: &Water) -> Option<(f64, f64)> {
        if matches!(self.undo, Undo::ScaleIons(_)) {
            return None;
        }
        let (mut cations, mut anions) = (0.0, 0.0);
        let mut add = |substance: Substance, undone: Option<Reading>| {
            if substance == Substance::Conductivity {
                return Some(());
            }
            let ion = substance.ion().filter(|_| is_by_itself(substance))?;
            let meq = |reading: Option<Reading>| {
                (reading.and_then(|reading| reading.at(0.5))).map_or(0.0, |v| v * ion.per_mg)
            };
            let side = if ion.charge > 0 {
                &mut cations
            } else {
                &mut anions
            };
            *side += meq(undone) - meq(water.reading(substance));
            Some(())
        };
        for substance in self.substances() {
            add(substance, self.undone_reading(substance, water))?;
        }
        Some((cations, anions))
    }

    /// The substances it concerns.
    pub(in crate::check) fn substances(&self) -> SmallVec<[Substance; IONS.len()]> {
        match &self.undo {
            Undo::Scale(factors) => factors.iter().map(|(s, _)| *s).collect(),
            Undo::ScaleIons(_) => SmallVec::from_slice(IONS),
            Undo::Exchange((one, _), (other, _)) => smallvec![*one, *other],
            Undo::Supply(substance, _) => smallvec![*substance],
        }
    }
}

/// What a laboratory measures in one diluted portion: all ions together.
pub(in crate::check) const IONS: &[Substance; 15] = &[
    Substance::Calcium,
    Substance::Magnesium,
    Substance::Sodium,
    Substance::Potassium,
    Substance::Ammonium,
    Substance::Bicarbonate,
    Substance::Carbonate,
    Substance::Alkalinity,
    Substance::Chloride,
    Substance::Sulfate,
    Substance::Sulfur,
    Substance::Nitrate,
    Substance::NitrogenNitrateNitrite,
    Substance::Fluoride,
    Substance::Hardness,
];

/// A number of a water, limit or not, times a factor.
fn times(water: &Water, substance: Substance, factor: f64) -> Option<Reading> {
    let reading = water.reading(substance)?;
    Some(Reading {
        value: reading.value * factor,
        ..reading
    })
}

/// Whether the number of an ion, where it is there, goes into the sums as it is, whatever else the report
/// has.
const fn is_by_itself(substance: Substance) -> bool {
    matches!(
        substance,
        Substance::Calcium
            | Substance::Magnesium
            | Substance::Sodium
            | Substance::Potassium
            | Substance::Ammonium
            | Substance::Bicarbonate
            | Substance::Chloride
            | Substance::Sulfate
            | Substance::Nitrate
            | Substance::Fluoride
            | Substance::Bromide
    )
}

/// Two factors nearer than this are the same way of reading.
const SAME_WAY: f64 = 0.005;

/// The other ways to read a column of one substance: how the report may have meant it.
pub(in crate::check) fn rereadings(substance: Substance, column: &Column) -> Vec<Hypothesis> {
    let now = column.factor.filter(|f| *f > 0.0);
    let ways = ways(substance);
    // An ion that is nearly always a trace rarely explains anything, a metal hardly ever.
    let minor = match substance {
        _ if is_metal(substance) => 4.0,
        Substance::Fluoride
        | Substance::Bromide
        | Substance::Nitrite
        | Substance::Phosphate
        | Substance::Ammonium => 2.0,
        _ => 0.0,
    };
    let mut all = Vec::new();
    for way in ways {
        let Some(now) = now else { continue };
        let factor = way.per_one / now;
        if (factor - 1.0).abs() < SAME_WAY {
            continue;
        }
        let stated = stated(way.fault, column);
        all.push(Hypothesis {
            fault: way.fault,
            undo: Undo::Scale(smallvec![(substance, factor)]),
            about: substance,
            words: Words::Is(substance, way),
            rule: Some(&way.rule),
            doubt: way.doubt + stated + minor,
        });
    }
    // Already converted once too often: the number was in the canonical basis all along although the
    // factor does not show it (a table copied from another that had been converted).
    for way in ways
        .iter()
        .filter(|w| w.fault == Fault::Basis && w.doubt < 1.0)
    {
        let factor = 1.0 / way.per_one;
        let known = |h: &Hypothesis| match &h.undo {
            Undo::Scale(factors) => (factors[0].1 / factor - 1.0).abs() < SAME_WAY,
            _ => false,
        };
        if (factor - 1.0).abs() < SAME_WAY || all.iter().any(known) {
            continue;
        }
        all.push(Hypothesis {
            fault: Fault::Basis,
            undo: Undo::Scale(smallvec![(substance, factor)]),
            about: substance,
            words: Words::ConvertedTwice(substance, way),
            rule: None,
            doubt: way.doubt + 2.0,
        });
    }
    all
}

/// Whether the balance counts it as a trace of metal.
pub(super) fn is_metal(substance: Substance) -> bool {
    (substance.ion()).is_some_and(|ion| ion.charge > 0) && !IONS.contains(&substance)
}

/// How much more it takes to doubt what the report itself states than where it is silent.
fn stated(fault: Fault, column: &Column) -> f64 {
    let said = match fault {
        Fault::Basis => column.basis_text.is_some(),
        _ => column.unit_text.is_some(),
    };
    match (column.unit_from, said) {
        (Origin::Assumed, _) => 0.0,
        (_, false) => 0.5,
        (_, true) if fault == Fault::Basis => 2.0,
        (_, true) => 1.0,
    }
}

/// Bicarbonate and carbonate given as CaCO3, both.
pub(in crate::check) fn carbonates_as_calcium_carbonate(
    bicarbonate: &Column,
    carbonate: &Column,
) -> Option<Hypothesis> {
    let undo: SmallVec<[(Substance, f64); 2]> = [
        (Substance::Bicarbonate, bicarbonate),
        (Substance::Carbonate, carbonate),
    ]
    .into_iter()
    .filter_map(|(substance, column)| {
        let per_one = CACO3_PER_MG / substance.charge_per_mg()?;
        Some((substance, per_one / column.factor?))
    })
    .filter(|(_, factor)| (factor - 1.0).abs() > SAME_WAY)
    .collect();
    (undo.len() == 2).then(|| Hypothesis {
        fault: Fault::Basis,
        undo: Undo::Scale(undo),
        about: Substance::Bicarbonate,
        words: Words::AsCalciumCarbonate,
        rule: Some("basis = \"CaCO3\""),
        // Told only where carbonate has a say of its own.
        doubt: 1.5,
    })
}

/// Pairs that change places, commonest first. Common practice, no source.
const PAIRS: [(Substance, Substance, f64); 9] = [
    (Substance::Calcium, Substance::Magnesium, 0.5),
    (Substance::Sodium, Substance::Potassium, 0.5),
    (Substance::Chloride, Substance::Sulfate, 0.5),
    (Substance::Chloride, Substance::Nitrate, 1.5),
    (Substance::Sulfate, Substance::Nitrate, 1.5),
    (Substance::Calcium, Substance::Sodium, 2.0),
    (Substance::Magnesium, Substance::Sodium, 2.0),
    (Substance::Magnesium, Substance::Potassium, 2.0),
    (Substance::Bicarbonate, Substance::Chloride, 2.5),
];

/// Exchanges of two columns; `factor` gives the factor of a substance's column.
pub(in crate::check) fn exchanges(factor: impl Fn(Substance) -> Option<f64>) -> Vec<Hypothesis> {
    (PAIRS.iter())
        .filter_map(|&(one, other, doubt)| {
            Some(Hypothesis {
                fault: Fault::Exchange,
                undo: Undo::Exchange((one, factor(one)?), (other, factor(other)?)),
                about: one,
                words: Words::Exchanged(one, other),
                rule: None,
                doubt,
            })
        })
        .collect()
}

/// What can slip: the ions that a balance can tell.
pub(super) const SLIPPING: [Substance; 10] = [
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
];

/// A decimal sign lost or misplaced in one number.
pub(in crate::check) fn decimal_slips(water: &Water) -> Vec<Hypothesis> {
    let mut all = Vec::new();
    for substance in SLIPPING {
        let Some(value) = water.plain(substance).filter(|v| *v > 0.0) else {
            continue;
        };
        for (factor, doubt) in [
            (0.1, 0.0),
            (10.0, 0.0),
            (0.01, 0.5),
            (100.0, 0.5),
            (0.001, 1.0),
            (1000.0, 1.0),
        ] {
            // A thousand in conductivity is mS for µS, not a slip.
            if substance == Substance::Conductivity && !(0.005..=500.0).contains(&factor) {
                continue;
            }
            all.push(Hypothesis {
                fault: Fault::Decimal,
                undo: Undo::Scale(smallvec![(substance, factor)]),
                about: substance,
                words: Words::Slipped(substance, value, value * factor),
                rule: None,
                doubt,
            });
        }
    }
    all
}

/// A dilution forgotten, or counted twice: all ions together. Only by what laboratories dilute by; any
/// other factor could be found for any sample.
pub(in crate::check) fn dilutions() -> Vec<Hypothesis> {
    [
        (0.1, 0.0),
        (10.0, 0.0),
        (0.01, 0.5),
        (100.0, 0.5),
        (0.001, 0.5),
        (1000.0, 0.5),
    ]
    .into_iter()
    .map(|(factor, doubt)| Hypothesis {
        fault: Fault::Dilution,
        undo: Undo::ScaleIons(factor),
        about: Substance::Calcium,
        words: Words::Diluted(factor),
        rule: None,
        doubt,
    })
    .collect()
}

/// mg/L that no water holds which anybody would call a source: it would be manure or feed. Common
/// practice, no source.
fn too_much(substance: Substance, amount: f64) -> bool {
    match substance {
        Substance::Ammonium => amount > 10.0,
        Substance::Potassium => amount > 100.0,
        _ => false,
    }
}

/// How much easier it is to believe that an ion is missing where the report says 0.
const OF_ZERO: f64 = 2.0;

/// Ions that a report may lack or show as nothing, with the amount that would close the balance.
pub(in crate::check) fn missing_ions(water: &Water, cations: f64, anions: f64) -> Vec<Hypothesis> {
    let lacking = cations - anions;
    [
        (Substance::Sodium, 0.5),
        (Substance::Chloride, 0.5),
        (Substance::Sulfate, 0.5),
        (Substance::Nitrate, 0.5),
        (Substance::Calcium, 1.0),
        (Substance::Magnesium, 1.0),
        (Substance::Bicarbonate, 1.0),
        (Substance::Potassium, 1.0),
        (Substance::Ammonium, 2.0),
        (Substance::Carbonate, 2.0),
    ]
    .into_iter()
    .filter(|(substance, _)| match water.at(*substance, 1.0) {
        None => {
            // Reported in other words.
            !(match substance {
                Substance::Bicarbonate | Substance::Carbonate => {
                    water.reading(Substance::Alkalinity).is_some()
                }
                Substance::Sulfate => water.reading(Substance::Sulfur).is_some(),
                Substance::Calcium => water.reading(Substance::HardnessCalcium).is_some(),
                Substance::Magnesium => water.reading(Substance::HardnessMagnesium).is_some(),
                Substance::Nitrate => (water.reading(Substance::NitrogenNitrateNitrite)).is_some(),
                _ => false,
            })
        }
        Some(value) => value == 0.0,
    })
    .filter_map(|(substance, doubt)| {
        let ion = substance.ion()?;
        let short = if ion.charge > 0 { -lacking } else { lacking };
        // Below pH 8.2 there is next to no carbonate that could be missing.
        let no_carbonate = substance == Substance::Carbonate
            && water.plain(Substance::Ph).is_none_or(|ph| ph < 8.2);
        if short <= 0.0 || no_carbonate {
            return None;
        }
        let amount = short / ion.per_mg;
        if too_much(substance, amount) {
            return None;
        }
        // A major ion of 0 is hardly ever a result.
        let (words, doubt) = match water.at(substance, 1.0) {
            None => (Words::NotReported(substance, amount), doubt),
            Some(_) => (Words::ReportedAsNothing(substance, amount), doubt - OF_ZERO),
        };
        Some(Hypothesis {
            fault: Fault::Missing,
            undo: Undo::Supply(substance, amount),
            about: substance,
            words,
            rule: None,
            // It closes the balance by construction: one yardstick less.
            doubt: doubt + 2.0,
        })
    })
    .collect()
}
