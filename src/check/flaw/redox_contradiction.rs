//! # redox-contradiction: things that do not last beside each other
//!
//! ## What it finds
//!
//! Dissolved oxygen above 2 mg/L with dissolved iron above 0.5 or sulfide above 0.1 mg/L; nitrate
//! above 44 mg/L with ammonium above 6.4 or dissolved iron above 1 mg/L.
//!
//! ## Why it matters
//!
//! Such water is a mixture, was analysed late, or two numbers are exchanged.
//!
//! ## When it is wrong
//!
//! Drain water with fresh ammonium feed; iron bound to organic matter.
//!
//! ## Source
//!
//! Common practice, no source.

use super::prelude::*;

pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Note,
    limits: &["oxygen", "iron", "nitrate", "ammonium"],
    gist: "oxygen, nitrate, iron and ammonium contradict each other",
    yields_to: &["basis-doubtful", "unit-doubtful"],
    scope: Scope::Sample(find),
    text: include_str!("redox_contradiction.rs"),
};

const CODE: &str = "redox-contradiction";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    let above =
        |substance: Substance, limit: f64| case.plain(substance).filter(|v| *v > limit).is_some();
    let iron = |limit: f64| above(Substance::Iron, limit) && !case.water.is_total(Substance::Iron);
    let oxygen = above(Substance::DissolvedOxygen, case.limit("oxygen"));
    let nitrate = above(Substance::Nitrate, case.limit("nitrate"));
    let (about, words) = if oxygen && iron(case.limit("iron")) {
        (Substance::Iron, "oxygen and dissolved iron")
    } else if oxygen && above(Substance::Sulfide, 0.1) {
        (Substance::Sulfide, "oxygen and sulfide")
    } else if nitrate && above(Substance::Ammonium, case.limit("ammonium")) {
        (Substance::Ammonium, "much nitrate and much ammonium")
    } else if nitrate && iron(1.0) {
        (Substance::Iron, "nitrate and dissolved iron")
    } else {
        return;
    };
    let message = format!(
        "{}: {words} do not last beside each other: a mixture of waters, or a late analysis?",
        case.who(),
    );
    found.push(case.found(
        CODE,
        about,
        message,
        "ask how the sample was taken and when it was analysed",
    ));
}
