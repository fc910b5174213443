//! `results-down`: the columns of label, value, unit and identity. What a row says of itself is left to
//! `normalize`.

use super::controls::{is_control, is_statistic};
use super::head::head;
use super::lines::{QUALITY_CONTROL, STATISTIC};
use super::plan::{BlockPlan, LineRole, Track, TrackRole, Unseen};
use super::resolve::Context;
use super::rules::RuleMeaning;
use super::rules::SheetRule;
use super::sight::Sight;
use super::tracks::rule_for;
use super::unseen::may_name_control;
use crate::locate::{Layout, Look};
use crate::read::CellView;
use crate::vocabulary::{Field, Meaning};
use std::collections::{BTreeMap, BTreeSet};

pub(super) fn plan(
    sight: &Sight<'_, '_>,
    context: &Context<'_>,
    rule: Option<&SheetRule>,
) -> BlockPlan {
    let lines = sight.lines();
    let columns: BTreeSet<u32> = sight
        .heading_lines
        .iter()
        .chain(lines.iter().take(200))
        .flat_map(|line| sight.cells(*line).map(|(t, _)| t))
        .collect();
    let mut seen: BTreeSet<Field> = BTreeSet::new();
    let mut tracks = Vec::new();
    for at in columns {
        let head = head(sight, at);
        let role = match rule_for(context.rules, &context.sheet, &head, at)
            .and_then(|r| r.meaning.as_ref())
        {
            Some(RuleMeaning::Field(field)) => TrackRole::Field(*field),
            Some(RuleMeaning::SetAside(reason)) => TrackRole::SetAside(reason.clone()),
            Some(RuleMeaning::Analyte(_)) | None => match head.meaning {
                Meaning::Field(Field::Guideline) => TrackRole::SetAside("guideline".into()),
                // A second column of one kind ("Result" of another method) would overwrite the first.
                Meaning::Field(field)
                    if matches!(field, Field::Other | Field::Remark) || seen.insert(field) =>
                {
                    TrackRole::Field(field)
                }
                Meaning::Field(_) => TrackRole::Field(Field::Other),
                _ if head.label.is_none() => TrackRole::Unplaced("no-heading".into()),
                _ => TrackRole::Unplaced("heading-unknown".into()),
            },
        };
        tracks.push(Track { at, role });
    }
    let not_samples = other_lines(sight, &tracks, &lines, rule);
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
        facts: Vec::new(),
        form: Vec::new(),
        unseen: Some(Unseen {
            set_aside: rule.map_or_else(Vec::new, |r| r.lines_set_aside.clone()),
            ..Unseen::default()
        }),
    }
}

/// Group headings between the results, headings repeated on each page, controls of the laboratory.
fn other_lines(
    sight: &Sight<'_, '_>,
    tracks: &[Track],
    lines: &[u32],
    rule: Option<&SheetRule>,
) -> BTreeMap<u32, LineRole> {
    let names = BTreeSet::new();
    let of = |field: Field| {
        tracks
            .iter()
            .find(|t| matches!(&t.role, TrackRole::Field(f) if *f == field))
            .map(|t| t.at)
    };
    let (label, value) = (of(Field::Label), of(Field::Value));
    let mut roles = BTreeMap::new();
    for line in lines {
        if let Some((_, reason)) = rule.and_then(|r| {
            r.lines_set_aside
                .iter()
                .find(|(wording, _)| sight.cells(*line).any(|(_, c)| wording.fits(&c.as_text())))
        }) {
            roles.insert(*line, LineRole::SetAside(reason.clone()));
            continue;
        }
        let cells = sight.cells(*line).count();
        let repeats = label.is_some_and(|c| sight.look(*line, c) == Look::Field(Field::Label));
        let has_value = value.is_some_and(|c| !sight.cell(*line, c).is_empty());
        if repeats || (cells == 1 && !has_value) {
            roles.insert(*line, LineRole::Heading);
            continue;
        }
        let names_of_line = tracks
            .iter()
            .filter(|t| matches!(&t.role, TrackRole::Field(f) if may_name_control(*f)));
        for track in names_of_line {
            let CellView::Text(text) = sight.cell(*line, track.at) else {
                continue;
            };
            let reason = if is_statistic(text) {
                STATISTIC
            } else if is_control(text, &names) {
                QUALITY_CONTROL
            } else {
                continue;
            };
            roles.insert(*line, LineRole::Unplaced(reason.into()));
            break;
        }
    }
    roles
}
