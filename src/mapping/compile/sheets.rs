//! `[[sheet]]`: which sheets are read, where their tables are, what is set aside.

use super::super::label::wording;
use super::super::raw::{RawSheet, Text};
use super::words::Words;
use crate::locate::{Hints, Layout};
use crate::map::SheetRule;
use crate::place::{Address, Area};
use std::collections::BTreeMap;
use std::sync::Arc;

pub(super) fn sheets(raw: &[RawSheet], words: &mut Words<'_, '_>) -> Vec<SheetRule> {
    raw.iter().map(|raw| sheet(raw, words)).collect()
}

fn sheet(raw: &RawSheet, words: &mut Words<'_, '_>) -> SheetRule {
    if let Some(reason) = &raw.set_aside
        && reason.get_ref().trim().is_empty()
    {
        words
            .problems
            .push(reason.span(), "a reason is needed here");
    }
    let name = raw
        .name
        .as_ref()
        .and_then(|text| wording(text, words.problems));
    SheetRule {
        name,
        set_aside: raw.set_aside.as_ref().map(reason),
        hints: hints(raw, words),
        lines_set_aside: in_order(&raw.lines_set_aside)
            .into_iter()
            .filter_map(|(key, why)| Some((wording(key, words.problems)?, reason(why))))
            .collect(),
        areas_set_aside: in_order(&raw.areas_set_aside)
            .into_iter()
            .filter_map(|(key, why)| Some((area(key, words)?, reason(why))))
            .collect(),
    }
}

/// In the order of the file: the first that fits counts.
fn in_order(raw: &BTreeMap<Text, Text>) -> Vec<(&Text, &Text)> {
    let mut entries: Vec<_> = raw.iter().collect();
    entries.sort_by_key(|(key, _)| key.span().start);
    entries
}

fn reason(text: &Text) -> Arc<str> {
    Arc::from(text.get_ref().trim())
}

fn hints(raw: &RawSheet, words: &mut Words<'_, '_>) -> Hints {
    let layouts = Layout::ALL.map(|layout| (layout.name(), layout));
    let layout = words.one_of_option(raw.layout.as_ref(), "layout", &layouts);
    let across = layout == Some(Layout::SamplesAcross);
    if let (Some(first), true) = (raw.heading_rows.first(), across) {
        words
            .problems
            .push(first.span(), "a samples-across table has heading columns")
            .help("heading_columns = [\"A\"]");
    }
    if let (Some(first), false) = (raw.heading_columns.first(), across) {
        words
            .problems
            .push(
                first.span(),
                "only a samples-across table has heading columns",
            )
            .help("layout = \"samples-across\", or heading_rows = [1]");
    }
    let rows = raw.heading_rows.iter().filter_map(|number| {
        let row = words.count(Some(number))?;
        Some(row - 1)
    });
    let mut lines: Vec<u32> = rows.collect();
    for text in &raw.heading_columns {
        match Address::parse(&format!("{}1", text.get_ref())) {
            Some(at) => lines.push(at.col),
            None => {
                words
                    .problems
                    .push(text.span(), format!("'{}' is no column", text.get_ref()))
                    .help("a column is written in capitals: A, B, … AA");
            }
        }
    }
    if let (Some(count), false) = (&raw.heading_count, lines.is_empty()) {
        words
            .problems
            .push(count.span(), "the headings are given already")
            .help("keep heading_count or the list of headings");
    }
    Hints {
        layout,
        area: raw.area.as_ref().and_then(|text| area(text, words)),
        heading_lines: (!lines.is_empty()).then_some(lines),
        heading_count: words.count(raw.heading_count.as_ref()),
        anchor: raw
            .anchor
            .as_ref()
            .and_then(|text| wording(text, words.problems)),
        header_fill: raw.header_fill.as_ref().is_some_and(|s| *s.get_ref()),
    }
}

/// `A4:K60`, or one cell; `None` after a problem.
fn area(text: &Text, words: &mut Words<'_, '_>) -> Option<Area> {
    let (from, to) = text
        .get_ref()
        .split_once(':')
        .unwrap_or((text.get_ref(), text.get_ref()));
    let corners = Address::parse(from.trim()).zip(Address::parse(to.trim()));
    let found = corners
        .filter(|(a, b)| a.row <= b.row && a.col <= b.col)
        .map(|(a, b)| Area {
            top: a.row,
            left: a.col,
            bottom: b.row,
            right: b.col,
        });
    if found.is_none() {
        words
            .problems
            .push(text.span(), format!("'{}' is no area", text.get_ref()))
            .help("first cell, colon, last cell: A4:K60");
    }
    found
}
