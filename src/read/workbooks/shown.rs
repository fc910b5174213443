//! What a number format adds to a stored number: a percent sign, a `<`, a unit, other words in its
//! place, or nothing to see at all. The reader of a report sees these; the stored number lacks them.

use crate::read::cell::{Shown, Value};
use std::sync::Arc;

/// A number format that shows more than the number, or a font that strikes out what it shows. Form of the codes: ECMA-376 part 1, 18.8.31.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Format {
    sections: Vec<Section>,
    /// Placeholders of digits stand before any letter of a date: `0.00 mg/L` is a number whose unit
    /// looks like minutes, not a date.
    pub(super) is_number: bool,
    /// Whoever struck it out withdrew it.
    pub(super) is_struck: bool,
}

#[derive(Clone, Debug, PartialEq)]
struct Section {
    condition: Option<Condition>,
    effect: Effect,
}

#[derive(Clone, Copy, Debug, PartialEq)]
struct Condition {
    operator: &'static str,
    limit: f64,
}

#[derive(Clone, Debug, PartialEq)]
enum Effect {
    Number(Shown),
    /// The section shows these words and no number.
    Words(Arc<str>),
    /// The section shows nothing.
    Hidden,
    /// The section shows a thousandth of the number, or a thousandth of that.
    Scaled,
    /// The section shows digits or signs that are none of the number's: `0"000"`, `-0`.
    Altered,
}

impl Format {
    /// `None` when the code shows the number and nothing else, or a date.
    pub(super) fn parse(code: &str) -> Option<Self> {
        let sections: Vec<Section> = split_sections(code)
            .into_iter()
            .zip(0..)
            .map(|(code, index)| Section::parse(code, index))
            .collect();
        let is_number = is_number(code);
        let is_plain = sections
            .iter()
            .all(|s| s.effect == Effect::Number(Shown::Plain));
        (!is_plain || is_number).then_some(Self {
            sections,
            is_number,
            is_struck: false,
        })
    }

    /// `None` where the code shows the number and nothing else, and the font does not strike it out.
    pub(super) fn of(code: Option<&str>, is_struck: bool) -> Option<Self> {
        let format = code.and_then(Self::parse);
        if !is_struck {
            return format;
        }
        let plain = Self {
            sections: Vec::new(),
            is_number: false,
            is_struck,
        };
        Some(format.map_or(plain, |format| Self {
            is_struck,
            ..format
        }))
    }

    /// The value that a reader sees where `number` is stored.
    pub(super) fn show(&self, number: f64) -> (Value, Shown) {
        match self.section_for(number).map(|s| &s.effect) {
            None => (Value::Number(number), Shown::Plain),
            Some(Effect::Number(shown)) => (Value::Number(number), shown.clone()),
            Some(Effect::Words(words)) => (Value::Text(words.clone()), Shown::Plain),
            Some(Effect::Hidden) => {
                let words = format!("({number}, hidden by its number format)");
                (Value::Text(words.into()), Shown::Plain)
            }
            Some(Effect::Scaled) => {
                let words = format!("({number}, shown in thousands or millions)");
                (Value::Text(words.into()), Shown::Plain)
            }
            Some(Effect::Altered) => {
                let words = format!("({number}, shown with digits or signs that it does not have)");
                (Value::Text(words.into()), Shown::Plain)
            }
        }
    }

    fn section_for(&self, number: f64) -> Option<&Section> {
        // The fourth section is that of text.
        let sections = &self.sections[..self.sections.len().min(3)];
        if sections.iter().any(|s| s.condition.is_some()) {
            return sections
                .iter()
                .find(|s| s.condition.is_none_or(|c| c.holds(number)));
        }
        let index = match sections.len() {
            3 if number == 0.0 => 2,
            2 | 3 if number < 0.0 => 1,
            _ => 0,
        };
        sections.get(index)
    }
}

impl Condition {
    fn parse(bracket: &str) -> Option<Self> {
        const OPERATORS: [&str; 6] = ["<=", ">=", "<>", "<", ">", "="];
        let operator = OPERATORS.into_iter().find(|op| bracket.starts_with(op))?;
        let limit = bracket[operator.len()..].trim().parse().ok()?;
        Some(Self { operator, limit })
    }

    fn holds(self, number: f64) -> bool {
        match self.operator {
            "<=" => number <= self.limit,
            ">=" => number >= self.limit,
            "<>" => number != self.limit,
            "<" => number < self.limit,
            ">" => number > self.limit,
            _ => number == self.limit,
        }
    }
}

impl Section {
    /// `index` of the section in its code.
    fn parse(code: &str, index: usize) -> Self {
        let mut condition = None;
        let (mut before, mut after) = (String::new(), String::new());
        let (mut has_digits, mut has_percent, mut is_date) = (false, false, false);
        for token in Tokens::of(code) {
            match token {
                Token::Bracket(inner) => condition = condition.or_else(|| Condition::parse(inner)),
                Token::Digits => {
                    has_digits = true;
                    after.clear();
                }
                Token::Percent => has_percent = true,
                Token::Literal(text) | Token::Quoted(text) if has_digits => after.push_str(text),
                Token::Literal(text) | Token::Quoted(text) => before.push_str(text),
                Token::DateLetter(text) => {
                    is_date |= !has_digits;
                    let to = if has_digits { &mut after } else { &mut before };
                    to.push_str(text);
                }
            }
        }
        let words = before.trim();
        let effect = if is_date {
            Effect::Number(Shown::Plain)
        } else if !has_digits {
            match words {
                "" if condition.is_none() || code.ends_with(']') => Effect::Hidden,
                // A dash for zero is book-keeping, not a laboratory's word.
                "" | "-" => Effect::Number(Shown::Plain),
                words => Effect::Words(words.into()),
            }
        } else if is_scaled(code) {
            Effect::Scaled
        } else if is_altered(code, &before, &after)
            || (index == 0 && condition.is_none() && words.ends_with(['-', '−']))
        {
            Effect::Altered
        } else if has_percent {
            Effect::Number(Shown::Percent)
        } else if words.contains(['<', '≤', '⩽']) {
            Effect::Number(Shown::Below)
        } else if words.contains(['>', '≥', '⩾']) {
            Effect::Number(Shown::Above)
        } else if after.contains(|c: char| c.is_alphabetic() || "°%‰".contains(c)) {
            Effect::Number(Shown::With(after.trim().into()))
        } else {
            Effect::Number(Shown::Plain)
        };
        Self { condition, effect }
    }
}

/// Whether commas stand behind the last digit of the whole number, where they group nothing: `0.0,` and
/// `#,##0,` show thousands.
fn is_scaled(code: &str) -> bool {
    let mut is_after_digit = false;
    let mut is_scaled = false;
    for token in Tokens::of(code) {
        match token {
            Token::Digits => (is_after_digit, is_scaled) = (true, false),
            Token::Literal(",") if is_after_digit => is_scaled = true,
            Token::Literal(".") if is_scaled => return true,
            _ => is_after_digit = false,
        }
    }
    is_scaled
}

/// Whether the section shows digits beside those of the number, a decimal sign among them, or a sign of limits
/// behind them. `before` and `after`: its words on either side.
fn is_altered(code: &str, before: &str, after: &str) -> bool {
    let is_digit = |c: char| c.is_ascii_digit();
    let behind = after.trim_start_matches(['.', ',']);
    let power = behind
        .trim_start()
        .strip_prefix(['x', '×', '*', '·', 'E', 'e']);
    let power = power.map(|power| power.trim_start().trim_start_matches(['+', '-']));
    let (mut has_digits, mut between) = (false, false);
    for token in Tokens::of(code) {
        match token {
            Token::Digits if between => return true,
            Token::Digits => has_digits = true,
            Token::Quoted(text) if has_digits && !only(text, "'’") => between = true,
            Token::Literal(text) if has_digits && !only(text, "'’,./") => between = true,
            _ => (),
        }
    }
    before.ends_with(is_digit)
        || behind.starts_with(is_digit)
        || power.is_some_and(|power| power.starts_with(is_digit))
        || after.contains(['<', '>', '≤', '≥', '⩽', '⩾'])
}

/// Whether a text is made of spaces and such signs: thousands are parted so, and fractions.
fn only(text: &str, signs: &str) -> bool {
    text.chars().all(|c| c.is_whitespace() || signs.contains(c))
}

/// Whether digits stand before the first letter that would make the code a date.
fn is_number(code: &str) -> bool {
    let first = split_sections(code).first().copied().map_or("", |s| s);
    let mut digits = false;
    for token in Tokens::of(first) {
        match token {
            Token::Digits => digits = true,
            Token::DateLetter(_) => return digits,
            _ => (),
        }
    }
    false
}

fn split_sections(code: &str) -> Vec<&str> {
    let mut sections = Vec::new();
    let (mut start, mut quoted, mut escaped) = (0, false, false);
    for (at, c) in code.char_indices() {
        match c {
            _ if escaped => escaped = false,
            '\\' if !quoted => escaped = true,
            '"' => quoted = !quoted,
            ';' if !quoted => {
                sections.push(&code[start..at]);
                start = at + 1;
            }
            _ => (),
        }
    }
    sections.push(&code[start..]);
    sections
}

enum Token<'c> {
    Bracket(&'c str),
    /// `0`, `#`, `?`, `General`, `@`, an exponent.
    Digits,
    Percent,
    /// As it stands in the code.
    Literal(&'c str),
    /// In quotation marks, behind a backslash, or as a currency: `[$mg/L-407]`.
    Quoted(&'c str),
    DateLetter(&'c str),
}

struct Tokens<'c> {
    rest: &'c str,
}

impl<'c> Tokens<'c> {
    const fn of(code: &'c str) -> Self {
        Self { rest: code }
    }

    fn take(&mut self, bytes: usize) -> &'c str {
        let (taken, rest) = self.rest.split_at(bytes);
        self.rest = rest;
        taken
    }
}

impl<'c> Iterator for Tokens<'c> {
    type Item = Token<'c>;

    fn next(&mut self) -> Option<Token<'c>> {
        let mut chars = self.rest.chars();
        let first = chars.next()?;
        let len = first.len_utf8();
        let second = chars.next().map_or(0, char::len_utf8);
        // As Excel and a Chinese program call it.
        for general in ["General", "G/通用格式"] {
            let head = self.rest.get(..general.len());
            if head.is_some_and(|head| head.eq_ignore_ascii_case(general)) {
                self.take(general.len());
                return Some(Token::Digits);
            }
        }
        Some(match first {
            '"' => {
                self.take(1);
                let end = self.rest.find('"').map_or(self.rest.len(), |i| i);
                let text = self.take(end);
                let close = self.rest.len().min(1);
                self.take(close);
                Token::Quoted(text)
            }
            '\\' => {
                self.take(1);
                Token::Quoted(self.take(second))
            }
            // A width or a fill: the next character is not shown as text.
            '_' | '*' => {
                self.take(1 + second);
                Token::Literal("")
            }
            '[' => {
                let end = self.rest.find(']').map_or(self.rest.len(), |i| i + 1);
                let bracket = self.take(end).trim_matches(['[', ']']);
                match bracket.strip_prefix('$') {
                    // What is shown, and the number of a language.
                    Some(currency) => Token::Quoted(
                        currency
                            .rsplit_once('-')
                            .map_or(currency, |(shown, _)| shown),
                    ),
                    None => Token::Bracket(bracket),
                }
            }
            '0' | '#' | '?' | '@' => {
                self.take(1);
                Token::Digits
            }
            'E' | 'e' if self.rest[1..].starts_with(['+', '-']) => {
                self.take(2);
                Token::Digits
            }
            '%' => {
                self.take(1);
                Token::Percent
            }
            'd' | 'D' | 'm' | 'M' | 'y' | 'Y' | 'h' | 'H' | 's' | 'S' => {
                Token::DateLetter(self.take(1))
            }
            _ => Token::Literal(self.take(len)),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn show(code: &str, number: f64) -> (String, Shown) {
        let (value, shown) = Format::parse(code).map_or_else(
            || (Value::Number(number), Shown::Plain),
            |format| format.show(number),
        );
        let text = match value {
            Value::Text(text) => text.to_string(),
            Value::Number(number) => number.to_string(),
            other => panic!("{other:?}"),
        };
        (text, shown)
    }

    #[test]
    fn numbers_are_seen_as_their_format_shows_them() {
        let with = |unit: &str| Shown::With(unit.into());
        for (code, number, text, shown) in [
            ("General", 1.5, "1.5", Shown::Plain),
            ("0.00", 1.5, "1.5", Shown::Plain),
            ("#,##0.00_);[Red](#,##0.00)", 1.5, "1.5", Shown::Plain),
            ("0.00E+00", 1.5, "1.5", Shown::Plain),
            ("# ?/?", 1.5, "1.5", Shown::Plain),
            ("0.0%", 0.125, "0.125", Shown::Percent),
            ("\"<\"0.00", 0.05, "0.05", Shown::Below),
            ("\\<0.00", 0.05, "0.05", Shown::Below),
            ("<0.00", 0.05, "0.05", Shown::Below),
            ("\"> \"0", 200.0, "200", Shown::Above),
            ("0.00\" mg/L\"", 1.5, "1.5", with("mg/L")),
            ("0.00 mg/L", 1.5, "1.5", with("mg/L")),
            ("0.0\\ \"°dH\"", 1.5, "1.5", with("°dH")),
            ("[<0.05]\"<0.05\";0.00", 0.01, "<0.05", Shown::Plain),
            ("[<0.05]\"<0.05\";0.00", 0.5, "0.5", Shown::Plain),
            ("0.00;-0.00;\"n.d.\"", 0.0, "n.d.", Shown::Plain),
            ("0.00;-0.00;\"n.d.\"", 2.0, "2", Shown::Plain),
            (
                "0;-0;;@",
                0.0,
                "(0, hidden by its number format)",
                Shown::Plain,
            ),
            ("0;-0;;@", 3.0, "3", Shown::Plain),
            (
                "_(* #,##0_);_(* (#,##0);_(* \"-\"_);_(@_)",
                0.0,
                "0",
                Shown::Plain,
            ),
            (
                "0.0,",
                7500.0,
                "(7500, shown in thousands or millions)",
                Shown::Plain,
            ),
            (
                "#,##0,,\" M\"",
                7e6,
                "(7000000, shown in thousands or millions)",
                Shown::Plain,
            ),
            (
                "0,.0",
                7500.0,
                "(7500, shown in thousands or millions)",
                Shown::Plain,
            ),
            ("#,##0", 7500.0, "7500", Shown::Plain),
            ("#\"'\"##0", 7500.0, "7500", Shown::Plain),
            ("# ?/?", 7.5, "7.5", Shown::Plain),
            (
                "00-00",
                7500.0,
                "(7500, shown with digits or signs that it does not have)",
                Shown::Plain,
            ),
            ("0.0\", \"", 7.5, "7.5", Shown::Plain),
            ("0.0[$ µg/L-409]", 7.5, "7.5", with("µg/L")),
            ("[$<]0.0", 7.5, "7.5", Shown::Below),
            (
                "0\"000\"",
                7.0,
                "(7, shown with digits or signs that it does not have)",
                Shown::Plain,
            ),
            (
                "0\\.00",
                750.0,
                "(750, shown with digits or signs that it does not have)",
                Shown::Plain,
            ),
            (
                "\"1\"0",
                7.0,
                "(7, shown with digits or signs that it does not have)",
                Shown::Plain,
            ),
            (
                "0.0\" x10^3\"",
                7.0,
                "(7, shown with digits or signs that it does not have)",
                Shown::Plain,
            ),
            (
                "0\" <LOD\"",
                7.0,
                "(7, shown with digits or signs that it does not have)",
                Shown::Plain,
            ),
            (
                "-0.0",
                7.0,
                "(7, shown with digits or signs that it does not have)",
                Shown::Plain,
            ),
            ("0.0;-0.0;\"-\"??", -7.0, "-7", Shown::Plain),
            ("#\\ ##0.0", 7500.0, "7500", Shown::Plain),
            ("G/通用格式", 7.5, "7.5", Shown::Plain),
            ("0.0\" mg/100 mL\"", 7.5, "7.5", with("mg/100 mL")),
            ("yyyy-mm-dd", 45292.0, "45292", Shown::Plain),
            ("[$€-407] 0.00", 1.0, "1", Shown::Plain),
        ] {
            assert_eq!(show(code, number), (text.to_owned(), shown), "{code}");
        }
    }

    #[test]
    fn a_unit_is_told_from_a_date() {
        for (code, is_number) in [
            ("0.00 mg/L", true),
            ("0.0 µS/cm", true),
            ("0 \"mg\"", false),
            ("dd.mm.yyyy", false),
            ("[h]:mm:ss.00", false),
            ("mm:ss.0", false),
        ] {
            assert_eq!(super::is_number(code), is_number, "{code}");
        }
    }

    proptest! {
        #[test]
        fn no_code_panics(code in "[0#?.,;%<>\"\\\\\\[\\]_*E+@dmyhsGµ -]{0,30}", number in any::<f64>()) {
            show(&code, number);
        }
    }
}
