//! What every check needs.

pub(super) use crate::check::case::{FileCase, SampleCase, SourceCase};
pub(super) use crate::check::cause::significant;
pub(super) use crate::check::found::{Found, Grade, who};
pub(super) use crate::check::substance::Substance;
pub(super) use crate::check::table::{Check, Scope};
pub(super) use crate::finding::Severity;
use crate::vocabulary::in_words;

/// Findings that name a cause.
pub(super) const CAUSES: &[&str] = &[
    "basis-doubtful",
    "decimal-slip",
    "dilution-doubtful",
    "ion-missing",
    "unit-doubtful",
    "values-exchanged",
];

/// Findings that name a cause, and the balance, which tells more than what yields to it.
pub(super) const CAUSES_AND_BALANCE: &[&str] = &[
    "basis-doubtful",
    "charge-imbalance",
    "decimal-slip",
    "dilution-doubtful",
    "ion-missing",
    "unit-doubtful",
    "values-exchanged",
];

/// The unit behind a number; nothing where the analyte is its own unit (pH).
pub(super) fn in_unit(unit: &str) -> String {
    match unit {
        "[pH]" => String::new(),
        code => format!(" {}", in_words(code)),
    }
}
