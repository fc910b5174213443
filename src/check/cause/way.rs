//! The ways in which a laboratory may have meant a number: units, and the species that a mass counts.

use super::hypothesis::Fault;
use crate::check::substance::{CACO3_PER_MG, Substance, mass};
use std::sync::LazyLock;

/// A way to read a number: what it counts, and the canonical number in one of it.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::check) struct Way {
    pub fault: Fault,
    /// "as N", "in meq/L".
    pub words: String,
    /// What a mapping would say of the label.
    pub rule: String,
    /// mg/L of the ion itself in one of it.
    pub per_one: f64,
    pub doubt: f64,
}

fn basis(words: &str, basis: &str, per_one: f64, doubt: f64) -> Way {
    Way {
        fault: Fault::Basis,
        words: words.to_owned(),
        rule: format!("basis = \"{basis}\""),
        per_one,
        doubt,
    }
}

fn unit(words: &str, unit: &str, per_one: f64, doubt: f64) -> Way {
    Way {
        fault: Fault::Unit,
        words: words.to_owned(),
        rule: format!("unit = \"{unit}\""),
        per_one,
        doubt,
    }
}

/// meq/L in one German degree: 10 mg/L CaO, two charges (definition).
const DEGREE_GERMAN: f64 = 20.0 / mass::CAO;
/// meq/L in one French degree: 10 mg/L CaCO3 (definition).
const DEGREE_FRENCH: f64 = 10.0 * CACO3_PER_MG;

/// All ways in which a laboratory may have meant a number of this substance. Names of the species as a
/// mapping takes them.
pub(super) fn ways(substance: Substance) -> &'static [Way] {
    static WAYS: LazyLock<Vec<Vec<Way>>> =
        LazyLock::new(|| Substance::ALL.iter().copied().map(made).collect());
    &WAYS[substance as usize]
}

fn made(substance: Substance) -> Vec<Way> {
    let mut ways = Vec::new();
    if substance == Substance::Conductivity {
        return vec![
            unit("in µS/cm", "uS/cm", 1.0, 0.0),
            unit("in mS/cm", "mS/cm", 1000.0, 0.0),
            unit("in mS/m", "mS/m", 10.0, 0.5),
            unit("in S/m", "S/m", 10_000.0, 2.0),
        ];
    }
    if substance == Substance::Alkalinity {
        let per_meq = 1.0 / CACO3_PER_MG;
        return vec![
            basis("as CaCO3", "CaCO3", 1.0, 0.0),
            basis("as HCO3", "HCO3", per_meq * bicarbonate_meq(), 0.0),
            unit("in meq/L", "meq/L", per_meq, 0.5),
            unit("in °dH", "°dH", DEGREE_GERMAN * per_meq, 1.0),
            unit("in °fH", "°fH", DEGREE_FRENCH * per_meq, 1.5),
        ];
    }
    let Some(ion) = substance.ion() else {
        return ways;
    };
    let z = f64::from(ion.charge.unsigned_abs());
    let per_meq = ion.mass / z;
    match substance {
        Substance::Nitrate => ways.push(basis("as N", "N", ion.mass / mass::NITROGEN, 0.0)),
        Substance::Nitrite => ways.push(basis("as N", "N", ion.mass / mass::NITROGEN, 0.5)),
        Substance::Ammonium => {
            ways.push(basis("as N", "N", ion.mass / mass::NITROGEN, 0.5));
            ways.push(basis("as NH3", "NH3", ion.mass / mass::NH3, 1.0));
        }
        Substance::Sulfate => {
            ways.push(basis("as S", "S", ion.mass / mass::SULFUR, 0.0));
            ways.push(basis("as SO3", "SO3", ion.mass / mass::SO3, 2.0));
        }
        Substance::Phosphate => {
            ways.push(basis("as P", "P", ion.mass / mass::PHOSPHORUS, 0.5));
            ways.push(basis("as P2O5", "P2O5", 2.0 * ion.mass / mass::P2O5, 1.0));
        }
        Substance::Calcium => {
            ways.push(basis("as CaCO3", "CaCO3", ion.mass / mass::CACO3, 0.0));
            ways.push(basis("as CaO", "CaO", ion.mass / mass::CAO, 1.0));
        }
        Substance::Magnesium => {
            ways.push(basis("as CaCO3", "CaCO3", ion.mass / mass::CACO3, 0.0));
            ways.push(basis("as MgO", "MgO", ion.mass / mass::MGO, 1.0));
        }
        Substance::Sodium => {
            ways.push(basis("as Na2O", "Na2O", 2.0 * ion.mass / mass::NA2O, 2.0));
            ways.push(basis("as CaCO3", "CaCO3", CACO3_PER_MG * per_meq, 2.0));
        }
        Substance::Potassium => {
            ways.push(basis("as K2O", "K2O", 2.0 * ion.mass / mass::K2O, 0.5));
        }
        Substance::Chloride => {
            ways.push(basis("as NaCl", "NaCl", ion.mass / mass::NACL, 1.5));
            ways.push(basis("as CaCO3", "CaCO3", CACO3_PER_MG * per_meq, 2.0));
        }
        Substance::Bicarbonate | Substance::Carbonate => {
            ways.push(basis("as CaCO3", "CaCO3", CACO3_PER_MG * per_meq, 0.0));
        }
        _ => {}
    }
    ways.push(match own_basis(substance) {
        Some(own) => basis(&format!("in mg/L as {own}"), own, 1.0, 0.0),
        // A metal is its own basis: only its unit can be meant otherwise.
        None => unit("in mg/L", "mg/L", 1.0, 0.0),
    });
    // The charge of phosphate goes with pH: no mapping takes its meq/L.
    if substance != Substance::Phosphate {
        ways.push(unit("in meq/L", "meq/L", per_meq, 0.5));
    }
    if z > 1.0 {
        ways.push(unit("in mmol/L", "mmol/L", ion.mass, 0.5));
    }
    ways.push(unit("in µg/L", "ug/L", 0.001, 2.0));
    if matches!(
        substance,
        Substance::Bicarbonate | Substance::Calcium | Substance::Magnesium
    ) {
        ways.push(unit("in °dH", "°dH", DEGREE_GERMAN * per_meq, 1.5));
        ways.push(unit("in °fH", "°fH", DEGREE_FRENCH * per_meq, 2.0));
    }
    ways
}

/// meq/L to mg/L of bicarbonate turned round: CaCO3 mass of one mg/L HCO3 is charge over charge.
fn bicarbonate_meq() -> f64 {
    Substance::Bicarbonate
        .charge_per_mg()
        .expect("bicarbonate is an ion")
}

/// The ion's own species, where a report may mean another; `None` for metals.
fn own_basis(substance: Substance) -> Option<&'static str> {
    Some(match substance {
        Substance::Calcium => "Ca",
        Substance::Magnesium => "Mg",
        Substance::Sodium => "Na",
        Substance::Potassium => "K",
        Substance::Ammonium => "NH4",
        Substance::Bicarbonate => "HCO3",
        Substance::Carbonate => "CO3",
        Substance::Hydroxide => "OH",
        Substance::Chloride => "Cl",
        Substance::Sulfate => "SO4",
        Substance::Nitrate => "NO3",
        Substance::Nitrite => "NO2",
        Substance::Fluoride => "F",
        Substance::Phosphate => "PO4",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::vocabulary::{Basis, Vocabulary};

    /// What a mapping would do with the line that is proposed: the same factor, or the proposal is wrong.
    #[test]
    fn the_rule_of_each_way_is_one_that_a_mapping_takes() {
        let vocabulary = Vocabulary::built_in();
        let mut wrong = Vec::new();
        for substance in Substance::ALL {
            let Some(analyte) = substance.analyte(vocabulary) else {
                continue;
            };
            for way in ways(*substance) {
                let said = |key: &str| {
                    let rest = way.rule.strip_prefix(key)?.strip_prefix(" = \"")?;
                    Some(rest.strip_suffix('"')?.to_owned())
                };
                let unit = said("unit").unwrap_or_else(|| "mg/L".to_owned());
                let (unit, _) = vocabulary.read_unit(&unit).unwrap();
                let bases = match said("basis") {
                    Some(basis) => vec![Some(Basis(basis))],
                    // Where a unit of mass needs a basis, the ion's own.
                    None => vec![None, own_basis(*substance).map(|own| Basis(own.to_owned()))],
                };
                let factor = (bases.iter())
                    .filter_map(|basis| {
                        let basis = basis.as_ref();
                        (vocabulary.convert(analyte, &unit, basis, Some(25.0))).ok()
                    })
                    .find_map(|conversion| conversion.plain_factor());
                if factor.is_none_or(|factor| (factor / way.per_one - 1.0).abs() > 1e-3) {
                    wrong.push(format!("{} {}: {factor:?}", substance.code(), way.rule));
                }
            }
        }
        assert!(wrong.is_empty(), "{wrong:#?}");
    }
}
