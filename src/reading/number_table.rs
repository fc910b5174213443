//! Table tests of numbers: one line a case.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

use super::number::plain;
use super::{Decimal, NumberFault, read_number};
use proptest::prelude::*;

const P: Decimal = Decimal::Point;
const C: Decimal = Decimal::Comma;
const U: Decimal = Decimal::Undecided;

#[test]
fn numbers_are_read_in_both_conventions() {
    for (name, text, decimal, number) in [
        ("whole", "12", U, 12.0),
        ("point", "12.5", P, 12.5),
        ("comma", "12,5", C, 12.5),
        ("point, no evidence needed", "12.5", U, 12.5),
        ("comma, no evidence needed", "12,5", U, 12.5),
        ("two digits", "0,35", U, 0.35),
        ("leading zero shows a decimal sign", "0.350", U, 0.35),
        ("leading zero shows a decimal comma", "0,350", U, 0.35),
        ("four digits behind", "1.2345", U, 1.2345),
        ("four digits before", "1234,567", U, 1234.567),
        ("three digits, point file", "1.234", P, 1.234),
        ("three digits, comma file", "1,234", C, 1.234),
        ("three digits grouped, point file", "1,234", P, 1234.0),
        ("three digits grouped, comma file", "1.234", C, 1234.0),
        ("both signs, point last", "1,234.5", U, 1234.5),
        ("both signs, comma last", "1.234,5", U, 1234.5),
        ("both signs, point file", "1,234.5", P, 1234.5),
        ("both signs, comma file", "1.234,5", C, 1234.5),
        ("two groups", "1,234,567", U, 1_234_567.0),
        ("two groups of points", "1.234.567", U, 1_234_567.0),
        ("two groups and decimals", "1,234,567.25", U, 1_234_567.25),
        ("pairs", "12,34,567.8", P, 1_234_567.8),
        ("space groups", "1 234,5", U, 1234.5),
        ("no-break space groups", "1\u{a0}234,5", C, 1234.5),
        ("thin space groups", "1\u{2009}234.5", P, 1234.5),
        ("narrow no-break space groups", "1\u{202f}234,5", C, 1234.5),
        (
            "space groups, three digits behind",
            "1 234,567",
            U,
            1234.567,
        ),
        ("space groups, whole", "12 345", U, 12345.0),
        ("apostrophe groups", "1'234.5", P, 1234.5),
        ("curly apostrophe groups", "1’234,5", C, 1234.5),
        ("no digit before the sign", ",35", U, 0.35),
        ("no digit before the point", ".35", U, 0.35),
        ("no digit behind the sign", "35,", U, 35.0),
        ("no digit behind the point", "35.", P, 35.0),
        ("doubled leading zero", "00,35", U, 0.35),
        ("minus", "-3.5", P, -3.5),
        ("minus sign of typesetting", "−3,5", C, -3.5),
        ("en dash as minus", "–3.5", P, -3.5),
        ("small hyphen as minus", "﹣3.5", P, -3.5),
        ("full-width minus", "－3.5", P, -3.5),
        ("minus set off", "− 3.5", P, -3.5),
        ("plus", "+3.5", P, 3.5),
        ("minus zero is zero", "-0.0", P, 0.0),
        ("full-width digits", "１２．５", P, 12.5),
        ("blanks around", " \u{a0}12.5\t", P, 12.5),
        ("zero-width space", "\u{200b}12.5", P, 12.5),
        ("exponent", "1.2E-3", P, 0.0012),
        ("exponent with a comma", "1,2E-03", C, 0.0012),
        ("exponent with plus", "2.0e+02", P, 200.0),
        ("exponent of a whole number", "2E10", U, 2e10),
        ("three digits and an exponent", "1.234e3", U, 1234.0),
        ("power with caret", "1,2*10^-3", C, 0.0012),
        ("power with x", "1.2x10-3", P, 0.0012),
        ("power with caret and x", "1.2 x 10^3", P, 1200.0),
        ("power with superscript", "4,1·10³", C, 4100.0),
        ("power with a negative superscript", "4.1×10⁻³", P, 0.0041),
        ("power with stars", "4.1*10**-3", P, 0.0041),
        ("power with a typeset minus", "4.1×10^−3", P, 0.0041),
        ("long", "0.30000000000000004", P, 0.300_000_000_000_000_04),
    ] {
        assert_eq!(read_number(text, decimal), Ok(number), "{name}: {text:?}");
    }
}

#[test]
fn err_what_is_no_number_says_why() {
    use NumberFault::{AgainstLocale, Ambiguous, NotANumber, OutOfRange};
    let open = |decimal, grouped| Ambiguous { decimal, grouped };
    for (name, text, decimal, fault) in [
        ("three digits, undecided", "1.234", U, open(1.234, 1234.0)),
        ("three digits with comma", "1,234", U, open(1.234, 1234.0)),
        ("three and three", "123.456", U, open(123.456, 123_456.0)),
        ("negative and undecided", "-1.234", U, open(-1.234, -1234.0)),
        ("comma in a point file", "0,35", P, AgainstLocale),
        ("point in a comma file", "0.35", C, AgainstLocale),
        ("comma decimals, point file", "1.234,5", P, AgainstLocale),
        ("point decimals, comma file", "1,234.5", C, AgainstLocale),
        (
            "groups of points, point file",
            "1.234.567",
            P,
            AgainstLocale,
        ),
        ("space groups, other sign", "1 234,5", P, AgainstLocale),
        ("empty", "", U, NotANumber),
        ("sign alone", "-", U, NotANumber),
        ("point alone", ".", U, NotANumber),
        ("nan", "NaN", U, NotANumber),
        ("inf", "inf", U, NotANumber),
        ("infinity", "Infinity", U, NotANumber),
        ("doubled point", "0..5", U, NotANumber),
        ("doubled comma", "0,,5", U, NotANumber),
        ("groups of two", "12.34.56", U, NotANumber),
        ("a date", "03.04.2026", U, NotANumber),
        ("mixed signs", "1,2.3,4", U, NotANumber),
        ("point before grouping", "1.234,567,8", U, NotANumber),
        ("lost sign", "7 2", U, NotANumber),
        ("lost digit", "1 2.3", U, NotANumber),
        ("space behind the sign", "0.123 456", U, NotANumber),
        ("group with a leading zero", "0 350", U, NotANumber),
        ("letter", "12a", U, NotANumber),
        ("hexadecimal", "0x10", U, NotANumber),
        ("underscore", "1_000", U, NotANumber),
        ("power without caret", "1.2x103", U, NotANumber),
        ("exponent without digits", "1.2E", U, NotANumber),
        ("too large", "1e400", U, OutOfRange),
        ("too small", "1e-400", U, OutOfRange),
        ("exponent of four digits", "1e1000", U, NotANumber),
        (
            "too long",
            "1111111111111111111111111111111111111111111",
            U,
            NotANumber,
        ),
        ("two numbers", "12.5 13.5", U, NotANumber),
        ("trailing minus", "12.5-", U, NotANumber),
    ] {
        assert_eq!(read_number(text, decimal), Err(fault), "{name}: {text:?}");
    }
}

/// A number as a laboratory would print it.
fn printed(number: f64, decimals: usize, sign: char, group: Option<char>) -> String {
    let plain = format!("{number:.decimals$}");
    let (whole, fraction) = plain.split_once('.').unwrap_or((&plain, ""));
    let (minus, whole) = match whole.strip_prefix('-') {
        Some(rest) => ("-", rest),
        None => ("", whole),
    };
    let mut out = minus.to_owned();
    for (i, digit) in whole.chars().enumerate() {
        if let Some(group) = group
            && i > 0
            && (whole.len() - i) % 3 == 0
        {
            out.push(group);
        }
        out.push(digit);
    }
    if !fraction.is_empty() {
        out.push(sign);
        out.push_str(fraction);
    }
    out
}

proptest! {
    #[test]
    fn a_printed_number_reads_back(
        number in -1e9f64..1e9,
        decimals in 0usize..7,
        comma in any::<bool>(),
        grouping in 0usize..4,
    ) {
        let (decimal, sign, other) = if comma { (C, ',', '.') } else { (P, '.', ',') };
        let group = [None, Some(other), Some('\u{202f}'), Some('’')][grouping];
        let text = printed(number, decimals, sign, group);
        let expected: f64 = format!("{number:.decimals$}").parse().unwrap();
        let expected = if expected == 0.0 { 0.0 } else { expected };
        prop_assert_eq!(read_number(&text, decimal), Ok(expected), "{}", text);
        // Undecided never reads another number than the one meant.
        if let Ok(read) = read_number(&text, U) {
            prop_assert_eq!(read, expected, "{}", text);
        }
    }

    /// The second route: the standard parser.
    #[test]
    fn a_plain_number_is_what_the_standard_parser_reads(text in "-?[0-9]{0,12}[.]?[0-9]{0,12}") {
        if let Some(number) = plain(&text, P) {
            let expected: f64 = text.parse().unwrap();
            let expected = if expected == 0.0 { 0.0 } else { expected };
            prop_assert_eq!(number.to_bits(), expected.to_bits(), "{}", text);
        } else {
            prop_assert!(text.len() > 17 || !text.contains(|c: char| c.is_ascii_digit()));
        }
    }

    #[test]
    fn no_text_panics(text in "\\PC*") {
        for decimal in [P, C, U] {
            if let Ok(number) = read_number(&text, decimal) {
                prop_assert!(number.is_finite());
            }
        }
    }

    #[test]
    fn no_number_like_text_panics(text in "[-+0-9., '’eExX*^10³⁻)(<>±%a-c\u{a0}]{0,24}") {
        for decimal in [P, C, U] {
            if let Ok(number) = read_number(&text, decimal) {
                prop_assert!(number.is_finite());
            }
        }
    }
}
