//! Decimal sign and date order of a file, from all its cells.

use super::findings::finding;
use super::plan::{DateOrder, Decimal, Locale};
use super::rules::Rules;
use crate::finding::Finding;
use crate::place::{Address, Place};
use crate::read::CellView;
use crate::reading::{DateEvidence, DateVerdict, DecimalEvidence, DecimalVerdict};
use std::sync::Arc;

/// The texts from which a file's locale is decided.
#[derive(Default)]
pub(super) struct Evidence {
    decimal: DecimalEvidence,
    dates: DateEvidence,
    /// Sheet of the first text fed; its cells are named in findings.
    sheet: Option<Arc<str>>,
}

impl Evidence {
    /// A cell where a result stands. References and depths use points of their own and are no evidence.
    pub(super) fn value(&mut self, sheet: &Arc<str>, at: Address, cell: CellView<'_>) {
        if let CellView::Text(text) = cell
            && text.len() <= LONGEST
            && text.bytes().any(|b| b.is_ascii_digit())
        {
            self.decimal.feed(text, at);
            self.sheet.get_or_insert_with(|| sheet.clone());
        }
    }

    /// A cell where no result stands; it may be a date.
    pub(super) fn identity(&mut self, sheet: &Arc<str>, at: Address, cell: CellView<'_>) {
        if let CellView::Text(text) = cell
            && text.len() <= LONGEST
            && text.bytes().any(|b| b.is_ascii_digit())
        {
            self.dates.feed(text, at);
            self.sheet.get_or_insert_with(|| sheet.clone());
        }
    }

    /// Decides once for the whole file; a mapping's word comes before the evidence. A `;` between the
    /// fields of a text file decides nothing: points are as usual there.
    pub(super) fn decide(
        self,
        file: &Arc<str>,
        rules: Option<&Rules>,
        findings: &mut Vec<Finding>,
    ) -> Locale {
        let told_decimal = rules.and_then(|r| r.decimal);
        let told_dates = rules.and_then(|r| r.dates);
        let sheet = self.sheet.clone().unwrap_or_else(|| "".into());
        let place = |at: Address| Place::cell(file, &sheet, at);
        if told_decimal.is_none() {
            findings.extend(decimal_finding(&self.decimal.verdict(), place));
        }
        let decimal = told_decimal.unwrap_or_else(|| self.decimal.verdict().decimal());
        let verdict = of_decimal_commas(self.dates.verdict(), decimal);
        if told_dates.is_none() {
            findings.extend(date_finding(&verdict, place));
        }
        Locale {
            decimal,
            dates: told_dates.unwrap_or_else(|| verdict.order()),
        }
    }
}

/// Who writes a decimal comma does not write the month first: all countries that do (the United States
/// and a few others) write a decimal point. Common practice, no source.
fn of_decimal_commas(verdict: DateVerdict, decimal: Decimal) -> DateVerdict {
    match verdict {
        DateVerdict::Undecided { open: Some(open) } if decimal == Decimal::Comma => {
            DateVerdict::ByConvention {
                order: DateOrder::DayFirst,
                open: Some(open),
            }
        }
        other => other,
    }
}

/// Longer texts are prose, not numbers or dates.
const LONGEST: usize = 40;

fn decimal_finding(verdict: &DecimalVerdict, place: impl Fn(Address) -> Place) -> Option<Finding> {
    match verdict {
        DecimalVerdict::Decided(Decimal::Point | Decimal::Comma | Decimal::Undecided)
        | DecimalVerdict::Undecided { open: None } => None,
        DecimalVerdict::Undecided {
            open: Some((at, text)),
        } => Some(finding(
            "decimal-undecided",
            place(*at),
            format!(
                "nothing in the file tells whether '{text}' has a decimal sign or a thousands sign"
            ),
            "say so in a mapping: decimal = \"comma\" or decimal = \"point\"".into(),
        )),
        DecimalVerdict::Contradicting { point, comma } => Some(finding(
            "decimal-contradicts",
            place(comma.0),
            format!(
                "'{}' in {} has a decimal point, '{}' a decimal comma",
                point.1, point.0, comma.1
            ),
            "numbers that can be meant in one way only are read; say which sign holds in a mapping"
                .into(),
        )),
    }
}

fn date_finding(verdict: &DateVerdict, place: impl Fn(Address) -> Place) -> Option<Finding> {
    match verdict {
        DateVerdict::Decided(
            DateOrder::DayFirst
            | DateOrder::MonthFirst
            | DateOrder::YearFirst
            | DateOrder::Undecided,
        )
        | DateVerdict::ByConvention { open: None, .. }
        | DateVerdict::Undecided { open: None } => None,
        DateVerdict::ByConvention {
            order: DateOrder::YearFirst,
            open: Some((at, text)),
        } => Some(finding(
            "dates-by-convention",
            place(*at),
            format!("'{text}' is read with the year first, since first numbers repeat and last ones do not"),
            "if the year comes last, say so in a mapping: dates = \"day-first\" or dates = \"month-first\"".into(),
        )),
        DateVerdict::ByConvention {
            open: Some((at, text)),
            ..
        } => Some(finding(
            "dates-by-convention",
            place(*at),
            format!("'{text}' is read with the day first, as where commas are decimal signs"),
            "if the month comes first, say so in a mapping: dates = \"month-first\"".into(),
        )),
        DateVerdict::Undecided {
            open: Some((at, text)),
        } => Some(finding(
            "dates-undecided",
            place(*at),
            format!("nothing in the file tells day and month of '{text}' apart"),
            "say so in a mapping: dates = \"day-first\" or dates = \"month-first\"".into(),
        )),
        DateVerdict::Contradicting {
            day_first,
            month_first,
        } => Some(finding(
            "dates-contradict",
            place(month_first.0),
            format!(
                "'{}' in {} can only be day first, '{}' only month first",
                day_first.1, day_first.0, month_first.1
            ),
            "correct the report, or say which order holds in a mapping".into(),
        )),
    }
}
