//! Dates as text, in the orders and languages of reports, and as spreadsheet serials.
//!
//! Gives a day or a reason why there is none. Times and zones are read over: the day is the one that
//! the report wrote. Nothing here looks at the clock, so the same text is the same day for ever.

use super::fold::{fold, is_blank};
use super::locale::DateOrder;
use super::month::{is_filler, is_period, month};
use jiff::civil::Date;

/// Samples of reports are younger than this and older than [`LAST_YEAR`]; a number outside is no date.
const FIRST_YEAR: i16 = 1950;
const LAST_YEAR: i16 = 2100;

/// Why a text is no day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DateFault {
    NotADate,
    /// Day and month can be exchanged and the file does not decide.
    Ambiguous {
        day_first: Date,
        month_first: Date,
    },
    /// A month, a quarter, a week, a season, or a day without its year.
    Partial,
    /// "12–14 May": several days.
    Several,
    /// A day that no calendar has (31.04.2026).
    Impossible,
    /// Before 1950 or after 2100.
    OutOfRange(Date),
}

/// A day, and how sure the reading is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DateReading {
    pub date: Date,
    /// The text fits only the other order than the one the file has (25/04/2026 in a file of
    /// month-first dates): the day is certain, the file's order is in doubt.
    pub against_order: bool,
    /// The century was added: years 69 to 99 are 19xx, others 20xx, the rule of POSIX `strptime`.
    pub two_digit_year: bool,
}

/// The day of a spreadsheet serial in the 1900 system; `None` outside the years of reports.
/// Serial 25569 is 1970-01-01; the system's imagined 29 February 1900 lies before all of them.
pub fn date_from_serial(serial: f64) -> Option<Date> {
    if !(18_264.0..73_416.0).contains(&serial) {
        return None;
    }
    let days = serial.floor() as i64 - 25_569;
    Date::constant(1970, 1, 1)
        .checked_add(jiff::Span::new().try_days(days).ok()?)
        .ok()
}

/// Reads a text that is a date, perhaps with a time, and nothing else.
pub fn read_date(text: &str, order: DateOrder) -> Result<DateReading, DateFault> {
    let text = text.trim_matches(is_blank);
    if text.len() > 60 {
        return Err(DateFault::NotADate);
    }
    let (day_text, _) = split_time(text)?;
    let tokens = tokens(day_text)?;
    let mut numbers = Numbers::default();
    let mut named = None;
    let mut period = false;
    for token in &tokens {
        match token {
            Token::Number {
                value,
                digits,
                sign,
            } => numbers.push(*value, *digits, *sign)?,
            Token::Word(word) => match month(word) {
                Some(found) if named.is_none() => named = Some((found, numbers.count)),
                Some(_) => return Err(DateFault::Several),
                None if is_filler(word) => {}
                None if is_period(word) => period = true,
                None => return Err(DateFault::NotADate),
            },
        }
    }
    if period {
        return Err(DateFault::Partial);
    }
    match named {
        Some((month, before)) => named_month(month, before, &numbers),
        None => digits_only(&numbers, order),
    }
}

/// The numbers of a date and the sign before each.
#[derive(Default)]
pub(super) struct Numbers {
    values: [(u32, u8); 3],
    signs: [char; 3],
    count: usize,
}

impl Numbers {
    fn push(&mut self, value: u32, digits: u8, sign: char) -> Result<(), DateFault> {
        if self.count == 3 {
            return Err(DateFault::Several);
        }
        self.values[self.count] = (value, digits);
        self.signs[self.count] = sign;
        self.count += 1;
        Ok(())
    }
}

/// `3 Apr 2026`, `Apr 3, 2026`, `2026 Apr 3`, `03-apr.-26`, `April 2026`, `12–14 May`.
fn named_month(month: i8, before: usize, numbers: &Numbers) -> Result<DateReading, DateFault> {
    let values = &numbers.values[..numbers.count];
    match (values, before) {
        // "April 2026" or "3 April": not a day.
        ([_], _) => Err(DateFault::Partial),
        ([], _) => Err(DateFault::Partial),
        ([day, year], 1 | 0) if day.1 <= 2 => day_of(*year, month, day.0),
        ([year, day], 1) if year.1 == 4 => day_of(*year, month, day.0),
        // "12–14 May": two days before the month.
        ([a, b], 2) if a.1 <= 2 && b.1 <= 2 => Err(DateFault::Several),
        ([a, b, _], 2) if a.1 <= 2 && b.1 <= 2 => Err(DateFault::Several),
        ([a, b, _], 0) if a.1 <= 2 && b.1 <= 2 => Err(DateFault::Several),
        _ => Err(DateFault::NotADate),
    }
}

fn digits_only(numbers: &Numbers, order: DateOrder) -> Result<DateReading, DateFault> {
    let [a, b, c] = match &numbers.values[..numbers.count] {
        [whole] if whole.1 == 8 => {
            let (year, rest) = (whole.0 / 10_000, whole.0 % 10_000);
            let month = i8::try_from(rest / 100).map_err(|_| DateFault::Impossible)?;
            return day_of((year, 4), month, rest % 100);
        }
        // "03-2022", "2022/09", "2022".
        [a, b] if is_month(*a) && is_year(*b) || is_year(*a) && is_month(*b) => {
            return Err(DateFault::Partial);
        }
        [year] if is_year(*year) => return Err(DateFault::Partial),
        [a, b, c] => [*a, *b, *c],
        _ => return Err(DateFault::NotADate),
    };
    if a.1 == 4 && b.1 <= 2 && c.1 <= 2 {
        let month = i8::try_from(b.0).map_err(|_| DateFault::Impossible)?;
        return day_of(a, month, c.0);
    }
    if a.1 > 2 || b.1 > 2 || !(c.1 == 4 || c.1 == 2) {
        return Err(DateFault::NotADate);
    }
    if c.1 == 2 && (order == DateOrder::YearFirst || a.0 > 31) {
        let month = i8::try_from(b.0).map_err(|_| DateFault::Impossible)?;
        return day_of(a, month, c.0);
    }
    let day_first = i8::try_from(b.0)
        .map_err(|_| DateFault::Impossible)
        .and_then(|month| day_of(c, month, a.0));
    let month_first = i8::try_from(a.0)
        .map_err(|_| DateFault::Impossible)
        .and_then(|month| day_of(c, month, b.0));
    let against = |reading: DateReading| DateReading {
        against_order: true,
        ..reading
    };
    match (day_first, month_first, order) {
        (Ok(day), _, DateOrder::DayFirst) => Ok(day),
        (_, Ok(day), DateOrder::MonthFirst) => Ok(day),
        (Ok(day), Ok(other), _) if day.date == other.date => Ok(day),
        (Ok(day), Ok(other), _) => Err(DateFault::Ambiguous {
            day_first: day.date,
            month_first: other.date,
        }),
        (Ok(day), Err(_), DateOrder::MonthFirst) | (Err(_), Ok(day), DateOrder::DayFirst) => {
            Ok(against(day))
        }
        (Ok(day), Err(_), _) | (Err(_), Ok(day), _) => Ok(day),
        (Err(fault), Err(_), _) => Err(fault),
    }
}

const fn is_month((value, digits): (u32, u8)) -> bool {
    digits <= 2 && value >= 1 && value <= 12
}

const fn is_year((value, digits): (u32, u8)) -> bool {
    digits == 4 && value >= FIRST_YEAR as u32 && value <= LAST_YEAR as u32
}

fn day_of(year: (u32, u8), month: i8, day: u32) -> Result<DateReading, DateFault> {
    let (full, two_digit_year) = match year {
        (value @ 0..=68, 1 | 2) => (2000 + value, true),
        (value @ 69..=99, 2) => (1900 + value, true),
        (value, 4) => (value, false),
        _ => return Err(DateFault::NotADate),
    };
    let year = i16::try_from(full).map_err(|_| DateFault::Impossible)?;
    let day = i8::try_from(day).map_err(|_| DateFault::Impossible)?;
    let date = Date::new(year, month, day).map_err(|_| DateFault::Impossible)?;
    if !(FIRST_YEAR..=LAST_YEAR).contains(&year) {
        return Err(DateFault::OutOfRange(date));
    }
    Ok(DateReading {
        date,
        against_order: false,
        two_digit_year,
    })
}

/// Cuts a time and its zone off: `2026-04-03T10:15:00+02:00`, `3.4.2026 07:30 Uhr`, `… 2:29:17 PM`.
fn split_time(text: &str) -> Result<(&str, &str), DateFault> {
    let Some(colon) = text.find(':') else {
        return Ok((text, ""));
    };
    let hour_digits = text[..colon]
        .bytes()
        .rev()
        .take_while(u8::is_ascii_digit)
        .count();
    let start = colon - hour_digits;
    let time_is_sane = (1..=2).contains(&hour_digits)
        && text[start..].chars().all(|c| {
            c.is_ascii_digit()
                || matches!(c, ':' | '.' | ',' | '+' | '-' | '−' | ' ' | 'Z' | 'z')
                || c.is_alphabetic()
                || is_blank(c)
        })
        && text[start..]
            .split([':', '.', '+', '-', ' '])
            .all(|part| part.len() <= 9);
    if !time_is_sane {
        return Err(DateFault::NotADate);
    }
    let day = text[..start].trim_end_matches(|c: char| is_blank(c) || matches!(c, ',' | ';'));
    let day = match day.strip_suffix(['T', 't']) {
        Some(before) if before.ends_with(|c: char| c.is_ascii_digit()) => before,
        _ => day,
    };
    if day.is_empty() {
        return Err(DateFault::NotADate);
    }
    Ok((day, &text[start..]))
}

enum Token {
    /// `sign`: the character before it, a blank at the head.
    Number { value: u32, digits: u8, sign: char },
    /// Folded, letters only.
    Word(String),
}

/// Numbers and words; anything but the usual signs between them is no date.
fn tokens(text: &str) -> Result<Vec<Token>, DateFault> {
    let mut found = Vec::with_capacity(5);
    let mut rest = text;
    let mut sign = ' ';
    while let Some(c) = rest.chars().next() {
        if c.is_ascii_digit() {
            let digits = rest.bytes().take_while(u8::is_ascii_digit).count();
            if digits > 8 || found.len() > 8 {
                return Err(DateFault::NotADate);
            }
            let value = rest[..digits].parse().map_err(|_| DateFault::NotADate)?;
            found.push(Token::Number {
                value,
                digits: digits as u8,
                sign,
            });
            rest = &rest[digits..];
        } else if c.is_alphabetic() {
            let end = rest
                .find(|c: char| !c.is_alphabetic() && !super::fold::is_dash(c))
                .unwrap_or(rest.len());
            let word = &rest[..end];
            let word_end = word.find(super::fold::is_dash).unwrap_or(word.len());
            found.push(Token::Word(fold(&rest[..word_end])));
            rest = &rest[word_end..];
        } else if is_blank(c)
            || super::fold::is_dash(c)
            || matches!(c, '.' | '/' | ',' | '\'' | 'º' | '°' | '\\')
        {
            sign = c;
            rest = &rest[c.len_utf8()..];
        } else {
            return Err(DateFault::NotADate);
        }
    }
    Ok(found)
}

/// Day, month and year as three numbers of at most two, two and four digits, with the sign between
/// them; `None` for every other text. What the evidence looks at.
pub(super) fn three_numbers(text: &str) -> Option<([u32; 3], char)> {
    // Nearly all texts are results, with one number or two.
    let same = |a: &u8, b: &u8| a.is_ascii_digit() == b.is_ascii_digit();
    let runs = text.as_bytes().chunk_by(same);
    if runs.filter(|run| run[0].is_ascii_digit()).count() < 3 {
        return None;
    }
    let (day, _) = split_time(text.trim_matches(is_blank)).ok()?;
    let tokens = tokens(day).ok()?;
    let [
        Token::Number {
            value: a,
            digits: 1..=2,
            ..
        },
        Token::Number {
            value: b,
            digits: 1..=2,
            sign,
        },
        Token::Number {
            value: c,
            digits: 2 | 4,
            sign: last,
        },
    ] = tokens.as_slice()
    else {
        return None;
    };
    (sign == last).then_some(([*a, *b, *c], *sign))
}
