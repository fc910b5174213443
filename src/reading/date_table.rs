//! Table tests of dates and of the evidence for their order and for the decimal sign.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

use super::{
    DateEvidence, DateFault, DateOrder, DateVerdict, Decimal, DecimalEvidence, DecimalVerdict,
    date_from_serial, read_date,
};
use crate::place::Address;
use jiff::civil::{Date, date};
use proptest::prelude::*;

const D: DateOrder = DateOrder::DayFirst;
const M: DateOrder = DateOrder::MonthFirst;
const Y: DateOrder = DateOrder::YearFirst;
const U: DateOrder = DateOrder::Undecided;

fn read(text: &str, order: DateOrder) -> Result<Date, DateFault> {
    read_date(text, order).map(|reading| reading.date)
}

#[test]
fn dates_are_read_in_their_order() {
    let april = date(2026, 4, 3);
    let march = date(2026, 3, 4);
    for (text, order, day) in [
        ("2026-04-03", U, april),
        ("2026/04/03", U, april),
        ("2026.04.03", M, april),
        ("2026-4-3", U, april),
        ("20260403", U, april),
        ("03/04/2026", D, april),
        ("03/04/2026", M, march),
        ("3.4.2026", D, april),
        ("3.4.26", D, april),
        ("3. 4. 2026", D, april),
        ("03-04-2026", D, april),
        ("26-04-03", Y, april),
        ("13/04/2026", U, date(2026, 4, 13)),
        ("04/13/2026", U, date(2026, 4, 13)),
        ("04/04/2026", U, date(2026, 4, 4)),
        ("13/04/2026", M, date(2026, 4, 13)),
        ("04/13/2026", D, date(2026, 4, 13)),
        ("31.12.99", D, date(1999, 12, 31)),
        ("99-12-31", U, date(1999, 12, 31)),
        ("3 Apr 2026", U, april),
        ("3. April 2026", U, april),
        ("03-apr.-26", U, april),
        ("3 avril 2026", U, april),
        ("3 de abril de 2026", U, april),
        ("3 aprile 2026", U, april),
        ("3 kwietnia 2026", U, april),
        ("3 kwi 2026", U, april),
        ("April 3, 2026", U, april),
        ("Apr. 3 2026", U, april),
        ("2026 Apr 3", U, april),
        ("3rd April 2026", U, april),
        ("Friday, 3 April 2026", U, april),
        ("Fr, 3. April 2026", U, april),
        ("1er mars 2026", U, date(2026, 3, 1)),
        ("3 ago 2026", U, date(2026, 8, 3)),
        ("3 août 2026", U, date(2026, 8, 3)),
        ("3 lug 2026", U, date(2026, 7, 3)),
        ("4. Mär 2026", U, march),
        ("4 märz 2026", U, march),
        ("4 mrt 2026", U, march),
        ("4 maart 2026", U, march),
        ("4. marts 2026", U, march),
        ("4 março 2026", U, march),
        ("4. maj 2026", U, date(2026, 5, 4)),
        ("4 mei 2026", U, date(2026, 5, 4)),
        ("4 out 2026", U, date(2026, 10, 4)),
        ("4 października 2026", U, date(2026, 10, 4)),
        ("4 gru 2026", U, date(2026, 12, 4)),
        ("2026-04-03T10:15:00", U, april),
        ("2026-04-03T23:30:00Z", U, april),
        ("2026-04-03T23:30:00+02:00", U, april),
        ("2026-04-03 10:15", U, april),
        ("03.04.2026 07:30", D, april),
        ("03.04.2026, 07:30 Uhr", D, april),
        ("8/16/2021 9:29:17 PM -04:00", U, date(2021, 8, 16)),
        ("8/6/2021 9:29:17 PM -04:00", M, date(2021, 8, 6)),
        ("2026-04-03 10:15:00.000", U, april),
        (" 3.4.2026 ", D, april),
    ] {
        assert_eq!(read(text, order), Ok(day), "{text:?} {order:?}");
    }
}

#[test]
fn err_what_is_no_day_says_why() {
    let ambiguous = DateFault::Ambiguous {
        day_first: date(2026, 4, 3),
        month_first: date(2026, 3, 4),
    };
    for (text, order, fault) in [
        ("03/04/2026", U, ambiguous),
        ("3.4.26", U, ambiguous),
        ("03/04/2026", Y, ambiguous),
        ("April 2026", U, DateFault::Partial),
        ("03-2022", U, DateFault::Partial),
        ("2022/09", U, DateFault::Partial),
        ("2022", U, DateFault::Partial),
        ("Q3/22", U, DateFault::Partial),
        ("Q2 2026", U, DateFault::Partial),
        ("KW 14/2026", U, DateFault::Partial),
        ("KW 14", U, DateFault::Partial),
        ("week 14", U, DateFault::Partial),
        ("spring 22", U, DateFault::Partial),
        ("spring", U, DateFault::Partial),
        ("Frühjahr 2022", U, DateFault::Partial),
        ("3 April", U, DateFault::Partial),
        ("12–14 May", U, DateFault::Several),
        ("12-14 May 2026", U, DateFault::Several),
        ("12.-14. Mai 2026", U, DateFault::Several),
        ("May 12-14, 2026", U, DateFault::Several),
        ("12 May - 14 May 2026", U, DateFault::Several),
        ("31.04.2026", D, DateFault::Impossible),
        ("2026-02-30", U, DateFault::Impossible),
        ("2026-13-01", U, DateFault::Impossible),
        ("31/31/2026", U, DateFault::Impossible),
        ("1896-04-03", U, DateFault::OutOfRange(date(1896, 4, 3))),
        ("", U, DateFault::NotADate),
        ("yesterday", U, DateFault::NotADate),
        ("26-0411", U, DateFault::NotADate),
        ("BH 1", U, DateFault::NotADate),
        ("46115", U, DateFault::NotADate),
        ("7:30", U, DateFault::NotADate),
        ("12.5", U, DateFault::NotADate),
        ("6/7 & 6/8/2022", U, DateFault::NotADate),
        ("1.2.3.4", U, DateFault::Several),
    ] {
        assert_eq!(read(text, order), Err(fault), "{text:?} {order:?}");
    }
}

#[test]
fn a_date_against_the_order_is_marked() {
    assert!(read_date("13/04/2026", M).unwrap().against_order);
    assert!(read_date("04/13/2026", D).unwrap().against_order);
    assert!(!read_date("13/04/2026", D).unwrap().against_order);
    assert!(!read_date("2026-04-13", M).unwrap().against_order);
}

#[test]
fn serials_are_days_of_the_1900_system() {
    for (serial, day) in [
        (46115.0, Some(date(2026, 4, 3))),
        (46115.9, Some(date(2026, 4, 3))),
        (45292.0, Some(date(2024, 1, 1))),
        (25569.0, Some(date(1970, 1, 1))),
        (12.5, None),
        (-5.0, None),
        (1e9, None),
        (f64::NAN, None),
    ] {
        assert_eq!(date_from_serial(serial), day, "{serial}");
    }
}

fn at(row: usize) -> Address {
    Address::new(row as u32, 0)
}

fn decimal(texts: &[&str]) -> DecimalVerdict {
    let mut evidence = DecimalEvidence::default();
    for (row, text) in texts.iter().enumerate() {
        evidence.feed(text, at(row));
    }
    evidence.verdict()
}

#[test]
fn the_decimal_sign_is_decided_from_all_cells() {
    for (texts, verdict) in [
        (&["12,5", "1.234"][..], Decimal::Comma),
        (&["12.5", "1,234"][..], Decimal::Point),
        (&["<0,05"][..], Decimal::Comma),
        (&["< 0.05 mg/l"][..], Decimal::Point),
        (&["1,234.5"][..], Decimal::Point),
        (&["1.234.567"][..], Decimal::Comma),
        (&["1,2345"][..], Decimal::Comma),
    ] {
        assert_eq!(
            decimal(texts),
            DecimalVerdict::Decided(verdict),
            "{texts:?}"
        );
    }
}

#[test]
fn err_the_decimal_sign_stays_open_without_evidence() {
    assert_eq!(
        decimal(&["1.234", "12", "03.04.2026", "n.n."]),
        DecimalVerdict::Undecided {
            open: Some((at(0), "1.234".to_owned()))
        }
    );
    assert_eq!(decimal(&["12"]), DecimalVerdict::Undecided { open: None });
}

#[test]
fn err_both_signs_contradict() {
    assert_eq!(
        decimal(&["<0.8", "<0,8"]),
        DecimalVerdict::Contradicting {
            point: (at(0), "<0.8".to_owned()),
            comma: (at(1), "<0,8".to_owned()),
        }
    );
}

#[test]
fn a_ph_shows_the_sign_where_a_thousand_cannot_be() {
    let mut evidence = DecimalEvidence::default();
    evidence.feed_below("7,234", at(0), 14.0);
    assert_eq!(evidence.verdict(), DecimalVerdict::Decided(Decimal::Comma));
}

fn dates(texts: &[&str]) -> DateVerdict {
    let mut evidence = DateEvidence::default();
    for (row, text) in texts.iter().enumerate() {
        evidence.feed(text, at(row));
    }
    evidence.verdict()
}

#[test]
fn the_date_order_is_decided_from_all_cells() {
    for (texts, verdict) in [
        (&["03/04/2026", "13/04/2026"][..], DateVerdict::Decided(D)),
        (&["03/04/2026", "04/13/2026"][..], DateVerdict::Decided(M)),
        (
            &["3.4.2026", "4.4.2026"][..],
            DateVerdict::ByConvention {
                order: D,
                open: None,
            },
        ),
        (
            &["3/4/2026 10:15", "3/14/2026"][..],
            DateVerdict::Decided(M),
        ),
    ] {
        assert_eq!(dates(texts), verdict, "{texts:?}");
    }
}

#[test]
fn days_change_and_years_repeat() {
    for (texts, verdict) in [
        (
            &["23-04-05", "23-04-19", "23-05-03", "23-06-27"][..],
            DateVerdict::ByConvention {
                order: DateOrder::YearFirst,
                open: Some((Address::new(0, 0), "23-04-05".into())),
            },
        ),
        (
            &["05-04-23", "19-04-23", "03-05-23", "27-06-23"][..],
            DateVerdict::Decided(D),
        ),
        // Each quarter on the 15th, four years long: what changes are years, which follow each other.
        (
            &["15-01-20", "15-04-21", "15-07-22", "15-10-23"][..],
            DateVerdict::Decided(D),
        ),
    ] {
        assert_eq!(dates(texts), verdict, "{texts:?}");
    }
}

#[test]
fn the_date_order_is_decided_from_sampled_and_received() {
    let mut evidence = DateEvidence::default();
    evidence.feed("03/04/2026", at(0));
    // Sampled on 3 April, received on 1 May; as month-first, sampled on 4 March, received on 5 January.
    evidence.feed_sequence("03/04/2026", "01/05/2026");
    assert_eq!(evidence.verdict(), DateVerdict::Decided(D));
}

#[test]
fn err_the_date_order_stays_open_without_evidence() {
    assert_eq!(
        dates(&["2026-04-03", "03/04/2026"]),
        DateVerdict::Undecided {
            open: Some((at(1), "03/04/2026".to_owned()))
        }
    );
}

#[test]
fn err_dates_of_both_orders_contradict() {
    assert_eq!(
        dates(&["13/04/2026", "04/13/2026"]),
        DateVerdict::Contradicting {
            day_first: (at(0), "13/04/2026".to_owned()),
            month_first: (at(1), "04/13/2026".to_owned()),
        }
    );
}

proptest! {
    #[test]
    fn no_text_panics(text in "\\PC{0,40}") {
        for order in [D, M, Y, U] {
            prop_assert!(read_date(&text, order).is_ok() || read_date(&text, order).is_err());
        }
    }

    #[test]
    fn no_date_like_text_panics(text in "[-0-9./ :TZa-zé–]{0,24}") {
        for order in [D, M, Y, U] {
            if let Ok(reading) = read_date(&text, order) {
                prop_assert!((1950..=2100).contains(&reading.date.year()));
            }
        }
    }

    #[test]
    fn a_printed_date_reads_back(days in 0i64..55_000) {
        let day = date(1950, 1, 1).checked_add(jiff::Span::new().days(days)).unwrap();
        let (y, m, d) = (day.year(), day.month(), day.day());
        prop_assert_eq!(read(&format!("{y}-{m:02}-{d:02}"), U), Ok(day));
        prop_assert_eq!(read(&format!("{y}{m:02}{d:02}"), U), Ok(day));
        prop_assert_eq!(read(&format!("{d}.{m}.{y}"), D), Ok(day));
        prop_assert_eq!(read(&format!("{m}/{d}/{y}"), M), Ok(day));
        // Undecided never reads another day.
        if let Ok(other) = read(&format!("{d}.{m}.{y}"), U) {
            prop_assert_eq!(other, day);
        }
    }
}
