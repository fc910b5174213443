//! # sample-mixed: two waters under one name
//!
//! ## What it finds
//!
//! A sample with two results of at least three analytes, and of a third of all that it has, which count the
//! same and differ by more than 20 % of their mean. None of its numbers is used, in figures as in the wide
//! table: those that it has once are of one water or of the other, and nobody knows which.
//!
//! ## Why it matters
//!
//! Two clients have a "Bore 1", and both were sampled on one day; or a list names the farm and not the bore.
//! Calcium of the one beside the sodium of the other is no water at all.
//!
//! ## When it is wrong
//!
//! A report that was issued again with most of its numbers corrected: set the first aside.
//!
//! ## Source
//!
//! Difference of duplicates: laboratory programmes (20 to 30 %), read; how many analytes: judgement.

use super::prelude::*;

pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Warning,
    limits: &[],
    gist: "a sample is more than one water",
    yields_to: &[],
    scope: Scope::Sample(find),
    text: include_str!("sample_mixed.rs"),
};

const CODE: &str = "sample-mixed";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    if !case.sample.is_mixed {
        return;
    }
    let far = case.samples.mixed(case.sample.ranked);
    let Some([one, other]) = far.first() else {
        return;
    };
    let analyte = case.samples.vocabulary.analyte(one.analyte);
    let message = format!(
        "{}: {} analytes have two results far from each other ({} {} here, {} in {}): two waters under one \
         name? none of its numbers is used",
        case.who(),
        far.len(),
        analyte.name,
        significant(one.value),
        significant(other.value),
        case.samples.place(other),
    );
    let help = "say whose each is in the report or in a mapping (where each client has a folder: [recognise] \
                file = '(?<client>[^/]+)/.*'), or set aside what no longer holds";
    let mixed = case.found_at(CODE, case.samples.place(one), message, help);
    found.push(mixed.weigh(far.len() as f64));
}
