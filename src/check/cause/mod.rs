//! Causes, not only symptoms: the single faults that would explain why a report does not agree with
//! itself, held against charge balance and conductivity together. Proposes; nothing is applied.

mod column;
mod fit;
mod hypothesis;
mod sample;
mod significant;
mod slip;
mod tell;
mod usual;
mod way;

pub(super) use column::{ColumnFault, Leanings, column_faults, spread};
pub(super) use fit::{Fit, Yardstick};
pub(super) use sample::{needs_explanation, sample_fault};
pub(super) use significant::significant;
pub(super) use slip::slip;
pub(super) use tell::{tell_column, tell_sample, tell_slip};
pub(super) use usual::{COMPARED, Usual, median, middle_and_spread};
