//! The serial numbers by which spreadsheet programs store dates and times.

use jiff::civil::{DateTime, date};
use jiff::{Span, ToSpan};

/// The day from which a workbook counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Base {
    /// Day 1 is 1900-01-01, and day 60 the 29 February that 1900 never had (ECMA-376 part 1, 18.17.4.1).
    Year1900,
    /// Day 0 is 1904-01-01 (ECMA-376 part 1, 18.17.4.1).
    Year1904,
}

impl Base {
    /// As the workbook says.
    pub(super) const fn of(has_1904_epoch: bool) -> Self {
        if has_1904_epoch {
            Self::Year1904
        } else {
            Self::Year1900
        }
    }
}

/// The last day of the year 9999, beyond which no spreadsheet program goes.
const LAST_DAY: f64 = 2_958_465.0;

const MILLISECONDS_OF_A_DAY: f64 = 86_400_000.0;

/// The date and time of a serial number, to the millisecond; `None` for what is no date: a time of
/// day alone (below day 1), the 29 February 1900, what lies after the year 9999, no number.
pub(super) fn date_time(serial: f64, base: Base) -> Option<DateTime> {
    let first_day = match base {
        Base::Year1900 => 1.0,
        Base::Year1904 => 0.0,
    };
    // NaN fails this as well.
    if !(serial >= first_day && serial < LAST_DAY + 1.0) {
        return None;
    }
    let milliseconds = (serial.fract() * MILLISECONDS_OF_A_DAY).round();
    let days = serial.trunc() as i64;
    let (epoch, days) = match base {
        Base::Year1904 if serial < 1.0 => return None,
        Base::Year1904 => (date(1904, 1, 1), days),
        Base::Year1900 if days == 60 => return None,
        Base::Year1900 if days > 60 => (date(1899, 12, 30), days),
        Base::Year1900 => (date(1899, 12, 31), days),
    };
    let since: Span = days.days().milliseconds(milliseconds as i64);
    epoch
        .to_datetime(jiff::civil::Time::midnight())
        .checked_add(since)
        .ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn serial_numbers_are_the_dates_that_spreadsheets_show() {
        for (serial, base, shown) in [
            // 45292 in both bases, and 45943.541: traps measured on workbooks.
            (45292.0, Base::Year1900, "2024-01-01T00:00:00"),
            (45292.0, Base::Year1904, "2028-01-02T00:00:00"),
            (45943.541, Base::Year1900, "2025-10-13T12:59:02.4"),
            (1.0, Base::Year1900, "1900-01-01T00:00:00"),
            (59.0, Base::Year1900, "1900-02-28T00:00:00"),
            (61.0, Base::Year1900, "1900-03-01T00:00:00"),
            (2_958_465.0, Base::Year1900, "9999-12-31T00:00:00"),
            (45_292.999_999_999, Base::Year1900, "2024-01-02T00:00:00"),
            (1.0, Base::Year1904, "1904-01-02T00:00:00"),
        ] {
            let found = date_time(serial, base).map(|d| d.to_string());
            assert_eq!(found.as_deref(), Some(shown), "{serial}");
        }
    }

    #[test]
    fn err_what_is_no_date_is_none() {
        for serial in [60.0, 0.5, -5.0, 2_958_466.0, 1e300, f64::NAN, f64::INFINITY] {
            assert_eq!(date_time(serial, Base::Year1900), None, "{serial}");
        }
    }
}
