//! What a reader sees of a number, told by the text that a spreadsheet stored beside it: a `<`, a unit,
//! other words in its place. And text in which a digit is raised, as the mark of a footnote is.

use super::content::as_error;
use crate::read::cell::{Shown, Value};

#[derive(Debug, PartialEq)]
pub(super) enum Displayed {
    Number(Shown),
    /// No number is seen, or another one.
    Words(String),
}

/// `text` is what the spreadsheet showed of `number`; `None` where it did not store that. `is_percent`: the
/// number is a hundredth of what is shown.
pub(super) fn displayed(number: f64, text: Option<&str>, is_percent: bool) -> Displayed {
    let plain = match is_percent {
        true => Shown::Percent,
        false => Shown::Plain,
    };
    let Some(text) = text.map(str::trim) else {
        return Displayed::Number(plain);
    };
    if text.starts_with('#') && matches!(as_error(text.into()), Value::Error(_))
        || text.starts_with("Err:") && number == 0.0
    {
        return Displayed::Words(text.to_owned());
    }
    let Some(start) = text.find(|c: char| c.is_ascii_digit()) else {
        return match text {
            "" => Displayed::Words(format!("({number}, hidden by its number format)")),
            // A dash for zero is book-keeping, not a laboratory's word.
            "-" if number == 0.0 => Displayed::Number(plain),
            _ if !number.is_finite() => Displayed::Number(plain),
            words => Displayed::Words(words.to_owned()),
        };
    };
    let (before, body) = text.split_at(start);
    let end = end_of_number(body);
    let (body, after) = body.split_at(end);
    // A decimal sign can stand first: ",5".
    let body = match before.chars().next_back() {
        Some(sign @ (',' | '.')) => format!("0{sign}{body}"),
        _ => body.to_owned(),
    };
    let seen = if is_percent { number * 100.0 } else { number };
    let is_turned = seen > 0.0 && before.trim_end().ends_with(['-', '−']);
    if is_turned || has_more_digits(after) || !is_rounded(seen.abs(), &body) {
        return Displayed::Words(format!("({number}, shown as '{text}')"));
    }
    Displayed::Number(if is_percent {
        Shown::Percent
    } else if before.contains(['<', '≤', '⩽']) {
        Shown::Below
    } else if before.contains(['>', '≥', '⩾']) {
        Shown::Above
    } else if after.contains(|c: char| c.is_alphabetic() || "°%‰".contains(c)) {
        Shown::With(after.trim().into())
    } else {
        Shown::Plain
    })
}

/// Whether what stands behind a number goes on with another: "-90" of a range, " (85)", "×10³". A unit has
/// digits too, but begins with letters.
fn has_more_digits(after: &str) -> bool {
    let sign = after.trim_start();
    let rest = sign.trim_start_matches([
        '-', '–', '−', '(', '±', '×', '·', '*', '+', 'x', ' ', '\u{a0}',
    ]);
    rest.len() < sign.len() && rest.starts_with(|c: char| c.is_ascii_digit())
}

/// Where the digits end, with what groups them and an exponent.
fn end_of_number(text: &str) -> usize {
    let is_sign = |c: char| {
        matches!(
            c,
            '.' | ',' | '\'' | '’' | ' ' | '\u{a0}' | '\u{202f}' | '\u{2009}'
        )
    };
    let mut end = 0;
    let mut rest = text.char_indices().peekable();
    while let Some((at, c)) = rest.next() {
        let next = rest.peek().map(|(_, c)| *c);
        let goes_on =
            c.is_ascii_digit() || (is_sign(c) && next.is_some_and(|c| c.is_ascii_digit()));
        if !goes_on {
            break;
        }
        end = at + c.len_utf8();
    }
    let exponent = text[end..].strip_prefix(['E', 'e']).map(|after| {
        let after = after.strip_prefix(['+', '-']).unwrap_or(after);
        after.len() - after.trim_start_matches(|c: char| c.is_ascii_digit()).len()
    });
    match exponent {
        Some(digits @ 1..) => {
            let has_sign = text[end + 1..].starts_with(['+', '-']);
            end + 1 + usize::from(has_sign) + digits
        }
        _ => end,
    }
}

/// Whether the text is the number with fewer digits, whichever sign is the decimal one.
fn is_rounded(number: f64, text: &str) -> bool {
    let (mantissa, exponent) = text.split_once(['E', 'e']).unwrap_or((text, "0"));
    let exponent: i32 = exponent.parse().unwrap_or(0);
    ['.', ','].into_iter().any(|decimal| {
        let (whole, decimals) = mantissa.split_once(decimal).unwrap_or((mantissa, ""));
        let Some(whole) = ungrouped(whole) else {
            return false;
        };
        let Ok(shown) = format!("{whole}.{decimals}e{exponent}").parse::<f64>() else {
            return false;
        };
        let places = i32::try_from(decimals.len()).unwrap_or(i32::MAX);
        let last_place = 10_f64.powi(exponent.saturating_sub(places));
        // Half a place, and what binary numbers add.
        (shown - number).abs() <= last_place * 0.500_001
    })
}

/// The digits without what groups them; `None` where the last group is not one of three digits.
fn ungrouped(whole: &str) -> Option<String> {
    let groups: Vec<&str> = whole.split(|c: char| !c.is_ascii_digit()).collect();
    match groups.as_slice() {
        [_] => (),
        [first, .., last] if !first.starts_with('0') && last.len() == 3 => (),
        _ => return None,
    }
    Some(groups.concat())
}

/// Whether a text begins as a number does, so that raised digits are no part of a name or a unit.
pub(super) fn begins_as_number(text: &str) -> bool {
    let number = text
        .trim_start()
        .trim_start_matches(['<', '>', '≤', '≥', '~', '+', '-', '−', '(', ' ']);
    number.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '.' | ','))
}

/// The text with its digits raised: "1" as "¹".
pub(super) fn raised(text: &str) -> String {
    const RAISED: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];
    let raise = |c: char| c.to_digit(10).map_or(c, |digit| RAISED[digit as usize]);
    text.chars().map(raise).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_is_seen_as_its_text_shows_it() {
        let with = |unit: &str| Displayed::Number(Shown::With(unit.into()));
        let words = |words: &str| Displayed::Words(words.to_owned());
        let plain = || Displayed::Number(Shown::Plain);
        for (number, text, expected) in [
            (7.5, "7.5", plain()),
            (7.5, "7,50", plain()),
            (7.4987, "7.5", plain()),
            (75.0, "7.5", words("(75, shown as '7.5')")),
            (7500.0, "7.500", plain()),
            (7.44, "7.5", words("(7.44, shown as '7.5')")),
            (0.5, ",5", plain()),
            (-7.5, "-7.5", plain()),
            (-7.5, "(7.5)", plain()),
            (1234.5, "1'234.5", plain()),
            (1234.5, "1.234,5", plain()),
            (1_234_567.0, "1 234 567", plain()),
            (1234.0, "1,234", plain()),
            (1.234, "1,234", plain()),
            (150.3, "1.5E+02", plain()),
            (0.00153, "1,5E-03", plain()),
            (0.05, "<0.05", Displayed::Number(Shown::Below)),
            (200.0, "> 200", Displayed::Number(Shown::Above)),
            (7.5, "7.5 mmol/L", with("mmol/L")),
            (7.5, "7,5°dH", with("°dH")),
            (7.5, "7.50 e", with("e")),
            (7500.0, "7.5", words("(7500, shown as '7.5')")),
            (80.0, "80-90", words("(80, shown as '80-90')")),
            (80.0, "80 (85)", words("(80, shown as '80 (85)')")),
            (80.0, "-80", words("(80, shown as '-80')")),
            (80.0, "80 (a)", with("(a)")),
            (0.0, "#DIV/0!", words("#DIV/0!")),
            (0.0, "Err:502", words("Err:502")),
            (0.25, "3/4", words("(0.25, shown as '3/4')")),
            (0.0, "n.d.", words("n.d.")),
            (0.0, "-", plain()),
            (3.0, "-", words("-")),
            (3.0, " ", words("(3, hidden by its number format)")),
        ] {
            assert_eq!(displayed(number, Some(text), false), expected, "{text}");
        }
        let percent = || Displayed::Number(Shown::Percent);
        assert_eq!(displayed(0.125, Some("12.5%"), true), percent());
        assert_eq!(displayed(0.125, None, true), percent());
        assert_eq!(
            displayed(0.125, Some("0.13"), true),
            words("(0.125, shown as '0.13')")
        );
        assert_eq!(displayed(7.5, None, false), plain());
    }

    #[test]
    fn what_begins_as_a_number_is_told_from_names_and_units() {
        for (text, is_number) in [
            ("7.51", true),
            ("<0.051", true),
            (" ,5", true),
            ("SO42-", false),
            ("m3", false),
            ("", false),
        ] {
            assert_eq!(begins_as_number(text), is_number, "{text}");
        }
        assert_eq!(raised("1)"), "¹)");
    }
}
