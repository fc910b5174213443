//! A cell as `calamine` holds it, and the texts that are more than text: failed formulas, ISO dates.

use crate::read::cell::Value;
use calamine::{Data, DataRef, ExcelDateTime};
use std::sync::Arc;

/// A cell's content, however `calamine` holds it.
#[derive(Clone)]
pub(super) enum Content<'a> {
    Text(&'a str),
    /// Text of the workbook's own table: the same text is at the same place in memory.
    Shared(&'a str),
    Number(f64),
    DateTime(ExcelDateTime),
    /// A date, time or duration in ISO 8601.
    Iso(&'a str),
    Bool(bool),
    Error(String),
    Empty,
}

impl<'a> From<&'a DataRef<'_>> for Content<'a> {
    fn from(data: &'a DataRef<'_>) -> Self {
        match data {
            DataRef::Int(n) => Self::Number(*n as f64),
            DataRef::Float(n) => Self::Number(*n),
            DataRef::String(text) => Self::Text(text),
            DataRef::SharedString(text) => Self::Shared(text),
            DataRef::Bool(b) => Self::Bool(*b),
            DataRef::DateTime(date) => Self::DateTime(*date),
            DataRef::DateTimeIso(text) | DataRef::DurationIso(text) => Self::Iso(text),
            DataRef::Error(e) => Self::Error(e.to_string()),
            DataRef::Empty => Self::Empty,
        }
    }
}

impl<'a> From<&'a Data> for Content<'a> {
    fn from(data: &'a Data) -> Self {
        match data {
            Data::Int(n) => Self::Number(*n as f64),
            Data::Float(n) => Self::Number(*n),
            Data::String(text) => Self::Text(text),
            Data::Bool(b) => Self::Bool(*b),
            Data::DateTime(date) => Self::DateTime(*date),
            Data::DateTimeIso(text) | Data::DurationIso(text) => Self::Iso(text),
            Data::Error(e) => Self::Error(e.to_string()),
            Data::Empty => Self::Empty,
        }
    }
}

/// Text that is the sign of a failed formula: `.ods` gives these as text, others as errors.
pub(super) fn as_error(text: Arc<str>) -> Value {
    let is_code = (text.starts_with('#')
        && (text.ends_with('!') || text.ends_with('?') || text.ends_with("/A"))
        && text.len() <= 16
        && !text.contains(' '))
        || text
            .strip_prefix("Err:")
            .is_some_and(|n| !n.is_empty() && n.bytes().all(|b| b.is_ascii_digit()));
    if is_code {
        Value::Error(text)
    } else {
        Value::Text(text)
    }
}

/// A date of ISO 8601; what is no date stays text.
pub(super) fn iso(text: &str) -> Value {
    use jiff::civil::{Date, DateTime, Time};
    let date = text.parse::<DateTime>().or_else(|_| {
        text.parse::<Date>()
            .map(|d| d.to_datetime(Time::midnight()))
    });
    match date {
        Ok(date) => Value::Date {
            serial: serial_of(date),
            date: Some(date),
        },
        Err(_) => Value::Text(text.into()),
    }
}

/// The serial number (1900 base) under which a spreadsheet would store the date.
fn serial_of(date: jiff::civil::DateTime) -> f64 {
    let epoch = jiff::civil::date(1899, 12, 30);
    let days = date.date().duration_since(epoch).as_hours() / 24;
    let of_day = date
        .time()
        .duration_since(jiff::civil::Time::midnight())
        .as_secs_f64()
        / 86_400.0;
    days as f64 + of_day
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signs_of_failed_formulas_are_errors() {
        for (text, is_error) in [
            ("#DIV/0!", true),
            ("#N/A", true),
            ("#NAME?", true),
            ("#SPILL!", true),
            ("Err:502", true),
            ("#1 well!", false),
            ("#", false),
            ("Err:", false),
            ("Error", false),
        ] {
            assert_eq!(
                matches!(as_error(text.into()), Value::Error(_)),
                is_error,
                "{text}"
            );
        }
    }

    #[test]
    fn iso_dates_are_dates() {
        assert_eq!(
            iso("2024-01-01"),
            Value::Date {
                serial: 45292.0,
                date: Some(jiff::civil::date(2024, 1, 1).at(0, 0, 0, 0))
            }
        );
        assert_eq!(
            iso("2024-01-01T12:00:00"),
            Value::Date {
                serial: 45292.5,
                date: Some(jiff::civil::date(2024, 1, 1).at(12, 0, 0, 0))
            }
        );
        assert_eq!(iso("PT10H30M00S"), Value::Text("PT10H30M00S".into()));
    }
}
