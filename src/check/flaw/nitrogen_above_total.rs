//! # nitrogen-above-total: nitrogen species exceed total nitrogen
//!
//! ## What it finds
//!
//! Nitrate, nitrite and ammonium nitrogen together above total nitrogen, or ammonium nitrogen above
//! Kjeldahl nitrogen, by more than 10 % and 0.2 mg/L N.
//!
//! ## Why it matters
//!
//! A part exceeds the whole: nearly always nitrate (or ammonium) was read on the wrong basis, which
//! is a factor of 4.43 (1.29).
//!
//! ## When it is wrong
//!
//! Total nitrogen by digestion misses some nitrate in strong samples; different bottles or days.
//!
//! ## Source
//!
//! Part and whole; ASTM D596 names ammonium and Kjeldahl nitrogen (extract read). Tolerance: common
//! practice.

use super::prelude::*;
use crate::check::substance::mass;
pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Warning,
    limits: &["percent", "mg_l"],
    gist: "nitrogen species exceed total nitrogen",
    yields_to: &["basis-doubtful", "unit-doubtful", "value-impossible"],
    scope: Scope::Sample(find),
    text: include_str!("nitrogen_above_total.rs"),
};

const CODE: &str = "nitrogen-above-total";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    let nitrogen = |substance: Substance| {
        Some(case.plain(substance)? * mass::NITROGEN / substance.ion()?.mass)
    };
    let ammonium = nitrogen(Substance::Ammonium);
    let oxidised = case.plain(Substance::NitrogenNitrateNitrite).or_else(|| {
        let parts = [nitrogen(Substance::Nitrate), nitrogen(Substance::Nitrite)];
        let known: Vec<f64> = parts.into_iter().flatten().collect();
        (!known.is_empty()).then(|| known.iter().sum())
    });
    let above = |part: f64, whole: f64| {
        part - whole > case.limit("mg_l") && part > whole * (1.0 + case.limit("percent") / 100.0)
    };
    let parts: f64 = [oxidised, ammonium].into_iter().flatten().sum();
    if let Some(total) = case.plain(Substance::NitrogenTotal)
        && above(parts, total)
    {
        let nitrate = nitrogen(Substance::Nitrate);
        let reason = nitrate
            .filter(|n| above(*n, total) && !above(parts - n + n / 4.4266, total))
            .map_or("", |_| ": nitrate is probably as NO3, read as N");
        let message = format!(
            "{}: nitrate, nitrite and ammonium hold {} mg/L N, total nitrogen is only {}{reason}",
            case.who(),
            significant(parts),
            significant(total),
        );
        let about = if nitrate.is_some() {
            Substance::Nitrate
        } else {
            Substance::NitrogenTotal
        };
        found.push(
            case.found(CODE, about, message, HELP)
                .weigh(parts / total.max(f64::MIN_POSITIVE)),
        );
    }
    if let (Some(ammonium), Some(kjeldahl)) = (ammonium, case.plain(Substance::NitrogenKjeldahl))
        && above(ammonium, kjeldahl)
    {
        let message = format!(
            "{}: ammonium holds {} mg/L N, Kjeldahl nitrogen is only {}: ammonium as NH4, or columns exchanged?",
            case.who(),
            significant(ammonium),
            significant(kjeldahl),
        );
        found.push(case.found(CODE, Substance::Ammonium, message, HELP));
    }
}

const HELP: &str = "find out on which basis (N, NO3, NH4) each of them is reported";
