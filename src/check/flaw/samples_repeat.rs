//! # samples-repeat: two samples share their numbers
//!
//! ## What it finds
//!
//! Two samples of a file with at least six plain numbers alike, which are at least 70 % of those
//! that both have.
//!
//! ## Why it matters
//!
//! A row was copied, or slipped by one; or one sample stands there twice with two dates.
//!
//! ## When it is wrong
//!
//! Two samples of one steady source, with few digits; then most numbers still differ by a digit.
//!
//! ## Source
//!
//! Common practice, no source.

use super::prelude::*;
use std::collections::BTreeSet;
pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Warning,
    limits: &["values", "share"],
    gist: "samples share their numbers with another",
    yields_to: &[],
    scope: Scope::Beside(find),
    text: include_str!("samples_repeat.rs"),
};

const CODE: &str = "samples-repeat";

fn find(case: &FileCase<'_>, found: &mut Vec<Found>) {
    let mut told: BTreeSet<usize> = BTreeSet::new();
    // Only samples that share two numbers are worth comparing.
    for (one, other) in PAIRS {
        let mut pairs: Vec<([u64; 2], usize)> = (case.group.iter().enumerate())
            .filter_map(|(position, sample)| {
                let a = sample.as_read.plain(one).filter(|a| *a > 0.0)?;
                let b = sample.as_read.plain(other).filter(|b| *b > 0.0)?;
                Some(([a.to_bits(), b.to_bits()], position))
            })
            .collect();
        pairs.sort_unstable();
        for pair in pairs.windows(2) {
            let ((numbers, first), (again, second)) = (pair[0], pair[1]);
            if numbers != again || told.contains(&second) {
                continue;
            }
            if let Some((alike, both)) = alike(case, first, second) {
                told.insert(second);
                tell(case, (first, second), (alike, both), found);
            }
        }
    }
}

const PAIRS: [(Substance, Substance); 4] = [
    (Substance::Alkalinity, Substance::Chloride),
    (Substance::Bicarbonate, Substance::Magnesium),
    (Substance::Calcium, Substance::Sodium),
    (Substance::Chloride, Substance::Sulfate),
];

/// Numbers alike and numbers that both have; `None` when too few are alike.
fn alike(case: &FileCase<'_>, first: usize, second: usize) -> Option<(usize, usize)> {
    let (one, other) = (&case.group[first].as_read, &case.group[second].as_read);
    let (mut alike, mut both) = (0, 0);
    for substance in Substance::ALL {
        if let (Some(a), Some(b)) = (one.plain(*substance), other.plain(*substance)) {
            both += 1;
            alike += usize::from(a == b && a != 0.0);
        }
    }
    let enough =
        alike as f64 >= case.limit("values") && alike as f64 >= case.limit("share") * both as f64;
    enough.then_some((alike, both))
}

fn tell(case: &FileCase<'_>, pair: (usize, usize), counts: (usize, usize), found: &mut Vec<Found>) {
    let (one, other) = (case.group[pair.0], case.group[pair.1]);
    let reason = match (one.about.sampled_on, other.about.sampled_on) {
        (Some(a), Some(b)) if a != b && counts.0 == counts.1 => "the same sample under two dates?",
        _ if counts.0 == counts.1 => "copied?",
        _ => "has a row been copied or slipped?",
    };
    let message = format!(
        "{}: {} of {} numbers are those of {}: {reason}",
        who(other.about),
        counts.0,
        counts.1,
        who(one.about),
    );
    let help = "compare both rows with the report";
    found.push(
        Found::at(CODE, case.samples, other, Substance::Calcium, message, help)
            .weigh(counts.0 as f64),
    );
}
