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
use crate::check::figure::charge::charges;
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
    // Cations at their limits with anions at nothing, and the other way round.
    let verdicts: Vec<bool> = [(1.0, 0.0), (0.5, 0.5), (0.0, 1.0)]
        .into_iter()
        .filter_map(|(cation_share, anion_share)| {
            let charges = charges(case.water, cation_share, anion_share);
            Some(
                case.limits
                    .accepts_balance(charges.cations?, charges.anions?),
            )
        })
        .collect();
    if verdicts.iter().all(|v| *v) || verdicts.iter().all(|v| !v) {
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
