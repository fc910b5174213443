//! # held-too-long: the sample waited too long for some analyses
//!
//! ## What it finds
//!
//! More days between sampling and receipt than nitrite, nitrate, ammonium, phosphate, bacteria (2
//! days), alkalinity (14) or conductivity (28) bear.
//!
//! ## Why it matters
//!
//! Nitrogen species turn into each other, pH rises, lime falls out: the numbers are of the bottle,
//! not of the source.
//!
//! ## When it is wrong
//!
//! Preserved or frozen bottles.
//!
//! ## Source
//!
//! Holding times of Standard Methods 1060 and US EPA, read in a published table.

use super::prelude::*;

pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Note,
    limits: &["days_nutrients", "days_alkalinity", "days_conductivity"],
    gist: "samples waited too long for some analyses",
    yields_to: &[],
    scope: Scope::Sample(find),
    text: include_str!("held_too_long.rs"),
};

const CODE: &str = "held-too-long";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    let about = case.sample.about;
    let (Some(taken), Some(received)) = (about.sampled_on, about.received_on) else {
        return;
    };
    let days = f64::from((received - taken).get_days());
    let groups: [(&str, &[Substance]); 3] = [
        (
            "days_nutrients",
            &[
                Substance::Nitrite,
                Substance::Nitrate,
                Substance::Ammonium,
                Substance::Phosphate,
                Substance::EColi,
                Substance::Coliforms,
            ],
        ),
        (
            "days_alkalinity",
            &[Substance::Alkalinity, Substance::Bicarbonate],
        ),
        ("days_conductivity", &[Substance::Conductivity]),
    ];
    let late: Vec<&str> = (groups.iter())
        .filter(|(name, _)| days > case.limit(name))
        .flat_map(|(_, substances)| substances.iter())
        .filter(|s| case.water.reading(**s).is_some())
        .map(|s| s.name())
        .collect();
    if late.is_empty() {
        return;
    }
    let message = format!(
        "{}: {days} days from sampling to the laboratory are too many for {}",
        case.who(),
        late.join(", "),
    );
    let help = "take these numbers with care; cool, dark and in 24 to 36 hours to the laboratory next time";
    found.push(
        case.found(CODE, Substance::Nitrate, message, help)
            .weigh(days),
    );
}
