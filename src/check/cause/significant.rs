//! Numbers in messages.

/// Three significant digits, as a person would write them.
pub(in crate::check) fn significant(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return format!("{value}");
    }
    let magnitude = value.abs().log10().floor() as i32;
    let decimals = usize::try_from((2 - magnitude).clamp(0, 8)).unwrap_or(0);
    plainly_rounded(value, decimals).unwrap_or_else(|| trimmed(&format!("{value:.decimals$}")))
}

/// Without what a decimal sign does not need behind it.
fn trimmed(text: &str) -> String {
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text.to_owned()
    }
}

/// Whole numbers below this lie closer than a message's last digit.
const EXACT: f64 = 1e9;

/// The same by a whole number, which takes a tenth of the time; `None` below 0, for very large numbers and
/// where the rounding is so close that only all digits decide it.
fn plainly_rounded(value: f64, decimals: usize) -> Option<String> {
    let scaled = value * 10f64.powi(i32::try_from(decimals).ok()?);
    let whole = scaled.round();
    let is_close = ((scaled - whole).abs() - 0.5).abs() < 1e-6;
    if !(0.0..EXACT).contains(&scaled) || is_close {
        return None;
    }
    let digits = format!(
        "{whole_digits:0width$}",
        whole_digits = whole as u64,
        width = decimals + 1
    );
    let (whole, part) = digits.split_at(digits.len() - decimals);
    let part = part.trim_end_matches('0');
    Some(match part.is_empty() {
        true => whole.to_owned(),
        false => format!("{whole}.{part}"),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_written_as_a_person_would() {
        for (value, text) in [
            (0.0, "0"),
            (7.0, "7"),
            (12.5, "12.5"),
            (0.05, "0.05"),
            (2.0 / 3.0, "0.667"),
            (99.95, "100"),
            (1234.5, "1234"),
            (92_000.0, "92000"),
            (-3.456, "-3.46"),
            (1e-9, "0"),
            (1e20, "100000000000000000000"),
        ] {
            assert_eq!(significant(value), text, "{value}");
        }
    }

    #[test]
    fn the_short_way_rounds_as_the_long_one() {
        // A simple generator of numbers over many magnitudes, among them such as lie half way.
        let mut seed = 7_u64;
        for _ in 0..200_000 {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            let value =
                (seed >> 40) as f64 / [1.0, 8.0, 100.0, 2e3, 1e5, 1e7, 1e9][seed as usize % 7];
            for decimals in 0..=8 {
                if let Some(text) = plainly_rounded(value, decimals) {
                    assert_eq!(text, trimmed(&format!("{value:.decimals$}")), "{value}");
                }
            }
        }
    }
}
