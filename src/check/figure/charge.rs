//! The charge of a water: each ion's share, the sums of cations and anions, the balance.

use super::carbonate::{Carbonates, carbonates};
use crate::check::substance::{Ion, Substance, mass};
use crate::check::water::Water;

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

/// Ions without which there is no balance, three of either side. Common practice: any of the six can carry most of a side.
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

/// What the sums count beside the lists above: nitrate, phosphate, the carbonate system and the hydrogen ion
/// (as pH).
const OTHERS: [Substance; 6] = [
    Substance::Nitrate,
    Substance::Phosphate,
    Substance::Bicarbonate,
    Substance::Carbonate,
    Substance::Hydroxide,
    Substance::Ph,
];

/// All that the sums count, one list after the other.
const COUNTED: [Substance; 24] = {
    let lists: [&[Substance]; 4] = [&CATIONS, &MINOR_CATIONS, &ANIONS, &OTHERS];
    let mut all = [Substance::Ph; 24];
    let (mut list, mut at) = (0, 0);
    while list < lists.len() {
        let mut i = 0;
        while i < lists[list].len() {
            all[at] = lists[list][i];
            (i, at) = (i + 1, at + 1);
        }
        list += 1;
    }
    assert!(at == all.len());
    all
};

/// Position of each substance in [`COUNTED`]; past its end for all others.
static POSITIONS: [u8; Substance::COUNT] = {
    let mut positions = [COUNTED.len() as u8; Substance::COUNT];
    let mut i = 0;
    while i < COUNTED.len() {
        positions[COUNTED[i] as usize] = i as u8;
        i += 1;
    }
    positions
};

/// All charge of a water. Sums in meq/L; `None` where a major ion of that side is missing. Lies dense: of
/// some samples hundreds are made, one for each explanation that is tried.
#[derive(Clone, Debug, Default, PartialEq)]
pub(in crate::check) struct Charges {
    ions: Ions,
    pub cations: Option<f64>,
    pub anions: Option<f64>,
    pub carbonates: Carbonates,
}

/// The ions that were counted, with what the conductivity needs of them.
#[derive(Clone, Debug, Default, PartialEq)]
struct Ions {
    /// meq/L of each of [`COUNTED`], 0 where it is not there.
    meq: [f64; COUNTED.len()],
    /// Which of [`COUNTED`] are there, a bit for each.
    there: u32,
    /// Sums over all ions in the order of counting: of the charge, meq/L, ...
    all: f64,
    /// ... of the charge times the number of charges of the ion that carries it ...
    by_charge: f64,
    /// ... and times its limiting conductivity, µS/cm.
    limiting: f64,
}

impl Ions {
    /// Counts an ion of so many meq/L, which it gives back.
    #[inline]
    fn count(&mut self, substance: Substance, meq: f64, charge: u8, lambda: f64) -> f64 {
        let position = usize::from(POSITIONS[substance as usize]);
        self.meq[position] = meq;
        self.there |= 1 << position;
        self.all += meq;
        self.by_charge += f64::from(charge) * meq;
        self.limiting += lambda * meq;
        meq
    }

    #[inline]
    fn meq(&self, substance: Substance) -> Option<f64> {
        let position = usize::from(POSITIONS[substance as usize]);
        let meq = self.meq.get(position)?;
        (self.there >> position & 1 == 1).then_some(*meq)
    }

    /// Counts an ion of so many meq/L with the charge and the conductivity of its substance.
    #[inline]
    fn count_meq(&mut self, substance: Substance, ion: Ion, meq: f64) -> f64 {
        self.count(substance, meq, ion.charge.unsigned_abs(), ion.lambda)
    }

    /// Counts an ion by its mg/L, where it is there; gives its meq/L.
    #[inline]
    fn count_mass(&mut self, substance: Substance, value: Option<f64>) -> Option<f64> {
        let ion = substance.ion()?;
        Some(self.count_meq(substance, ion, value? * ion.per_mg))
    }
}

impl Charges {
    /// 100 (C − A) / (C + A): the form of Standard Methods 1030E and of most text books. `None` where
    /// a sum is missing or both are nothing.
    pub(in crate::check) fn balance_percent(&self) -> Option<f64> {
        balance_percent(self.cations?, self.anions?)
    }

    /// meq/L of one ion, as counted; `None` where it is not there.
    pub(in crate::check) fn meq(&self, substance: Substance) -> Option<f64> {
        self.ions.meq(substance)
    }

    /// Ions that a balance should have and that are not there: of [`MAJORS`], then of [`BORNE`].
    pub(in crate::check) fn missing(&self) -> impl Iterator<Item = Substance> + '_ {
        (MAJORS.into_iter().chain(BORNE)).filter(|s| self.meq(*s).is_none())
    }

    /// Sum of all charge, meq/L.
    pub(in crate::check) const fn all(&self) -> f64 {
        self.ions.all
    }

    /// Sum of z·meq over all ions.
    pub(in crate::check) const fn by_charge(&self) -> f64 {
        self.ions.by_charge
    }

    /// Sum of λ·meq over all ions, µS/cm.
    pub(in crate::check) const fn limiting(&self) -> f64 {
        self.ions.limiting
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
    let mut ions = Ions::default();
    let mut cations = 0.0;
    for s in CATIONS {
        let meq = ions.count_mass(s, concentration(water, s, share));
        cations += meq.unwrap_or_else(nothing);
    }
    let mut minor_cations = 0.0;
    for s in MINOR_CATIONS {
        let is_ion = s != Substance::Aluminium || ph.is_some_and(|ph| ph < ALUMINIUM_PH);
        if is_ion && !water.is_total(s) {
            let meq = ions.count_mass(s, water.at(s, share));
            minor_cations += meq.unwrap_or_else(nothing);
        }
    }
    cations += minor_cations;
    let carbonates = carbonates(water, anion_share);
    let mut anions = 0.0;
    for s in ANIONS {
        // The sum of nitrate and nitrite already holds nitrite.
        if s != Substance::Nitrite
            || water.reading(Substance::Nitrate).is_some()
            || water.reading(Substance::NitrogenNitrateNitrite).is_none()
        {
            let meq = ions.count_mass(s, concentration(water, s, anion_share));
            anions += meq.unwrap_or_else(nothing);
        }
    }
    let nitrate = nitrate(water, anion_share);
    anions += (ions.count_mass(Substance::Nitrate, nitrate)).unwrap_or_else(nothing);
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
        anions += ions.count(Substance::Phosphate, meq, charge, lambda);
    }
    if let Some(charge) = carbonates.charge {
        anions += charge;
        count_carbonates(&mut ions, &carbonates, charge, ph);
    }
    if let Some(acidity) = water.acidity() {
        // H+ conducts like nothing else; at pH 4.4 it is 0.04 meq/L, at pH 7 nothing.
        cations += ions.count(Substance::Ph, acidity.hydrogen, 1, 350.0);
    }
    let has_all = |of: [Substance; 3]| of.into_iter().all(|s| ions.meq(s).is_some());
    let [first, second, third, fourth, fifth, sixth] = MAJORS;
    Charges {
        cations: has_all([first, second, third]).then_some(cations),
        anions: has_all([fourth, fifth, sixth]).then_some(anions),
        ions,
        carbonates,
    }
}

/// An ion that is not reported adds nothing to a sum; whether the sum may stand is decided by
/// [`MAJORS`].
const fn nothing() -> f64 {
    0.0
}

/// The carbonate system's charge, shared between the ions that carry it, for the conductivity. Where
/// alkalinity could not be split (no pH), all of it is bicarbonate.
fn count_carbonates(ions: &mut Ions, carbonates: &Carbonates, charge: f64, ph: Option<f64>) {
    let Some(bicarbonate) = ions.count_mass(Substance::Bicarbonate, carbonates.bicarbonate) else {
        if let Some(ion) = Substance::Bicarbonate.ion() {
            ions.count_meq(Substance::Bicarbonate, ion, charge);
        }
        return;
    };
    let carbonate = ions.count_mass(Substance::Carbonate, carbonates.carbonate);
    let rest = charge - bicarbonate - carbonate.unwrap_or_else(nothing);
    // What is left is hydroxide; below pH 9 it is rounding.
    if rest > 1e-9
        && ph.is_none_or(|ph| ph > 9.0)
        && let Some(ion) = Substance::Hydroxide.ion()
    {
        ions.count_meq(Substance::Hydroxide, ion, rest);
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
        assert!(charges.missing().eq([Substance::Sulfate]));
    }
}
