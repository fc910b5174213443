//! # hardness-disagrees: reported hardness does not follow from calcium and magnesium
//!
//! ## What it finds
//!
//! A reported total hardness that differs from 2.497 Ca + 4.118 Mg by more than 10 % and 5 mg/L
//! CaCO3. The units of hardness and the bases of calcium and magnesium are tried for one that fits;
//! where the samples of a file agree on it, the finding of the file says so.
//!
//! ## Why it matters
//!
//! Hardness, calcium and magnesium are three reports of two things: a wrong unit or basis shows
//! here even where no balance can be made.
//!
//! ## When it is wrong
//!
//! A titrated hardness also counts iron, zinc and strontium. Hardness of unfiltered water can be
//! higher than dissolved calcium and magnesium give.
//!
//! ## Source
//!
//! Standard Methods 2340B, from memory; definitions of the degrees read. Tolerance: common practice
//! (5 to 10 %).

use super::prelude::*;
use crate::check::figure::charge::{calcium, magnesium};
use crate::check::figure::hardness;
use crate::check::water::Water;
pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Warning,
    limits: &["percent", "mg_l"],
    gist: "reported hardness does not follow from calcium and magnesium",
    yields_to: &[
        "decimal-slip",
        "dilution-doubtful",
        "values-exchanged",
        "hardness-unit-doubtful",
    ],
    scope: Scope::Sample(find),
    text: include_str!("hardness_disagrees.rs"),
};

const CODE: &str = "hardness-disagrees";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    let Some((reported, computed)) = hardness_twice(case.water) else {
        return;
    };
    let apart = (reported - computed).abs();
    if apart <= case.limit("mg_l")
        || apart <= case.limit("percent") / 100.0 * computed.max(reported)
    {
        return;
    }
    let fits = otherwise(reported, computed)
        .map_or_else(String::new, |words| format!("; fits if {words}"));
    let message = format!(
        "{}: hardness {} mg/L CaCO3 is reported, calcium and magnesium give {}{fits}",
        case.who(),
        significant(reported),
        significant(computed),
    );
    let help =
        "compare the unit of hardness and the bases of calcium and magnesium with the report";
    found.push(
        case.found(CODE, Substance::Hardness, message, help)
            .weigh((reported / computed).ln().abs()),
    );
}

/// Reported hardness, and the one from calcium and magnesium; mg/L CaCO3. `None` without both.
pub(super) fn hardness_twice(water: &Water) -> Option<(f64, f64)> {
    let reported = water.plain(Substance::Hardness).filter(|v| *v > 0.0)?;
    let computed = hardness::total(calcium(water, 0.5)?, magnesium(water, 0.5)?);
    (computed > 0.0).then_some((reported, computed))
}

/// How far a reading in another unit may miss and still be told: calcium and magnesium are no better.
const NEAR: f64 = 0.05;

/// Which other reading of hardness makes both agree: true number over read number.
pub(super) fn otherwise(reported: f64, computed: f64) -> Option<&'static str> {
    let degree = 1.7848;
    [
        ("hardness is in °dH and was read as °fH", degree),
        ("hardness is in °fH and was read as °dH", 1.0 / degree),
        ("hardness is in °dH", 17.848),
        ("hardness is in °fH", 10.0),
        ("hardness is in °e (Clark)", 14.254),
        ("hardness is in grains a gallon", 17.118),
        ("hardness is in meq/L", 50.043),
        ("hardness is in mmol/L", 100.086),
        ("hardness is as CaO", 1.7848),
        ("hardness is as Ca", 2.4973),
        ("hardness is in meq/L and was read as mmol/L", 0.5),
        ("hardness is in mmol/L and was read as meq/L", 2.0),
        (
            "hardness was converted from °dH once too often",
            1.0 / 17.848,
        ),
        ("hardness was converted from °fH once too often", 0.1),
        ("hardness is in mg/L and was read as g/L", 0.001),
    ]
    .into_iter()
    .map(|(words, factor)| (words, (reported * factor / computed).ln().abs()))
    .filter(|(_, miss)| *miss < NEAR)
    .min_by(|a, b| a.1.total_cmp(&b.1))
    .map(|(words, _)| words)
}
