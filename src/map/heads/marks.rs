//! Small signs by which a table tells what its lines and tracks are.

use super::head::Head;
use crate::locate::Look;
use crate::map::sight::Sight;
use crate::text::words;
use crate::vocabulary::{Field, Meaning};
use std::collections::BTreeSet;

/// Fields that tell one sample from another.
pub(in crate::map) const fn tells_apart(field: Field) -> bool {
    matches!(
        field,
        Field::Client
            | Field::Site
            | Field::Source
            | Field::SampleRef
            | Field::LabRef
            | Field::SampledOn
            | Field::Latitude
            | Field::Longitude
            | Field::ReceivedOn
    )
}

/// Columns of units among or behind the samples of a table that runs across.
pub(in crate::map) fn unit_lines(sight: &Sight<'_, '_>, lines: &[u32]) -> Vec<u32> {
    let names: BTreeSet<u32> = sight
        .heading_lines
        .iter()
        .flat_map(|line| {
            sight
                .cells(*line)
                .filter(|(_, c)| sight.reader.look(c.view()) == Look::Analyte)
                .map(|(t, _)| t)
        })
        .collect();
    lines
        .iter()
        .copied()
        .filter(|line| {
            let looks: Vec<Look> = sight
                .cells(*line)
                .filter(|(t, _)| names.contains(t))
                .map(|(_, c)| sight.reader.look(c.view()))
                .collect();
            let units = looks.iter().filter(|l| **l == Look::Unit).count();
            units > 0 && units * 2 >= looks.len()
        })
        .collect()
}

/// Sheet or head of the names says that these are controls of the laboratory.
pub(in crate::map) fn is_of_controls(heads: &[(u32, Head)], sheet: &str) -> bool {
    let says = |text: &str| {
        let folded = text.to_lowercase();
        folded.contains("quality control")
            || words(&folded).any(|word| matches!(word, "qc" | "qaqc" | "qa"))
    };
    says(sheet)
        || heads.iter().any(|(_, head)| {
            !matches!(head.meaning, Meaning::Analyte(_))
                && head
                    .label
                    .as_deref()
                    .is_some_and(|l| l.len() < 40 && says(l))
        })
}
