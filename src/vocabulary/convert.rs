//! Conversion by species: from a number in a unit, counted as a basis, to the canonical number of an
//! analyte. Amount of substance and charge equivalents only; no factor is typed in.

use super::formula::Formula;
use super::{Analyte, Basis, Conversion, Dimension, Note, Refusal, Silent, Unit, iso7888};

/// Charge equivalents of one formula unit, for what a mass 'as …' of hardness or alkalinity may count.
const EQUIVALENTS: [(&str, f64); 12] = [
    ("Ca", 2.0),
    ("CaCO3", 2.0),
    ("CaO", 2.0),
    ("CO3", 2.0),
    ("H", 1.0),
    ("HCO3", 1.0),
    ("Mg", 2.0),
    ("MgCO3", 2.0),
    ("MgO", 2.0),
    ("Na2CO3", 2.0),
    ("NaHCO3", 1.0),
    ("OH", 1.0),
];

pub(super) fn convert(
    analyte: &Analyte,
    unit: &Unit,
    basis: Option<&Basis>,
    reference_temperature: Option<f64>,
) -> Result<Conversion, Refusal> {
    let mut conversion = match analyte.unit.as_str() {
        "mg/L" => Conversion::by(unit.to_base * concentration(analyte, unit, basis)?),
        "uS/cm" => conductivity(unit, reference_temperature)?,
        "Cel" if unit.dimension == Dimension::Temperature => Conversion {
            factor: unit.to_base,
            offset: unit.offset,
            note: None,
        },
        "[CFU]/(100.mL)" if unit.dimension == Dimension::Count => Conversion::by(unit.to_base),
        "mV" if unit.dimension == Dimension::Potential => Conversion::by(unit.to_base),
        // Both set with formazin; the unit's note says that the light is another.
        "[NTU]" if matches!(unit.code, "[NTU]" | "[FNU]") => Conversion::by(1.0),
        // Units that convert to nothing else: pH, percent, pure numbers.
        canonical if unit.code == canonical => Conversion::by(1.0),
        _ => return Err(Refusal::UnitUnfit),
    };
    if analyte.basis.is_none() && basis.is_some() {
        return Err(Refusal::BasisUnfit);
    }
    conversion.note = conversion.note.or(unit.note);
    Ok(conversion)
}

fn conductivity(unit: &Unit, reference_temperature: Option<f64>) -> Result<Conversion, Refusal> {
    if unit.dimension != Dimension::Conductivity {
        return Err(Refusal::UnitUnfit);
    }
    let (factor, note) = match reference_temperature {
        None => (1.0, Some(Note::TakenAt25)),
        Some(25.0) => (1.0, None),
        Some(t) => (
            iso7888::factor_to_25(t).ok_or(Refusal::UnitUnfit)?,
            Some(Note::BroughtTo25),
        ),
    };
    Ok(Conversion {
        factor: unit.to_base * factor,
        offset: 0.0,
        note,
    })
}

/// mg/L of the canonical species for one base unit of the dimension.
fn concentration(analyte: &Analyte, unit: &Unit, basis: Option<&Basis>) -> Result<f64, Refusal> {
    let Some(canonical) = &analyte.basis else {
        // Solids: a mass and nothing else.
        return match (unit.dimension, unit.code, basis) {
            (Dimension::Mass, code, None) if code != "[hazen]" => Ok(1.0),
            (Dimension::Mass, _, Some(_)) => Err(Refusal::BasisUnfit),
            _ => Err(Refusal::UnitUnfit),
        };
    };
    // The platinum scale belongs to colour alone.
    if (canonical.0 == "Pt") != (unit.code == "[hazen]") && unit.dimension == Dimension::Mass {
        let plain_colour = canonical.0 == "Pt" && unit.code == "mg/L";
        if !plain_colour {
            return Err(Refusal::UnitUnfit);
        }
    }
    if let Some(basis) = basis {
        // A basis that cannot be is refused whatever the unit.
        mass_factor(analyte, canonical, basis)?;
    }
    match unit.dimension {
        Dimension::Mass => {
            let basis = match (basis, analyte.silent) {
                (Some(basis), _) => basis,
                (None, Silent::Understood) => canonical,
                (None, _) => return Err(Refusal::BasisMissing),
            };
            mass_factor(analyte, canonical, basis)
        }
        Dimension::Amount => amount_factor(analyte, canonical, basis),
        Dimension::Charge => charge_factor(analyte, canonical, basis),
        Dimension::Hardness if counts_hardness(analyte) => charge_factor(analyte, canonical, None),
        // °F beside hardness is the French degree, 10 mg/L CaCO3; `to_base` is undone.
        Dimension::Temperature if unit.code == "[degF]" && is_equivalents(analyte) => {
            Ok(10.0 / unit.to_base)
        }
        _ => Err(Refusal::UnitUnfit),
    }
}

/// Hardness and alkalinity: sums of charge, whatever carries it.
pub(super) fn is_equivalents(analyte: &Analyte) -> bool {
    analyte.basis.as_ref().is_some_and(|b| b.0 == "CaCO3")
}

fn is_alkalinity(analyte: &Analyte) -> bool {
    analyte.code.starts_with("alkalinity")
}

/// Degrees of hardness make sense of hardness, alkalinity and the ions that carry them.
fn counts_hardness(analyte: &Analyte) -> bool {
    is_equivalents(analyte)
        || matches!(
            analyte.basis.as_ref().map(|b| b.0.as_str()),
            Some("Ca" | "Mg" | "HCO3" | "CO3")
        )
}

fn equivalents(species: &str) -> Option<f64> {
    EQUIVALENTS
        .iter()
        .find(|(s, _)| *s == species)
        .map(|(_, n)| *n)
}

fn mass(species: &str) -> Result<f64, Refusal> {
    Formula::parse(species)
        .map(|f| f.mass())
        .ok_or(Refusal::BasisUnfit)
}

/// mg of the canonical species for 1 mg counted as `basis`.
fn mass_factor(analyte: &Analyte, canonical: &Basis, basis: &Basis) -> Result<f64, Refusal> {
    if basis == canonical {
        return Ok(1.0);
    }
    if is_equivalents(analyte) {
        return Ok(equivalents_of(analyte, basis)? / mass(&basis.0)?
            * equivalent_mass(analyte, canonical)?);
    }
    if basis.0 == "CaCO3" {
        // 'as CaCO3' of an ion counts its charge.
        return Ok(2.0 / mass("CaCO3")? * equivalent_mass(analyte, canonical)?);
    }
    Ok(moles_of_canonical(analyte, canonical, basis)? / mass(&basis.0)? * mass(&canonical.0)?)
}

/// Moles of the canonical species that hold the key element of one mole of `basis`.
fn moles_of_canonical(analyte: &Analyte, canonical: &Basis, basis: &Basis) -> Result<f64, Refusal> {
    if basis == canonical {
        return Ok(1.0);
    }
    let from = Formula::parse(&basis.0).ok_or(Refusal::BasisUnfit)?;
    let to = Formula::parse(&canonical.0).ok_or(Refusal::BasisUnfit)?;
    let key = to.key_element().ok_or(Refusal::BasisUnfit)?;
    let usual = analyte.bases.contains(basis);
    // Forms of the key element with oxygen and hydrogen only; carbon and chlorine have too many forms
    // whose counting is disputed (bicarbonate as CO3, chlorine as HOCl).
    let plain_form = from.key_element() == Some(key) && !matches!(key, "C" | "Cl");
    if from.count_of(key) == 0 || !(usual || plain_form) {
        return Err(Refusal::BasisUnfit);
    }
    Ok(f64::from(from.count_of(key)) / f64::from(to.count_of(key)))
}

fn amount_factor(
    analyte: &Analyte,
    canonical: &Basis,
    basis: Option<&Basis>,
) -> Result<f64, Refusal> {
    if is_equivalents(analyte) {
        // mmol/L of alkalinity are acid taken up (KS4,3): 1 equivalent; of hardness, ions of Ca and Mg: 2.
        let n = match basis {
            Some(basis) => equivalents_of(analyte, basis)?,
            None if is_alkalinity(analyte) => 1.0,
            // 'Carbonate hardness' in mmol/L is printed both ways.
            None if analyte.code == "hardness_carbonate" => return Err(Refusal::BasisMissing),
            None => 2.0,
        };
        return Ok(n * equivalent_mass(analyte, canonical)?);
    }
    match basis {
        Some(basis) if basis.0 == "CaCO3" && basis != canonical => {
            Ok(2.0 * equivalent_mass(analyte, canonical)?)
        }
        Some(basis) => Ok(moles_of_canonical(analyte, canonical, basis)? * mass(&canonical.0)?),
        None => mass(&canonical.0),
    }
}

fn charge_factor(
    analyte: &Analyte,
    canonical: &Basis,
    basis: Option<&Basis>,
) -> Result<f64, Refusal> {
    // The charge of phosphate depends on pH: only a named form has one.
    if canonical.0 == "PO4" {
        let charge = match basis.map(|b| b.0.as_str()) {
            Some("H2PO4") => 1.0,
            Some("HPO4") => 2.0,
            _ => return Err(Refusal::BasisMissing),
        };
        return Ok(mass(&canonical.0)? / charge);
    }
    equivalent_mass(analyte, canonical)
}

/// g of the canonical species that carry one mole of charge.
fn equivalent_mass(analyte: &Analyte, canonical: &Basis) -> Result<f64, Refusal> {
    let charge = if is_equivalents(analyte) {
        2.0
    } else if canonical.0 == "PO4" || analyte.charge == 0 {
        return Err(Refusal::UnitUnfit);
    } else {
        f64::from(analyte.charge).abs()
    };
    Ok(mass(&canonical.0)? / charge)
}

/// Equivalents of one mole of `basis`, where such a basis is said of hardness or alkalinity at all.
fn equivalents_of(analyte: &Analyte, basis: &Basis) -> Result<f64, Refusal> {
    let fits = match basis.0.as_str() {
        "CaCO3" | "CaO" => true,
        "Ca" => matches!(analyte.code.as_str(), "hardness" | "hardness_calcium"),
        "Mg" | "MgO" | "MgCO3" => analyte.code == "hardness_magnesium",
        "HCO3" => is_alkalinity(analyte) || analyte.code == "hardness_carbonate",
        "CO3" | "OH" | "H" | "Na2CO3" | "NaHCO3" => is_alkalinity(analyte),
        _ => false,
    };
    equivalents(&basis.0)
        .filter(|_| fits)
        .ok_or(Refusal::BasisUnfit)
}

/// How many equivalents (or atoms of the key element) one formula unit of `basis` counts, for writing a
/// conversion out. `None` where there is no such count.
pub(super) fn counted_of(
    analyte: &Analyte,
    canonical: &Basis,
    basis: Option<&Basis>,
    by_charge: bool,
) -> Option<f64> {
    if is_equivalents(analyte) {
        return match basis {
            Some(basis) => equivalents_of(analyte, basis).ok(),
            None if is_alkalinity(analyte) => Some(1.0),
            None => Some(2.0),
        };
    }
    let basis = basis.unwrap_or(canonical);
    if by_charge && basis.0 == "CaCO3" {
        return Some(2.0);
    }
    let moles = moles_of_canonical(analyte, canonical, basis).ok()?;
    if by_charge {
        return Some(moles * f64::from(analyte.charge).abs());
    }
    let key = Formula::parse(&canonical.0)?;
    let atoms = key.key_element().map_or(1, |k| key.count_of(k));
    Some(moles * f64::from(atoms))
}
