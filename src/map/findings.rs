//! The findings of recognition: every message of this stage in one place.

use super::layouts::form::SAMPLE_OF_WHICH;
use super::layouts::groups::HEADS_AS_SAMPLES;
use super::layouts::long::SAMPLES_ONE_BY_ONE;
use super::left_out::lines::HEADING_UNKNOWN;
use super::left_out::medium::OTHER_MEDIUM;
use super::left_out::overlong::LINE_OVERLONG;
use super::left_out::whole::TABLE_OF_STATISTICS;
use super::left_out::withdrawn::WITHDRAWN;
use super::whose::apart::NAMES_TOLD_APART;
use super::whose::carried::BLANK_AS_ABOVE;
use super::whose::days_untaken::DAYS_UNTAKEN;
use super::whose::sheets::SAID_BY_SHEET;
use super::whose::titles::DAY_FROM_TITLE;
use super::whose::unnamed::SAMPLES_UNNAMED;
use super::whose::unread::{DAYS_OF_WHAT, NAMES_OF_WHAT};
use crate::finding::{Finding, Severity};
use crate::place::Place;

/// The finding, and the reason of the cells that stay unplaced for it.
pub const VALUE_COLUMN_UNKNOWN: &str = "value-column-unknown";
/// Code of the finding, and assumption of the results, where a unit is taken for granted.
pub(super) const UNIT_ASSUMED: &str = "unit-assumed";
/// Code of the finding, and reason of the cells, at a label that is no analyte.
pub const ANALYTE_UNKNOWN: &str = "analyte-unknown";
/// Code of the finding, and reason of the cells, where no unit is stated and none can be taken for granted.
pub(super) const UNIT_MISSING: &str = "unit-missing";

/// Code, severity and one line for each finding of this stage.
pub const CODES: &[(&str, Severity, &str)] = &[
    (
        "analyte-ambiguous",
        Severity::Warning,
        "a label can mean several analytes",
    ),
    (
        "analyte-in-states",
        Severity::Warning,
        "a column of one state of an element, beside another state",
    ),
    (
        ANALYTE_UNKNOWN,
        Severity::Warning,
        "a label over numbers is none of the known analytes",
    ),
    (
        "basis-assumed",
        Severity::Warning,
        "the report does not say as what a mass is expressed",
    ),
    (
        "basis-contradicts",
        Severity::Warning,
        "label, unit and basis cell of a row say different things",
    ),
    (
        "basis-from-balance",
        Severity::Warning,
        "the charge balance of a table tells as what a mass is expressed",
    ),
    (
        "basis-from-evidence",
        Severity::Note,
        "the report shows elsewhere as what a mass is expressed",
    ),
    (
        "basis-missing",
        Severity::Warning,
        "the report does not say as what a mass is expressed, and no default is safe",
    ),
    (
        "basis-unfit",
        Severity::Error,
        "the stated basis shares no element with the analyte",
    ),
    (
        "basis-unknown",
        Severity::Warning,
        "the stated basis is none of the known ones",
    ),
    (
        BLANK_AS_ABOVE,
        Severity::Warning,
        "blank cells of a column of names are taken for the name above",
    ),
    (
        "conversion-noted",
        Severity::Note,
        "a conversion takes something for granted",
    ),
    (
        "dates-by-convention",
        Severity::Note,
        "day and month could be exchanged; read as is usual with decimal commas",
    ),
    (
        "dates-contradict",
        Severity::Warning,
        "some dates can only be day first, others only month first",
    ),
    (
        "dates-undecided",
        Severity::Warning,
        "nothing tells whether day or month comes first",
    ),
    (
        DAY_FROM_TITLE,
        Severity::Warning,
        "samples without a day are given the one in a title",
    ),
    (
        DAYS_OF_WHAT,
        Severity::Warning,
        "a column of days under a heading that does not say of what",
    ),
    (
        DAYS_UNTAKEN,
        Severity::Note,
        "samples without a day, and a day that nothing says to be theirs",
    ),
    (
        "decimal-contradicts",
        Severity::Warning,
        "point and comma are both used as decimal sign",
    ),
    (
        "decimal-undecided",
        Severity::Warning,
        "nothing tells whether point or comma is the decimal sign",
    ),
    (
        "evidence-contradicts",
        Severity::Warning,
        "limits, ratios and sums in a table tell different bases",
    ),
    (
        "fraction-unknown",
        Severity::Warning,
        "a row is of a part of its analyte that is no fraction we know",
    ),
    (
        HEADING_UNKNOWN,
        Severity::Note,
        "a column of texts under an unknown heading is not read",
    ),
    (
        HEADS_AS_SAMPLES,
        Severity::Warning,
        "words that stand over the same analytes are taken for samples",
    ),
    (
        "line-nameless",
        Severity::Warning,
        "a line of values has no name while all others have one",
    ),
    (
        LINE_OVERLONG,
        Severity::Error,
        "a row of a text has more fields than there are headings",
    ),
    (
        "mapping-contradicts-report",
        Severity::Warning,
        "the mapping says something else than the report, and lost",
    ),
    (
        "mapping-dates-straddled",
        Severity::Warning,
        "samples lie on both sides of a date in the mapping",
    ),
    (
        "mapping-overrides-report",
        Severity::Note,
        "the mapping says something else than the report, and won",
    ),
    (
        "missing-number",
        Severity::Note,
        "a number stands for 'no result'",
    ),
    (
        NAMES_OF_WHAT,
        Severity::Warning,
        "a column under an unknown heading is taken as the names of samples",
    ),
    (
        NAMES_TOLD_APART,
        Severity::Warning,
        "lines of one name and day differ in a time, a depth or another column",
    ),
    (
        "negative-is-limit",
        Severity::Note,
        "negative numbers repeat the limit: below it",
    ),
    (
        OTHER_MEDIUM,
        Severity::Warning,
        "a table of soil, sludge or plants, which are no water",
    ),
    (
        "other-table",
        Severity::Error,
        "a second table with other headings stands further down in a long text",
    ),
    (
        SAID_BY_SHEET,
        Severity::Note,
        "sheets whose samples nothing names or dates are told apart by their own names",
    ),
    (
        "same-result-twice",
        Severity::Note,
        "one result in two units; one of them is set aside",
    ),
    (
        SAMPLE_OF_WHICH,
        Severity::Warning,
        "a form on which several samples stand, and nothing says which is which",
    ),
    (
        SAMPLES_ONE_BY_ONE,
        Severity::Error,
        "results under one name after the other, in a text too long to be held",
    ),
    (
        SAMPLES_UNNAMED,
        Severity::Note,
        "samples have days and no names",
    ),
    (
        "shares-of-charge",
        Severity::Warning,
        "ions given as shares of the charge, which are no concentrations",
    ),
    (
        "sheet-hidden",
        Severity::Note,
        "a hidden sheet was not read",
    ),
    (
        "sheet-not-recognised",
        Severity::Warning,
        "nothing on a sheet looks like results",
    ),
    (
        "sheet-of-runs",
        Severity::Warning,
        "a log of measurements with their controls, beside a sheet of results",
    ),
    (
        "sheet-set-aside",
        Severity::Note,
        "a sheet that the mapping does not name",
    ),
    (
        "sign-of-which",
        Severity::Warning,
        "a column of signs, and nothing tells whose",
    ),
    (
        "table-of-controls",
        Severity::Note,
        "a table of quality control, not of samples",
    ),
    (
        "table-of-other-figures",
        Severity::Warning,
        "a table that is headed as results are and holds something else",
    ),
    (
        TABLE_OF_STATISTICS,
        Severity::Warning,
        "a table of means, or a summary of what other tables give",
    ),
    (UNIT_ASSUMED, Severity::Warning, "the report states no unit"),
    (
        "unit-contradicts",
        Severity::Warning,
        "two units of different sizes stand at a label",
    ),
    (
        "unit-from-balance",
        Severity::Warning,
        "the charge balance of a table tells the unit of its ions",
    ),
    (
        "unit-from-evidence",
        Severity::Note,
        "the report shows elsewhere in which unit a mass is given",
    ),
    (
        "unit-from-group",
        Severity::Note,
        "the unit stands at the heading of a group, for all under it",
    ),
    (
        "unit-from-limit",
        Severity::Warning,
        "the only unit stated is that of the limit",
    ),
    (
        "unit-from-numbers",
        Severity::Warning,
        "the numbers of several trace elements together tell their unit",
    ),
    (
        UNIT_MISSING,
        Severity::Warning,
        "the report states no unit, and no default is safe",
    ),
    (
        "unit-unfit",
        Severity::Error,
        "the stated unit cannot be one of this analyte",
    ),
    (
        "unit-unknown",
        Severity::Warning,
        "the stated unit is none of the known ones",
    ),
    (
        "unit-unlikely",
        Severity::Warning,
        "numbers too large for the unit that would be assumed",
    ),
    (
        "units-disagree",
        Severity::Warning,
        "one result in two units that do not agree",
    ),
    (
        VALUE_COLUMN_UNKNOWN,
        Severity::Warning,
        "one result a row, and no heading says which column holds it",
    ),
    (
        WITHDRAWN,
        Severity::Warning,
        "the report says itself that results do not hold",
    ),
];

/// A finding with the severity its code has in [`CODES`].
pub(super) fn finding(code: &'static str, place: Place, message: String, help: String) -> Finding {
    let severity = CODES
        .iter()
        .find(|(known, _, _)| *known == code)
        .map(|(_, severity, _)| *severity)
        .expect("every code of this stage is in CODES");
    Finding::new(severity, code, place, message, help)
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
}
