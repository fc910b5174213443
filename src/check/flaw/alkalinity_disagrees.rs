//! # alkalinity-disagrees: alkalinity and bicarbonate contradict each other
//!
//! ## What it finds
//!
//! Alkalinity (meq/L) that is not the sum of bicarbonate, carbonate and hydroxide (meq/L) within 8
//! % and 0.1 meq/L. Equal numbers in mg/L show that both are as CaCO3.
//!
//! ## Why it matters
//!
//! They are the same quantity twice; the difference is usually a basis (factor 1.22). Bicarbonate
//! decides what a grower does with the water.
//!
//! ## When it is wrong
//!
//! Alkalinity titrated and bicarbonate computed on different days. Phosphate, silicate and organic
//! acids in alkaline or coloured water.
//!
//! ## Source
//!
//! Definition. Factor: 61.016 / 50.043. Tolerance: common practice.

use super::prelude::*;
use crate::check::substance::CACO3_PER_MG;
pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Warning,
    limits: &["percent", "meq_l"],
    gist: "alkalinity and bicarbonate contradict each other",
    yields_to: &[
        "basis-doubtful",
        "decimal-slip",
        "unit-doubtful",
        "dilution-doubtful",
    ],
    scope: Scope::Sample(find),
    text: include_str!("alkalinity_disagrees.rs"),
};

const CODE: &str = "alkalinity-disagrees";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    let (Some(alkalinity), Some(bicarbonate), Some(ions)) = (
        case.plain(Substance::Alkalinity),
        case.plain(Substance::Bicarbonate),
        case.charges.carbonates.charge,
    ) else {
        return;
    };
    let reported = alkalinity * CACO3_PER_MG;
    let apart = (reported - ions).abs();
    if apart <= case.limit("meq_l") || apart <= case.limit("percent") / 100.0 * reported.max(ions) {
        return;
    }
    let reason = match bicarbonate / alkalinity {
        r if (0.97..=1.03).contains(&r) => ": both are as CaCO3, or both as HCO3",
        r if (1.45..=1.52).contains(&r) => ": bicarbonate was converted twice",
        r if (0.97..=1.03).contains(&(r * 1.2193)) => ": they are exchanged",
        _ => "",
    };
    let message = format!(
        "{}: alkalinity {} mg/L CaCO3 is {} meq/L, bicarbonate {} and carbonate give {}{reason}",
        case.who(),
        significant(alkalinity),
        significant(reported),
        significant(bicarbonate),
        significant(ions),
    );
    let help = "find out on which basis each is reported; charge balance tells which of them fits";
    found.push(
        case.found(CODE, Substance::Bicarbonate, message, help)
            .weigh(apart),
    );
}
