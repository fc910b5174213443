//! What is decided once per file before its numbers and dates can be read.

/// The decimal sign of a report's numbers written as text; decided once per file.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Decimal {
    Point,
    Comma,
    /// No evidence: `1,234` and `1.234` stay unplaced; everything else can be read.
    #[default]
    Undecided,
}

/// Order of day and month in dates written as digits; decided once per file.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum DateOrder {
    DayFirst,
    MonthFirst,
    YearFirst,
    /// No evidence: 03/04/2026 stays null with a finding, 13/04/2026 can be read.
    #[default]
    Undecided,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Locale {
    pub decimal: Decimal,
    pub dates: DateOrder,
}

/// What a laboratory's qualifier text does to the number beside it (or in whose cell it stands).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum QualifierCode {
    /// Not detected; the number is the limit ("0.05 U", "ND" beside 0.05).
    Below,
    Above,
    /// Not detected, no number given.
    Absent,
    /// The number stands; the code is a note.
    Keep,
    /// The number must not be used.
    Reject,
    /// A blank in other words ("n.b.", "not tested").
    Missing,
}
