//! One cell as the file had it.

use jiff::civil::DateTime;
use std::borrow::Cow;
use std::sync::Arc;

/// A cell's content. Blank cells do not exist: a grid is sparse.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    Text(Arc<str>),
    Number(f64),
    /// A cell that the spreadsheet shows as a date or time. `serial` is the stored number, which a
    /// value column takes back (a unit in a number format can look like a date); `date` is `None`
    /// where the serial is no real date.
    Date {
        serial: f64,
        date: Option<DateTime>,
    },
    Bool(bool),
    /// `#DIV/0!` and its kin, as shown.
    Error(Arc<str>),
    /// A formula whose result was never stored.
    Uncalculated,
}

/// What the number format adds to the stored number.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Shown {
    #[default]
    Plain,
    /// Shown with `%`: 0.125 is 12.5 %.
    Percent,
    /// The format prints a `<` (or `>`) that the stored number lacks.
    Below,
    Above,
    /// The format prints this text after the number ("mg/L").
    With(Arc<str>),
}

#[derive(Clone, Debug, PartialEq)]
pub struct Cell {
    pub value: Value,
    pub shown: Shown,
}

impl Cell {
    pub fn text(text: impl Into<Arc<str>>) -> Self {
        Self {
            value: Value::Text(text.into()),
            shown: Shown::Plain,
        }
    }

    pub fn number(number: f64) -> Self {
        Self {
            value: Value::Number(number),
            shown: Shown::Plain,
        }
    }

    pub fn view(&self) -> CellView<'_> {
        match &self.value {
            Value::Text(text) => CellView::Text(text),
            Value::Number(number) => CellView::Number(*number, &self.shown),
            Value::Date { serial, date } => CellView::Date(*serial, *date),
            Value::Bool(b) => CellView::Bool(*b),
            Value::Error(text) => CellView::Error(text),
            Value::Uncalculated => CellView::Uncalculated,
        }
    }

    /// The cell as text: what `value_text` and `unplaced` keep. Numbers in the shortest form that
    /// reads back, dates in ISO 8601.
    pub fn as_text(&self) -> Cow<'_, str> {
        self.view().as_text()
    }
}

/// A borrowed cell: the one form in which rows of workbooks and of streamed text are normalized.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CellView<'a> {
    Empty,
    Text(&'a str),
    Number(f64, &'a Shown),
    Date(f64, Option<DateTime>),
    Bool(bool),
    Error(&'a str),
    Uncalculated,
}

impl<'a> CellView<'a> {
    pub const fn is_empty(&self) -> bool {
        matches!(self, Self::Empty)
    }

    pub fn as_text(&self) -> Cow<'a, str> {
        match *self {
            Self::Empty => Cow::Borrowed(""),
            Self::Text(text) | Self::Error(text) => Cow::Borrowed(text),
            Self::Number(number, _) => Cow::Owned(number.to_string()),
            Self::Date(serial, None) => Cow::Owned(serial.to_string()),
            Self::Date(_, Some(date)) if date.time() == jiff::civil::Time::midnight() => {
                Cow::Owned(date.date().to_string())
            }
            Self::Date(_, Some(date)) => Cow::Owned(date.to_string()),
            Self::Bool(true) => Cow::Borrowed("TRUE"),
            Self::Bool(false) => Cow::Borrowed("FALSE"),
            Self::Uncalculated => Cow::Borrowed("(formula never calculated)"),
        }
    }
}
