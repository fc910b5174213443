//! The carbonate system: alkalinity, and its parts bicarbonate, carbonate and hydroxide.

use crate::check::substance::{CACO3_PER_MG, Substance};
use crate::check::water::{Water, ten};

/// What the figures take for the carbonate system. `None`: neither reported nor to be had from what is.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(in crate::check) struct Carbonates {
    /// mg/L as CaCO3.
    pub alkalinity: Option<f64>,
    /// mg/L as HCO3.
    pub bicarbonate: Option<f64>,
    /// mg/L as CO3.
    pub carbonate: Option<f64>,
    /// meq/L of all anions of the carbonate system, hydroxide included where reported; the same
    /// whether or not alkalinity could be split.
    pub charge: Option<f64>,
}

/// Alkalinity into bicarbonate (mg/L HCO3) and carbonate (mg/L CO3) at a pH:
/// HCO3 = (alk − 5·10^(pH−10)) / (1 + 0.94·10^(pH−10)), CO3 = 0.94·HCO3·10^(pH−10), all as CaCO3.
///
/// Standard Methods 4500-CO2 D, from memory; 0.94 is 2·10^(10−pK2) with pK2 = 10.33 at 25 °C, and 5 the
/// hydroxide at pH 10 as CaCO3. `None` where hydroxide alone exceeds the alkalinity: pH and alkalinity
/// then contradict each other.
/// `ten` is 10^(pH−10).
pub(super) fn split(alkalinity: f64, ten: f64) -> Option<(f64, f64)> {
    let bicarbonate = (alkalinity - 5.0 * ten) / (1.0 + 0.94 * ten);
    if bicarbonate < 0.0 {
        return None;
    }
    let carbonate = 0.94 * bicarbonate * ten;
    Some((
        bicarbonate * CACO3_PER_MG / Substance::Bicarbonate.charge_per_mg()?,
        carbonate * CACO3_PER_MG / Substance::Carbonate.charge_per_mg()?,
    ))
}

/// The share of alkalinity's charge that is carbonate at a pH (25 °C, dilute), 0 to 1: 2 % at pH 8.3.
/// Same source as [`split`].
pub(in crate::check) fn carbonate_share(ph: f64) -> f64 {
    let ratio = 0.94 * ten(ph);
    ratio / (1.0 + ratio)
}

/// Reported bicarbonate and carbonate stand as they are; alkalinity is split only where bicarbonate
/// is not reported.
pub(in crate::check) fn carbonates(water: &Water, share: f64) -> Carbonates {
    let meq = |substance: Substance| {
        let value = water.at(substance, share)?;
        Some(value * substance.charge_per_mg()?)
    };
    let carbonate = water.at(Substance::Carbonate, share);
    let alkalinity = water.at(Substance::Alkalinity, share);
    if let Some(bicarbonate) = water.at(Substance::Bicarbonate, share) {
        let parts = [
            Substance::Bicarbonate,
            Substance::Carbonate,
            Substance::Hydroxide,
        ];
        let charge: f64 = parts.into_iter().filter_map(meq).sum();
        return Carbonates {
            alkalinity: Some(alkalinity.unwrap_or(charge / CACO3_PER_MG)),
            bicarbonate: Some(bicarbonate),
            carbonate,
            charge: Some(charge),
        };
    }
    let Some(alkalinity) = alkalinity else {
        return Carbonates {
            carbonate,
            ..Carbonates::default()
        };
    };
    let charge = alkalinity * CACO3_PER_MG;
    let parts = match carbonate {
        Some(carbonate) => {
            let others: f64 = [Substance::Carbonate, Substance::Hydroxide]
                .into_iter()
                .filter_map(meq)
                .sum();
            let rest = charge - others;
            (rest >= 0.0)
                .then(|| Substance::Bicarbonate.charge_per_mg())
                .flatten()
                .map(|per_mg| (rest / per_mg, carbonate))
        }
        None => (water.acidity()).and_then(|acidity| split(alkalinity, acidity.ten)),
    };
    Carbonates {
        alkalinity: Some(alkalinity),
        bicarbonate: parts.map(|(bicarbonate, _)| bicarbonate),
        carbonate: parts.map(|(_, carbonate)| carbonate),
        charge: Some(charge),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_share_of_carbonate_follows_ph() {
        // Computed by another hand from pK2 at 25 °C; percent of alkalinity's charge.
        for (ph, percent) in [
            (7.0, 0.1),
            (7.5, 0.3),
            (8.0, 0.9),
            (8.3, 1.8),
            (8.5, 2.9),
            (9.0, 8.6),
            (9.5, 23.0),
            (10.0, 48.0),
        ] {
            let ours = 100.0 * carbonate_share(ph);
            assert!(
                (ours - percent).abs() < 0.05 + percent * 0.02,
                "pH {ph}: {ours}"
            );
        }
    }

    #[test]
    fn a_split_keeps_the_charge() {
        for (alkalinity, ph) in [(30.0, 6.5), (240.0, 7.4), (170.0, 8.5), (400.0, 9.2)] {
            let (bicarbonate, carbonate) = split(alkalinity, ten(ph)).unwrap();
            let charge = bicarbonate * Substance::Bicarbonate.charge_per_mg().unwrap()
                + carbonate * Substance::Carbonate.charge_per_mg().unwrap()
                + 10f64.powf(ph - 14.0) * 1000.0;
            assert!(
                (charge - alkalinity * CACO3_PER_MG).abs() < 1e-3,
                "{charge}"
            );
        }
    }

    #[test]
    fn err_alkalinity_too_small_for_its_ph_is_not_split() {
        assert_eq!(split(5.0, ten(11.0)), None);
    }
}
