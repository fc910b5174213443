//! In which unit and as what numbers are expressed: what a report says apart from its headings, what the numbers
//! themselves show, and what is taken where nothing does.

mod balance;
pub(super) mod evidence;
mod ion_units;
pub(super) mod notes;
mod silent;
pub(super) mod small_conductivity;
pub(super) mod stated;
pub(super) mod sums;
mod trace_units;
pub(super) mod units;
