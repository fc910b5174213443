//! # value-equals-limit: many results equal the limit
//!
//! ## What it finds
//!
//! The smallest number of a column of a trace element or nutrient, standing there plain in at least
//! five samples and in 60 % of them, while none is below it.
//!
//! ## Why it matters
//!
//! Results below the limit were written as the limit: probably '<0.02'. As numbers they pretend
//! knowledge, and means become too high.
//!
//! ## When it is wrong
//!
//! Results rounded to one digit near the limit.
//!
//! ## Source
//!
//! Common practice, no source.

use super::prelude::*;
pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Warning,
    limits: &["samples", "share"],
    gist: "many results equal one small number",
    yields_to: &[],
    scope: Scope::File(find),
    text: include_str!("value_equals_limit.rs"),
};

const CODE: &str = "value-equals-limit";

fn find(case: &FileCase<'_>, found: &mut Vec<Found>) {
    for (column, entries) in case.columns {
        let Some(substance) = case
            .samples
            .column(*column)
            .substance
            .filter(|s| is_trace(*s))
        else {
            continue;
        };
        // Where the laboratory does write '<', a plain number is meant as one.
        if entries.iter().any(|(_, e)| e.censored.is_some()) {
            continue;
        }
        let Some(least) = entries.iter().map(|(_, e)| e.value).min_by(f64::total_cmp) else {
            continue;
        };
        let equal: Vec<_> = entries.iter().filter(|(_, e)| e.value == least).collect();
        let (count, all) = (equal.len() as f64, entries.len() as f64);
        if least <= 0.0
            || equal.len() == entries.len()
            || count < case.limit("samples")
            || count < case.limit("share") * all
        {
            continue;
        }
        let message = format!(
            "{} is {} in {} of {} samples and never less: probably '<{}' without its sign",
            substance.name(),
            significant(least),
            equal.len(),
            entries.len(),
            significant(least),
        );
        let help = "ask for the limit of the method; until then take these as 'below'";
        let mut one = Found::at(CODE, case.samples, equal[0].0, substance, message, help);
        one.sample = None;
        one.cells = equal.len() as u64;
        found.push(one);
    }
}

/// Analytes that are often below their limit.
pub(super) fn is_trace(substance: Substance) -> bool {
    matches!(
        substance,
        Substance::Ammonium
            | Substance::Nitrate
            | Substance::Nitrite
            | Substance::Phosphate
            | Substance::Phosphorus
            | Substance::Fluoride
            | Substance::Bromide
            | Substance::Sulfide
            | Substance::Boron
            | Substance::Iron
            | Substance::Manganese
            | Substance::Zinc
            | Substance::Copper
            | Substance::Molybdenum
            | Substance::Aluminium
    ) || substance > Substance::Aluminium && substance < Substance::DissolvedOxygen
}
