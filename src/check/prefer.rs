//! Which of several results of one analyte in one sample counts. One rule for the figures and for the
//! wide table.

use crate::place::Address;
use crate::record::Censored;
use crate::vocabulary::Fraction;
use jiff::civil::Date;
use std::cmp::Reverse;

/// How much a result of an analyte counts beside others of the same sample; the smaller counts more:
///
/// 1. dissolved before total before unstated (the balance and the root see what is dissolved);
/// 2. a plain number before `<`, `>` and 'not detected';
/// 3. the report issued last (a re-issue corrects); a report without a date after those with one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Rank {
    fraction: u8,
    censored: bool,
    reported_on: Reverse<Option<Date>>,
}

impl Rank {
    pub fn new(
        fraction: Option<Fraction>,
        censored: Option<Censored>,
        reported_on: Option<Date>,
    ) -> Self {
        Self {
            fraction: match fraction {
                Some(Fraction::Dissolved) => 0,
                Some(Fraction::Total) => 1,
                None => 2,
            },
            censored: censored.is_some(),
            reported_on: Reverse(reported_on),
        }
    }
}

/// The smallest of a sample's results of one analyte is the one that counts: by [`Rank`], then the first
/// in the order of file, sheet and cell.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Preference<'a> {
    rank: Rank,
    file: &'a str,
    sheet: u16,
    at: Address,
}

impl<'a> Preference<'a> {
    /// `sheet` is the sheet's position in its file.
    pub fn new(
        fraction: Option<Fraction>,
        censored: Option<Censored>,
        reported_on: Option<Date>,
        file: &'a str,
        sheet: u16,
        at: Address,
    ) -> Self {
        Self {
            rank: Rank::new(fraction, censored, reported_on),
            file,
            sheet,
            at,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn each_rule_decides_before_the_next() {
        let at = Address::new(1, 1);
        let plain =
            |fraction, censored, on| Preference::new(fraction, censored, on, "a.csv", 0, at);
        let dissolved = Some(Fraction::Dissolved);
        let total = Some(Fraction::Total);
        let may = Some(date(2026, 5, 1));
        let june = Some(date(2026, 6, 1));
        let below = Some(Censored::Below);
        for (name, first, second) in [
            (
                "dissolved before total",
                plain(dissolved, below, None),
                plain(total, None, may),
            ),
            (
                "total before unstated",
                plain(total, below, None),
                plain(None, None, may),
            ),
            (
                "plain before censored",
                plain(None, None, may),
                plain(None, below, june),
            ),
            (
                "later report first",
                plain(None, None, june),
                plain(None, None, may),
            ),
            (
                "dated report first",
                plain(None, None, may),
                plain(None, None, None),
            ),
            (
                "then by place",
                plain(None, None, may),
                Preference::new(None, None, may, "b.csv", 0, Address::new(0, 0)),
            ),
        ] {
            assert!(first < second, "{name}");
        }
    }
}
