//! Numbers as text: the shortest decimal that reads back to the same number.

use std::fmt::Write;

/// Positional from 1e-6 to below 1e15, with an exponent beyond: what people and spreadsheets read.
const POSITIONAL: std::ops::Range<f64> = 1e-6..1e15;

/// Appends `number`, which is finite. Never `-0`.
pub(super) fn write_number(out: &mut String, number: f64) {
    let written = if number == 0.0 {
        out.push('0');
        Ok(())
    } else if POSITIONAL.contains(&number.abs()) {
        write!(out, "{number}")
    } else {
        write!(out, "{number:e}")
    };
    written.expect("writing to a String cannot fail");
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

    proptest! {
        #[test]
        fn every_number_reads_back_to_its_bits(number in proptest::num::f64::NORMAL | proptest::num::f64::SUBNORMAL) {
            let back: f64 = text(number).parse().unwrap();
            prop_assert_eq!(back.to_bits(), number.to_bits());
        }
    }
}
