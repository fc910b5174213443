//! The grammar of cells: numbers, qualifiers and dates as people and laboratories write them, and the
//! evidence from which a file's decimal sign and date order are decided. A leaf.
//!
//! Knows text, not chemistry: it says what a cell says, never what it is worth. Every text has one
//! reading or a reason why it has none; nothing here guesses.

mod bracket;
mod comparison;
mod date;
mod date_evidence;
mod decimal_evidence;
mod fold;
mod garbled;
mod locale;
mod month;
mod number;
mod value;
mod word;

pub use comparison::{bound_word, is_estimate_word, sign};
pub use date::{DateFault, DateReading, date_from_serial, read_date};
pub use date_evidence::{DateEvidence, DateVerdict};
pub use decimal_evidence::{DecimalEvidence, DecimalVerdict};
pub use fold::{fold, squash};
pub use locale::{DateOrder, Decimal, Locale, QualifierCode};
pub use number::{NumberFault, either, read_number};
pub use value::{Bound, Figure, Reading, Remark, Uncertainty, Unread, ValueReader};
pub use word::{LimitKind, Word, is_ditto, limit_word, word, yes_or_no};

#[cfg(test)]
mod date_table;
#[cfg(test)]
mod number_table;
#[cfg(test)]
mod value_table;
