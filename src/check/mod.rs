//! Stage 5, check: the results of one sample, one file, one source become figures and findings.
//!
//! Chemistry with its sources. Proposes, never changes a result.

mod case;
mod cause;
mod disputed;
mod figure;
mod flaw;
mod found;
mod gather;
mod judge;
mod limits;
mod listing;
mod prefer;
#[cfg(test)]
mod published;
mod rows;
mod samples;
mod sources;
mod substance;
mod table;
mod water;

pub use judge::{Judgement, judge};
pub use limits::Limits;
pub use listing::{ListedCheck, ListedClass, listed, listed_checks, listed_classes};
pub use prefer::{Preference, Rank};
pub use rows::{Rows, SampleRow, Told, Verdicts};
pub use samples::Samples;
pub use substance::Substance;
pub use table::{CHECKS, Check, codes, find};
pub use water::{Reading, Water};
