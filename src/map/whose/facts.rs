//! Identity that stands outside the lines of a table: labelled cells above it, titles, the file's name.

use crate::locate::Pair;
use crate::map::expressed::units;
use crate::map::plan::{Fact, Source};
use crate::map::rules::{Rules, StatedUnit};
use crate::read::Grid;
use crate::vocabulary::{Field, Meaning, Vocabulary};
use std::sync::Arc;

/// A bare "Date" above a table is the letter's date or the sampling's: not said, so not taken.
pub(super) fn is_bare_date(label: &str) -> bool {
    matches!(
        label
            .trim_end_matches([':', '.'])
            .trim()
            .to_lowercase()
            .as_str(),
        "date" | "datum" | "fecha" | "data" | "dato"
    )
}

/// The field that a pair gives; `None` when it gives no identity.
pub(in crate::map) fn field_of(vocabulary_meaning: &Meaning, label: &str) -> Option<Field> {
    match vocabulary_meaning {
        // A report's number says of no sample who it is, but it belongs to all of them.
        Meaning::Field(field) if field.is_identity() || *field == Field::ReportRef => {
            (!(*field == Field::SampledOn && is_bare_date(label))).then_some(*field)
        }
        _ => None,
    }
}

/// The source text of a pair.
pub(in crate::map) fn source(grid: &Grid, pair: &Pair) -> Source {
    match &pair.part {
        None => Source::Cell(pair.value),
        Some(range) => {
            let text = grid.view(pair.value).as_text().into_owned();
            Source::Part(pair.value, text.get(range.clone()).unwrap_or(&text).into())
        }
    }
}

/// Constants of the mapping, and what it takes from the file's path.
pub(in crate::map) fn told(rules: Option<&Rules>, file: &str) -> Vec<Fact> {
    let Some(rules) = rules else {
        return Vec::new();
    };
    let mut facts: Vec<Fact> = rules
        .constants
        .iter()
        .map(|(field, text)| Fact {
            field: *field,
            from: Source::Text(text.clone()),
        })
        .collect();
    for rule in &rules.file_name {
        let Some(found) = rule.pattern.captures(file) else {
            continue;
        };
        for (group, field) in &rule.groups {
            if let Some(text) = found.name(group) {
                facts.push(Fact {
                    field: *field,
                    from: Source::Text(Arc::from(text.as_str())),
                });
            }
        }
    }
    facts
}

/// A unit stated once for a whole sheet ("All results in mg/l unless stated").
pub(in crate::map) fn sheet_unit(vocabulary: &Vocabulary, text: &str) -> Option<StatedUnit> {
    // Common practice, no source: the phrase in the nine languages of the vocabulary.
    const PHRASES: &[&str] = &[
        "all results in",
        "all values in",
        "all concentrations in",
        "all data in",
        "all in",
        "results in",
        "results are in",
        "concentrations in",
        "values in",
        "units:",
        "unit:",
        "units are",
        "results expressed in",
        "concentrations are in",
        "all units",
        "all units in",
        "reported in",
        "expressed in",
        "alle angaben in",
        "angaben in",
        "alle werte in",
        "werte in",
        "einheit:",
        "alle konzentrationen in",
        "konzentrationen in",
        "alle waarden in",
        "waarden in",
        "eenheid:",
        "gehalten in",
        "valeurs en",
        "résultats en",
        "unité:",
        "unités:",
        "unité :",
        "concentrations en",
        "resultados en",
        "valores en",
        "concentraciones en",
        "unidades:",
        "valori in",
        "risultati in",
        "resultados em",
        "valores em",
        "alle værdier i",
        "enhed:",
        "wyniki w",
        "wartości w",
        "stężenia w",
    ];
    if text.len() > 160 {
        return None;
    }
    let lower = text.to_lowercase();
    let start = PHRASES
        .iter()
        .filter_map(|phrase| lower.find(phrase).map(|i| i + phrase.len()))
        .max()?;
    // Lower case may change lengths; then the position is not to be trusted.
    let rest = if lower.len() == text.len() {
        text.get(start..)?
    } else {
        lower.get(start..)?
    };
    let rest = rest.trim_start();
    let ends = rest
        .char_indices()
        .filter(|(_, c)| matches!(c, ' ' | ',' | ';' | '(' | ')' | '.'))
        .map(|(i, _)| i)
        .chain([rest.len()]);
    ends.filter(|end| !units::is_scaled("", &rest[*end..]))
        .filter_map(|end| {
            let piece = rest[..end].trim().trim_end_matches([',', ';', ')']);
            vocabulary.read_unit(piece).map(|(unit, basis)| StatedUnit {
                unit,
                text: piece.into(),
                basis,
            })
        })
        .next_back()
}

/// A sign that leads from a heading to a footnote.
pub(in crate::map) const fn is_mark(c: char) -> bool {
    matches!(c, '*' | '†' | '‡' | '§' | '#')
}
