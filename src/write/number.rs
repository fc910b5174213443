//! Numbers as text: the shortest decimal that reads back to the same number.

use std::fmt::Write;

/// Positional from 1e-6 to below 1e15, with an exponent beyond: what people and spreadsheets read.
const POSITIONAL: std::ops::Range<f64> = 1e-6..1e15;

/// Decimals of a number that is tried as a whole number of its last digit: reports seldom print more.
const FEW_DECIMALS: i32 = 4;

/// Numbers of fewer digits than this are the only ones of so few digits that read as they do.
const FEWEST_OF_16_DIGITS: f64 = 1e15;

/// Appends `number`, which is finite. Never `-0`.
pub(super) fn write_number(out: &mut String, number: f64) {
    let written = if number == 0.0 {
        out.push('0');
        Ok(())
    } else if let Some((whole, decimals)) = in_few_decimals(number.abs()) {
        write_decimal(out, number < 0.0, whole, decimals);
        Ok(())
    } else if POSITIONAL.contains(&number.abs()) {
        write!(out, "{number}")
    } else {
        write!(out, "{number:e}")
    };
    written.expect("writing to a String cannot fail");
}

/// A positive number as a whole number and how many of its digits are decimals, as few as can be;
/// `None` where that takes many.
fn in_few_decimals(number: f64) -> Option<(u64, usize)> {
    if number * 10f64.powi(FEW_DECIMALS) >= FEWEST_OF_16_DIGITS {
        return None;
    }
    let mut unit = 1.0;
    for decimals in 0..=FEW_DECIMALS as usize {
        let whole = (number * unit).round();
        // Whole number and unit are exact, so that the decimal reads as their quotient.
        if whole / unit == number {
            return Some((whole as u64, decimals));
        }
        unit *= 10.0;
    }
    None
}

fn write_decimal(out: &mut String, is_negative: bool, whole: u64, decimals: usize) {
    if is_negative {
        out.push('-');
    }
    let mut digits = itoa::Buffer::new();
    let digits = digits.format(whole);
    if decimals == 0 {
        out.push_str(digits);
    } else if let Some(point) = digits
        .len()
        .checked_sub(decimals)
        .filter(|point| *point > 0)
    {
        out.push_str(&digits[..point]);
        out.push('.');
        out.push_str(&digits[point..]);
    } else {
        out.push_str("0.");
        (digits.len()..decimals).for_each(|_| out.push('0'));
        out.push_str(digits);
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn text(number: f64) -> String {
        let mut out = String::new();
        write_number(&mut out, number);
        out
    }

    #[test]
    fn numbers_read_as_people_write_them() {
        for (number, expected) in [
            (0.0, "0"),
            (-0.0, "0"),
            (12.0, "12"),
            (0.1 + 0.2, "0.30000000000000004"),
            (-0.05, "-0.05"),
            (0.000_001, "0.000001"),
            (0.000_000_9, "9e-7"),
            (999_999_999_999_999.0, "999999999999999"),
            (1e15, "1e15"),
            (-1.5e20, "-1.5e20"),
            (f64::MIN_POSITIVE, "2.2250738585072014e-308"),
        ] {
            assert_eq!(text(number), expected);
        }
    }

    /// The second route: the standard library's shortest decimal.
    fn plainly(number: f64) -> String {
        match number.abs() {
            0.0 => "0".to_owned(),
            size if POSITIONAL.contains(&size) => format!("{number}"),
            _ => format!("{number:e}"),
        }
    }

    proptest! {
        #[test]
        fn few_decimals_are_written_as_any_number(whole in -2_000_000_000i64..2_000_000_000, decimals in 0i32..8, factor in 0usize..4) {
            let number = whole as f64 / 10f64.powi(decimals) * [1.0, 1.0, 1000.0, 4.4268][factor];
            prop_assert_eq!(text(number), plainly(number));
        }

        #[test]
        fn numbers_are_written_as_the_shortest_decimal(number in -1e16f64..1e16) {
            for number in [number, number.round(), number / 1e10, (number / 1e10).round() / 100.0] {
                prop_assert_eq!(text(number), plainly(number));
            }
        }

        #[test]
        fn every_number_reads_back_to_its_bits(number in proptest::num::f64::NORMAL | proptest::num::f64::SUBNORMAL) {
            let back: f64 = text(number).parse().unwrap();
            prop_assert_eq!(back.to_bits(), number.to_bits());
        }
    }
}
