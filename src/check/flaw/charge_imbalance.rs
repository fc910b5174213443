//! # charge-imbalance: cations and anions do not balance
//!
//! ## What it finds
//!
//! Water carries no charge, so the charges of cations and anions (meq/L) must be equal. Found is a sample
//! whose sums differ by more than Standard Methods accepts: a note up to 5 % (of both sums together), a
//! warning above, an error above 20 %. Where one single fault would explain it, its own finding says so
//! instead.
//!
//! ## Why it matters
//!
//! At least one major ion is wrong or missing: a unit or basis misread, a decimal slipped, two columns
//! exchanged. Hardness, alkalinity and every figure made from the ions may be wrong with it.
//!
//! ## When it is wrong
//!
//! Very dilute water (rain): 0.1 meq/L is a large share of little. Water with much dissolved organic
//! matter or metals that are not in the balance. A balance over the mean of the sums gives twice the
//! percentage.
//!
//! ## Source
//!
//! Standard Methods 1030E, from memory; 5 % and 20 % common practice (Freeze and Cherry 1979, p. 97,
//! from memory, for 5 %).

use super::prelude::*;

pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Warning,
    limits: &["note_above_percent", "error_above_percent"],
    gist: "cations and anions do not balance",
    yields_to: CAUSES,
    scope: Scope::Sample(find),
    text: include_str!("charge_imbalance.rs"),
};

const CODE: &str = "charge-imbalance";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    let (Some(cations), Some(anions)) = (case.charges.cations, case.charges.anions) else {
        return;
    };
    let Some(percent) = case.charges.balance_percent() else {
        return;
    };
    if case.limits.accepts_balance(cations, anions) {
        return;
    }
    let grade = if percent.abs() > case.limit("error_above_percent") {
        Grade::Graver
    } else if percent.abs() > case.limit("note_above_percent")
        && (cations - anions).abs() > DILUTE_MEQ
    {
        Grade::Usual
    } else {
        Grade::Milder
    };
    let side = side(case, cations, anions);
    let message = format!(
        "{}: cations {} and anions {} meq/L differ by {percent:+.1} %{side}",
        case.who(),
        significant(cations),
        significant(anions),
    );
    found.push(
        case.found(CODE, Substance::Bicarbonate, message, help(grade))
            .grade(grade)
            .weigh(percent.abs()),
    );
}

/// meq/L: a smaller difference is rounding in dilute water (Standard Methods 1030E accepts 0.2).
const DILUTE_MEQ: f64 = 0.2;

/// Which side conductivity speaks for: it is about a hundredth of either sum in µS/cm.
fn side(case: &SampleCase<'_>, cations: f64, anions: f64) -> &'static str {
    let Some(measured) = case.plain(Substance::Conductivity) else {
        return "";
    };
    // 0.85 to 1.15 holds for most waters; common practice.
    let fits = |sum: f64| (0.85..=1.15).contains(&(100.0 * sum / measured));
    match (fits(cations), fits(anions)) {
        (true, false) => "; conductivity agrees with the cations, so look at the anions first",
        (false, true) => "; conductivity agrees with the anions, so look at the cations first",
        _ => "",
    }
}

fn help(grade: Grade) -> &'static str {
    match grade {
        Grade::Milder => "usable with care; laboratories should come closer",
        _ => {
            "compare units, bases and decimal signs of the major ions with the report; ask the laboratory \
             for its own balance; do not compute doses from this sample"
        }
    }
}
