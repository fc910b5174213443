//! Units that are stated once for several tracks: at the heading of a group, at the head of the label column,
//! or at the head of the only line of results.

use super::stated::is_of_traces;
use crate::locate::Look;
use crate::map::heads::head::{GroupUnit, Head};
use crate::map::heads::limits::unit_in;
use crate::map::sight::Sight;
use crate::place::Address;
use crate::read::Cell;
use crate::vocabulary::{Basis, Dimension, Field, Meaning, Unit, Vocabulary};
use regex::Regex;
use std::sync::{Arc, LazyLock};

/// A unit with the basis that it carries and the words in which it stands.
type Stated = (Unit, Option<Basis>, Arc<str>);

/// Parts that only units have: shares, masses, moles, charges, volumes.
static UNIT_PARTS: LazyLock<Regex> = LazyLock::new(|| {
    Regex::new(
        r"(?ix) [%‰] | \b(?: [mµμu]?g | [mµμu]?mol | [mµμu]?eq | m?val | epm | ppm | ppb | [mµμud]s )\b
        | /\s*(?: l | lt | ltr | lit(?:er|re)s? | dm3 | dm³ | kg )\b",
    )
    .expect("a valid pattern")
});

/// Whether words are like those of a unit, known or not.
pub fn is_like_a_unit(words: &str) -> bool {
    UNIT_PARTS.is_match(words)
}

/// A factor before or behind a unit: "10-3 mol/L", "mg/L × 10^3", "x 1000 mg/L". Its number counts otherwise than
/// the unit says.
static FACTOR: LazyLock<[Regex; 2]> = LazyLock::new(|| {
    [
        r"(?:^|[\s(×x*·])10\s*(?:\^|\*\*)?\s*[-−–⁻+]?\s*[\d⁰¹²³⁴⁵⁶⁷⁸⁹]+\s*[×x*·]?\s*$|[×x*]\s*10*\s*$",
        r"^\s*[×x*·]\s*10",
    ]
    .map(|pattern| Regex::new(pattern).expect("a valid pattern"))
});

pub(in crate::map) fn is_scaled(before: &str, behind: &str) -> bool {
    FACTOR[0].is_match(before) || FACTOR[1].is_match(behind)
}

/// The unit of concentration at the end of other words ("Anions (meq/l)", "Trace elements, µg/L"); `None`
/// for a unit alone and for units of anything else, which no group of analytes shares.
pub(in crate::map) fn unit_behind_words(vocabulary: &Vocabulary, text: &str) -> Option<Stated> {
    let (unit, basis, _) = unit_in(vocabulary, text)?;
    is_shared(&unit).then(|| (unit, basis, Arc::from(text.trim())))
}

/// Whether a text is or ends with this unit.
pub(in crate::map) fn says_unit(vocabulary: &Vocabulary, text: &str, unit: &Unit) -> bool {
    (vocabulary.read_unit(text).map(|(other, _)| other))
        .or_else(|| unit_behind_words(vocabulary, text).map(|(other, ..)| other))
        .is_some_and(|other| other.code == unit.code)
}

/// Whether a group of analytes can have the unit in common.
pub(super) const fn is_shared(unit: &Unit) -> bool {
    matches!(
        unit.dimension,
        Dimension::Mass | Dimension::Amount | Dimension::Charge
    )
}

/// Gives each analyte the unit of its group.
pub(in crate::map) fn group_units(sight: &Sight<'_, '_>, heads: &mut [(u32, Head)], lines: &[u32]) {
    if sight.across {
        of_rows_below(sight, heads, lines);
        of_label_column(sight, heads, lines);
    } else {
        of_lines_above(sight, heads);
    }
}

/// "(mg/L)" in the row below each label, beside no value: the unit of that label. Where such a row stands above the
/// first label too, each is of the labels below it, and nothing is said here.
fn of_rows_below(sight: &Sight<'_, '_>, heads: &mut [(u32, Head)], lines: &[u32]) {
    let is_unit = |(track, head): &(u32, Head)| {
        matches!(head.meaning, Meaning::Unknown)
            && head.unit.is_some()
            && head.label.is_none()
            && lines
                .iter()
                .all(|line| sight.cell(*line, *track).is_empty())
    };
    let is_open = |(_, head): &(u32, Head)| {
        matches!(head.meaning, Meaning::Analyte(_) | Meaning::Ambiguous(_)) && head.unit.is_none()
    };
    let below: Vec<usize> = (0..heads.len()).filter(|i| is_unit(&heads[*i])).collect();
    let follows =
        |i: &usize| *i > 0 && is_open(&heads[*i - 1]) && heads[*i - 1].0 + 1 == heads[*i].0;
    if below.len() < 2 || !below.iter().all(follows) {
        return;
    }
    for i in below {
        let said = heads[i].1.clone();
        let head = &mut heads[i - 1].1;
        head.unit = said.unit;
        if let Some(text) = &said.basis_text {
            head.state_basis(said.basis, text);
        }
    }
}

/// A label without values heads the labels below it, until the next one does; the head of the label column
/// speaks for those before.
fn of_label_column(sight: &Sight<'_, '_>, heads: &mut [(u32, Head)], lines: &[u32]) {
    let mut current: Option<GroupUnit> = None;
    let mut fraction = None;
    for (track, head) in heads {
        let at = head.at;
        let group = |(unit, basis, text): Stated| {
            Some(GroupUnit {
                unit,
                basis,
                text,
                at: at?,
            })
        };
        let empty = || {
            lines
                .iter()
                .all(|line| sight.cell(*line, *track).is_empty())
        };
        match (&head.meaning, &head.label) {
            (Meaning::Analyte(_) | Meaning::Ambiguous(_), _) => {
                head.group_unit.clone_from(&current);
                head.fraction = head.fraction.or(fraction);
            }
            (Meaning::Field(Field::Label), Some(label)) => {
                let label = label.clone();
                let basis = head.basis.clone();
                current = (head.unit.clone()).and_then(|(unit, _)| group((unit, basis, label)));
            }
            (Meaning::Unknown, Some(label)) if empty() => {
                // "Dissolved metals (0.45 µm)", until the next group.
                fraction = (sight.reader.vocabulary().fraction_among(label))
                    .filter(|_| is_of_traces(label));
                // "ANIONS" with "meq/L" in the column of units.
                let own = head.unit.clone().filter(|(unit, _)| is_shared(unit));
                let own = own.map(|(unit, text)| (unit, head.basis.clone(), text));
                let behind = || unit_behind_words(sight.reader.vocabulary(), label);
                current = own.or_else(behind).and_then(group);
            }
            _ => {}
        }
    }
}

/// A group's heading stands over its first track; in delimited text, which has no merged cells, the others
/// have blanks there. A unit alone is such a heading only above the names: in a line of units below them a
/// blank says that nothing is stated.
fn of_lines_above(sight: &Sight<'_, '_>, heads: &mut [(u32, Head)]) {
    // Of each heading line the cell that stands over a track or nearest to its left.
    let mut nearest: Vec<(u32, Option<(Address, &Cell)>)> =
        (sight.heading_lines.iter().map(|line| (*line, None))).collect();
    for (track, head) in heads {
        for (line, cell) in &mut nearest {
            *cell = sight.heading_cell(*line, *track).or(*cell);
        }
        if !matches!(head.meaning, Meaning::Analyte(_) | Meaning::Ambiguous(_)) {
            continue;
        }
        head.group_unit = nearest.iter().find_map(|(line, cell)| {
            let (origin, cell) = (*cell)?;
            let text = cell.as_text();
            let (unit, basis, text) = match sight.reader.look(cell.view()) {
                Look::Words => unit_behind_words(sight.reader.vocabulary(), &text),
                Look::Unit if head.at.is_some_and(|at| at.row > *line) => {
                    let (unit, basis) = sight.reader.vocabulary().read_unit(&text)?;
                    is_shared(&unit).then(|| (unit, basis, Arc::from(text.trim())))
                }
                _ => None,
            }?;
            let at = sight.address(origin.row, origin.col);
            Some(GroupUnit {
                unit,
                basis,
                text,
                at,
            })
        });
    }
}

/// Lines of a table that runs across and whose heads are units ("mg/L", "meq/L", "%meq"): the first that we know is
/// taken and its unit is that of all tracks without one, the other lines repeat it and are given back. Nothing is
/// concluded where a line with numbers has no unit.
pub(in crate::map) fn units_of_lines(
    sight: &Sight<'_, '_>,
    heads: &mut [(u32, Head)],
    lines: &[u32],
) -> Vec<u32> {
    if !sight.across {
        return Vec::new();
    }
    let is_analyte =
        |head: &Head| matches!(head.meaning, Meaning::Analyte(_) | Meaning::Ambiguous(_));
    let of_line = |line: u32| {
        heads
            .iter()
            .filter(|(_, head)| !is_analyte(head))
            .filter(|(track, _)| sight.look(line, *track) == Look::Unit)
            .find_map(|(track, _)| {
                let text = sight.grid.view(Address::new(line, *track)).as_text();
                let (unit, basis) = sight.reader.vocabulary().read_unit(&text)?;
                let (text, at) = (Arc::from(&*text), sight.address(line, *track));
                Some(GroupUnit {
                    unit,
                    basis,
                    text,
                    at,
                })
            })
    };
    // "%meq" is no concentration.
    let is_unknown = |line: u32| {
        (heads.iter().filter(|(_, head)| !is_analyte(head))).any(|(track, _)| {
            let text = sight.grid.view(Address::new(line, *track)).as_text();
            sight.look(line, *track) == Look::Words && text.len() < 12 && is_like_a_unit(&text)
        })
    };
    let units: Option<Vec<(u32, Option<GroupUnit>)>> = lines
        .iter()
        .map(|line| match of_line(*line) {
            None if !is_unknown(*line) => None,
            unit => Some((*line, unit)),
        })
        .collect();
    let Some(units) = units else {
        return Vec::new();
    };
    let Some(first) = units.iter().find_map(|(_, unit)| unit.clone()) else {
        return Vec::new();
    };
    for (_, head) in heads.iter_mut().filter(|(_, head)| is_analyte(head)) {
        head.group_unit = Some(first.clone());
    }
    units
        .iter()
        .filter(|(_, group)| {
            group
                .as_ref()
                .is_none_or(|group| group.unit.code != first.unit.code)
        })
        .map(|(line, _)| *line)
        .collect()
}
