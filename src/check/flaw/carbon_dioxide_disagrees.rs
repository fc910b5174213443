//! # carbon-dioxide-disagrees: carbon dioxide does not go with pH and alkalinity
//!
//! ## What it finds
//!
//! A reported carbon dioxide that is not within 2.5 times of 2.0 * bicarbonate alkalinity * 10^(6 -
//! pH), all mg/L.
//!
//! ## Why it matters
//!
//! pH was measured at another time than carbon dioxide, or alkalinity has another basis.
//!
//! ## When it is wrong
//!
//! Warm or saline water shifts the equilibrium by a third. Total carbonic acid reported as carbon
//! dioxide.
//!
//! ## Source
//!
//! Standard Methods 4500-CO2 D, from memory; factor: judgement.

use super::prelude::*;
use crate::check::substance::CACO3_PER_MG;
pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Note,
    limits: &["times", "mg_l"],
    gist: "carbon dioxide does not go with pH and alkalinity",
    yields_to: CAUSES,
    scope: Scope::Sample(find),
    text: include_str!("carbon_dioxide_disagrees.rs"),
};

const CODE: &str = "carbon-dioxide-disagrees";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    let (Some(reported), Some(ph), Some(bicarbonate)) = (
        case.plain(Substance::CarbonDioxide),
        case.plain(Substance::Ph),
        case.charges.meq(Substance::Bicarbonate),
    ) else {
        return;
    };
    // Bicarbonate alkalinity as CaCO3; the form of Standard Methods.
    let computed = 2.0 * (bicarbonate / CACO3_PER_MG) * 10f64.powf(6.0 - ph);
    let times = (reported / computed).max(computed / reported);
    if (reported - computed).abs() <= case.limit("mg_l") || times <= case.limit("times") {
        return;
    }
    let message = format!(
        "{}: carbon dioxide {} mg/L does not go with pH {ph} and alkalinity, which give {}",
        case.who(),
        significant(reported),
        significant(computed),
    );
    found.push(case.found(
        CODE,
        Substance::CarbonDioxide,
        message,
        "ask when and where pH was measured",
    ));
}
