//! The decimal sign of a file, from all its number texts together.
//!
//! A sign followed by exactly three digits says nothing (`1.234`); a leading zero, one, two or four
//! digits, or both signs in one number do. Common practice, no single source.

use super::fold::is_blank;
use super::locale::Decimal;
use super::number::{Shape, Sign, shape};
use crate::place::Address;

/// Feed it every value cell that is text; dates and references are not for it.
#[derive(Clone, Debug, Default)]
pub struct DecimalEvidence {
    points: u64,
    commas: u64,
    open: u64,
    first_point: Option<(Address, String)>,
    first_comma: Option<(Address, String)>,
    first_open: Option<(Address, String)>,
}

/// What the cells say together.
#[derive(Clone, Debug, PartialEq)]
pub enum DecimalVerdict {
    Decided(Decimal),
    /// Nothing speaks for either sign. `open`: the first cell that stays unread because of it, if any.
    Undecided {
        open: Option<(Address, String)>,
    },
    /// Both signs are used as decimal signs; the first cell of each.
    Contradicting {
        point: (Address, String),
        comma: (Address, String),
    },
}

impl DecimalVerdict {
    /// The sign to read by. With contradicting evidence each number that can be meant in one way only
    /// is read, the others are not.
    pub const fn decimal(&self) -> Decimal {
        match self {
            Self::Decided(decimal) => *decimal,
            Self::Undecided { .. } | Self::Contradicting { .. } => Decimal::Undecided,
        }
    }
}

impl DecimalEvidence {
    pub fn feed(&mut self, text: &str, at: Address) {
        self.feed_below(text, at, f64::INFINITY);
    }

    /// As `feed`, for cells whose number cannot be larger than `most` (14 for pH): three digits behind
    /// the sign then are evidence where the grouped reading would be larger.
    pub fn feed_below(&mut self, text: &str, at: Address, most: f64) {
        let number = text.trim_start_matches(|c: char| {
            is_blank(c)
                || matches!(
                    c,
                    '<' | '>' | '=' | '≤' | '≥' | '~' | '≈' | '(' | '\'' | '＜' | '＞'
                )
        });
        let sign = match shape(number) {
            Shape::Point => Sign::Point,
            Shape::Comma => Sign::Comma,
            Shape::Either { sign, grouped } if grouped.abs() > most => sign,
            Shape::Either { .. } => {
                self.open += 1;
                self.first_open.get_or_insert_with(|| (at, text.to_owned()));
                return;
            }
            Shape::Silent => return,
        };
        let (count, first) = match sign {
            Sign::Point => (&mut self.points, &mut self.first_point),
            Sign::Comma => (&mut self.commas, &mut self.first_comma),
        };
        *count += 1;
        first.get_or_insert_with(|| (at, text.to_owned()));
    }

    /// Puts the evidence of a later part of the file behind this one.
    pub fn append(&mut self, later: Self) {
        self.points += later.points;
        self.commas += later.commas;
        self.open += later.open;
        self.first_point = self.first_point.take().or(later.first_point);
        self.first_comma = self.first_comma.take().or(later.first_comma);
        self.first_open = self.first_open.take().or(later.first_open);
    }

    /// Cells that speak for a point, for a comma, and for neither.
    pub const fn counts(&self) -> (u64, u64, u64) {
        (self.points, self.commas, self.open)
    }

    pub fn verdict(&self) -> DecimalVerdict {
        match (&self.first_point, &self.first_comma) {
            (Some(point), Some(comma)) => DecimalVerdict::Contradicting {
                point: point.clone(),
                comma: comma.clone(),
            },
            (Some(_), None) => DecimalVerdict::Decided(Decimal::Point),
            (None, Some(_)) => DecimalVerdict::Decided(Decimal::Comma),
            (None, None) => DecimalVerdict::Undecided {
                open: self.first_open.clone(),
            },
        }
    }
}
