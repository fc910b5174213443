//! # printed-index-disagrees: the laboratory's own index does not follow from its numbers
//!
//! ## What it finds
//!
//! A printed sodium adsorption ratio more than 10 % off the one from sodium, calcium and magnesium,
//! or a printed charge balance more than 3 points off ours (also tried with the sign turned and
//! over the mean of the sums).
//!
//! ## Why it matters
//!
//! The laboratory computed from the numbers as it meant them: a difference shows a unit or basis
//! that was read otherwise.
//!
//! ## When it is wrong
//!
//! Laboratories also print the adjusted ratio, or drop the square root; some leave potassium or
//! nitrate out of the balance.
//!
//! ## Source
//!
//! USDA Handbook 60; Standard Methods 1030E, from memory. Published errors of this kind were read.

use super::prelude::*;
use crate::check::figure::sodium::adsorption_ratio;
pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Warning,
    limits: &["adsorption_percent", "balance_points"],
    gist: "the printed index does not follow from the numbers",
    yields_to: CAUSES_AND_BALANCE,
    scope: Scope::Sample(find),
    text: include_str!("printed_index_disagrees.rs"),
};

const CODE: &str = "printed-index-disagrees";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    let meq = |substance| case.charges.meq(substance);
    let ratio = meq(Substance::Sodium)
        .zip(meq(Substance::Calcium))
        .zip(meq(Substance::Magnesium))
        .and_then(|((na, ca), mg)| adsorption_ratio(na, ca, mg));
    if let (Some(ours), Some(printed)) = (ratio, case.plain(Substance::SodiumAdsorptionRatio)) {
        let apart = (ours - printed).abs();
        if apart > 0.3 && apart > case.limit("adsorption_percent") / 100.0 * ours.max(printed) {
            let message = format!(
                "{}: the report prints a sodium adsorption ratio of {}, its numbers give {}",
                case.who(),
                significant(printed),
                significant(ours),
            );
            found.push(
                case.found(CODE, Substance::SodiumAdsorptionRatio, message, HELP)
                    .weigh((ours / printed).ln().abs()),
            );
        }
    }
    if let (Some(ours), Some(printed)) = (
        case.charges.balance_percent(),
        case.plain(Substance::ChargeBalanceReported),
    ) {
        let near = |printed: f64| (ours - printed).abs() <= case.limit("balance_points");
        if ![printed, -printed, printed / 2.0, -printed / 2.0]
            .into_iter()
            .any(near)
        {
            let message = format!(
                "{}: the report prints a charge balance of {} %, its numbers give {ours:+.1} %",
                case.who(),
                significant(printed),
            );
            found.push(
                case.found(CODE, Substance::ChargeBalanceReported, message, HELP)
                    .weigh((ours - printed).abs()),
            );
        }
    }
}

const HELP: &str = "compare units and bases of the ions with the report: the laboratory meant one of them otherwise";
