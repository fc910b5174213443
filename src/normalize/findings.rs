//! The findings of normalizing: every code and every message of this stage in one place.

use crate::finding::Severity;
use crate::reading::Unread;

/// What is wrong with a cell, a line or a sample; borrowed, because most are only counted.
#[derive(Debug)]
pub(super) enum Problem<'a> {
    /// A result cell without a single reading.
    Value {
        unread: &'a Unread,
        text: &'a str,
        label: &'a str,
    },
    /// A result cell that is clear and still gives no result, or gives one with a reservation.
    Result {
        code: &'static str,
        text: &'a str,
        label: &'a str,
    },
    /// A cell or label that belongs to a result.
    Beside {
        code: &'static str,
        text: &'a str,
        label: &'a str,
    },
    /// A date cell.
    Date {
        code: &'static str,
        text: &'a str,
        field: &'a str,
    },
    /// A line or a sample: what it is called.
    Sample { code: &'static str, name: &'a str },
}

impl Problem<'_> {
    pub(super) const fn code(&self) -> &'static str {
        match self {
            Self::Value { unread, .. } => unread.reason(),
            Self::Result { code, .. }
            | Self::Beside { code, .. }
            | Self::Date { code, .. }
            | Self::Sample { code, .. } => code,
        }
    }
}

use Severity::{Error, Note, Warning};

pub(super) const ANALYTE_EXPECTED: &str = "analyte-expected";
pub(super) const SAMPLES_EXPECTED: &str = "samples-expected";

/// Code, severity and one line for each finding of this stage, sorted by code.
pub const CODES: &[(&str, Severity, &str)] = &[
    (
        "above-without-limit",
        Warning,
        "too many to count, and no limit given",
    ),
    (
        "against-decimal-sign",
        Warning,
        "a number is written against the file's decimal sign",
    ),
    (
        ANALYTE_EXPECTED,
        Warning,
        "an analyte that the mapping expects is not in the report",
    ),
    (
        "coordinate-unread",
        Note,
        "a coordinate is not in decimal degrees",
    ),
    (
        "date-against-order",
        Warning,
        "a date fits only the other order than the file's",
    ),
    ("date-ambiguous", Warning, "day and month can be exchanged"),
    (
        "date-from-number",
        Note,
        "a plain number in a date column was taken as a spreadsheet date",
    ),
    ("date-impossible", Warning, "no calendar has this day"),
    (
        "date-in-value",
        Warning,
        "a result cell holds a date: a number that the spreadsheet has turned",
    ),
    (
        "date-out-of-range",
        Warning,
        "a date lies before 1950 or after 2100",
    ),
    ("date-partial", Note, "a month or a season, no day"),
    ("date-several", Note, "several days in one cell"),
    ("date-unread", Warning, "a date cell that is no date"),
    (
        "dates-out-of-order",
        Warning,
        "sampled after it was received or reported",
    ),
    (
        "footnote-ambiguous",
        Warning,
        "the last digit can be a footnote",
    ),
    ("formula-error", Warning, "a formula error in a result cell"),
    (
        "formula-uncalculated",
        Warning,
        "a formula whose result was never stored",
    ),
    (
        "identity-contradicts",
        Warning,
        "one sample is described in two ways",
    ),
    ("judgement", Note, "a judgement without a number"),
    (
        "lab-reference-shared",
        Warning,
        "one laboratory number for samples that differ",
    ),
    (
        "limit-by-word",
        Warning,
        "a word beside a number makes it a limit",
    ),
    ("limit-of-zero", Warning, "a limit of zero"),
    (
        "limit-or-estimate",
        Warning,
        "a number in brackets that can be the limit or an estimate",
    ),
    (
        "limit-unknown",
        Note,
        "below a limit that the report does not give",
    ),
    (
        "line-without-values",
        Note,
        "a line of a table without a single value",
    ),
    ("logical-value", Warning, "true or false in a result cell"),
    (
        "missing-number",
        Note,
        "a number that means 'missing' in this file",
    ),
    (
        "namesakes",
        Warning,
        "samples of one name that differ in region, place or days",
    ),
    ("negative-number", Warning, "a negative concentration"),
    ("not-a-number", Warning, "a result cell that is no number"),
    (
        "not-determined",
        Note,
        "the report says that there is no result",
    ),
    ("not-finite", Warning, "infinite or 'not a number'"),
    (
        "number-ambiguous",
        Warning,
        "a number that can be read with a decimal or a thousands sign",
    ),
    (
        "number-corrected",
        Note,
        "a number was corrected in its own cell",
    ),
    (
        "number-estimated",
        Note,
        "the laboratory calls the number an estimate",
    ),
    (
        "number-garbled",
        Warning,
        "a number that typing or scanning broke",
    ),
    (
        "number-out-of-range",
        Warning,
        "too large or too small for a number",
    ),
    (
        "number-shown-as-date",
        Warning,
        "a number whose format shows it as a date or time",
    ),
    ("pending", Note, "a result that will follow"),
    (
        "presence-without-number",
        Warning,
        "found, but not how much",
    ),
    (
        "qualifier-unknown",
        Warning,
        "a code beside a number that nobody explains",
    ),
    ("range", Warning, "a range instead of a number"),
    (
        "rejected-by-code",
        Note,
        "a code says that the number must not be used",
    ),
    (
        "reported-twice",
        Warning,
        "one analyte stands under two labels with other values",
    ),
    (
        "same-sample-other-value",
        Warning,
        "one sample is reported twice with other values",
    ),
    (
        "sample-nameless",
        Note,
        "lines that nothing tells apart but their place",
    ),
    (
        SAMPLES_EXPECTED,
        Warning,
        "the report has more or fewer samples than its mapping expects",
    ),
    ("several-values", Warning, "several values in one cell"),
    (
        "sheets-told-apart",
        Warning,
        "sheets give the same samples with other values",
    ),
    (
        "text-after-number",
        Warning,
        "text behind a number that is neither unit nor known code",
    ),
    (
        "trace-without-limit",
        Warning,
        "a trace, and no limit of quantification given",
    ),
    (
        "unit-in-cell",
        Warning,
        "a cell states another unit than its heading",
    ),
    (
        "unit-not-stated",
        Warning,
        "a number is small for the unit that is usual",
    ),
    (
        "unit-unfit",
        Error,
        "a stated unit cannot be one of this analyte",
    ),
    (
        "unit-unknown",
        Warning,
        "a stated unit is none of the known ones",
    ),
    ("value-missing", Note, "a row of results without a value"),
    (
        "word-ambiguous",
        Warning,
        "a word with two meanings instead of a number",
    ),
    ("zero-reported", Note, "a concentration of zero"),
];

/// Severity, message and help of a problem. Every message of this stage is made here.
pub(super) fn words(problem: &Problem<'_>) -> (Severity, String, String) {
    let code = problem.code();
    let severity = CODES
        .iter()
        .find(|(known, _, _)| *known == code)
        .map(|(_, severity, _)| *severity)
        .expect("every code of this stage is in CODES");
    let (message, help) = match problem {
        Problem::Value {
            unread,
            text,
            label,
        } => value_words(unread, text, label),
        Problem::Result { code, text, label } => result_words(code, text, label),
        Problem::Beside { code, text, label } => beside_words(code, text, label),
        Problem::Date { code, text, field } => date_words(code, text, field),
        Problem::Sample { code, name } => sample_words(code, name),
    };
    (severity, message, help)
}

const CODE_LINE: &str = "say in the mapping what it means: [codes]";

fn value_words(unread: &Unread, text: &str, label: &str) -> (String, String) {
    match unread {
        Unread::NotANumber => (
            format!("{label}: not a number: '{text}'"),
            "correct the cell, or set it aside in a mapping".into(),
        ),
        Unread::Ambiguous { decimal, grouped } => (
            format!("{label}: '{text}' can be {decimal} or {grouped}"),
            "say in the mapping which sign is the decimal sign: decimal = \"point\" or \"comma\""
                .into(),
        ),
        Unread::AgainstLocale => (
            format!("{label}: '{text}' is written against the decimal sign of this file"),
            "correct the cell, or the decimal sign in the mapping".into(),
        ),
        Unread::OutOfRange => (
            format!("{label}: '{text}' is too large or too small for a number"),
            "correct the cell".into(),
        ),
        Unread::NotFinite => (
            format!("{label}: '{text}' is not a result"),
            "leave the cell blank where there is no result".into(),
        ),
        Unread::Footnote => (
            format!("{label}: the last digit of '{text}' can be a footnote"),
            "set the footnote off with a blank, or remove it".into(),
        ),
        Unread::Range => (
            format!("{label}: '{text}' is a range, and its mean is not a result"),
            "give one number, or leave it unplaced".into(),
        ),
        Unread::Several => (
            format!("{label}: several values in one cell: '{text}'"),
            "give each value a line of its own".into(),
        ),
        Unread::Judgement => (
            format!("{label}: a judgement, no number: '{text}'"),
            String::new(),
        ),
        Unread::WordAmbiguous => (
            format!(
                "{label}: '{text}' means 'not detected' in one language and 'not analysed' in another"
            ),
            CODE_LINE.into(),
        ),
        Unread::FormulaError => (
            format!("{label}: formula error: '{text}'"),
            "correct the formula in the report".into(),
        ),
        Unread::Garbled(suggestion) => (
            format!("{label}: not a number: '{text}', perhaps '{suggestion}'"),
            "correct the cell".into(),
        ),
        Unread::Rejected => (
            format!("{label}: rejected by its code: '{text}'"),
            String::new(),
        ),
        Unread::LimitOfZero => (
            format!("{label}: '{text}' gives a limit of zero"),
            "ask the laboratory for the limit".into(),
        ),
        Unread::TextAfterNumber => (
            format!("{label}: unknown text behind the number: '{text}'"),
            CODE_LINE.into(),
        ),
    }
}

fn result_words(code: &str, text: &str, label: &str) -> (String, String) {
    match code {
        "not-determined" => (format!("{label}: no result: '{text}'"), String::new()),
        "pending" => (
            format!("{label}: the result will follow: '{text}'"),
            String::new(),
        ),
        "missing-number" => (
            format!("{label}: {text} means 'no result' in this file"),
            String::new(),
        ),
        "zero-reported" => (
            format!("{label}: zero reported"),
            "a zero concentration is usually a value below the limit: ask for the limit".into(),
        ),
        "negative-number" => (
            format!("{label}: negative: '{text}'"),
            "if it means 'below this limit' here, say so in the mapping: negative_is_below = true"
                .into(),
        ),
        "limit-unknown" => (
            format!("{label}: '{text}', and the report gives no limit"),
            "ask the laboratory for the limit".into(),
        ),
        "limit-or-estimate" => (
            format!("{label}: the number in '{text}' can be the limit or an estimate"),
            "give the limit in a limit row or column".into(),
        ),
        "limit-by-word" => (
            format!("{label}: '{text}' was taken as below the number"),
            CODE_LINE.into(),
        ),
        "number-estimated" => (format!("{label}: an estimate: '{text}'"), String::new()),
        "number-corrected" => (
            format!("{label}: corrected in its cell: '{text}'"),
            String::new(),
        ),
        "trace-without-limit" => (
            format!("{label}: '{text}', and the report gives no limit of quantification"),
            "give the limit in a limit row or column".into(),
        ),
        "above-without-limit" => (
            format!("{label}: '{text}', and the report gives no upper limit"),
            "ask the laboratory for the limit".into(),
        ),
        "presence-without-number" => (
            format!("{label}: found, but no number: '{text}'"),
            String::new(),
        ),
        "formula-uncalculated" => (
            format!("{label}: formula never calculated"),
            "open and save the file in a spreadsheet program".into(),
        ),
        "date-in-value" => (
            format!("{label}: a date where a number should be: '{text}'"),
            "the spreadsheet has probably turned a number into a date: type it in again as text"
                .into(),
        ),
        "number-shown-as-date" => (
            format!("{label}: the cell's format shows the number {text} as a date or time"),
            "look at the cell: if a time stood there, it is no result".into(),
        ),
        "logical-value" => (
            format!("{label}: '{text}' is no number"),
            "give the number".into(),
        ),
        "value-missing" => (format!("{label}: a row without a value"), String::new()),
        _ => unreachable_code(code, text),
    }
}

fn beside_words(code: &str, text: &str, label: &str) -> (String, String) {
    match code {
        "unit-in-cell" => (
            format!(
                "{label}: the cell says '{text}', its heading says otherwise; the cell was used"
            ),
            "correct the heading or the cell".into(),
        ),
        "unit-unfit" => (
            format!("{label}: cannot be given in '{text}'"),
            "correct the unit, or say in the mapping what is meant".into(),
        ),
        "unit-not-stated" => (
            format!("{label}: no unit, and '{text}' is small for µS/cm: not placed"),
            "state it in the report, or in a mapping: unit = \"mS/cm\", or \"uS/cm\"".into(),
        ),
        "unit-unknown" => (
            format!("{label}: unknown unit: '{text}'"),
            "add the spelling to units.toml, or state the unit in a mapping".into(),
        ),
        "qualifier-unknown" => (
            format!("{label}: unknown code beside the number: '{text}'"),
            CODE_LINE.into(),
        ),
        "coordinate-unread" => (
            format!("{label}: not in decimal degrees: '{text}'"),
            String::new(),
        ),
        _ => unreachable_code(code, text),
    }
}

fn date_words(code: &str, text: &str, field: &str) -> (String, String) {
    match code {
        "date-ambiguous" => (
            format!("{field}: day and month of '{text}' can be exchanged"),
            "say in the mapping which comes first: dates = \"day-first\" or \"month-first\"".into(),
        ),
        "date-against-order" => (
            format!("{field}: '{text}' fits only the other order than the one of this file"),
            "look at the other dates of this file: dates = \"day-first\" or \"month-first\" in the mapping".into(),
        ),
        "date-from-number" => (
            format!("{field}: the number {text} was taken as a spreadsheet date of the 1900 system"),
            String::new(),
        ),
        "date-impossible" => (
            format!("{field}: no calendar has this day: '{text}'"),
            "correct the cell".into(),
        ),
        "date-out-of-range" => (
            format!("{field}: before 1950 or after 2100: '{text}'"),
            "correct the cell".into(),
        ),
        "date-partial" => (format!("{field}: not a day: '{text}'"), String::new()),
        "date-several" => (format!("{field}: several days: '{text}'"), String::new()),
        "date-unread" => (
            format!("{field}: not a date: '{text}'"),
            "correct the cell".into(),
        ),
        _ => unreachable_code(code, text),
    }
}

fn sample_words(code: &str, name: &str) -> (String, String) {
    match code {
        "line-without-values" => (
            format!("a line without a value: '{name}'"),
            "set the line aside in a mapping if it is no sample".into(),
        ),
        "sample-nameless" => (
            "lines without a name are told apart by their place in this file".into(),
            "say in the mapping which column or cell names the sample".into(),
        ),
        "reported-twice" => (
            format!("one analyte under two labels with other values: {name}"),
            "both are kept; set one of them aside in a mapping".into(),
        ),
        "same-sample-other-value" => (
            format!("the sample is reported twice with other values: {name}"),
            "both are kept; tell the samples apart, or set one of them aside in a mapping".into(),
        ),
        "dates-out-of-order" => (
            format!("sampled after it was received or reported: {name}"),
            "look at the order of day and month, and at the year".into(),
        ),
        "identity-contradicts" => (
            format!("one sample is described in two ways: {name}"),
            "the first is kept; correct the report".into(),
        ),
        "namesakes" => (
            format!("several samples have one name, and differ in region, place or days: {name}"),
            "they are kept apart by that; name them apart in the report".into(),
        ),
        "sheets-told-apart" => (
            format!("sheets give the same samples with other values, each is taken for a site of its own: {name}"),
            "say on each sheet whose its samples are, and when they were taken".into(),
        ),
        "lab-reference-shared" => (
            format!("one laboratory number for samples that differ: {name}"),
            "they are kept apart; correct the report, or say in the mapping which column is the laboratory's number".into(),
        ),
        _ => unreachable_code(code, name),
    }
}

/// A code without a message of its own: shown with its line from [`CODES`], so that no finding is lost.
fn unreachable_code(code: &str, text: &str) -> (String, String) {
    let line = CODES
        .iter()
        .find(|(known, _, _)| *known == code)
        .map_or(code, |(_, _, line)| line);
    (format!("{line}: '{text}'"), String::new())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_sorted_and_unique() {
        for pair in CODES.windows(2) {
            assert!(pair[0].0 < pair[1].0, "{} before {}", pair[0].0, pair[1].0);
        }
    }

    #[test]
    fn every_unread_reason_has_a_code() {
        for unread in [
            Unread::NotANumber,
            Unread::Ambiguous {
                decimal: 1.234,
                grouped: 1234.0,
            },
            Unread::AgainstLocale,
            Unread::OutOfRange,
            Unread::NotFinite,
            Unread::Footnote,
            Unread::Range,
            Unread::Several,
            Unread::Judgement,
            Unread::WordAmbiguous,
            Unread::FormulaError,
            Unread::Garbled("0.5".into()),
            Unread::Rejected,
            Unread::LimitOfZero,
            Unread::TextAfterNumber,
        ] {
            let (_, message, _) = words(&Problem::Value {
                unread: &unread,
                text: "x",
                label: "pH",
            });
            assert!(message.starts_with("pH: "), "{message}");
        }
    }
}
