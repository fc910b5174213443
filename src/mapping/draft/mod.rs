//! A mapping drafted from how reports were recognised: all that is known filled in, all that was
//! assumed or not understood marked with `CHECK` and why.
//!
//! An assumption is written as a comment: a draft that nobody has read must not turn it into a fact.

mod entry;
mod guess;
mod quote;
mod seen;
mod write;

pub use seen::{Label, Means, labels, same_layout};
pub use write::{Detail, draft};

pub(in crate::mapping) use quote::quoted;
pub(in crate::mapping) use seen::folded;

use crate::map::Plan;
use crate::read::Report;
use crate::record::Extract;

/// A report, how it was recognised without any mapping, and what it gave.
#[derive(Clone, Copy, Debug)]
pub struct Drafted<'a> {
    pub report: &'a Report,
    pub plan: &'a Plan,
    pub extract: &'a Extract,
    /// The report as the example names it: from the folder of the mapping.
    pub path: &'a str,
}
