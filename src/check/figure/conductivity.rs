//! Conductivity from the ions, and the ionic strength it needs.

use super::charge::Charges;

/// mol/L: half the sum of z²·c. From charge in meq/L: z²·c (mmol/L) is z·meq.
pub(in crate::check) fn ionic_strength(charges: &Charges) -> f64 {
    charges.by_charge() / 2000.0
}

/// Beyond this ionic strength, mol/L, the formula does not hold (Standard Methods 2510B, from memory).
const STRONGEST: f64 = 0.5;

/// µS/cm at 25 °C: k = y²·Σ λ·meq with lg y = −0.5·(√I/(1+√I) − 0.3·I).
///
/// Standard Methods 2510B, from memory. Fitted to natural waters: a pure potassium chloride standard
/// comes out 13 % low. `None` where a major ion is missing or the water is too strong.
pub(in crate::check) fn conductivity(charges: &Charges) -> Option<f64> {
    charges.cations?;
    charges.anions?;
    let strength = ionic_strength(charges);
    if strength > STRONGEST {
        return None;
    }
    Some(charges.limiting() * slowing(strength))
}

/// y²: how much the ions slow each other down.
fn slowing(strength: f64) -> f64 {
    let root = strength.sqrt();
    let lg = -0.5 * (root / (1.0 + root) - 0.3 * strength);
    10f64.powf(2.0 * lg)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::figure::charge::charges;
    use crate::check::published::WATERS;
    use crate::check::substance::Substance;
    use crate::check::water::Water;

    #[test]
    fn published_waters_conduct_as_computed_by_another_hand() {
        // k0, ionic strength, k.
        for (name, limiting, strength, k) in [
            ("P", 183.1, 0.00228, 165.0),
            ("D-A", 893.5, 0.01207, 717.0),
            ("D-B", 2481.0, 0.02610, 1834.0),
            ("D-D", 81.9, 0.00065, 77.0),
            ("W1", 855.2, 0.01225, 686.0),
            ("H1", 296.4, 0.00416, 258.0),
            ("H8", 10596.0, 0.10839, 6456.0),
        ] {
            let published = WATERS.iter().find(|w| w.name == name).unwrap();
            let charges = charges(&published.water(), 0.5, 0.5);
            let ours = conductivity(&charges).unwrap();
            assert!(
                (ours - k).abs() < 0.5 + 0.001 * k,
                "{name}: {ours} against {k}"
            );
            let ours = ionic_strength(&charges);
            assert!((ours - strength).abs() < 0.01 * strength, "{name}: {ours}");
            let ours = charges.limiting();
            assert!((ours - limiting).abs() < 0.005 * limiting, "{name}: {ours}");
        }
    }

    #[test]
    fn err_a_potassium_chloride_standard_is_no_natural_water() {
        // 0.01 mol/L is certified 1412 µS/cm; this formula gives 1224 and must not be trusted there.
        let mut charges = charges(
            &Water::of(&[(Substance::Potassium, 390.98), (Substance::Chloride, 354.5)]),
            0.5,
            0.5,
        );
        charges.cations = Some(10.0);
        charges.anions = Some(10.0);
        let ours = conductivity(&charges).unwrap();
        assert!((ours - 1224.0).abs() < 2.0, "{ours}");
    }
}
