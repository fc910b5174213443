//! What the chemistry knows of each analyte of the canonical schema: its place in a [`super::Water`],
//! and for ions charge, formula mass and limiting conductivity. Analytes that a user added to the
//! vocabulary have no chemistry and never come here.

use crate::vocabulary::{AnalyteId, Vocabulary};

/// IUPAC 2021 abridged standard atomic weights, g/mol: Prohaska et al., Pure Appl. Chem. 94 (2022)
/// 573-600, table 1 (read in a public copy of the data set).
mod weight {
    pub(super) const H: f64 = 1.008;
    pub(super) const LI: f64 = 6.94;
    pub(super) const C: f64 = 12.011;
    pub(super) const N: f64 = 14.007;
    pub(super) const O: f64 = 15.999;
    pub(super) const F: f64 = 18.998;
    pub(super) const NA: f64 = 22.990;
    pub(super) const MG: f64 = 24.305;
    pub(super) const AL: f64 = 26.982;
    pub(super) const P: f64 = 30.974;
    pub(super) const S: f64 = 32.06;
    pub(super) const CL: f64 = 35.45;
    pub(super) const K: f64 = 39.098;
    pub(super) const CA: f64 = 40.078;
    pub(super) const MN: f64 = 54.938;
    pub(super) const FE: f64 = 55.845;
    pub(super) const CU: f64 = 63.546;
    pub(super) const ZN: f64 = 65.38;
    pub(super) const BR: f64 = 79.904;
    pub(super) const SR: f64 = 87.62;
    pub(super) const BA: f64 = 137.33;
}

/// Formula masses that conversions between bases need, g/mol.
pub(super) mod mass {
    use super::weight::*;
    pub(in crate::check) const NITROGEN: f64 = N;
    pub(in crate::check) const SULFUR: f64 = S;
    pub(in crate::check) const PHOSPHORUS: f64 = P;
    pub(in crate::check) const CACO3: f64 = CA + C + 3.0 * O;
    pub(in crate::check) const CAO: f64 = CA + O;
    pub(in crate::check) const MGO: f64 = MG + O;
    pub(in crate::check) const NA2O: f64 = 2.0 * NA + O;
    pub(in crate::check) const K2O: f64 = 2.0 * K + O;
    pub(in crate::check) const SO3: f64 = S + 3.0 * O;
    pub(in crate::check) const P2O5: f64 = 2.0 * P + 5.0 * O;
    pub(in crate::check) const NACL: f64 = NA + CL;
    pub(in crate::check) const NH3: f64 = N + 3.0 * H;
}

/// An ion as the balance counts it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Ion {
    /// Signed.
    pub charge: i8,
    /// g/mol of the species that the canonical mass counts.
    pub mass: f64,
    /// meq/L in one mg/L.
    pub per_mg: f64,
    /// Limiting equivalent conductivity at 25 °C, mho cm²/eq.
    pub lambda: f64,
}

macro_rules! substances {
    ($($variant:ident $code:literal $column:literal;)*) => {
        /// An analyte of the canonical schema.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Substance { $($variant,)* }

        impl Substance {
            pub const ALL: &[Self] = &[$(Self::$variant,)*];

            /// Code of the canonical schema, `nitrate`.
            pub const fn code(self) -> &'static str {
                match self { $(Self::$variant => $code,)* }
            }

            /// What a person calls it.
            pub const fn name(self) -> &'static str {
                match self { $(Self::$variant => $column,)* }
            }
        }
    };
}

substances! {
    Ph "ph" "pH";
    Conductivity "conductivity" "conductivity";
    Temperature "temperature" "temperature";
    DissolvedSolids "dissolved_solids" "dissolved solids";
    SuspendedSolids "suspended_solids" "suspended solids";
    Turbidity "turbidity" "turbidity";
    Colour "colour" "colour";
    Alkalinity "alkalinity" "alkalinity";
    AlkalinityP "alkalinity_p" "phenolphthalein alkalinity";
    Bicarbonate "bicarbonate" "bicarbonate";
    Carbonate "carbonate" "carbonate";
    Hydroxide "hydroxide" "hydroxide";
    Hardness "hardness" "hardness";
    HardnessCalcium "hardness_calcium" "calcium hardness";
    HardnessMagnesium "hardness_magnesium" "magnesium hardness";
    HardnessCarbonate "hardness_carbonate" "carbonate hardness";
    HardnessNoncarbonate "hardness_noncarbonate" "noncarbonate hardness";
    Calcium "calcium" "calcium";
    Magnesium "magnesium" "magnesium";
    Sodium "sodium" "sodium";
    Potassium "potassium" "potassium";
    Ammonium "ammonium" "ammonium";
    Chloride "chloride" "chloride";
    Fluoride "fluoride" "fluoride";
    Bromide "bromide" "bromide";
    Sulfate "sulfate" "sulfate";
    Nitrate "nitrate" "nitrate";
    Nitrite "nitrite" "nitrite";
    NitrogenNitrateNitrite "nitrogen_nitrate_nitrite" "nitrate and nitrite nitrogen";
    NitrogenTotal "nitrogen_total" "total nitrogen";
    NitrogenKjeldahl "nitrogen_kjeldahl" "Kjeldahl nitrogen";
    NitrogenInorganic "nitrogen_inorganic" "inorganic nitrogen";
    NitrogenOrganic "nitrogen_organic" "organic nitrogen";
    Phosphate "phosphate" "phosphate";
    Phosphorus "phosphorus" "phosphorus";
    Sulfur "sulfur" "sulfur";
    Sulfide "sulfide" "sulfide";
    Silica "silica" "silica";
    Boron "boron" "boron";
    Iron "iron" "iron";
    Manganese "manganese" "manganese";
    Zinc "zinc" "zinc";
    Copper "copper" "copper";
    Molybdenum "molybdenum" "molybdenum";
    Aluminium "aluminium" "aluminium";
    Arsenic "arsenic" "arsenic";
    Antimony "antimony" "antimony";
    Barium "barium" "barium";
    Beryllium "beryllium" "beryllium";
    Cadmium "cadmium" "cadmium";
    Chromium "chromium" "chromium";
    Cobalt "cobalt" "cobalt";
    Lead "lead" "lead";
    Lithium "lithium" "lithium";
    Mercury "mercury" "mercury";
    Nickel "nickel" "nickel";
    Selenium "selenium" "selenium";
    Silver "silver" "silver";
    Strontium "strontium" "strontium";
    Thallium "thallium" "thallium";
    Tin "tin" "tin";
    Titanium "titanium" "titanium";
    Uranium "uranium" "uranium";
    Vanadium "vanadium" "vanadium";
    Cyanide "cyanide" "cyanide";
    DissolvedOxygen "dissolved_oxygen" "dissolved oxygen";
    Bod "bod" "biochemical oxygen demand";
    Cod "cod" "chemical oxygen demand";
    OrganicCarbon "organic_carbon" "organic carbon";
    CarbonDioxide "carbon_dioxide" "carbon dioxide";
    OxygenSaturation "oxygen_saturation" "oxygen saturation";
    ChlorineFree "chlorine_free" "free chlorine";
    ChlorineTotal "chlorine_total" "total chlorine";
    Redox "redox" "redox potential";
    EColi "e_coli" "E. coli";
    Coliforms "coliforms" "coliforms";
    ColiformsFaecal "coliforms_faecal" "faecal coliforms";
    Enterococci "enterococci" "enterococci";
    PlateCount "plate_count" "plate count";
    IronBacteria "iron_bacteria" "iron bacteria";
    SodiumAdsorptionRatio "sodium_adsorption_ratio" "sodium adsorption ratio";
    ChargeBalanceReported "charge_balance_reported" "charge balance";
}

impl Substance {
    /// How many there are.
    pub const COUNT: usize = Self::ALL.len();

    /// By code; `None` for an analyte that the schema does not have.
    pub fn find(code: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|s| s.code() == code)
    }

    /// The substance of each analyte of a vocabulary, by `AnalyteId`.
    pub(super) fn of_vocabulary(vocabulary: &Vocabulary) -> Vec<Option<Self>> {
        (vocabulary.analytes().iter())
            .map(|analyte| Self::find(&analyte.code))
            .collect()
    }

    /// The substance as analyte of a vocabulary; `None` when the vocabulary lacks it.
    pub fn analyte(self, vocabulary: &Vocabulary) -> Option<AnalyteId> {
        vocabulary.find(self.code())
    }

    /// `None` where the analyte has no charge in a balance.
    pub(super) const fn ion(self) -> Option<Ion> {
        IONS[self as usize]
    }

    /// meq/L in one mg/L; `None` where the substance carries no charge.
    pub fn charge_per_mg(self) -> Option<f64> {
        self.ion().map(|ion| ion.per_mg)
    }
}

/// The ion of each substance. Phosphate is given with one charge; its second, at pH above 7.2, is the
/// balance's business.
///
/// Limiting conductivities: Standard Methods 2510B table II, from memory (Ca, Mg, Na, K, NH4, H,
/// Fe, HCO3, CO3, SO4, Cl, NO3, F, OH, H2PO4); CRC Handbook (Vanysek), read for Mn, Cu, Ba, Al, Li,
/// from memory for NO2, Br, Sr and Zn.
static IONS: [Option<Ion>; Substance::COUNT] = {
    let mut ions = [None; Substance::COUNT];
    let mut i = 0;
    while i < ions.len() {
        ions[i] = ion(Substance::ALL[i]);
        i += 1;
    }
    ions
};

const fn ion(substance: Substance) -> Option<Ion> {
    use weight::*;
    let (charge, mass, lambda) = match substance {
        Substance::Calcium => (2, CA, 59.5),
        Substance::Magnesium => (2, MG, 53.1),
        Substance::Sodium => (1, NA, 50.1),
        Substance::Potassium => (1, K, 73.5),
        Substance::Ammonium => (1, N + 4.0 * H, 73.5),
        Substance::Iron => (2, FE, 54.0),
        Substance::Manganese => (2, MN, 53.5),
        Substance::Zinc => (2, ZN, 52.8),
        Substance::Copper => (2, CU, 53.6),
        Substance::Aluminium => (3, AL, 61.0),
        Substance::Barium => (2, BA, 63.6),
        Substance::Strontium => (2, SR, 59.4),
        Substance::Lithium => (1, LI, 38.66),
        Substance::Bicarbonate => (-1, H + C + 3.0 * O, 44.5),
        Substance::Carbonate => (-2, C + 3.0 * O, 72.0),
        Substance::Hydroxide => (-1, O + H, 198.6),
        Substance::Chloride => (-1, CL, 76.4),
        Substance::Fluoride => (-1, F, 54.4),
        Substance::Bromide => (-1, BR, 78.1),
        Substance::Sulfate => (-2, S + 4.0 * O, 80.0),
        Substance::Nitrate => (-1, N + 3.0 * O, 71.4),
        Substance::Nitrite => (-1, N + 2.0 * O, 71.8),
        // The mass of PO4 counts; what carries the charge is H2PO4 or HPO4.
        Substance::Phosphate => (-1, P + 4.0 * O, 33.0),
        _ => return None,
    };
    Some(Ion {
        charge,
        mass,
        per_mg: charge.unsigned_abs() as f64 / mass,
        lambda,
    })
}

/// meq/L in one mg/L CaCO3 (two equivalents a mole).
pub(super) const CACO3_PER_MG: f64 = 2.0 / mass::CACO3;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equivalents_agree_with_published_factors() {
        // Hem (1985), USGS WSP 2254, table 9, column F1, from memory.
        for (substance, factor) in [
            (Substance::Calcium, 0.04990),
            (Substance::Magnesium, 0.08229),
            (Substance::Sodium, 0.04350),
            (Substance::Potassium, 0.02558),
            (Substance::Ammonium, 0.05544),
            (Substance::Iron, 0.03581),
            (Substance::Manganese, 0.03640),
            (Substance::Aluminium, 0.11119),
            (Substance::Strontium, 0.02283),
            (Substance::Barium, 0.01456),
            (Substance::Lithium, 0.14407),
            (Substance::Bicarbonate, 0.01639),
            (Substance::Carbonate, 0.03333),
            (Substance::Sulfate, 0.02082),
            (Substance::Chloride, 0.02821),
            (Substance::Nitrate, 0.01613),
            (Substance::Nitrite, 0.02174),
            (Substance::Fluoride, 0.05264),
            (Substance::Bromide, 0.01252),
            (Substance::Hydroxide, 0.05880),
        ] {
            let ours = substance.charge_per_mg().unwrap();
            assert!(
                (ours - factor).abs() < 5e-4 * factor,
                "{}: {ours} against {factor}",
                substance.code()
            );
        }
    }

    #[test]
    fn codes_are_unique_and_found() {
        for (i, substance) in Substance::ALL.iter().enumerate() {
            assert_eq!(*substance as usize, i);
            assert_eq!(Substance::find(substance.code()), Some(*substance));
        }
        assert_eq!(Substance::find("moonlight"), None);
    }
}
