//! # dates-out-of-order: dates contradict each other
//!
//! ## What it finds
//!
//! A sample received or reported before it was taken, reported before it was received, taken before
//! 1950, or reported more than a year after it was taken.
//!
//! ## Why it matters
//!
//! Day and month were exchanged, or a year mistyped; the sample then stands at the wrong place of
//! its history.
//!
//! ## When it is wrong
//!
//! A re-issue long after the first report; archives.
//!
//! ## Source
//!
//! Order of events. Limits: common practice.

use super::prelude::*;
use jiff::civil::Date;
pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Warning,
    limits: &["oldest_year", "days_to_report"],
    gist: "dates contradict each other",
    yields_to: &[],
    scope: Scope::Sample(find),
    text: include_str!("dates_out_of_order.rs"),
};

const CODE: &str = "dates-out-of-order";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    let about = case.sample.about;
    let mut tell = |words: String| {
        let message = format!("{}: {words}", case.who());
        let help = "compare the dates with the report; 'date order' of the mapping settles which comes first";
        found.push(case.found(CODE, Substance::Ph, message, help));
    };
    for (first, then, words) in [
        (about.sampled_on, about.received_on, "received"),
        (about.sampled_on, about.reported_on, "reported"),
    ] {
        if let (Some(first), Some(then)) = (first, then)
            && then < first
        {
            let turned = turned(first).filter(|day| *day <= then);
            let hint = turned.map_or_else(String::new, |day| {
                format!("; {day}, if day and month are exchanged")
            });
            tell(format!(
                "{words} on {then}, before it was taken on {first}{hint}"
            ));
            return;
        }
    }
    if let (Some(received), Some(reported)) = (about.received_on, about.reported_on)
        && reported < received
    {
        tell(format!(
            "reported on {reported}, before it was received on {received}"
        ));
    } else if let (Some(taken), Some(reported)) = (about.sampled_on, about.reported_on)
        && f64::from((reported - taken).get_days()) > case.limit("days_to_report")
    {
        tell(format!(
            "taken on {taken}, but reported only on {reported}: is the year right?"
        ));
    } else if let Some(taken) = about.sampled_on
        && f64::from(taken.year()) < case.limit("oldest_year")
    {
        tell(format!(
            "taken on {taken}: a date of a spreadsheet gone wrong?"
        ));
    }
}

/// Day and month exchanged; `None` where that is no date.
fn turned(day: Date) -> Option<Date> {
    Date::new(day.year(), day.day(), day.month()).ok()
}
