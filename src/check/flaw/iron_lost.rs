//! # iron-lost: iron may have been lost in the bottle
//!
//! ## What it finds
//!
//! Manganese above 0.1 mg/L with iron below 0.1 mg/L: water that holds dissolved manganese mostly
//! holds iron too.
//!
//! ## Why it matters
//!
//! Iron falls out in a bottle that was not acidified; little of it reaches the instrument, and
//! drippers clog all the same.
//!
//! ## When it is wrong
//!
//! Sources after iron removal; some wells do have manganese alone.
//!
//! ## Source
//!
//! University of California advice on a separate acidified bottle, read; limits common practice.

use super::prelude::*;

pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Note,
    limits: &["manganese", "iron"],
    gist: "iron may have been lost in the bottle",
    yields_to: &["manganese-for-magnesium", "metal-unit-doubtful"],
    scope: Scope::Sample(find),
    text: include_str!("iron_lost.rs"),
};

const CODE: &str = "iron-lost";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    let (Some(manganese), Some(iron)) = (
        case.plain(Substance::Manganese),
        case.water.at(Substance::Iron, 1.0),
    ) else {
        return;
    };
    // In acid water iron stays in solution.
    let acid = case.plain(Substance::Ph).is_some_and(|ph| ph < 5.0);
    if acid || manganese <= case.limit("manganese") || iron >= case.limit("iron") {
        return;
    }
    let message = format!(
        "{}: manganese {} but hardly any iron: lost in a bottle that was not acidified?",
        case.who(),
        significant(manganese),
    );
    found.push(case.found(
        CODE,
        Substance::Iron,
        message,
        "send a separate acidified bottle for iron next time",
    ));
}
