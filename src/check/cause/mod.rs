//! Causes, not only symptoms: the single faults that would explain why a report does not agree with
//! itself, held against charge balance and conductivity together. Proposes; nothing is applied.

mod column;
mod fit;
mod hypothesis;
mod sample;
mod usual;

pub(super) use column::{ColumnFault, Proposal, Tally, column_faults};
pub(super) use fit::{Fit, SOUND, Term};
pub(super) use hypothesis::{Fault, Hypothesis, Undo, significant};
pub(super) use sample::{SampleFault, needs_explanation, sample_fault};
pub(super) use usual::{COMPARED, FEWEST, Usual, median, middle_and_spread};
