//! Numbers as text, in both decimal conventions: signs and their look-alikes, grouping, exponents.
//!
//! The plain case is two exact numbers and one division; every other copies its digits into a small buffer
//! and hands them to the standard parser, which rounds correctly.

use super::fold::{is_blank, is_dash, is_invisible, narrow};
use super::locale::Decimal;

/// Longer than any number a report holds; what is longer is an identifier or broken.
const MAX_DIGITS: usize = 40;

/// Whole numbers up to here are held exactly.
const MOST_EXACT: u64 = 1 << f64::MANTISSA_DIGITS;

/// Held exactly, all of them.
const POWERS_OF_TEN: [f64; 17] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16,
];

/// Why a text is no number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum NumberFault {
    NotANumber,
    /// `1.234` or `1,234` where the file does not decide: as a decimal, and as a grouped number.
    Ambiguous {
        decimal: f64,
        grouped: f64,
    },
    /// A number, but written against the file's decimal sign (`0,35` in a file of points).
    AgainstLocale,
    /// Too large or too small for a double; never turned into infinity or 0.
    OutOfRange,
}

/// Reads a text that is a number and nothing else.
///
/// ```
/// use wellread::reading::{Decimal, NumberFault, read_number};
/// assert_eq!(read_number("1 234,5", Decimal::Comma), Ok(1234.5));
/// assert_eq!(read_number("nan", Decimal::Point), Err(NumberFault::NotANumber));
/// ```
pub fn read_number(text: &str, decimal: Decimal) -> Result<f64, NumberFault> {
    if let Some(number) = plain(text, decimal) {
        return Ok(number);
    }
    let text = text.trim_matches(is_blank);
    let (number, rest) = lead_number(text, decimal)?;
    if rest.is_empty() {
        Ok(number)
    } else {
        Err(NumberFault::NotANumber)
    }
}

/// The way of nearly all cells: short, ASCII digits, at most one sign that nobody can misread.
/// `None` says nothing about the text but that it has to be looked at more closely.
pub(super) fn plain(text: &str, decimal: Decimal) -> Option<f64> {
    // Up to 17 digits fit into a u64 and neither overflow nor vanish: no range check is needed.
    if text.is_empty() || text.len() > 17 {
        return None;
    }
    let (negative, digits) = match text.as_bytes() {
        [b'-', digits @ ..] => (true, digits),
        digits => (false, digits),
    };
    let (mut whole, mut count, mut behind) = (0u64, 0, None);
    for (i, byte) in digits.iter().enumerate() {
        match byte {
            b'0'..=b'9' => {
                whole = whole * 10 + u64::from(byte - b'0');
                count += 1;
            }
            b'.' if decimal == Decimal::Point && behind.is_none() => {
                behind = Some(digits.len() - i - 1);
            }
            _ => return None,
        }
    }
    if count == 0 {
        return None;
    }
    // "-0" is 0: a negative zero would make two spellings of one value in the tables.
    if whole == 0 {
        return Some(0.0);
    }
    if whole > MOST_EXACT {
        return text.parse().ok();
    }
    // A quotient of two numbers that are held exactly is rounded once, as the standard parser rounds
    // (Clinger 1990).
    let number = whole as f64 / POWERS_OF_TEN[behind.map_or(0, |behind| behind)];
    Some(if negative { -number } else { number })
}

/// Reads the number at the head of `text`; gives it and what follows, untrimmed.
pub(super) fn lead_number(text: &str, decimal: Decimal) -> Result<(f64, &str), NumberFault> {
    let mantissa = Mantissa::scan(text).ok_or(NumberFault::NotANumber)?;
    let after = &text[mantissa.length..];
    let (exponent, rest) = match exponent(after) {
        Some((exponent, length)) => (Some(exponent), &after[length..]),
        None => (None, after),
    };
    let number = mantissa.value(decimal, exponent)?;
    Ok((number, rest))
}

/// Which decimal sign the number at the head of `text` shows by its shape alone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Shape {
    /// Only a decimal point can be meant (`0.35`, `1,234.5`, `1.5`).
    Point,
    Comma,
    /// One sign followed by exactly three digits: no evidence. The grouped reading is given.
    Either {
        sign: Sign,
        grouped: f64,
    },
    /// No sign at all, or not a number.
    Silent,
}

pub(super) fn shape(text: &str) -> Shape {
    let Some(mantissa) = Mantissa::scan(text) else {
        return Shape::Silent;
    };
    let has_exponent = exponent(&text[mantissa.length..]).is_some();
    match mantissa.layout(has_exponent) {
        Some(Layout::Decimal(Sign::Point) | Layout::Grouped(Sign::Comma)) => Shape::Point,
        Some(Layout::Decimal(Sign::Comma) | Layout::Grouped(Sign::Point)) => Shape::Comma,
        Some(Layout::Either(sign)) => match mantissa.digits_value(None, None) {
            Ok(grouped) => Shape::Either { sign, grouped },
            Err(_) => Shape::Silent,
        },
        Some(Layout::Whole) | None => Shape::Silent,
    }
}

/// The plain twin of a digit or a decimal sign: full-width, Arabic, Persian, Devanagari, Bengali, Thai. Names and
/// days keep theirs: a Persian day is of another calendar.
fn digit(c: char) -> char {
    let zero = match c {
        '\u{660}'..='\u{669}' => 0x660,
        '\u{6f0}'..='\u{6f9}' => 0x6f0,
        '\u{966}'..='\u{96f}' => 0x966,
        '\u{9e6}'..='\u{9ef}' => 0x9e6,
        '\u{e50}'..='\u{e59}' => 0xe50,
        '\u{66b}' => return '.',
        '\u{66c}' => return ',',
        _ => return narrow(c),
    };
    char::from_digit(u32::from(c) - zero, 10).unwrap_or(c)
}

/// Both readings of a number with one sign and three digits behind it ("1,234", "<1.234"): as a decimal, and as a
/// grouped number. `None` for all others.
pub fn either(text: &str) -> Option<(f64, f64)> {
    let text = text.trim_start_matches(|c: char| !c.is_ascii_digit() && c != '-');
    let Shape::Either { grouped, .. } = shape(text) else {
        return None;
    };
    Some((grouped / 1000.0, grouped))
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Sign {
    Point,
    Comma,
}

/// What the signs within a mantissa mean, by their places alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Layout {
    /// No sign, or spaces and apostrophes only.
    Whole,
    /// The last sign is the decimal sign, and can be nothing else.
    Decimal(Sign),
    /// Grouped by this sign, and nothing else.
    Grouped(Sign),
    /// One sign, three digits behind it.
    Either(Sign),
}

/// The digits of a number and where its signs stand.
struct Mantissa {
    negative: bool,
    /// ASCII digits only, grouping removed.
    digits: [u8; MAX_DIGITS],
    count: usize,
    /// Number of digits before each point or comma, with the sign.
    signs: [(u8, Sign); MAX_SIGNS],
    sign_count: usize,
    /// Grouped by spaces or apostrophes.
    spaced: bool,
    /// A space group stood after a point or comma, or groups are not of three.
    broken: bool,
    /// Bytes of the text that belong to it.
    length: usize,
}

const MAX_SIGNS: usize = 12;

impl Mantissa {
    /// `None` when the text does not begin with a number.
    fn scan(text: &str) -> Option<Self> {
        let mut it = Self {
            negative: false,
            digits: [0; MAX_DIGITS],
            count: 0,
            signs: [(0, Sign::Point); MAX_SIGNS],
            sign_count: 0,
            spaced: false,
            broken: false,
            length: 0,
        };
        let mut rest = text;
        let first = rest.chars().next()?;
        if first == '+' || is_dash(first) {
            it.negative = first != '+';
            rest = &rest[first.len_utf8()..];
            // "− 0.5": a blank between sign and digits is common in typeset tables.
            rest = rest.trim_start_matches(is_blank);
        }
        while let Some(c) = rest.chars().next() {
            match digit(c) {
                d @ '0'..='9' => {
                    if it.count == MAX_DIGITS {
                        return None;
                    }
                    it.digits[it.count] = d as u8;
                    it.count += 1;
                }
                // "10...20" is a range, not a number with three signs.
                '.' if rest.starts_with("...") => break,
                '.' | ',' => {
                    if it.sign_count == MAX_SIGNS {
                        return None;
                    }
                    let sign = if digit(c) == '.' {
                        Sign::Point
                    } else {
                        Sign::Comma
                    };
                    it.signs[it.sign_count] = (it.count as u8, sign);
                    it.sign_count += 1;
                }
                c if it.count > 0
                    && is_group_mark(c)
                    && starts_with_group(&rest[c.len_utf8()..]) =>
                {
                    // A group mark is only one where three digits follow and 1 to 3 stood before.
                    let before_ok = it.spaced || it.count <= 3;
                    if it.sign_count > 0 || !before_ok {
                        break;
                    }
                    it.spaced = true;
                }
                _ => break,
            }
            rest = &rest[c.len_utf8()..];
        }
        if it.count == 0 {
            return None;
        }
        it.length = text.len() - rest.len();
        if it.spaced {
            let whole = it.whole_digits();
            let grouped = &text[..it.length];
            it.broken = !groups_of_three(grouped) || (it.digits[0] == b'0' && whole > 1);
        }
        Some(it)
    }

    /// Digits before the first point or comma.
    fn whole_digits(&self) -> usize {
        if self.sign_count == 0 {
            self.count
        } else {
            usize::from(self.signs[0].0)
        }
    }

    /// `None` when the signs make no number (`0..5`, `12.34.56`, `1,2.3,4`).
    fn layout(&self, has_exponent: bool) -> Option<Layout> {
        if self.broken {
            return None;
        }
        let signs = &self.signs[..self.sign_count];
        let Some((&(last_at, last), earlier)) = signs.split_last() else {
            return Some(Layout::Whole);
        };
        let last_at = usize::from(last_at);
        let Some(&(first_at, first)) = earlier.first() else {
            let behind = self.count - last_at;
            // Three digits behind a sign that could group: a leading 0, a longer head, a grouping by
            // spaces or an exponent shows that it is a decimal sign.
            let could_group = behind == 3
                && (1..=3).contains(&last_at)
                && self.digits[0] != b'0'
                && !self.spaced
                && !has_exponent;
            return Some(if could_group {
                Layout::Either(last)
            } else {
                Layout::Decimal(last)
            });
        };
        if self.spaced || has_exponent || earlier.iter().any(|(_, s)| *s != first) {
            return None;
        }
        let first_at = usize::from(first_at);
        if !(1..=3).contains(&first_at) || self.digits[0] == b'0' {
            return None;
        }
        let grouping = if last == first { signs } else { earlier };
        let whole = if last == first { self.count } else { last_at };
        // Groups of three; or, with commas, the Indian way: pairs and a last group of three.
        let mut by_three = true;
        let mut by_two = first == Sign::Comma && first_at <= 2;
        let mut start = first_at;
        for (i, _) in grouping.iter().enumerate() {
            let is_last = i + 1 == grouping.len();
            let end = if is_last {
                whole
            } else {
                usize::from(grouping[i + 1].0)
            };
            let size = end - start;
            by_three &= size == 3;
            by_two &= size == if is_last { 3 } else { 2 };
            start = end;
        }
        if !by_three && !by_two {
            return None;
        }
        Some(if last == first {
            Layout::Grouped(first)
        } else {
            Layout::Decimal(last)
        })
    }

    fn value(&self, decimal: Decimal, exponent: Option<i32>) -> Result<f64, NumberFault> {
        let layout = self
            .layout(exponent.is_some())
            .ok_or(NumberFault::NotANumber)?;
        let own = match decimal {
            Decimal::Point => Some(Sign::Point),
            Decimal::Comma => Some(Sign::Comma),
            Decimal::Undecided => None,
        };
        let at = |index: usize| Some(usize::from(self.signs[index].0));
        match (layout, own) {
            (Layout::Whole, _) => self.digits_value(None, exponent),
            (Layout::Decimal(sign), own) if own.is_none_or(|own| own == sign) => {
                self.digits_value(at(self.sign_count - 1), exponent)
            }
            (Layout::Grouped(sign), own) if own.is_none_or(|own| own != sign) => {
                self.digits_value(None, exponent)
            }
            (Layout::Either(sign), Some(own)) if own == sign => self.digits_value(at(0), exponent),
            (Layout::Either(_), Some(_)) => self.digits_value(None, exponent),
            (Layout::Either(_), None) => Err(NumberFault::Ambiguous {
                decimal: self.digits_value(at(0), exponent)?,
                grouped: self.digits_value(None, exponent)?,
            }),
            _ => Err(NumberFault::AgainstLocale),
        }
    }

    /// The number that the digits make with the decimal sign after `point` of them.
    fn digits_value(
        &self,
        point: Option<usize>,
        exponent: Option<i32>,
    ) -> Result<f64, NumberFault> {
        let mut buffer = [0u8; MAX_DIGITS + 16];
        let mut n = 0;
        let mut push = |byte: u8| {
            buffer[n] = byte;
            n += 1;
        };
        for (i, digit) in self.digits[..self.count].iter().enumerate() {
            if point == Some(i) {
                if i == 0 {
                    push(b'0');
                }
                push(b'.');
            }
            push(*digit);
        }
        if let Some(exponent) = exponent {
            push(b'e');
            if exponent < 0 {
                push(b'-');
            }
            let mut digits = [0u8; 10];
            let mut used = 0;
            let mut left = exponent.unsigned_abs();
            loop {
                digits[used] = b'0' + (left % 10) as u8;
                used += 1;
                left /= 10;
                if left == 0 {
                    break;
                }
            }
            for digit in digits[..used].iter().rev() {
                push(*digit);
            }
        }
        let text = std::str::from_utf8(&buffer[..n]).map_err(|_| NumberFault::NotANumber)?;
        let number: f64 = text.parse().map_err(|_| NumberFault::NotANumber)?;
        let is_zero = self.digits[..self.count].iter().all(|d| *d == b'0');
        if !number.is_finite() || (number == 0.0 && !is_zero) {
            return Err(NumberFault::OutOfRange);
        }
        // "-0" is 0: a negative zero would make two spellings of one value in the tables.
        Ok(if self.negative && number != 0.0 {
            -number
        } else {
            number
        })
    }
}

/// Spaces of every kind and apostrophes that group digits by threes.
fn is_group_mark(c: char) -> bool {
    (c.is_whitespace() && c != '\n' && c != '\r' && c != '\t')
        || matches!(c, '\'' | '\u{2019}' | '\u{2bc}' | '\u{ff07}')
}

/// Exactly three digits, then no further digit.
fn starts_with_group(text: &str) -> bool {
    let mut digits = 0;
    for c in text.chars() {
        if narrow(c).is_ascii_digit() {
            digits += 1;
        } else {
            break;
        }
        if digits > 3 {
            return false;
        }
    }
    digits == 3
}

/// Whether every run of digits after the first, up to a point or comma, has three digits.
fn groups_of_three(text: &str) -> bool {
    let whole = text.split(['.', ',', '\u{ff0e}', '\u{ff0c}']).next();
    whole.is_some_and(|whole| {
        whole
            .split(|c: char| is_group_mark(c) || is_invisible(c))
            .skip(1)
            .all(|run| run.chars().count() == 3)
    })
}

/// An exponent at the head of `text`: `E-3`, `e+02`, `*10^-3`, `x10-3`, `·10³`. Gives it and its
/// length in bytes. `x103` is none: it can be a product or a lost superscript.
fn exponent(text: &str) -> Option<(i32, usize)> {
    let mut cursor = Cursor { text, at: 0 };
    if cursor.take(|c| c == 'e' || c == 'E' || c == '\u{ff25}') {
        let value = cursor.signed_digits()?;
        return Some((value, cursor.at));
    }
    cursor.skip_blanks();
    if !cursor.take(|c| matches!(c, '*' | 'x' | 'X' | '×' | '·' | '⋅' | '∙' | '•')) {
        return None;
    }
    cursor.skip_blanks();
    if !(cursor.take(|c| c == '1') && cursor.take(|c| c == '0')) {
        return None;
    }
    if let Some(value) = cursor.superscript() {
        return Some((value, cursor.at));
    }
    let caret = cursor.take(|c| c == '^' || c == '*');
    if caret {
        cursor.take(|c| c == '*');
        cursor.skip_blanks();
    }
    let signed = cursor.peek().is_some_and(|c| is_dash(c) || c == '+');
    if !caret && !signed {
        return None;
    }
    let value = cursor.signed_digits()?;
    Some((value, cursor.at))
}

struct Cursor<'a> {
    text: &'a str,
    at: usize,
}

impl Cursor<'_> {
    fn peek(&self) -> Option<char> {
        self.text[self.at..].chars().next()
    }

    fn take(&mut self, wanted: impl Fn(char) -> bool) -> bool {
        match self.peek() {
            Some(c) if wanted(c) => {
                self.at += c.len_utf8();
                true
            }
            _ => false,
        }
    }

    fn skip_blanks(&mut self) {
        while self.take(is_blank) {}
    }

    /// At most three digits: more is no exponent of a double.
    fn signed_digits(&mut self) -> Option<i32> {
        let negative = self.peek().is_some_and(is_dash);
        self.take(|c| is_dash(c) || c == '+');
        let mut value = 0i32;
        let mut digits = 0;
        while let Some(digit) = self.peek().and_then(|c| narrow(c).to_digit(10)) {
            if digits == 3 {
                return None;
            }
            value = value * 10 + digit as i32;
            digits += 1;
            self.take(|_| true);
        }
        (digits > 0).then_some(if negative { -value } else { value })
    }

    fn superscript(&mut self) -> Option<i32> {
        let start = self.at;
        let negative = self.take(|c| c == '⁻');
        if !negative {
            self.take(|c| c == '⁺');
        }
        let mut value = 0i32;
        let mut digits = 0;
        while let Some(digit) = self.peek().and_then(superscript_digit) {
            if digits == 3 {
                self.at = start;
                return None;
            }
            value = value * 10 + digit;
            digits += 1;
            self.take(|_| true);
        }
        if digits == 0 {
            self.at = start;
            return None;
        }
        Some(if negative { -value } else { value })
    }
}

pub(super) const fn superscript_digit(c: char) -> Option<i32> {
    Some(match c {
        '⁰' => 0,
        '¹' => 1,
        '²' => 2,
        '³' => 3,
        '⁴' => 4,
        '⁵' => 5,
        '⁶' => 6,
        '⁷' => 7,
        '⁸' => 8,
        '⁹' => 9,
        _ => return None,
    })
}
