//! Conductivity at another temperature, brought to 25 °C.

/// f25 of ISO 7888:1985 / EN 27888:1993 for natural water at 0, 1, … 35 °C: multiplies a conductivity
/// measured at that temperature. Read in a reprint in the manual of a hand-held meter
/// (manualslib.de/manual/494750, page 35), not in the standard. The row for 20 °C agrees with the legal
/// pair 2790 µS/cm at 25 °C (German ordinance) and 2500 µS/cm at 20 °C (European directive).
const F25: [f64; 36] = [
    1.918, 1.857, 1.800, 1.745, 1.693, 1.643, 1.596, 1.551, 1.508, 1.467, 1.428, 1.390, 1.354,
    1.320, 1.287, 1.256, 1.225, 1.196, 1.168, 1.141, 1.116, 1.091, 1.067, 1.044, 1.021, 1.000,
    0.979, 0.959, 0.940, 0.921, 0.903, 0.886, 0.869, 0.853, 0.837, 0.822,
];

/// `None` outside 0–35 °C, where the standard has no value. Between whole degrees a straight line,
/// which stays within 0.001 of the standard's tenths.
pub(super) fn factor_to_25(celsius: f64) -> Option<f64> {
    if !(0.0..=35.0).contains(&celsius) {
        return None;
    }
    let below = celsius.floor();
    let share = celsius - below;
    // In range: 0 to 35.
    let at = below as usize;
    let low = F25[at];
    let high = F25.get(at + 1).copied().unwrap_or(low);
    Some((high - low).mul_add(share, low))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Tenths of the same reprint.
    #[test]
    fn table_and_tenths() {
        for (t, f) in [
            (20.0, 1.116),
            (25.0, 1.0),
            (0.0, 1.918),
            (35.0, 0.822),
            (0.2, 1.906),
            (10.3, 1.416),
            (20.1, 1.113),
            (25.1, 0.998),
            (24.3, 1.015),
        ] {
            let got = factor_to_25(t).expect("in range");
            assert!((got - f).abs() < 0.0015, "{t}: {got} not {f}");
        }
    }

    #[test]
    fn err_outside_the_table_is_none() {
        for t in [-0.1, 35.1, 180.0, f64::NAN] {
            assert_eq!(factor_to_25(t), None, "{t}");
        }
    }
}
