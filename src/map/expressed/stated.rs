//! Units that a title or a note states for a whole sheet, or for a group of its analytes: "Major ions (mg/L) and
//! trace elements (µg/L)", "all in mg/L except Fe and Mn in µg/L". Taken for all, one of them is wrong by a thousand.

use super::units::{is_scaled, is_shared};
use crate::map::rules::StatedUnit;
use crate::vocabulary::{AnalyteId, Dimension, Meaning, Vocabulary};
use std::ops::Range;

/// For which analytes a unit is stated.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::map) enum Group {
    All,
    Majors,
    Traces,
    Named(Vec<AnalyteId>),
}

/// The units that a text states, each with its group.
pub(in crate::map) type Stated = Vec<(Group, StatedUnit)>;

/// Codes of what is called a major ion. Common practice, no source.
const MAJORS: &[&str] = &[
    "alkalinity",
    "bicarbonate",
    "calcium",
    "carbonate",
    "chloride",
    "magnesium",
    "nitrate",
    "potassium",
    "sodium",
    "sulfate",
];

/// Codes of what is called a trace element or a metal. Common practice, no source.
pub(super) const TRACES: &[&str] = &[
    "aluminium",
    "antimony",
    "arsenic",
    "barium",
    "beryllium",
    "boron",
    "cadmium",
    "chromium",
    "cobalt",
    "copper",
    "iron",
    "lead",
    "lithium",
    "manganese",
    "mercury",
    "molybdenum",
    "nickel",
    "selenium",
    "silver",
    "strontium",
    "thallium",
    "tin",
    "titanium",
    "uranium",
    "vanadium",
    "zinc",
];

/// Beginnings of words for the two groups. Common practice, no source.
const OF_MAJORS: &[&str] = &[
    "major",
    "main ion",
    "hauption",
    "ions majeurs",
    "mayor",
    "maggior",
    "maior",
];
const OF_TRACES: &[&str] = &[
    "trace",
    "metal",
    "métal",
    "metaux",
    "métaux",
    "schwermetall",
    "spuren",
    "traza",
    "tracce",
    "traço",
    "oligo",
    "microelement",
];

/// The unit stated for an analyte; `None` where the text speaks of others only, or says two things of it.
pub(super) fn unit_for<'s>(
    stated: &'s [(Group, StatedUnit)],
    vocabulary: &Vocabulary,
    id: AnalyteId,
) -> Option<&'s StatedUnit> {
    let code = vocabulary.analyte(id).code.as_str();
    let narrow = stated.iter().find(|(group, _)| match group {
        Group::All => false,
        Group::Majors => MAJORS.contains(&code),
        Group::Traces => TRACES.contains(&code),
        Group::Named(ids) => ids.contains(&id),
    });
    if let Some((_, unit)) = narrow {
        return Some(unit);
    }
    let mut for_all = stated.iter().filter(|(group, _)| *group == Group::All);
    let (_, first) = for_all.next()?;
    for_all
        .all(|(_, other)| other.unit.code == first.unit.code)
        .then_some(first)
}

/// Whether two texts state the same.
pub(in crate::map) fn is_same(a: &[(Group, StatedUnit)], b: &[(Group, StatedUnit)]) -> bool {
    a.len() == b.len()
        && (a.iter().zip(b)).all(|(a, b)| a.0 == b.0 && a.1.unit.code == b.1.unit.code)
}

/// What a text states besides one unit for all; empty where it states no more than that.
pub(in crate::map) fn by_group(vocabulary: &Vocabulary, text: &str) -> Stated {
    let units = units_in(vocabulary, text);
    let several = units
        .windows(2)
        .any(|w| w[0].1.unit.code != w[1].1.unit.code);
    let mut from = 0;
    let mut stated = Stated::new();
    for (range, unit) in units {
        let before = &text[from..range.start];
        from = range.end;
        let behind = behind(&text[range.end..]);
        let group = match (group_of(before), group_of(behind)) {
            (Group::All, behind) => behind,
            (before, _) => before,
        };
        let group = match group {
            Group::All if several => match named(vocabulary, before) {
                names if names.is_empty() => Group::All,
                names => Group::Named(names),
            },
            group => group,
        };
        // Nothing else has such a unit.
        let group = match vocabulary.find("conductivity") {
            Some(id) if unit.unit.dimension == Dimension::Conductivity => Group::Named(vec![id]),
            _ => group,
        };
        stated.push((group, unit));
    }
    if stated.iter().all(|(group, _)| *group == Group::All) && !several {
        stated.clear();
    }
    stated
}

fn group_of(words: &str) -> Group {
    let lower = words.to_lowercase();
    let says = |list: &[&str]| list.iter().any(|word| lower.contains(word));
    match (says(OF_MAJORS), says(OF_TRACES)) {
        (true, false) => Group::Majors,
        (false, true) => Group::Traces,
        _ => Group::All,
    }
}

/// Whether words speak of metals or trace elements.
pub(in crate::map) fn is_of_traces(words: &str) -> bool {
    group_of(words) == Group::Traces
}

/// "(metals)" or "for metals" directly behind a unit.
fn behind(rest: &str) -> &str {
    let rest = rest.trim_start();
    let leads = ["(", "for ", "für ", "pour ", "para ", "per "];
    if !leads.iter().any(|lead| rest.starts_with(lead)) {
        return "";
    }
    let end = rest.find([')', ',', ';', '.']).unwrap_or(rest.len());
    &rest[..end]
}

/// The analytes that single words name.
pub(super) fn named(vocabulary: &Vocabulary, words: &str) -> Vec<AnalyteId> {
    words
        .split(|c: char| c.is_whitespace() || matches!(c, ',' | ';' | '(' | ')' | ':'))
        .filter(|word| !word.is_empty())
        .filter_map(|word| {
            match vocabulary
                .read_heading_in(word, &Default::default())
                .meaning
            {
                Meaning::Analyte(id) => Some(id),
                _ => None,
            }
        })
        .collect()
}

/// The units of concentration and of conductivity in a text, in their order.
fn units_in(vocabulary: &Vocabulary, text: &str) -> Vec<(Range<usize>, StatedUnit)> {
    let is_end = |c: char| c.is_whitespace() || matches!(c, ',' | ';' | ')' | ']' | '.' | ':');
    let mut found: Vec<(Range<usize>, StatedUnit)> = Vec::new();
    for (start, _) in text.char_indices() {
        let free = found.last().is_none_or(|(range, _)| range.end <= start);
        if !free || !(start == 0 || text[..start].ends_with([' ', '(', '[', ',', ';', '\u{a0}'])) {
            continue;
        }
        let ends = (text[start..].char_indices())
            .filter(|(_, c)| is_end(*c))
            .map(|(i, _)| start + i)
            .chain([text.len()])
            .take(2);
        let longest = ends.filter_map(|end| {
            let piece = &text[start..end];
            if is_scaled(&text[..start], &text[end..]) {
                return None;
            }
            let (unit, basis) = vocabulary.read_unit(piece).filter(|_| piece.len() > 2)?;
            let stated = StatedUnit {
                text: piece.into(),
                unit,
                basis,
            };
            // "Above 750 µS/cm" states a limit.
            let is_of_number = text[..start]
                .trim_end()
                .ends_with(|c: char| c.is_ascii_digit());
            let is_of_conductivity =
                stated.unit.dimension == Dimension::Conductivity && !is_of_number;
            (is_shared(&stated.unit) || is_of_conductivity).then_some((start..end, stated))
        });
        found.extend(longest.last());
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(text: &str) -> Vec<(&'static str, String)> {
        let vocabulary = Vocabulary::built_in();
        let of = |code: &str| vocabulary.find(code).expect("an analyte");
        let stated = by_group(vocabulary, text);
        ["calcium", "iron", "silica"]
            .into_iter()
            .filter_map(|code| {
                let unit = unit_for(&stated, vocabulary, of(code))?;
                Some((code, unit.unit.code.to_string()))
            })
            .collect()
    }

    #[test]
    fn units_of_groups() {
        for (text, calcium, iron, silica) in [
            (
                "Major ions (mg/L) and trace elements (µg/L) of the wells",
                "mg/L",
                "ug/L",
                "",
            ),
            (
                "Concentrations in mg/L, trace metals in µg/L",
                "mg/L",
                "ug/L",
                "mg/L",
            ),
            (
                "Trace element concentrations in µg/L and major ions",
                "",
                "ug/L",
                "",
            ),
            (
                "Results of analyses (mg/L; metals µg/L)",
                "mg/L",
                "ug/L",
                "mg/L",
            ),
            (
                "Concentrations in mg/L except Fe, Mn and Zn in µg/L",
                "mg/L",
                "ug/L",
                "mg/L",
            ),
            ("Concentrations in µg/L (metals)", "", "ug/L", ""),
            // One unit for all is told elsewhere.
            ("All results in mg/L", "", "", ""),
        ] {
            let told = told(text);
            let of = |code| {
                told.iter()
                    .find(|(c, _)| *c == code)
                    .map_or("", |(_, unit)| unit)
            };
            assert_eq!(
                [of("calcium"), of("iron"), of("silica")],
                [calcium, iron, silica],
                "{text}"
            );
        }
    }
}
