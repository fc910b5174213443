//! The checks, one a file, each with what it finds, why it matters, when it is wrong and its source at
//! its head. `wellread checks CODE` shows that head.

mod prelude;

mod basis_doubtful;
mod charge_imbalance;
mod conductivity_disagrees;
mod decimal_slip;
mod dilution_doubtful;
mod ion_missing;
mod unit_doubtful;
mod values_exchanged;

use super::table::Check;

/// Sorted by code.
pub(super) const ALL: &[Check] = &[
    basis_doubtful::CHECK,
    charge_imbalance::CHECK,
    conductivity_disagrees::CHECK,
    decimal_slip::CHECK,
    dilution_doubtful::CHECK,
    ion_missing::CHECK,
    unit_doubtful::CHECK,
    values_exchanged::CHECK,
];
