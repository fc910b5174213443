//! # softened-water: the water was softened or demineralised
//!
//! ## What it finds
//!
//! Water of 2 meq/L or more in which sodium makes up 90 % of the cations and bicarbonate is the
//! main anion; or, where the source has a history, a sample with less than a tenth of its usual
//! hardness or conductivity below 50 µS/cm where it used to be higher.
//!
//! ## Why it matters
//!
//! The sample was probably taken after the softener or the membrane plant and says nothing about
//! the raw water.
//!
//! ## When it is wrong
//!
//! Natural sodium bicarbonate water from deep wells.
//!
//! ## Source
//!
//! Common practice, no source.

use super::prelude::*;

pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Note,
    limits: &[
        "hardness_share",
        "sodium_share",
        "least_meq_l",
        "demineralised_us_cm",
    ],
    gist: "the water looks softened or demineralised",
    yields_to: CAUSES_AND_BALANCE,
    scope: Scope::Sample(find),
    text: include_str!("softened_water.rs"),
};

const CODE: &str = "softened-water";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    if let Some(usual) = case.usual.filter(|usual| usual.of_source) {
        let now = case.charges.meq(Substance::Calcium);
        let then = usual.middle(Substance::Calcium);
        let calcium = case.plain(Substance::Calcium).zip(then);
        let conductivity = case
            .plain(Substance::Conductivity)
            .zip(usual.middle(Substance::Conductivity));
        let soft = now.is_some()
            && calcium.is_some_and(|(now, then)| now < case.limit("hardness_share") * then);
        let bare = conductivity.is_some_and(|(now, then)| {
            let limit = case.limit("demineralised_us_cm");
            now < limit && then > 3.0 * limit
        });
        if bare || soft {
            let message = format!(
                "{}: {} where this source usually has more than ten times that: taken after a softener or a \
                 membrane plant?",
                case.who(),
                if bare {
                    "almost no salts"
                } else {
                    "almost no calcium"
                },
            );
            found.push(
                case.found(CODE, Substance::Calcium, message, HELP)
                    .grade(Grade::Graver),
            );
            return;
        }
    }
    let (Some(sodium), Some(cations), Some(bicarbonate), Some(anions)) = (
        case.charges.meq(Substance::Sodium),
        case.charges.cations,
        case.charges.carbonates.charge,
        case.charges.anions,
    ) else {
        return;
    };
    if cations < case.limit("least_meq_l")
        || sodium < case.limit("sodium_share") * cations
        || bicarbonate < 0.5 * anions
    {
        return;
    }
    let message = format!(
        "{}: sodium is {} % of the cations beside bicarbonate: softened water, or a deep sodium bicarbonate well",
        case.who(),
        significant((100.0 * sodium / cations).round()),
    );
    found.push(case.found(CODE, Substance::Sodium, message, HELP));
}

const HELP: &str = "ask where the sample was taken; for the raw water, sample before treatment";
