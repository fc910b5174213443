//! Sodium against calcium and magnesium: adsorption ratio, its adjusted form, residual carbonate. All
//! inputs in meq/L.

/// Na / √((Ca + Mg) / 2). USDA Handbook 60 (Richards 1954); read in University of California material.
/// `None` without calcium and magnesium.
pub(in crate::check) fn adsorption_ratio(sodium: f64, calcium: f64, magnesium: f64) -> Option<f64> {
    let hardness = calcium + magnesium;
    (hardness > 0.0).then(|| sodium / (hardness / 2.0).sqrt())
}

/// (HCO3 + CO3) − (Ca + Mg). Eaton 1950, Soil Science 69, 123-133; limits read.
pub(in crate::check) fn residual_carbonate(carbonates: f64, calcium: f64, magnesium: f64) -> f64 {
    carbonates - (calcium + magnesium)
}

/// 100 Mg / (Ca + Mg). Szabolcs and Darab 1964, from memory. `None` without both.
pub(in crate::check) fn magnesium_share(calcium: f64, magnesium: f64) -> Option<f64> {
    let sum = calcium + magnesium;
    (sum > 0.0).then(|| 100.0 * magnesium / sum)
}

/// Conductivity (dS/m) and the calcium, meq/L, that a water with as much bicarbonate as calcium keeps in
/// solution in the upper root zone: FAO 29 table 11, row 0.05, by the law below; table from memory.
const KEPT_CALCIUM: [(f64, f64); 12] = [
    (0.1, 1.792),
    (0.2, 1.847),
    (0.3, 1.889),
    (0.5, 1.954),
    (0.7, 2.007),
    (1.0, 2.071),
    (1.5, 2.159),
    (2.0, 2.230),
    (3.0, 2.345),
    (4.0, 2.439),
    (6.0, 2.588),
    (8.0, 2.706),
];

/// Ratios HCO3/Ca that FAO 29 table 11 spans.
const RATIOS: std::ops::RangeInclusive<f64> = 0.05..=30.0;

/// Calcium that stays in solution, meq/L, by HCO3/Ca (both meq/L) and conductivity in dS/m:
/// A(EC)·(HCO3/Ca)^(−2/3), A between the table's conductivities by straight line over lg EC.
///
/// Suarez 1981 as tabulated in FAO 29 table 11 (Ayers and Westcot 1985), from memory; every entry but
/// one follows this law within 0.01. `None` outside the table.
pub(in crate::check) fn calcium_kept(
    bicarbonate_to_calcium: f64,
    conductivity: f64,
) -> Option<f64> {
    if !RATIOS.contains(&bicarbonate_to_calcium) {
        return None;
    }
    let (below, above) = (KEPT_CALCIUM.iter().zip(&KEPT_CALCIUM[1..]))
        .find(|(low, high)| low.0 <= conductivity && conductivity <= high.0)?;
    let along = (conductivity / below.0).ln() / (above.0 / below.0).ln();
    let one = below.1 + along * (above.1 - below.1);
    Some(one * bicarbonate_to_calcium.powf(-2.0 / 3.0))
}

/// Na / √((Cax + Mg) / 2) with the calcium that stays in solution. Suarez 1981; FAO 29 section 3.
/// `conductivity` in dS/m.
pub(in crate::check) fn adsorption_ratio_adjusted(
    sodium: f64,
    calcium: f64,
    magnesium: f64,
    bicarbonate: f64,
    conductivity: f64,
) -> Option<f64> {
    if calcium <= 0.0 {
        return None;
    }
    let kept = calcium_kept(bicarbonate / calcium, conductivity)?;
    adsorption_ratio(sodium, kept, magnesium)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::figure::charge::charges;
    use crate::check::published::WATERS;
    use crate::check::substance::Substance;

    #[test]
    fn published_waters_have_the_indices_that_another_hand_computed() {
        for published in WATERS {
            let Some([_, ratio, residual, share]) = published.indices else {
                continue;
            };
            let charges = charges(&published.water(), 0.5, 0.5);
            let meq = |s| charges.meq(s).unwrap();
            let (ca, mg) = (meq(Substance::Calcium), meq(Substance::Magnesium));
            let ours = [
                adsorption_ratio(meq(Substance::Sodium), ca, mg).unwrap(),
                residual_carbonate(charges.carbonates.charge.unwrap(), ca, mg),
                magnesium_share(ca, mg).unwrap(),
            ];
            for ((ours, theirs), tolerance) in ours
                .into_iter()
                .zip([ratio, residual, share])
                .zip([0.01, 0.01, 0.1])
            {
                assert!(
                    (ours - theirs).abs() < tolerance,
                    "{}: {ours} against {theirs}",
                    published.name
                );
            }
        }
    }

    #[test]
    fn worked_examples() {
        // Weiner, Applications of Environmental Chemistry, example 6.8: supply A by its table (Na
        // 11.1 meq/L) and supply B.
        assert!((adsorption_ratio(11.1, 0.23, 0.09).unwrap() - 27.7).abs() < 0.1);
        assert!((adsorption_ratio(2.74, 5.4, 2.72).unwrap() - 1.36).abs() < 0.01);
        // Oster, SALINITY-L list 1999: 24.8, 0.35 (7.0 mg/L), 0.806 (9.8 mg/L).
        assert!((adsorption_ratio(24.8, 0.3493, 0.8064).unwrap() - 32.6).abs() < 0.1);
    }

    #[test]
    fn err_published_errors_do_not_come_out() {
        // A turf guide prints 20.6 for Na 44, Ca 10, Mg 8.2 meq/L: it divides by two twice.
        assert!((adsorption_ratio(44.0, 10.0, 8.2).unwrap() - 14.6).abs() < 0.05);
        // Weiner's statement says Na 144 mg/L where the table says 255: the ratio would be 15.7.
        let as_stated = adsorption_ratio(144.0 / 22.99, 0.23, 0.09).unwrap();
        assert!((as_stated - 15.7).abs() < 0.1);
        // Copied tables drop the square root.
        assert!((adsorption_ratio(2.74, 5.4, 2.72).unwrap() - 2.74 / (8.12 / 2.0)).abs() > 0.5);
    }

    #[test]
    fn calcium_kept_follows_the_table() {
        // FAO 29 table 11, entries from memory: ratio, dS/m, meq/L.
        for (ratio, conductivity, kept) in [
            (0.05, 0.1, 13.20),
            (0.05, 8.0, 19.94),
            (0.30, 0.7, 4.48),
            (0.50, 1.0, 3.29),
            (1.00, 0.5, 1.96),
            (1.00, 3.0, 2.35),
            (1.50, 2.0, 1.70),
            (2.00, 4.0, 1.54),
            (3.50, 1.5, 0.94),
            (5.00, 6.0, 0.88),
            (10.0, 0.3, 0.41),
            (30.0, 8.0, 0.28),
        ] {
            let ours = calcium_kept(ratio, conductivity).unwrap();
            assert!(
                (ours - kept).abs() < 0.011 + 0.001 * kept,
                "{ratio} {conductivity}: {ours}"
            );
        }
    }

    #[test]
    fn adjusted_ratios_of_published_waters() {
        // D-B at 1.9 dS/m: 15.84 with Cax 0.533; H7 at 3.0 dS/m: 19.06 with Cax 0.973.
        for (name, conductivity, adjusted) in [("D-B", 1.9, 15.84), ("H7", 3.0, 19.06)] {
            let published = WATERS.iter().find(|w| w.name == name).unwrap();
            let charges = charges(&published.water(), 0.5, 0.5);
            let meq = |s| charges.meq(s).unwrap();
            let ours = adsorption_ratio_adjusted(
                meq(Substance::Sodium),
                meq(Substance::Calcium),
                meq(Substance::Magnesium),
                meq(Substance::Bicarbonate),
                conductivity,
            )
            .unwrap();
            assert!((ours - adjusted).abs() < 0.05, "{name}: {ours}");
        }
    }

    #[test]
    fn err_outside_the_table_is_none() {
        assert_eq!(calcium_kept(0.04, 1.0), None);
        assert_eq!(calcium_kept(1.0, 9.0), None);
        assert_eq!(adsorption_ratio(1.0, 0.0, 0.0), None);
        assert_eq!(magnesium_share(0.0, 0.0), None);
    }
}
