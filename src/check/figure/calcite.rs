//! Saturation with calcite, Langelier form.

/// °C to K.
const KELVIN: f64 = 273.15;

/// pK2 of carbonic acid at T kelvin: Plummer and Busenberg 1982, Geochim. Cosmochim. Acta 46, as taken
/// over by Standard Methods 2330B; from memory.
fn pk2(t: f64) -> f64 {
    107.8871 + 0.032_528_49 * t - 5151.79 / t - 38.925_61 * t.log10() + 563_713.9 / (t * t)
}

/// pKs of calcite at T kelvin. Same source; coefficients also read (oceanchemistry.info/Reactions.htm).
fn pks(t: f64) -> f64 {
    171.9065 + 0.077_993 * t - 2839.319 / t - 71.595 * t.log10()
}

/// −lg of the activity coefficient of a single charge at T kelvin and ionic strength (mol/L):
/// A(√I/(1+√I) − 0.3·I), A = 1.82·10⁶ (E·T)^−1.5, E = 60954/(T+116) − 68.937. Standard Methods 2330B,
/// from memory.
fn pfm(t: f64, strength: f64) -> f64 {
    let permittivity = 60_954.0 / (t + 116.0) - 68.937;
    let a = 1.82e6 * (permittivity * t).powf(-1.5);
    let root = strength.sqrt();
    a * (root / (1.0 + root) - 0.3 * strength)
}

/// The pH at which the water is saturated with calcite: pK2 − pKs + p[Ca] + p[HCO3] + 5·pfm. Calcium and
/// bicarbonate in mol/L, temperature in °C. `None` where either is nothing.
///
/// Standard Methods 2330B, from memory. Other forms of the index differ by up to 0.35: never compare
/// across them.
pub(in crate::check) fn saturation_ph(
    calcium: f64,
    bicarbonate: f64,
    temperature: f64,
    strength: f64,
) -> Option<f64> {
    if calcium <= 0.0 || bicarbonate <= 0.0 {
        return None;
    }
    let t = temperature + KELVIN;
    Some(pk2(t) - pks(t) - calcium.log10() - bicarbonate.log10() + 5.0 * pfm(t, strength))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::figure::carbonate::split;
    use crate::check::water::ten;

    #[test]
    fn constants_agree_with_the_published_table() {
        // °C, pK2, pKs: Standard Methods table 2330:I, from memory, recomputed by another hand.
        for (celsius, second, calcite) in [
            (0.0, 10.629, 8.381),
            (5.0, 10.554, 8.394),
            (10.0, 10.488, 8.410),
            (15.0, 10.428, 8.430),
            (20.0, 10.376, 8.453),
            (25.0, 10.329, 8.480),
            (30.0, 10.288, 8.510),
            (40.0, 10.222, 8.580),
        ] {
            let t = celsius + KELVIN;
            assert!((pk2(t) - second).abs() < 0.001, "{celsius}: {}", pk2(t));
            assert!((pks(t) - calcite).abs() < 0.001, "{celsius}: {}", pks(t));
        }
        // A: 0.4982 at 10 °C, 0.5064 at 20, 0.5108 at 25; at I = 1 the bracket is 0.2.
        for (celsius, a) in [(10.0, 0.4982), (20.0, 0.5064), (25.0, 0.5108)] {
            assert!(
                (pfm(celsius + KELVIN, 1.0) / 0.2 - a).abs() < 2e-4,
                "{celsius}"
            );
        }
    }

    #[test]
    fn worked_examples() {
        // pH 8.0, Ca 80, alkalinity 200, 20 °C, solids 400 (I = solids/40000): pHs 7.24. The same water
        // by lumped constants (Davis 2010, table 7-5) 7.48, by the logarithmic approximation 7.44:
        // those must not come out.
        let (bicarbonate, _) = split(200.0, ten(8.0)).unwrap();
        let ours = saturation_ph(80.0 / 40_078.0, bicarbonate / 61_016.0, 20.0, 0.01).unwrap();
        assert!((ours - 7.24).abs() < 0.03, "{ours}");
        // D-B: pH 7.8, 25 °C, I 0.0261: pHs 6.91, index +0.89.
        let ours = saturation_ph(42.0 / 40_078.0, 1083.0 / 61_016.0, 25.0, 0.0261).unwrap();
        assert!((7.8 - ours - 0.89).abs() < 0.03, "{ours}");
        // Classroom water: pH 7.5, solids 320, Ca 150 and alkalinity 34 as CaCO3, 25 °C: -0.54 in this
        // form (-0.7 in the logarithmic one).
        let (bicarbonate, _) = split(34.0, ten(7.5)).unwrap();
        let ours = saturation_ph(150.0 / 100_086.0, bicarbonate / 61_016.0, 25.0, 0.008).unwrap();
        assert!((7.5 - ours + 0.54).abs() < 0.03, "{}", 7.5 - ours);
    }

    #[test]
    fn err_nothing_to_saturate_is_none() {
        assert_eq!(saturation_ph(0.0, 0.001, 25.0, 0.01), None);
        assert_eq!(saturation_ph(0.001, 0.0, 25.0, 0.01), None);
    }
}
