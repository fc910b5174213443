//! Hardness from calcium and magnesium.

use crate::check::substance::{Substance, mass};

/// Total hardness, mg/L CaCO3, from calcium and magnesium in mg/L: 2.497 Ca + 4.118 Mg.
///
/// Standard Methods 2340B, from memory; the factors are the ratios of formula masses and are taken
/// from the atomic weights.
pub(in crate::check) fn total(calcium: f64, magnesium: f64) -> f64 {
    let mass_of = |s: Substance| s.ion().expect("calcium and magnesium are ions").mass;
    mass::CACO3
        * (calcium / mass_of(Substance::Calcium) + magnesium / mass_of(Substance::Magnesium))
}

/// German degrees: 1 °dH is 10 mg/L CaO (definition).
pub(in crate::check) fn german_degrees(as_caco3: f64) -> f64 {
    as_caco3 * mass::CAO / mass::CACO3 / 10.0
}

/// Carbonate and noncarbonate hardness, mg/L CaCO3: the smaller of hardness and alkalinity, and what
/// hardness exceeds alkalinity by. Standard Methods 2340; Davis, Water and Wastewater Engineering
/// (2010) chapter 7, read.
pub(in crate::check) fn parts(total: f64, alkalinity: f64) -> (f64, f64) {
    (total.min(alkalinity), (total - alkalinity).max(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::figure::charge::{calcium, charges, magnesium};
    use crate::check::published::WATERS;
    use crate::check::water::Water;

    #[test]
    fn published_waters_are_as_hard_as_computed_by_another_hand() {
        for published in WATERS {
            let water = published.water();
            let hard = total(
                calcium(&water, 0.5).unwrap(),
                magnesium(&water, 0.5).unwrap(),
            );
            let alkalinity = charges(&water, 0.5, 0.5).carbonates.alkalinity.unwrap();
            let (_, noncarbonate) = parts(hard, alkalinity);
            for (ours, theirs) in [hard, alkalinity, noncarbonate]
                .into_iter()
                .zip(published.hardness)
            {
                assert!(
                    (ours - theirs).abs() < (0.001 * theirs).max(0.1),
                    "{}: {ours} against {theirs}",
                    published.name
                );
            }
        }
    }

    #[test]
    fn worked_examples() {
        // Alkalinity 200, Ca 160, Mg 40 (justaaa.com/chemistry/85000): 566.67 and 366.67 with rounded
        // equivalent weights, 564.3 and 364.3 with exact ones.
        let hard = total(160.0, 40.0);
        assert!((hard - 564.3).abs() < 0.1, "{hard}");
        assert!((parts(hard, 200.0).1 - 364.3).abs() < 0.1);
        // Davis (2010) figure 7-4: hardness 250 with alkalinity 200 and with 275.
        assert_eq!(parts(250.0, 200.0), (200.0, 50.0));
        assert_eq!(parts(250.0, 275.0), (250.0, 0.0));
        // Davis example 7-1: hardness 281 as CaCO3 with rounded factors.
        assert!((total(103.0, 5.5) - 281.0).abs() < 281.0 * 0.005);
        // Perlenbach waterworks: 0.7 mmol/L, 3.9 °dH from Ca 20 and Mg 4.8.
        let perlenbach = total(20.0, 4.8);
        assert!((german_degrees(perlenbach) - 3.906).abs() < 0.001);
        assert!((perlenbach / 100.086 - 0.6965).abs() < 0.0001);
        // 1 °dH is 17.848 mg/L CaCO3.
        assert!((german_degrees(17.848) - 1.0).abs() < 1e-4);
    }

    #[test]
    fn err_a_german_degree_is_not_ten_milligrams_of_calcium_carbonate() {
        // A stored web page claims that; it is the French degree.
        assert!((german_degrees(10.0) - 0.56029).abs() < 1e-5);
    }

    #[test]
    fn hardness_reported_for_one_ion_is_that_ion() {
        let water = Water::of(&[
            (Substance::HardnessCalcium, 100.0),
            (Substance::HardnessMagnesium, 50.0),
        ]);
        let (ca, mg) = (
            calcium(&water, 0.5).unwrap(),
            magnesium(&water, 0.5).unwrap(),
        );
        assert!((ca - 40.044).abs() < 0.001);
        assert!((total(ca, mg) - 150.0).abs() < 1e-9);
    }
}
