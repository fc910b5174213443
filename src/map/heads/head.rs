//! What stands over a track: its heading cells, from the name to the limits, taken together.

use super::limits::unit_in;
use crate::locate::{Look, unit_after_number};
use crate::map::expressed::units::is_like_a_unit;
use crate::map::sight::Sight;
use crate::place::Address;
use crate::read::CellView;
use crate::vocabulary::{Basis, Field, Fraction, Heading, Meaning, Unit};
use std::sync::Arc;

/// The heading of a track. Everything is as the report has it; nothing is assumed here.
#[derive(Clone, Debug, Default)]
pub(in crate::map) struct Head {
    /// True address of the cell that names the track; `None` where nothing stands over it.
    pub(in crate::map) at: Option<Address>,
    /// The name's cell, as it stands.
    pub(in crate::map) label: Option<Arc<str>>,
    pub(in crate::map) meaning: Meaning,
    /// What a cell nearer to the data says of a track under a wider name ("Data", "DF", "LOD").
    pub(in crate::map) sub: Option<Field>,
    /// Words nearer to the data that are no field.
    pub(in crate::map) sub_words: Option<Arc<str>>,
    pub(in crate::map) unit: Option<(Unit, Arc<str>)>,
    /// What stands where units stand and is none that we know.
    pub(in crate::map) unit_words: Option<Arc<str>>,
    /// A second unit, of another size.
    pub(in crate::map) unit_against: Option<Arc<str>>,
    /// Nothing stands there, and a unit does at other names of the table.
    pub(in crate::map) unit_is_open: bool,
    /// The unit of the group that the track belongs to ("Anions (mg/l)").
    pub(in crate::map) group_unit: Option<GroupUnit>,
    /// The unit of a limit over the track, where no unit of its own stands there.
    pub(in crate::map) limit_unit: Option<(Unit, Arc<str>)>,
    pub(in crate::map) basis: Option<Basis>,
    pub(in crate::map) basis_text: Option<Arc<str>>,
    /// The basis is only what the name suggests.
    pub(in crate::map) basis_implied: bool,
    /// A basis stated beside the name that is another than the name's own.
    pub(in crate::map) basis_against: Option<Basis>,
    pub(in crate::map) fraction: Option<Fraction>,
    pub(in crate::map) reference_temperature: Option<f64>,
    /// Number and unit text of limits over the track, with the kind of limit and the true address.
    pub(in crate::map) limits: Vec<HeadLimit>,
    /// The track shares its name cell with others (merged).
    pub(in crate::map) shared: bool,
}

/// A unit that is stated for several tracks at once.
#[derive(Clone, Debug)]
pub(in crate::map) struct GroupUnit {
    pub(in crate::map) unit: Unit,
    /// What the group counts ("Nutrients (mg/L as N)").
    pub(in crate::map) basis: Option<Basis>,
    /// The words in which it stands, and their true address.
    pub(in crate::map) text: Arc<str>,
    pub(in crate::map) at: Address,
}

impl Head {
    /// Of a label that stands alone, at `at`.
    pub(in crate::map) fn of(heading: &Heading, at: Address, label: &Arc<str>) -> Self {
        let unit_text = || heading.unit_text.as_deref().unwrap_or("").into();
        Self {
            at: Some(at),
            label: Some(label.clone()),
            meaning: heading.meaning.clone(),
            unit: heading.unit.clone().map(|unit| (unit, unit_text())),
            basis: heading.basis.clone(),
            basis_text: heading.basis_text.as_deref().map(Into::into),
            basis_implied: heading.basis_implied,
            fraction: heading.fraction,
            reference_temperature: heading.reference_temperature,
            ..Self::default()
        }
    }

    /// A unit or basis cell under or beside the name: it goes before what the name only suggests, and against
    /// what the name says itself it is a contradiction.
    pub(in crate::map) fn state_basis(&mut self, stated: Option<Basis>, text: &Arc<str>) {
        let Some(stated) = stated else { return };
        match &self.basis {
            Some(own) if *own == stated => self.basis_implied = false,
            Some(_) if !self.basis_implied => self.basis_against = Some(stated),
            _ => {
                self.basis = Some(stated);
                self.basis_text = Some(text.clone());
                self.basis_implied = false;
            }
        }
    }
}

#[derive(Clone, Debug)]
pub(in crate::map) struct HeadLimit {
    pub(in crate::map) kind: Option<Field>,
    pub(in crate::map) text: Arc<str>,
    /// The cell is a number, whose text has a point whatever the file's decimal sign is.
    pub(in crate::map) is_number: bool,
    pub(in crate::map) at: Address,
}

/// What a heading line as a whole says ("MDL", "Unit"), from a cell outside the analyte tracks.
pub(super) fn line_field(sight: &Sight<'_, '_>, line: u32) -> Option<Field> {
    sight
        .cells(line)
        .find_map(|(_, cell)| match sight.reader.look(cell.view()) {
            Look::Field(
                field @ (Field::DetectionLimit
                | Field::QuantificationLimit
                | Field::Unit
                | Field::Basis
                | Field::Method
                | Field::Fraction
                | Field::Guideline
                | Field::Uncertainty),
            ) => Some(field),
            Look::Words => crate::map::left_out::lines::limit_kind(sight.reader, &cell.as_text()),
            _ => None,
        })
}

/// The unit in the words that call a heading line a limit ("LOQ (µg/L)").
fn line_unit(sight: &Sight<'_, '_>, line: u32) -> Option<Arc<str>> {
    sight.cells(line).find_map(|(_, cell)| {
        let text = cell.as_text();
        crate::map::left_out::lines::limit_kind(sight.reader, &text)?;
        unit_in(sight.reader.vocabulary(), &text).map(|(.., unit)| unit)
    })
}

/// Whether a number counts the same in both units.
fn is_alike(a: &Unit, b: &Unit) -> bool {
    a.dimension == b.dimension && a.to_base == b.to_base
}

/// The head of each of the tracks.
pub(in crate::map) fn heads(
    sight: &Sight<'_, '_>,
    tracks: impl IntoIterator<Item = u32>,
) -> Vec<(u32, Head)> {
    let kinds: Vec<Option<Field>> = (sight.heading_lines.iter())
        .map(|line| line_field(sight, *line))
        .collect();
    let mut heads: Vec<(u32, Head)> = (tracks.into_iter())
        .map(|track| (track, head(sight, &kinds, track)))
        .collect();
    let holds_unit = |line: u32| {
        (heads.iter()).any(|(track, head)| {
            let cell = sight.heading_cell(line, *track);
            matches!(head.meaning, Meaning::Analyte(_))
                && cell.is_some_and(|(_, cell)| {
                    sight
                        .reader
                        .vocabulary()
                        .read_unit(&cell.as_text())
                        .is_some()
                })
        })
    };
    // The only heading line is one of names, whatever else it names.
    let of_units: Vec<u32> = (sight.heading_lines.iter().zip(&kinds))
        .filter(|_| sight.heading_lines.len() > 1)
        .filter(|(line, kind)| **kind == Some(Field::Unit) || holds_unit(**line))
        .map(|(line, _)| *line)
        .collect();
    let is_stated = heads
        .iter()
        .any(|(_, head)| matches!(head.meaning, Meaning::Analyte(_)) && head.unit.is_some());
    // Where units stand at most names, a word at another is its unit.
    let mostly: Vec<u32> = (of_units.iter().copied())
        .filter(|line| are_mostly_units(sight, &heads, *line))
        .collect();
    for (track, head) in &mut heads {
        if head.unit.is_none() && head.unit_words.is_none() {
            head.unit_words = (mostly.iter()).find_map(|line| words_at(sight, *line, *track));
        }
        let is_blank = |line: &u32| {
            (sight.heading_cell(*line, *track))
                .is_none_or(|(_, cell)| !cell.as_text().contains(char::is_alphanumeric))
        };
        head.unit_is_open = is_stated && !of_units.is_empty() && of_units.iter().all(is_blank);
    }
    heads
}

/// Whether a heading line has units at several names, and at more of them than other words.
fn are_mostly_units(sight: &Sight<'_, '_>, heads: &[(u32, Head)], line: u32) -> bool {
    let named = || {
        (heads.iter())
            .filter(|(_, head)| matches!(head.meaning, Meaning::Analyte(_)))
            .map(|(track, _)| *track)
    };
    let has_unit = |track: &u32| {
        (sight.heading_cell(line, *track))
            .is_some_and(|(_, cell)| sight.reader.look(cell.view()) == Look::Unit)
    };
    let units = named().filter(has_unit).count();
    let has_words = |track: &u32| words_at(sight, line, *track).is_some();
    units > 1 && units > named().filter(has_words).count()
}

/// The words in a heading line at a track; `None` where something known stands there, or nothing.
fn words_at(sight: &Sight<'_, '_>, line: u32, track: u32) -> Option<Arc<str>> {
    let (_, cell) = sight.heading_cell(line, track)?;
    let text = cell.as_text();
    let are_words =
        sight.reader.look(cell.view()) == Look::Words && text.contains(char::is_alphanumeric);
    are_words.then(|| text.trim().into())
}

/// The head of one track. `kinds` is what [`line_field`] says of each heading line.
fn head(sight: &Sight<'_, '_>, kinds: &[Option<Field>], track: u32) -> Head {
    let mut head = Head::default();
    let mut words: Vec<(Address, Arc<str>)> = Vec::new();
    for (line, kind) in sight.heading_lines.iter().zip(kinds) {
        let Some((origin, cell)) = sight.heading_cell(*line, track) else {
            continue;
        };
        let text: Arc<str> = cell.as_text().trim().into();
        let at = sight.address(origin.row, origin.col);
        let look = sight.reader.look(cell.view());
        let kind = *kind;
        let limit_line = matches!(
            kind,
            Some(Field::DetectionLimit | Field::QuantificationLimit)
        );
        if look == Look::Number || (limit_line && text.chars().any(|c| c.is_ascii_digit())) {
            let unit = unit_after_number(&text).and_then(|u| {
                sight
                    .reader
                    .vocabulary()
                    .read_unit(u)
                    .map(|(unit, _)| (unit, u))
            });
            if let Some((unit, unit_text)) = unit {
                head.limit_unit.get_or_insert((unit, unit_text.into()));
            }
            if limit_line || head.limit_unit.is_some() {
                let text =
                    match line_unit(sight, *line).filter(|_| unit_after_number(&text).is_none()) {
                        Some(unit) => format!("{text} {unit}").into(),
                        None => text,
                    };
                let is_number = matches!(cell.view(), CellView::Number(..));
                head.limits.push(HeadLimit {
                    kind,
                    text,
                    is_number,
                    at,
                });
            } else if kind == Some(Field::Unit) && text.contains(char::is_alphabetic) {
                head.unit_words = Some(text);
            } else if head.at.is_none() {
                words.push((at, text));
            }
            continue;
        }
        let heading = sight.reader.heading(&text);
        let under_a_name = matches!(head.meaning, Meaning::Analyte(_) | Meaning::Ambiguous(_));
        // "Data" is a date in three languages, but under the name of an analyte it is the values.
        let look = match look {
            Look::Field(Field::SampledOn) if under_a_name && text.eq_ignore_ascii_case("data") => {
                Look::Field(Field::Value)
            }
            look => look,
        };
        match look {
            // Under a name: a species is its basis ("Nitrate" over "NO3"); under a group's name the cell
            // nearer to the data is the name ("Nitrogen" over "NO3-N").
            Look::Analyte if matches!(head.meaning, Meaning::Analyte(_)) && !head.shared => {
                match sight.reader.vocabulary().read_basis(&text) {
                    Some(basis) if head.basis.is_none() || head.basis_implied => {
                        head.state_basis(Some(basis), &text);
                    }
                    _ => words.push((at, text.clone())),
                }
                continue;
            }
            Look::Analyte => {
                head.meaning = heading.meaning.clone();
                head.at = Some(at);
                head.shared = is_shared(sight, *line, track, origin);
                head.label = Some(text.clone());
            }
            Look::Field(field) => match head.meaning {
                Meaning::Analyte(_) | Meaning::Ambiguous(_) => head.sub = Some(field),
                // In the label column of a table that runs across the first word is the track's own; the
                // others head lines. Words that head lines ("Unit", "MDL") are no identity anywhere.
                Meaning::Field(_) if sight.across || heads_a_line(field) => {}
                Meaning::Unknown if sight.across && !words.is_empty() => {}
                _ => {
                    head.meaning = Meaning::Field(field);
                    head.at = Some(at);
                    head.shared = is_shared(sight, *line, track, origin);
                    head.label = Some(text.clone());
                }
            },
            Look::Unit => {
                if let Some((unit, basis)) = sight.reader.vocabulary().read_unit(&text) {
                    if (head.unit.as_ref()).is_some_and(|(own, _)| !is_alike(own, &unit)) {
                        head.unit_against = Some(text.clone());
                    }
                    head.unit.get_or_insert((unit, text.clone()));
                    head.state_basis(basis, &text);
                    head.reference_temperature = head
                        .reference_temperature
                        .or_else(|| sight.reader.heading(&text).reference_temperature);
                } else {
                    head.state_basis(sight.reader.vocabulary().read_basis(&text), &text);
                }
                continue;
            }
            // In a line of units or methods; the only heading line is one of names, whatever else it names.
            Look::Words
                if matches!(kind, Some(Field::Method | Field::Unit))
                    && sight.heading_lines.len() > 1 =>
            {
                if kind == Some(Field::Unit) && text.contains(char::is_alphanumeric) {
                    head.unit_words = Some(text);
                }
                continue;
            }
            _ => words.push((at, text.clone())),
        }
        if let Some(unit) = &heading.unit {
            head.unit.get_or_insert((
                unit.clone(),
                heading.unit_text.as_deref().unwrap_or(&text).into(),
            ));
        }
        if head.basis.is_none() && heading.basis.is_some() {
            head.basis = heading.basis.clone();
            head.basis_text = heading.basis_text.as_deref().map(Arc::from);
            head.basis_implied = heading.basis_implied;
        }
        head.fraction = head.fraction.or(heading.fraction);
        head.reference_temperature = head.reference_temperature.or(heading.reference_temperature);
    }
    name_from_parts(sight, &mut head, &words);
    head
}

/// Words that tell what a heading line holds.
const fn heads_a_line(field: Field) -> bool {
    matches!(
        field,
        Field::Unit
            | Field::Basis
            | Field::Method
            | Field::Fraction
            | Field::DetectionLimit
            | Field::QuantificationLimit
            | Field::Uncertainty
            | Field::Guideline
    )
}

/// The cell covers more than this track.
fn is_shared(sight: &Sight<'_, '_>, line: u32, track: u32, origin: Address) -> bool {
    origin.col != track
        || sight
            .heading_cell(line, track + 1)
            .is_some_and(|(o, _)| o == origin)
}

/// A name that stands in two cells ("Nitrogen" over "Kjeldahl", "Iron" over "total"): read together where
/// no cell alone names an analyte for sure.
fn name_from_parts(sight: &Sight<'_, '_>, head: &mut Head, words: &[(Address, Arc<str>)]) {
    match &head.meaning {
        Meaning::Unknown => {
            if words.len() > 1 {
                let joined = words
                    .iter()
                    .map(|(_, w)| &**w)
                    .collect::<Vec<_>>()
                    .join(" ");
                let heading = sight.reader.heading(&joined);
                if matches!(heading.meaning, Meaning::Analyte(_)) {
                    head.meaning = heading.meaning.clone();
                    head.basis = head.basis.take().or_else(|| heading.basis.clone());
                    head.fraction = head.fraction.or(heading.fraction);
                    if let Some(unit) = &heading.unit {
                        head.unit.get_or_insert((
                            unit.clone(),
                            heading.unit_text.as_deref().unwrap_or(&joined).into(),
                        ));
                    }
                    head.at = words.last().map(|(at, _)| *at);
                    head.label = Some(joined.into());
                    return;
                }
            }
            // The cell nearest to the data that is no unit is the name; what stands over it is a group.
            let name = (words.iter().rev()).find(|(_, text)| !is_like_a_unit(text));
            if let Some((at, text)) = name.or(words.last()) {
                head.at = Some(*at);
                head.label = Some(text.clone());
            }
        }
        Meaning::Ambiguous(_) => {
            let Some(name) = head.label.clone() else {
                return;
            };
            for (_, word) in words {
                let heading = sight.reader.heading(&format!("{name} {word}"));
                if matches!(heading.meaning, Meaning::Analyte(_)) {
                    head.meaning = heading.meaning.clone();
                    head.basis = head.basis.take().or_else(|| heading.basis.clone());
                    return;
                }
            }
            head.sub_words = words.last().map(|(_, w)| w.clone());
        }
        Meaning::Analyte(_) => {
            head.sub_words = words.last().map(|(_, w)| w.clone());
            // "total" under "Iron": a fraction says something only together with a name.
            let Some(name) = head.label.clone() else {
                return;
            };
            for (_, word) in words {
                let heading = sight.reader.heading(&format!("{name} {word}"));
                if heading.meaning == head.meaning {
                    head.fraction = head.fraction.or(heading.fraction);
                }
            }
        }
        Meaning::Field(_) => {}
    }
}
