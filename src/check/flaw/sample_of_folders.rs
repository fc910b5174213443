//! # sample-of-folders: one sample of reports in several folders
//!
//! ## What it finds
//!
//! A sample whose results come from reports in different folders that have no analyte in common, where nothing
//! but a name and a day says that they are of one sample: no client, no number of the laboratory, no number in
//! the name.
//!
//! ## Why it matters
//!
//! Where each client has a folder, two "Bore 1" of one day can become one sample: the calcium of the one beside
//! the iron of the other. Results that both reports give would show it; here there are none.
//!
//! ## When it is wrong
//!
//! Folders by year or by method: ions in the one, metals of the same bottle in the other.
//!
//! ## Source
//!
//! Judgement.

use super::prelude::*;
use crate::place::Place;
use crate::vocabulary::AnalyteId;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Warning,
    limits: &[],
    gist: "reports of different folders give one sample",
    yields_to: &["sample-mixed"],
    scope: Scope::Sample(find),
    text: include_str!("sample_of_folders.rs"),
};

const CODE: &str = "sample-of-folders";

/// A name with so many digits is a number that a laboratory gives once.
const DIGITS_OF_A_NUMBER: usize = 4;

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    let about = case.sample.about;
    let is_number = |name: &Option<Arc<str>>| {
        (name.iter())
            .any(|name| name.chars().filter(char::is_ascii_digit).count() >= DIGITS_OF_A_NUMBER)
    };
    if case.sample.is_confirmed
        || about.client.is_some()
        || about.lab_ref.is_some()
        || [&about.sample_ref, &about.source, &about.site]
            .into_iter()
            .any(is_number)
    {
        return;
    }
    // Of each folder its first place, and its analytes.
    let mut folders: BTreeMap<String, (Place, BTreeSet<AnalyteId>)> = BTreeMap::new();
    for (analyte, entries) in case.sample.ranked.iter() {
        for entry in entries {
            let place = case.samples.place(entry);
            let folder = place
                .file
                .rsplit_once('/')
                .map_or("", |(folder, _)| folder)
                .to_owned();
            let (_, analytes) = (folders.entry(folder)).or_insert_with(|| (place, BTreeSet::new()));
            analytes.insert(*analyte);
        }
    }
    let mut all = folders.into_values();
    let (Some((one, mut met)), Some((other, analytes))) = (all.next(), all.next()) else {
        return;
    };
    let mut is_apart = true;
    for analytes in std::iter::once(analytes).chain(all.map(|(_, analytes)| analytes)) {
        is_apart &= met.is_disjoint(&analytes);
        met.extend(analytes);
    }
    if is_apart {
        let message = format!(
            "{}: the results here and those of {one} are taken for one sample: they have one name and one day, and \
             nothing says whose they are",
            case.who(),
        );
        let help = "if they are of two waters, say whose each is in the report or in a mapping (where each \
                      client has a folder: [recognise] file = '(?<client>[^/]+)/.*')";
        found.push(case.found_at(CODE, other, message, help));
    }
}
