//! The charge of a water: each ion's share, the sums of cations and anions, the balance.

use super::carbonate::{Carbonates, carbonates};
use crate::check::substance::{Substance, mass};
use crate::check::water::Water;
use smallvec::SmallVec;

/// Cations whose number is always counted.
const CATIONS: [Substance; 5] = [
    Substance::Calcium,
    Substance::Magnesium,
    Substance::Sodium,
    Substance::Potassium,
    Substance::Ammonium,
];

/// Cations that count unless they were determined in the unfiltered water, where much of them is no
/// ion but rust and silt. DIN 38402-62 (abstract read) asks for each ion from 0.5 % of its side on; the
/// smaller ones change nothing.
const MINOR_CATIONS: [Substance; 8] = [
    Substance::Iron,
    Substance::Manganese,
    Substance::Zinc,
    Substance::Copper,
    Substance::Aluminium,
    Substance::Barium,
    Substance::Strontium,
    Substance::Lithium,
];

/// Above this pH aluminium is not an ion to speak of but hydroxide. From memory (hydrolysis constants);
/// common practice to leave it out of balances of near-neutral water.
const ALUMINIUM_PH: f64 = 5.0;

/// Second dissociation of phosphoric acid, pK 7.2 at 25 °C (CRC Handbook, from memory).
const PHOSPHATE_PH: f64 = 7.2;

/// Anions outside the carbonate system.
const ANIONS: [Substance; 5] = [
    Substance::Chloride,
    Substance::Sulfate,
    Substance::Nitrite,
    Substance::Fluoride,
    Substance::Bromide,
];

/// Ions without which there is no balance. Common practice: any of the six can carry most of a side.
/// Alkalinity stands for bicarbonate, sulfur for sulfate, calcium hardness for calcium.
pub(in crate::check) const MAJORS: [Substance; 6] = [
    Substance::Calcium,
    Substance::Magnesium,
    Substance::Sodium,
    Substance::Bicarbonate,
    Substance::Chloride,
    Substance::Sulfate,
];

/// Ions whose absence is named, but borne.
pub(in crate::check) const BORNE: [Substance; 2] = [Substance::Potassium, Substance::Nitrate];

/// One ion's charge, with what the conductivity needs of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::check) struct IonCharge {
    pub substance: Substance,
    /// meq/L.
    pub meq: f64,
    /// Number of charges of the ion that carries it.
    pub charge: u8,
    /// mho cm²/eq at 25 °C.
    pub lambda: f64,
}

/// Of all lists above, with nitrate, phosphate, the three of the carbonate system and the hydrogen ion.
const MOST_IONS: usize = CATIONS.len() + MINOR_CATIONS.len() + ANIONS.len() + 6;

/// All charge of a water. Sums in meq/L; `None` where a major ion of that side is missing. Lists lie
/// within: of some samples hundreds are made, one for each explanation that is tried.
#[derive(Clone, Debug, Default, PartialEq)]
pub(in crate::check) struct Charges {
    pub ions: SmallVec<[IonCharge; MOST_IONS]>,
    pub cations: Option<f64>,
    pub anions: Option<f64>,
    pub carbonates: Carbonates,
    pub missing: SmallVec<[Substance; MAJORS.len() + BORNE.len()]>,
}

impl Charges {
    /// 100 (C − A) / (C + A): the form of Standard Methods 1030E and of most text books. `None` where
    /// a sum is missing or both are nothing.
    pub(in crate::check) fn balance_percent(&self) -> Option<f64> {
        balance_percent(self.cations?, self.anions?)
    }

    /// meq/L of one ion, as counted; `None` where it is not there.
    pub(in crate::check) fn meq(&self, substance: Substance) -> Option<f64> {
        let ion = self.ions.iter().find(|ion| ion.substance == substance)?;
        Some(ion.meq)
    }
}

/// 100 (C − A) / (C + A), percent.
pub(in crate::check) fn balance_percent(cations: f64, anions: f64) -> Option<f64> {
    let sum = cations + anions;
    (sum > 0.0).then(|| 100.0 * (cations - anions) / sum)
}

/// Calcium in mg/L: as reported, else from calcium hardness, which is calcium in other words.
pub(in crate::check) fn calcium(water: &Water, share: f64) -> Option<f64> {
    let mass_ca = Substance::Calcium.ion()?.mass;
    (water.at(Substance::Calcium, share))
        .or_else(|| Some(water.at(Substance::HardnessCalcium, share)? * mass_ca / mass::CACO3))
}

/// Magnesium in mg/L: as reported, else from magnesium hardness.
pub(in crate::check) fn magnesium(water: &Water, share: f64) -> Option<f64> {
    let mass_mg = Substance::Magnesium.ion()?.mass;
    (water.at(Substance::Magnesium, share))
        .or_else(|| Some(water.at(Substance::HardnessMagnesium, share)? * mass_mg / mass::CACO3))
}

/// Sulfate in mg/L: as reported, else all sulfur taken as sulfate. The second rests on an assumption
/// (common practice for clear, aerated water), which `assumption` tells with a finding.
pub(in crate::check) fn sulfate(water: &Water, share: f64) -> Option<f64> {
    let mass_so4 = Substance::Sulfate.ion()?.mass;
    (water.at(Substance::Sulfate, share))
        .or_else(|| Some(water.at(Substance::Sulfur, share)? * mass_so4 / mass::SULFUR))
}

/// Nitrate in mg/L: as reported, else the sum of nitrate and nitrite nitrogen taken as nitrate (one
/// charge each, so that the balance is the same).
pub(in crate::check) fn nitrate(water: &Water, share: f64) -> Option<f64> {
    let mass_no3 = Substance::Nitrate.ion()?.mass;
    (water.at(Substance::Nitrate, share)).or_else(|| {
        Some(water.at(Substance::NitrogenNitrateNitrite, share)? * mass_no3 / mass::NITROGEN)
    })
}

fn concentration(water: &Water, substance: Substance, share: f64) -> Option<f64> {
    match substance {
        Substance::Calcium => calcium(water, share),
        Substance::Magnesium => magnesium(water, share),
        Substance::Sulfate => sulfate(water, share),
        Substance::Nitrate => nitrate(water, share),
        _ => water.at(substance, share),
    }
}

/// All ions of a water, a result below its limit counted as `share` of the limit on the cation side
/// and `anion_share` on the anion side.
pub(in crate::check) fn charges(water: &Water, share: f64, anion_share: f64) -> Charges {
    let ph = water.plain(Substance::Ph);
    let mut ions = SmallVec::new();
    let mut push = |substance: Substance, value: Option<f64>| -> Option<f64> {
        let ion = substance.ion()?;
        let meq = value? * ion.per_mg;
        ions.push(IonCharge {
            substance,
            meq,
            charge: ion.charge.unsigned_abs(),
            lambda: ion.lambda,
        });
        Some(meq)
    };
    let mut cations: f64 = CATIONS
        .into_iter()
        .filter_map(|s| push(s, concentration(water, s, share)))
        .sum();
    cations += MINOR_CATIONS
        .into_iter()
        .filter(|&s| !water.is_total(s))
        .filter(|&s| s != Substance::Aluminium || ph.is_some_and(|ph| ph < ALUMINIUM_PH))
        .filter_map(|s| push(s, water.at(s, share)))
        .sum::<f64>();
    let carbonates = carbonates(water, anion_share);
    let mut anions: f64 = ANIONS
        .into_iter()
        .filter(|&s| {
            // The sum of nitrate and nitrite already holds nitrite.
            s != Substance::Nitrite
                || water.reading(Substance::Nitrate).is_some()
                || water.reading(Substance::NitrogenNitrateNitrite).is_none()
        })
        .filter_map(|s| push(s, concentration(water, s, anion_share)))
        .sum();
    anions += push(Substance::Nitrate, nitrate(water, anion_share)).unwrap_or_else(nothing);
    if let Some(value) = water.at(Substance::Phosphate, anion_share)
        && let Some(ion) = Substance::Phosphate.ion()
    {
        // HPO4 above pH 7.2, else H2PO4; equivalent conductivities of Standard Methods 2510B, from
        // memory.
        let (charge, lambda) = match ph {
            Some(ph) if ph > PHOSPHATE_PH => (2, 57.0),
            _ => (1, 33.0),
        };
        let meq = value * f64::from(charge) / ion.mass;
        ions.push(IonCharge {
            substance: Substance::Phosphate,
            meq,
            charge,
            lambda,
        });
        anions += meq;
    }
    if let Some(charge) = carbonates.charge {
        anions += charge;
        push_carbonates(&mut ions, &carbonates, charge, ph);
    }
    if let Some(ph) = ph {
        // H+ conducts like nothing else; at pH 4.4 it is 0.04 meq/L, at pH 7 nothing.
        let meq = 1000.0 * 10f64.powf(-ph);
        cations += meq;
        ions.push(IonCharge {
            substance: Substance::Ph,
            meq,
            charge: 1,
            lambda: 350.0,
        });
    }
    let mut missing: SmallVec<[Substance; MAJORS.len() + BORNE.len()]> = (MAJORS.into_iter())
        .filter(|&s| match s {
            Substance::Bicarbonate => carbonates.charge.is_none(),
            _ => concentration(water, s, share).is_none(),
        })
        .collect();
    let side = |s: &Substance| s.ion().map(|ion| ion.charge.signum());
    let lacks = |of: i8| missing.iter().any(|s| side(s) == Some(of));
    let (lacks_cation, lacks_anion) = (lacks(1), lacks(-1));
    missing.extend((BORNE.into_iter()).filter(|&s| concentration(water, s, share).is_none()));
    Charges {
        ions,
        cations: (!lacks_cation).then_some(cations),
        anions: (!lacks_anion).then_some(anions),
        carbonates,
        missing,
    }
}

/// An ion that is not reported adds nothing to a sum; whether the sum may stand is decided by
/// [`MAJORS`].
const fn nothing() -> f64 {
    0.0
}

/// The carbonate system's charge, shared between the ions that carry it, for the conductivity. Where
/// alkalinity could not be split (no pH), all of it is bicarbonate.
fn push_carbonates(
    ions: &mut SmallVec<[IonCharge; MOST_IONS]>,
    carbonates: &Carbonates,
    charge: f64,
    ph: Option<f64>,
) {
    let part = |substance: Substance, value: Option<f64>| {
        let ion = substance.ion()?;
        Some(IonCharge {
            substance,
            meq: value? * ion.per_mg,
            charge: ion.charge.unsigned_abs(),
            lambda: ion.lambda,
        })
    };
    let Some(bicarbonate) = part(Substance::Bicarbonate, carbonates.bicarbonate) else {
        ions.extend(
            part(Substance::Bicarbonate, Some(1.0)).map(|ion| IonCharge { meq: charge, ..ion }),
        );
        return;
    };
    let carbonate = part(Substance::Carbonate, carbonates.carbonate);
    let rest = charge - bicarbonate.meq - carbonate.map_or(0.0, |ion| ion.meq);
    ions.push(bicarbonate);
    ions.extend(carbonate);
    // What is left is hydroxide; below pH 9 it is rounding.
    if rest > 1e-9 && ph.is_none_or(|ph| ph > 9.0) {
        ions.extend(
            part(Substance::Hydroxide, Some(1.0)).map(|ion| IonCharge { meq: rest, ..ion }),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::published::WATERS;

    #[test]
    fn published_waters_balance_as_computed_by_another_hand() {
        for published in WATERS {
            let charges = charges(&published.water(), 0.5, 0.5);
            let [cations, anions, balance] = published.charge;
            let ours = [
                charges.cations.unwrap(),
                charges.anions.unwrap(),
                charges.balance_percent().unwrap(),
            ];
            // 0.5 % or 0.01 meq/L: sources differ in minor ions.
            for (ours, theirs) in [(ours[0], cations), (ours[1], anions)] {
                assert!(
                    (ours - theirs).abs() < (0.005 * theirs).max(0.01),
                    "{}: {ours} against {theirs}",
                    published.name
                );
            }
            assert!(
                (ours[2] - balance).abs() < 0.1,
                "{}: balance {} against {balance}",
                published.name,
                ours[2]
            );
        }
    }

    #[test]
    fn alkalinity_counts_without_ph_and_sulfur_counts_as_sulfate() {
        let water = Water::of(&[
            (Substance::Alkalinity, 100.0),
            (Substance::Sulfur, 10.0),
            (Substance::Chloride, 0.0),
        ]);
        let charges = charges(&water, 0.5, 0.5);
        let expected = 2.0 * 100.0 / mass::CACO3 + 2.0 * 10.0 / mass::SULFUR;
        assert!((charges.anions.unwrap() - expected).abs() < 1e-9);
        assert_eq!(charges.cations, None);
        assert_eq!(charges.carbonates.bicarbonate, None);
    }

    #[test]
    fn err_no_sum_without_its_majors() {
        let mut water = WATERS[0].water();
        water.clear(Substance::Sulfate);
        let charges = charges(&water, 0.5, 0.5);
        assert_eq!(charges.anions, None);
        assert_eq!(charges.balance_percent(), None);
        assert_eq!(charges.missing.as_slice(), [Substance::Sulfate]);
    }
}
