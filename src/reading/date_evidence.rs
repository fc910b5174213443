//! The order of day and month of a file, from all its date texts together.

use super::date::three_numbers;
use super::locale::DateOrder;
use crate::place::Address;
use std::collections::BTreeSet;

/// Feed it every date cell that is text.
#[derive(Clone, Debug, Default)]
pub struct DateEvidence {
    first_day_first: Option<(Address, String)>,
    first_month_first: Option<(Address, String)>,
    first_open: Option<(Address, String)>,
    /// Pairs of dates (sampled, received) in sequence under one order only.
    sequence_day_first: u64,
    sequence_month_first: u64,
    dotted: u64,
    undotted: u64,
    /// The first, second and last numbers of dates of two digits each.
    short: [BTreeSet<u32>; 3],
    first_short: Option<(Address, String)>,
}

/// Different days that show which number of short dates is the day.
const FEWEST_DAYS: usize = 4;

/// What the cells say together.
#[derive(Clone, Debug, PartialEq)]
pub enum DateVerdict {
    Decided(DateOrder),
    /// Nothing decides but a custom: only dotted dates (03.04.2026), which no country writes with the month
    /// first (common practice, no source); or what else of the file speaks for it, or the numbers of short
    /// dates, then with the first cell that is read so.
    ByConvention {
        order: DateOrder,
        open: Option<(Address, String)>,
    },
    /// `open`: the first cell that stays null because of it, if any.
    Undecided {
        open: Option<(Address, String)>,
    },
    /// Some cells can only be day-first, others only month-first; the first of each.
    Contradicting {
        day_first: (Address, String),
        month_first: (Address, String),
    },
}

impl DateVerdict {
    pub const fn order(&self) -> DateOrder {
        match self {
            Self::Decided(order) | Self::ByConvention { order, .. } => *order,
            Self::Undecided { .. } | Self::Contradicting { .. } => DateOrder::Undecided,
        }
    }
}

impl DateEvidence {
    pub fn feed(&mut self, text: &str, at: Address) {
        let Some((numbers, sign)) = three_numbers(text) else {
            return;
        };
        let [a, b, c] = numbers;
        if c < 100 {
            for (seen, number) in self.short.iter_mut().zip(numbers) {
                seen.insert(number);
            }
            self.first_short
                .get_or_insert_with(|| (at, text.to_owned()));
        }
        if sign == '.' {
            self.dotted += 1;
        } else {
            self.undotted += 1;
        }
        let slot = match (a, b) {
            (13..=31, 1..=12) => &mut self.first_day_first,
            (1..=12, 13..=31) => &mut self.first_month_first,
            (1..=12, 1..=12) if a != b => &mut self.first_open,
            _ => return,
        };
        slot.get_or_insert_with(|| (at, text.to_owned()));
    }

    /// Two dates of which the first is never after the second (sampled and received, received and
    /// reported): evidence where one order would turn them round.
    pub fn feed_sequence(&mut self, earlier: &str, later: &str) {
        use super::date::read_date;
        let in_order = |order| {
            let first = read_date(earlier, order).ok()?.date;
            let second = read_date(later, order).ok()?.date;
            Some(first <= second)
        };
        match (
            in_order(DateOrder::DayFirst),
            in_order(DateOrder::MonthFirst),
        ) {
            (Some(true), Some(false)) => self.sequence_day_first += 1,
            (Some(false), Some(true)) => self.sequence_month_first += 1,
            _ => {}
        }
    }

    /// Puts the evidence of a later part of the file behind this one.
    pub fn append(&mut self, later: Self) {
        self.first_day_first = self.first_day_first.take().or(later.first_day_first);
        self.first_month_first = self.first_month_first.take().or(later.first_month_first);
        self.first_open = self.first_open.take().or(later.first_open);
        self.first_short = self.first_short.take().or(later.first_short);
        self.sequence_day_first += later.sequence_day_first;
        self.sequence_month_first += later.sequence_month_first;
        self.dotted += later.dotted;
        self.undotted += later.undotted;
        for (seen, more) in self.short.iter_mut().zip(later.short) {
            seen.extend(more);
        }
    }

    /// "23-04-05", "23-04-19", "23-05-03": years repeat and days do not. The first number hardly changes, the last is
    /// one of many days; years of yearly samples would follow each other, or the month would stay.
    fn is_year_first(&self) -> bool {
        let [firsts, middles, lasts] = &self.short;
        let run = match (lasts.first(), lasts.last()) {
            (Some(low), Some(high)) => (high - low) as usize + 1,
            _ => return false,
        };
        lasts.len() >= FEWEST_DAYS
            && lasts.len() >= 3 * firsts.len()
            && middles.len() > 1
            && run > lasts.len()
            && middles.iter().all(|month| (1..=12).contains(month))
            && lasts.iter().all(|day| (1..=31).contains(day))
    }

    pub fn verdict(&self) -> DateVerdict {
        if self.is_year_first() {
            return DateVerdict::ByConvention {
                order: DateOrder::YearFirst,
                open: self.first_short.clone(),
            };
        }
        match (&self.first_day_first, &self.first_month_first) {
            (Some(day_first), Some(month_first)) => {
                return DateVerdict::Contradicting {
                    day_first: day_first.clone(),
                    month_first: month_first.clone(),
                };
            }
            (Some(_), None) => return DateVerdict::Decided(DateOrder::DayFirst),
            (None, Some(_)) => return DateVerdict::Decided(DateOrder::MonthFirst),
            (None, None) => {}
        }
        match (self.sequence_day_first, self.sequence_month_first) {
            (1.., 0) => DateVerdict::Decided(DateOrder::DayFirst),
            (0, 1..) => DateVerdict::Decided(DateOrder::MonthFirst),
            (0, 0) if self.dotted > 0 && self.undotted == 0 => DateVerdict::ByConvention {
                order: DateOrder::DayFirst,
                open: None,
            },
            _ => DateVerdict::Undecided {
                open: self.first_open.clone(),
            },
        }
    }
}
