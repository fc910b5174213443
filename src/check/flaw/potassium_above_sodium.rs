//! # potassium-above-sodium: potassium and sodium look exchanged
//!
//! ## What it finds
//!
//! Potassium above 20 mg/L and more than twice sodium (mg/L).
//!
//! ## Why it matters
//!
//! No balance shows an exchange of the two, but it turns harm into feed on paper.
//!
//! ## When it is wrong
//!
//! Drain water and feed solutions hold more potassium than sodium; so does water under manured
//! ground. Where nitrate is high as well, only a note.
//!
//! ## Source
//!
//! Common practice, no source.

use super::prelude::*;

pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Warning,
    limits: &["potassium", "times"],
    gist: "potassium and sodium look exchanged",
    yields_to: &[
        "values-exchanged",
        "value-impossible",
        "decimal-slip",
        "feed-in-source",
    ],
    scope: Scope::Sample(find),
    text: include_str!("potassium_above_sodium.rs"),
};

const CODE: &str = "potassium-above-sodium";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    let (Some(potassium), Some(sodium)) = (
        case.plain(Substance::Potassium),
        case.plain(Substance::Sodium),
    ) else {
        return;
    };
    if potassium <= case.limit("potassium") || potassium <= case.limit("times") * sodium {
        return;
    }
    // 50 mg/L of nitrate beside it: manure or fertiliser, not an exchange.
    let fed = case
        .plain(Substance::Nitrate)
        .is_some_and(|nitrate| nitrate > 50.0);
    let message = format!(
        "{}: potassium {} and sodium {} mg/L: usually the other way round",
        case.who(),
        significant(potassium),
        significant(sodium),
    );
    found.push(
        case.found(
            CODE,
            Substance::Potassium,
            message,
            "compare both with the report; no balance can show this",
        )
        .grade(if fed { Grade::Milder } else { Grade::Usual }),
    );
}
