//! `results-down`: the columns of label, value, unit and identity. What a row says of itself is left to
//! `normalize`.

use crate::finding::Finding;
use crate::locate::{Layout, Look, ResultColumns};
use crate::map::expressed::stated::is_of_traces;
use crate::map::findings::{VALUE_COLUMN_UNKNOWN, finding};
use crate::map::heads::flags::{flag, holds_words};
use crate::map::heads::head::{Head, heads};
use crate::map::heads::resolve::Context;
use crate::map::heads::tracks::rule_for;
use crate::map::left_out::controls::{Names, is_blank_or_spike, no_sample};
use crate::map::left_out::lines::{GUIDELINE, HEADING_UNKNOWN, QUALITY_CONTROL};
use crate::map::left_out::withdrawn::{WITHDRAWN, takes_back, yes_takes_back};
use crate::map::plan::{BlockPlan, LineRole, Track, TrackRole, Unseen};
use crate::map::rules::{RuleMeaning, SheetRule, line_set_aside};
use crate::map::sight::Sight;
use crate::map::whose::apart::tell_rows_apart;
use crate::map::whose::carried::carried;
use crate::place::Place;
use crate::read::{CellView, Grid};
use crate::reading::sign;
use crate::vocabulary::{Field, Fraction, Meaning};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

pub(in crate::map) fn plan(
    sight: &Sight<'_, '_>,
    context: &Context<'_>,
    rule: Option<&SheetRule>,
    findings: &mut Vec<Finding>,
) -> BlockPlan {
    let lines = sight.lines();
    let columns: BTreeSet<u32> = sight
        .heading_lines
        .iter()
        .chain(lines.iter().take(SHOWN_LINES))
        .flat_map(|line| sight.cells(*line).map(|(t, _)| t))
        .collect();
    let mut seen: BTreeSet<Field> = BTreeSet::new();
    let mut tracks = Vec::new();
    let mut labels = BTreeMap::new();
    let mut limit_unit: Option<Arc<str>> = None;
    for (at, head) in heads(sight, columns) {
        let role = match rule_for(context.rules, &context.sheet, &head, at)
            .and_then(|r| r.meaning.as_ref())
        {
            Some(RuleMeaning::Field(field)) => TrackRole::Field(*field),
            Some(RuleMeaning::SetAside(reason)) => TrackRole::SetAside(reason.clone()),
            Some(RuleMeaning::Analyte(_)) | None => recognised(sight, at, &head, &mut seen),
        };
        let is_limit = matches!(
            role,
            TrackRole::Field(Field::DetectionLimit | Field::QuantificationLimit)
        );
        if let Some((_, text)) = head.unit.as_ref().filter(|_| is_limit) {
            limit_unit.get_or_insert_with(|| text.clone());
        }
        tracks.push(Track { at, role });
        labels.extend(head.label.map(|label| (at, label)));
    }
    by_what_they_hold(sight, &lines, &mut tracks);
    flags(sight, &lines, &labels, &mut tracks);
    if !tracks
        .iter()
        .any(|t| matches!(t.role, TrackRole::Field(Field::Value)))
    {
        findings.push(value_column_unknown(
            sight,
            context,
            &lines,
            &labels,
            &mut tracks,
        ));
    }
    let not_samples = other_lines(sight, &tracks, &lines, rule);
    tell_rows_apart(sight, context, &labels, &mut tracks, &lines, findings);
    let results: Vec<u32> = (lines.iter().copied())
        .filter(|line| !not_samples.contains_key(line))
        .collect();
    let carried = carried(sight, context, &tracks, &results, Field::Label, findings);
    let fractions = fractions(sight, &tracks, &not_samples);
    BlockPlan {
        layout: Layout::ResultsDown,
        across: false,
        first_line: sight.first_line,
        last_line: sight.last_line,
        not_samples,
        headings: sight
            .heading_lines
            .iter()
            .flat_map(|line| sight.cells(*line).map(|(t, _)| sight.address(*line, t)))
            .collect(),
        tracks,
        carried,
        groups: Vec::new(),
        facts: Vec::new(),
        form: Vec::new(),
        limit_unit,
        fractions,
        unseen: Some(Unseen {
            set_aside: rule.map_or_else(Vec::new, |r| r.lines_set_aside.clone()),
            ..Unseen::default()
        }),
    }
}

/// "Dissolved metals" alone in a row is of the results below, until the next such text; directly above the headings
/// it is of those before the first.
fn fractions(
    sight: &Sight<'_, '_>,
    tracks: &[Track],
    not_samples: &BTreeMap<u32, LineRole>,
) -> BTreeMap<u32, Option<Fraction>> {
    let is_own = |track: &Track| matches!(track.role, TrackRole::Field(Field::Fraction));
    if tracks.iter().any(is_own) {
        return BTreeMap::new();
    }
    let text = |row: u32| match sight.grid.row(row) {
        [(_, cell)] => match cell.view() {
            CellView::Text(text) => Some(text),
            _ => None,
        },
        _ => None,
    };
    let fraction = |text: &str| {
        (sight.reader.vocabulary().fraction_among(text)).filter(|_| is_of_traces(text))
    };
    let top = sight
        .heading_lines
        .first()
        .copied()
        .unwrap_or(sight.first_line);
    let title = (top.saturating_sub(2)..top).rev().find_map(text);
    let mut found: BTreeMap<u32, Option<Fraction>> = (not_samples.iter())
        .filter(|(_, role)| **role == LineRole::Heading)
        .filter_map(|(line, _)| Some((*line, fraction(text(*line)?))))
        .collect();
    found.insert(0, title.and_then(fraction));
    if found.values().all(Option::is_none) {
        found.clear();
    }
    found
}

/// The finding of a long text in which each sample's results stand under its own name.
pub(in crate::map) const SAMPLES_ONE_BY_ONE: &str = "samples-one-by-one";

/// Of a long text only some rows are seen before it is read: between two of them another sample can begin.
pub(in crate::map) fn too_long(context: &Context<'_>, grid: &Grid) -> Finding {
    finding(
        SAMPLES_ONE_BY_ONE,
        Place::sheet(&context.file, &context.sheet),
        "results of one sample after the other, each under its own name, in a text too long to be held: nothing is placed".into(),
        "cut it into files of less than 16 MB, or ask for a table in which each row says which sample it is of".into(),
    )
    .for_cells(grid.count())
}

/// The role of a column that no rule speaks of.
fn recognised(
    sight: &Sight<'_, '_>,
    at: u32,
    head: &Head,
    seen: &mut BTreeSet<Field>,
) -> TrackRole {
    let ResultColumns { label, value } = sight.results;
    for (column, field) in [(label, Field::Label), (value, Field::Value)] {
        if column == Some(at) {
            return TrackRole::Field(field);
        }
        // A second column of labels or values says the same in other words.
        if column.is_some() && head.meaning == Meaning::Field(field) {
            return TrackRole::Field(Field::Other);
        }
    }
    match head.meaning {
        Meaning::Field(Field::Guideline) => TrackRole::SetAside(GUIDELINE.into()),
        // A second column of one kind ("Result" of another method) would overwrite the first.
        Meaning::Field(field)
            if matches!(field, Field::Other | Field::Remark) || seen.insert(field) =>
        {
            TrackRole::Field(field)
        }
        Meaning::Field(_) => TrackRole::Field(Field::Other),
        _ if head.label.is_none() => TrackRole::Unplaced("no-heading".into()),
        _ => TrackRole::Unplaced(HEADING_UNKNOWN.into()),
    }
}

/// One result a row, but nothing says in which column the results stand: what can be one is left where it
/// is.
fn value_column_unknown(
    sight: &Sight<'_, '_>,
    context: &Context<'_>,
    lines: &[u32],
    labels: &BTreeMap<u32, Arc<str>>,
    tracks: &mut [Track],
) -> Finding {
    let mut of_numbers: Vec<String> = Vec::new();
    for track in tracks
        .iter_mut()
        .filter(|t| matches!(t.role, TrackRole::Unplaced(_)))
    {
        if lines
            .iter()
            .any(|line| sight.look(*line, track.at) == Look::Number)
        {
            track.role = TrackRole::Unplaced(VALUE_COLUMN_UNKNOWN.into());
            of_numbers.extend(labels.get(&track.at).map(|label| format!("'{label}'")));
        }
    }
    let candidates = match of_numbers.as_slice() {
        [] => String::new(),
        names => format!(" (numbers stand under {})", names.join(", ")),
    };
    let cells: usize = lines.iter().map(|line| sight.cells(*line).count()).sum();
    finding(
        VALUE_COLUMN_UNKNOWN,
        Place::cell(
            &context.file,
            &context.sheet,
            sight.address(sight.first_line, sight.left),
        ),
        format!("one result a row, but no heading says which column holds the result{candidates}"),
        "say in a mapping which it is: [labels] \"HEADING\" = { means = \"value\" }".into(),
    )
    .for_cells(cells as u64)
}

/// Columns under unknown headings that can be one thing only: nothing but comparison signs stands beside
/// a number for no other reason than to qualify it, and mostly units is the column of units (a second one,
/// beside limits, of theirs).
/// Passed over, they would change the numbers.
fn by_what_they_hold(sight: &Sight<'_, '_>, lines: &[u32], tracks: &mut [Track]) {
    for (field, is) in [
        (
            Field::Qualifier,
            is_sign as fn(&Sight<'_, '_>, &str) -> bool,
        ),
        (Field::Unit, is_unit),
        (Field::LimitUnit, is_unit),
    ] {
        let has = |tracks: &[Track], wanted: &[Field]| {
            (tracks.iter()).any(|t| matches!(&t.role, TrackRole::Field(f) if wanted.contains(f)))
        };
        let limits = [Field::DetectionLimit, Field::QuantificationLimit];
        if has(tracks, &[field]) || (field == Field::LimitUnit && !has(tracks, &limits)) {
            continue;
        }
        let holds = |track: &Track| {
            let cells = (lines.iter().take(SHOWN_LINES)).map(|line| sight.cell(*line, track.at));
            let texts: BTreeSet<String> = cells
                .map(|cell| cell.as_text().trim().to_owned())
                .filter(|text| !text.is_empty())
                .collect();
            let fitting = texts.iter().filter(|text| is(sight, text)).count();
            // A code among the units ("coded", "std units") makes them no less a column of units.
            let enough = match field {
                Field::Qualifier => texts.len(),
                _ => texts.len().div_ceil(2),
            };
            fitting > 0 && fitting >= enough
        };
        let is_open = |track: &Track| match track.role {
            TrackRole::Unplaced(_) => true,
            TrackRole::Field(Field::Remark | Field::Other) => field == Field::Qualifier,
            _ => false,
        };
        let mut unknown = (tracks.iter_mut()).filter(|track| is_open(track) && holds(track));
        // Of two alike nobody can say which counts.
        if let (Some(track), None) = (unknown.next(), unknown.next()) {
            track.role = TrackRole::Field(field);
        }
    }
}

/// Columns of yes and no that say whether the result is below a limit, or of the words for it, whatever else
/// their heading was taken for.
fn flags(
    sight: &Sight<'_, '_>,
    lines: &[u32],
    labels: &BTreeMap<u32, Arc<str>>,
    tracks: &mut [Track],
) {
    let at_of = |tracks: &[Track], field: Field| {
        (tracks.iter()).find_map(|track| {
            matches!(&track.role, TrackRole::Field(f) if *f == field).then_some(track.at)
        })
    };
    let Some(value) = at_of(tracks, Field::Value) else {
        return;
    };
    let shown = &lines[..lines.len().min(SHOWN_LINES)];
    let mut has_flag = false;
    for i in 0..tracks.len() {
        let at = tracks[i].at;
        let open = matches!(
            tracks[i].role,
            TrackRole::Unplaced(_) | TrackRole::Field(Field::Qualifier | Field::Other)
        );
        let Some(label) = labels.get(&at).filter(|_| open) else {
            continue;
        };
        if let Some(role) = flag(sight, at, label, shown).filter(|_| !has_flag) {
            tracks[i].role = TrackRole::Companion { of: value, role };
            has_flag = true;
        } else if at_of(tracks, Field::Qualifier).is_none() && holds_words(sight, at, label, shown)
        {
            tracks[i].role = TrackRole::Field(Field::Qualifier);
        }
    }
}

/// Lines that show what a column holds.
const SHOWN_LINES: usize = 200;

fn is_unit(sight: &Sight<'_, '_>, text: &str) -> bool {
    sight.reader.vocabulary().read_unit(text).is_some()
}

fn is_sign(_: &Sight<'_, '_>, text: &str) -> bool {
    sign(text).is_some() || matches!(text, "=" | "~")
}

/// Group headings between the results, headings repeated on each page, controls of the laboratory.
fn other_lines(
    sight: &Sight<'_, '_>,
    tracks: &[Track],
    lines: &[u32],
    rule: Option<&SheetRule>,
) -> BTreeMap<u32, LineRole> {
    let is_open = |track: &Track| matches!(&track.role, TrackRole::Unplaced(why) if **why == *HEADING_UNKNOWN);
    let can_name = |track: &&Track| {
        matches!(
            track.role,
            TrackRole::Field(Field::SampleRef | Field::LabRef)
        ) || is_open(track)
    };
    let names: Names = (tracks.iter().filter(can_name))
        .flat_map(|track| lines.iter().map(|line| sight.cell(*line, track.at)))
        .filter_map(|cell| match cell {
            CellView::Text(text) => Some(text.trim().into()),
            _ => None,
        })
        .collect();
    let of = |field: Field| {
        tracks
            .iter()
            .find(|t| matches!(&t.role, TrackRole::Field(f) if *f == field))
            .map(|t| t.at)
    };
    let (label, value) = (of(Field::Label), of(Field::Value));
    let mut roles = BTreeMap::new();
    for line in lines {
        let told = rule.and_then(|rule| {
            let texts = sight.cells(*line).map(|(_, cell)| cell.as_text());
            line_set_aside(&rule.lines_set_aside, texts)
        });
        if let Some(reason) = told {
            roles.insert(*line, LineRole::SetAside(reason));
            continue;
        }
        let cells = sight.cells(*line).count();
        let repeats = label.is_some_and(|c| sight.look(*line, c) == Look::Field(Field::Label));
        let has_value = value.is_some_and(|c| !sight.cell(*line, c).is_empty());
        if repeats || (cells == 1 && !has_value) {
            roles.insert(*line, LineRole::Heading);
            continue;
        }
        for track in tracks {
            if is_open(track)
                && yes_takes_back(sight.headings(track.at), sight.cell(*line, track.at))
            {
                roles.insert(*line, LineRole::Unplaced(WITHDRAWN.into()));
                break;
            }
            let CellView::Text(text) = sight.cell(*line, track.at) else {
                continue;
            };
            let reason = match &track.role {
                TrackRole::Field(field) => no_sample(*field, text, &names),
                // "Trip blank" is none under any heading.
                _ if is_open(track) && is_blank_or_spike(text, &names) => Some(QUALITY_CONTROL),
                _ => None,
            };
            let reason = reason.or_else(|| takes_back(&track.role, text));
            if let Some(reason) = reason {
                roles.insert(*line, LineRole::Unplaced(reason.into()));
                break;
            }
        }
    }
    roles
}
