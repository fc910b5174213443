//! Which lines of a table are samples, and what the others are.

use super::controls::{Names, is_control};
use super::guides;
use super::statistics::is_statistic;
use super::unseen::OTHER_TABLE;
use super::withdrawn::{WITHDRAWN, is_withdrawn, yes_takes_back};
use crate::locate::{Look, Reader, is_day};
use crate::map::expressed::units::{says_unit, unit_behind_words};
use crate::map::plan::LineRole;
use crate::map::rules::{SheetRule, line_set_aside};
use crate::map::sight::Sight;
use crate::read::CellView;
use crate::text::fold;
use crate::vocabulary::{Field, Meaning};
use regex::Regex;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, LazyLock};

/// Lines that are no samples, and the lines that hold limits.
#[derive(Debug, Default)]
pub(in crate::map) struct Lines {
    pub(in crate::map) roles: BTreeMap<u32, LineRole>,
    /// Line, which limit, and the text that says so.
    pub(in crate::map) limits: Vec<(u32, Field, Arc<str>)>,
    /// Lines of samples.
    pub(in crate::map) samples: Vec<u32>,
    pub(in crate::map) nameless: Vec<u32>,
    /// The line from which on the tracks mean something else.
    pub(in crate::map) other_table: Option<u32>,
}

impl Lines {
    /// Takes lines out of the samples, with what they are instead.
    pub(in crate::map) fn leave_out(&mut self, lines: &[u32], role: &LineRole) {
        let lines: BTreeSet<u32> = lines.iter().copied().collect();
        self.samples.retain(|line| {
            let leaves = lines.contains(line);
            if leaves {
                self.roles.insert(*line, role.clone());
            }
            !leaves
        });
    }
}

/// What is known of a table's tracks.
pub(in crate::map) struct Shape<'a> {
    /// Tracks that hold results.
    pub(in crate::map) values: &'a BTreeSet<u32>,
    /// Tracks that tell samples apart.
    pub(in crate::map) identity: &'a BTreeSet<u32>,
    /// The whole table is one of controls.
    pub(in crate::map) controls: bool,
    /// The track of pH, if the table has one.
    pub(in crate::map) ph: Option<u32>,
}

/// A limit in an identity cell of its line ("DET. LIMIT MG/L", "MDL").
static LIMIT_LINE: LazyLock<Regex> = LazyLock::new(|| {
    Regex::new(
        r"(?ix) ^\W* (?: m?det(?:ection)?\.?\s*lim(?:it)?s?\b | (?:method\s+)?detection\s+limit | lod\b | mdl\b | ld\b | nwg\b | nachweisgrenze | aantoonbaarheidsgrens
        | limite\s+de\s+d[ée]te[ck]t | limite\s+di\s+rilevabilit | detektionsgr[æa]nse | limit\s+of\s+detection | granica\s+wykrywalno
        | (?P<q> loq\b | pql\b | mrl\b | rl\b | ql\b | bg\b | (?:practical\s+)?quanti(?:tation|fication)\s+limit | limit\s+of\s+quanti | bestimmungsgrenze
        | limite\s+de\s+(?:cuantif|quantif) | limite\s+di\s+quantif | reporting\s+limit | rapportagegrens | granica\s+oznaczalno ) )",
    )
    .expect("a valid pattern")
});

/// Reason of lines that are controls, not samples.
pub(in crate::map) const QUALITY_CONTROL: &str = "quality-control";
pub(in crate::map) const STATISTIC: &str = "statistic";
/// Reason of what is set aside as a limit of a law or a guideline.
pub const GUIDELINE: &str = "guideline";
/// Reason of what stands under a heading that is none of our words.
pub(in crate::map) const HEADING_UNKNOWN: &str = "heading-unknown";
pub(super) const NAMELESS: &str = "line-nameless";
/// Reason of a line of limits that was found too late to hold for the results.
pub(in crate::map) const LIMIT: &str = "limit-line";
/// Results of an earlier report, whose day nothing says.
const EARLIER: &str = "earlier-results";

pub(in crate::map) fn lines(
    sight: &Sight<'_, '_>,
    shape: &Shape<'_>,
    all: &[u32],
    rule: Option<&SheetRule>,
) -> Lines {
    let mut found = Lines::default();
    let names: Names = all
        .iter()
        .flat_map(|line| identity_texts(sight, shape, *line))
        .map(Into::into)
        .collect();
    for line in all {
        if let Some(role) = role(sight, shape, *line, rule, &names, &mut found.limits) {
            found.roles.insert(*line, role);
        } else {
            found.samples.push(*line);
        }
    }
    let called = called_after_analytes(sight, shape, &found.samples);
    found.leave_out(&called, &LineRole::Unplaced(OTHER_TABLE.into()));
    if let Some(line) = other_units(sight, shape, &found) {
        let behind: Vec<u32> = (found.samples.iter().copied())
            .filter(|l| *l > line)
            .collect();
        found.leave_out(&behind, &LineRole::Unplaced(OTHER_TABLE.into()));
        found.other_table = (!behind.is_empty()).then_some(line);
    }
    // A line of values without any name where the others have one is a sum, a limit or an orphan: its
    // numbers cannot be told to belong to any sample.
    let named = |line: &u32| {
        shape.identity.is_empty()
            || sight
                .cells(*line)
                .any(|(track, _)| shape.identity.contains(&track))
    };
    let without: Vec<u32> = found
        .samples
        .iter()
        .copied()
        .filter(|l| !named(l))
        .collect();
    let mut nameless = limits_alone(sight, shape, &found.samples);
    if without.len() * 5 <= found.samples.len() {
        nameless.extend(without);
    }
    found.leave_out(&nameless, &LineRole::Unplaced(NAMELESS.into()));
    found.nameless = nameless;
    found
}

/// The last lines of a table that are called as its analytes are ("pH | APHA 4500 | 0.1"): a list of methods or of
/// limits below the samples. A letter can be a sample's name too.
fn called_after_analytes(sight: &Sight<'_, '_>, shape: &Shape<'_>, samples: &[u32]) -> Vec<u32> {
    if sight.across {
        return Vec::new();
    }
    let meaning = |text: &str| sight.reader.heading(text.trim()).meaning.clone();
    let own: Vec<Meaning> = (sight.heading_lines.iter())
        .flat_map(|line| shape.values.iter().map(move |track| (*line, *track)))
        .filter_map(|(line, track)| sight.heading_cell(line, track))
        .map(|(_, cell)| meaning(&cell.as_text()))
        .filter(|meaning| matches!(meaning, Meaning::Analyte(_)))
        .collect();
    let is_called_so = |line: &u32| {
        let mut names = (sight.cells(*line)).filter(|(track, _)| !shape.values.contains(track));
        names.next().is_some_and(|(_, cell)| match cell.view() {
            CellView::Text(text) => text.trim().chars().count() > 1 && own.contains(&meaning(text)),
            _ => false,
        })
    };
    let behind = (samples.iter().rev())
        .take_while(|line| is_called_so(line))
        .count();
    if behind < samples.len() {
        samples[samples.len() - behind..].to_vec()
    } else {
        Vec::new()
    }
}

/// Columns of nothing but "< 250" without a heading, beside one of plain numbers: limits, not a sample in which
/// nothing was found.
fn limits_alone(sight: &Sight<'_, '_>, shape: &Shape<'_>, samples: &[u32]) -> Vec<u32> {
    if !sight.across {
        return Vec::new();
    }
    let is_limit =
        |text: &str| text.trim_start().starts_with(['<', '≤']) || guides::is_wide_ph(text);
    let are_limits = |line: &u32| {
        (sight.cells(*line))
            .all(|(track, cell)| shape.values.contains(&track) && is_limit(&cell.as_text()))
    };
    let limits: Vec<u32> = samples.iter().copied().filter(are_limits).collect();
    if limits.len() < samples.len() {
        limits
    } else {
        Vec::new()
    }
}

/// The first line of units that are not those over the tracks: what stands below it is in those.
fn other_units(sight: &Sight<'_, '_>, shape: &Shape<'_>, lines: &Lines) -> Option<u32> {
    if sight.across {
        return None;
    }
    let is_other = |line: u32, track: u32, text: &str| {
        let over = (sight.heading_lines.iter().filter(|over| **over < line))
            .filter_map(|over| sight.heading_cell(*over, track));
        let mut units = over
            .map(|(_, cell)| fold(&cell.as_text()))
            .filter(|text| sight.reader.is_unit(text))
            .peekable();
        units.peek().is_some() && units.all(|unit| unit != fold(text))
    };
    let is_changed = |line: u32| {
        sight.cells(line).any(|(track, cell)| {
            shape.values.contains(&track)
                && sight.look(line, track) == Look::Unit
                && is_other(line, track, &cell.as_text())
        })
    };
    (lines.roles.iter())
        .filter(|(_, role)| **role == LineRole::Heading)
        .map(|(line, _)| *line)
        .find(|line| is_changed(*line) || is_captioned_anew(sight, &lines.samples, *line))
}

/// "Major ions in meq/L" alone in a line behind samples whose captions and headings say nothing of that unit.
fn is_captioned_anew(sight: &Sight<'_, '_>, samples: &[u32], line: u32) -> bool {
    let vocabulary = sight.reader.vocabulary();
    let mut cells = sight.cells(line);
    let (Some((_, cell)), None) = (cells.next(), cells.next()) else {
        return false;
    };
    let Some((unit, ..)) = unit_behind_words(vocabulary, &cell.as_text()) else {
        return false;
    };
    samples.first().is_some_and(|first| *first < line)
        && !(0..line)
            .filter(|above| samples.binary_search(above).is_err())
            .flat_map(|above| sight.cells(above))
            .any(|(_, cell)| says_unit(vocabulary, &cell.as_text(), &unit))
}

/// The texts of a line outside the results.
fn identity_texts<'a>(sight: &Sight<'a, '_>, shape: &Shape<'_>, line: u32) -> Vec<&'a str> {
    sight
        .cells(line)
        .filter(|(track, _)| !shape.values.contains(track))
        .filter_map(|(_, cell)| match &cell.value {
            crate::read::Value::Text(text) => Some(text.trim()),
            _ => None,
        })
        .collect()
}

fn role(
    sight: &Sight<'_, '_>,
    shape: &Shape<'_>,
    line: u32,
    rule: Option<&SheetRule>,
    names: &Names,
    limits: &mut Vec<(u32, Field, Arc<str>)>,
) -> Option<LineRole> {
    let told = rule.and_then(|rule| {
        let texts = sight.cells(line).map(|(_, cell)| cell.as_text());
        line_set_aside(&rule.lines_set_aside, texts)
    });
    if let Some(reason) = told {
        return Some(LineRole::SetAside(reason));
    }
    let texts = identity_texts(sight, shape, line);
    let (mut numbers, mut labels, mut units, mut cells) = (0usize, 0usize, 0usize, 0usize);
    for (track, cell) in sight.cells(line) {
        if !shape.values.contains(&track) {
            continue;
        }
        cells += 1;
        match sight.reader.look(cell.view()) {
            Look::Number | Look::Date => numbers += 1,
            Look::Analyte => labels += 1,
            Look::Unit => units += 1,
            Look::Field(_) | Look::Words | Look::Blank => {}
        }
    }
    // The headings again, or their units: as on every printed page.
    if numbers == 0 && are_headings(labels, units, cells) {
        return Some(LineRole::Heading);
    }
    if shape.controls {
        return Some(LineRole::Unplaced(QUALITY_CONTROL.into()));
    }
    // What is said of a limit behind the results of a day is a remark.
    let is_remark = |text: &str| {
        let of_line = || {
            sight
                .cells(line)
                .filter(|(track, _)| !shape.values.contains(track))
        };
        let is_behind = |track: u32| shape.values.iter().all(|value| *value < track);
        let mut says_so = of_line().filter(|(_, cell)| cell.as_text().trim() == text);
        says_so.all(|(track, _)| is_behind(track)) && of_line().any(|(_, cell)| is_day(cell.view()))
    };
    for text in &texts {
        match said(sight.reader, sight.across, text, names) {
            Some(Said::Limit(_)) if is_remark(text) => {}
            Some(Said::Limit(kind)) => {
                limits.push((line, kind, (*text).into()));
                return Some(LineRole::Heading);
            }
            Some(Said::Role(role)) => return Some(role),
            None => {}
        }
    }
    let is_taken_back = sight.cells(line).any(|(track, cell)| {
        !shape.values.contains(&track) && yes_takes_back(sight.headings(track), cell.view())
    });
    if is_taken_back {
        return Some(LineRole::Unplaced(WITHDRAWN.into()));
    }
    if is_outside_the_samples(sight, shape, line, &texts) {
        return Some(LineRole::SetAside(GUIDELINE.into()));
    }
    let own_day = || {
        let mut cells = sight
            .cells(line)
            .filter(|(track, _)| !shape.values.contains(track));
        cells.any(|(_, cell)| is_day(cell.view()))
    };
    if sight.across && texts.iter().any(|text| guides::is_earlier(text)) && !own_day() {
        return Some(LineRole::Unplaced(EARLIER.into()));
    }
    // One text and nothing else: a group heading between the samples.
    (cells == 0 && texts.len() == 1 && sight.cells(line).count() == 1 && !sight.across)
        .then_some(LineRole::Heading)
}

/// Limits of a standard, shares and weights beside the samples. In rows only the first text is the name of
/// the line; the others can be remarks ("above the WHO limit").
fn is_outside_the_samples(
    sight: &Sight<'_, '_>,
    shape: &Shape<'_>,
    line: u32,
    texts: &[&str],
) -> bool {
    let names = if sight.across { texts.len() } else { 1 };
    texts
        .iter()
        .take(names)
        .any(|text| guides::is_guideline(text) || guides::is_share(text) || guides::is_aim(text))
        || shape.ph.is_some_and(|track| {
            matches!(sight.cell(line, track), CellView::Text(text) if guides::is_wide_ph(text))
        })
}

/// Whether the value cells of a line without numbers are headings or units; `labels` of them name an
/// analyte, `units` are units.
pub(super) const fn are_headings(labels: usize, units: usize, cells: usize) -> bool {
    (labels > 1 && labels * 2 >= cells) || (units > 1 && units * 2 >= cells)
}

/// What a text outside the results says of its line.
#[derive(Clone, Debug)]
pub(in crate::map) enum Said {
    /// A limit of detection or quantification stands in this line.
    Limit(Field),
    Role(LineRole),
}

/// `None`: nothing against a sample. `names` are the names of the table's lines.
pub(in crate::map) fn said(
    reader: &Reader<'_>,
    across: bool,
    text: &str,
    names: &Names,
) -> Option<Said> {
    if let Some(kind) = limit_kind(reader, text) {
        return Some(Said::Limit(kind));
    }
    let role = match reader.look(CellView::Text(text)) {
        Look::Field(Field::Guideline) => LineRole::SetAside(GUIDELINE.into()),
        Look::Field(Field::Unit | Field::Method) if across => LineRole::Heading,
        _ if is_statistic(text) => LineRole::Unplaced(STATISTIC.into()),
        _ if is_control(text, names) => LineRole::Unplaced(QUALITY_CONTROL.into()),
        _ if is_withdrawn(text) => LineRole::Unplaced(WITHDRAWN.into()),
        _ if is_of_a_sample(reader, text, names) => LineRole::Unplaced(LIMIT.into()),
        _ => return None,
    };
    Some(Said::Role(role))
}

/// "Tank A LOQ" beside "Tank A": the limits of that sample, or what else a laboratory says of its numbers.
fn is_of_a_sample(reader: &Reader<'_>, text: &str, names: &Names) -> bool {
    let text = text.trim();
    let Some((name, word)) = text.rsplit_once([' ', '_']) else {
        return false;
    };
    let word = word.trim_matches(['(', ')', '[', ']']);
    names.contains(name.trim_end())
        && (limit_kind(reader, word).is_some()
            || matches!(
                reader.heading(word).meaning,
                Meaning::Field(Field::Uncertainty | Field::Qualifier | Field::Method | Field::Unit)
            ))
}

pub(in crate::map) fn limit_kind(reader: &Reader<'_>, text: &str) -> Option<Field> {
    if let Meaning::Field(kind @ (Field::DetectionLimit | Field::QuantificationLimit)) =
        reader.heading(text).meaning
    {
        return Some(kind);
    }
    let found = LIMIT_LINE.captures(text)?;
    Some(if found.name("q").is_some() {
        Field::QuantificationLimit
    } else {
        Field::DetectionLimit
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limit_lines() {
        for (text, quantification) in [
            ("DET. LIMIT MG/L", false),
            ("MDL", false),
            ("LOQ (mg/l)", true),
            ("Bestimmungsgrenze", true),
            ("Reporting limit", true),
        ] {
            let found = LIMIT_LINE
                .captures(text)
                .unwrap_or_else(|| panic!("{text}"));
            assert_eq!(found.name("q").is_some(), quantification, "{text}");
        }
        for text in [
            "Limit Farm",
            "Ludwig",
            "LODge",
            "Rlver",
            "Limite del predio",
        ] {
            assert!(!LIMIT_LINE.is_match(text), "{text}");
        }
    }
}
