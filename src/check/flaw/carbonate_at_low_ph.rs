//! # carbonate-at-low-ph: carbonate where pH leaves none
//!
//! ## What it finds
//!
//! Carbonate of more than 0.1 meq/L and more than twice the share of alkalinity that the pH leaves
//! it (2 % at pH 8.3).
//!
//! ## Why it matters
//!
//! Carbonate and pH contradict each other: pH drifted, the titration was split wrongly, or the
//! number belongs to the next column.
//!
//! ## When it is wrong
//!
//! pH measured much later than alkalinity: air takes carbon dioxide out and pH rises, or into
//! alkaline water and pH falls. The share allowed grows with temperature and salt.
//!
//! ## Source
//!
//! Standard Methods 4500-CO2 D (dissociation at 25 °C), from memory; factor 2: judgement.

use super::prelude::*;
use crate::check::figure::carbonate::carbonate_share;
pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Warning,
    limits: &["times", "meq_l"],
    gist: "carbonate does not go with pH",
    yields_to: &["basis-doubtful", "value-impossible"],
    scope: Scope::Sample(find),
    text: include_str!("carbonate_at_low_ph.rs"),
};

const CODE: &str = "carbonate-at-low-ph";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    let (Some(carbonate), Some(ph), Some(all)) = (
        case.plain(Substance::Carbonate),
        case.plain(Substance::Ph),
        case.charges.carbonates.charge,
    ) else {
        return;
    };
    let Some(per_mg) = Substance::Carbonate.charge_per_mg() else {
        return;
    };
    let meq = carbonate * per_mg;
    let allowed = case.limit("times") * carbonate_share(ph) * all;
    if meq <= case.limit("meq_l") || meq <= allowed {
        return;
    }
    let message = format!(
        "{}: carbonate {} mg/L does not exist at pH {ph}: at most about {} mg/L can",
        case.who(),
        significant(carbonate),
        significant(carbonate_share(ph) * all / per_mg),
    );
    let help = "ask when pH was measured, and whether carbonate is in its own column";
    found.push(
        case.found(CODE, Substance::Carbonate, message, help)
            .grade(if ph < 7.8 {
                Grade::Usual
            } else {
                Grade::Milder
            })
            .weigh(meq),
    );
}
