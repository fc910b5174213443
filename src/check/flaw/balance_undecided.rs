//! # balance-undecided: limits leave the charge balance undecided
//!
//! ## What it finds
//!
//! A sample with ions below their limit (`<5`) whose charge balance is accepted or not depending on
//! where between nothing and the limit they lie.
//!
//! ## Why it matters
//!
//! The verdict in the table counts half the limit; it could as well be the other.
//!
//! ## When it is wrong
//!
//! Hardly ever.
//!
//! ## Source
//!
//! Counting 0, half and the whole limit: common practice; half the limit for a mean, Directive
//! 2009/90/EC article 5, read.

use super::prelude::*;
use crate::check::figure::charge::{Charges, charges};
pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Note,
    limits: &[],
    gist: "limits leave the charge balance undecided",
    yields_to: &["charge-imbalance"],
    scope: Scope::Sample(find),
    text: include_str!("balance_undecided.rs"),
};

const CODE: &str = "balance-undecided";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    if !case.water.has_limits() {
        return;
    }
    let accepted = |charges: &Charges| {
        let (cations, anions) = charges.cations.zip(charges.anions)?;
        Some(case.limits.accepts_balance(cations, anions))
    };
    let verdict = accepted(case.charges);
    // Cations at their limits with anions at nothing, and the other way round.
    let is_open = |(cation_share, anion_share)| {
        accepted(&charges(case.water, cation_share, anion_share)) != verdict
    };
    if verdict.is_none() || ![(1.0, 0.0), (0.0, 1.0)].into_iter().any(is_open) {
        return;
    }
    let message = format!(
        "{}: results below their limits leave open whether cations and anions balance",
        case.who(),
    );
    found.push(case.found(
        CODE,
        Substance::Bicarbonate,
        message,
        "ask for methods with lower limits for the major ions",
    ));
}
