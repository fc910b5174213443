//! # part-above-whole: a part exceeds its whole
//!
//! ## What it finds
//!
//! Phosphate phosphorus above total phosphorus, sulfate sulfur above total sulfur, BOD above COD,
//! free chlorine above total chlorine, E. coli above coliforms, calcium hardness above total
//! hardness, by more than 20 %.
//!
//! ## Why it matters
//!
//! Columns are exchanged, or a basis is wrong (PO4 for P is a factor of 3.07).
//!
//! ## When it is wrong
//!
//! Near the limits of quantification; bacteria counted by different methods.
//!
//! ## Source
//!
//! Part and whole; ASTM D596 (extract read). Tolerance: common practice.

use super::prelude::*;
use crate::check::substance::mass;
pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Warning,
    limits: &["percent"],
    gist: "a part exceeds its whole",
    yields_to: &["value-impossible"],
    scope: Scope::Sample(find),
    text: include_str!("part_above_whole.rs"),
};

const CODE: &str = "part-above-whole";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    // Part, factor to the whole's unit, whole, least difference that counts, that unit, reason.
    let pairs = [
        (
            Substance::Phosphate,
            mass::PHOSPHORUS / PO4,
            Substance::Phosphorus,
            0.05,
            " mg/L P",
            "phosphate as P, read as PO4 or the other way?",
        ),
        (
            Substance::Sulfate,
            mass::SULFUR / SO4,
            Substance::Sulfur,
            1.0,
            " mg/L S",
            "sulfate as S, or sulfur as SO4?",
        ),
        (
            Substance::Bod,
            1.0,
            Substance::Cod,
            2.0,
            " mg/L O2",
            "columns exchanged?",
        ),
        (
            Substance::ChlorineFree,
            1.0,
            Substance::ChlorineTotal,
            0.05,
            " mg/L",
            "columns exchanged?",
        ),
        (
            Substance::EColi,
            1.0,
            Substance::Coliforms,
            10.0,
            " in 100 mL",
            "columns exchanged?",
        ),
        (
            Substance::HardnessCalcium,
            1.0,
            Substance::Hardness,
            5.0,
            " mg/L CaCO3",
            "calcium hardness in another unit?",
        ),
    ];
    for (part, factor, whole, least, unit, reason) in pairs {
        let (Some(of_part), Some(of_whole)) = (case.plain(part), case.plain(whole)) else {
            continue;
        };
        let held = of_part * factor;
        if held - of_whole <= least || held <= of_whole * (1.0 + case.limit("percent") / 100.0) {
            continue;
        }
        let message = format!(
            "{}: {} {}{unit} is more than {} {}{unit}, of which it is a part: {reason}",
            case.who(),
            part.name(),
            significant(held),
            whole.name(),
            significant(of_whole),
        );
        found.push(case.found(
            CODE,
            part,
            message,
            "compare names, units and bases of both with the report",
        ));
    }
}

/// g/mol.
const PO4: f64 = 94.970;
/// g/mol.
const SO4: f64 = 96.056;
