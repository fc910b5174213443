//! Identity that stands once for several samples elsewhere than at a table's head: on a cover sheet of the
//! workbook, or between the lines of a table.

use super::facts;
use super::labelled::{NAMES, OF_ONE};
use super::title_days::{Speaks, TitleDay, day_in};
use super::titles::{is_page, say_day};
use crate::finding::Finding;
use crate::locate::{
    Layout, Look, Pair, Reader, are_pairs, pairs, says_nothing_found, states_identity,
};
use crate::map::heads::resolve::Context;
use crate::map::plan::{BlockPlan, Fact, LineRole, Plan, SheetPlan, Source};
use crate::place::{Address, Areas};
use crate::read::{CellView, Grid};
use crate::vocabulary::{Field, Meaning};
use std::collections::BTreeSet;
use std::sync::Arc;

/// A sheet without a table, as it was seen.
pub(in crate::map) struct Cover<'a, 'v> {
    /// Its place among the sheets.
    pub(in crate::map) index: usize,
    pub(in crate::map) grid: &'a Grid,
    pub(in crate::map) reader: &'a Reader<'v>,
    pub(in crate::map) pairs: &'a [Pair],
}

/// What the covers of a workbook say holds for the tables of its other sheets, where those say nothing
/// themselves and the covers do not say different things. Who a single sample is, no cover tells.
pub(in crate::map) fn from_covers(covers: &[Cover<'_, '_>], plan: &mut Plan) {
    let mut told: Vec<(Field, Arc<str>)> = Vec::new();
    for cover in covers {
        for pair in cover.pairs.iter().filter(|pair| !pair.analyte) {
            let meaning = &cover.reader.heading(&pair.label_text).meaning;
            let Some(field) = facts::field_of(meaning, &pair.label_text) else {
                continue;
            };
            if matches!(field, Field::SampleRef | Field::LabRef | Field::Source) {
                continue;
            }
            let text = facts::source(cover.grid, pair).text(cover.grid);
            told.push((field, text));
            let sheet = &mut plan.sheets[cover.index];
            sheet.identity.push(pair.value);
            sheet
                .titles
                .extend((pair.label != pair.value).then_some(pair.label));
        }
    }
    let agreed = |field: Field, text: &Arc<str>| told.iter().all(|(f, t)| *f != field || t == text);
    for (field, text) in told.iter().filter(|(field, text)| agreed(*field, text)) {
        let blocks = plan.sheets.iter_mut().flat_map(|sheet| &mut sheet.blocks);
        for block in blocks.filter(|block| !block.says(&[*field])) {
            block.facts.push(Fact {
                field: *field,
                from: Source::Text(text.clone()),
            });
        }
    }
}

/// Cuts tables at the texts that stand alone between their lines ("North Farm"): each names the site of the
/// lines below it, or samples of two sites with one name would become one. One such text alone is a remark.
pub(in crate::map) fn cut_at_sites(
    context: &Context<'_>,
    grid: &Grid,
    reader: &Reader<'_>,
    plan: &mut SheetPlan,
    findings: &mut Vec<Finding>,
) {
    let blocks = std::mem::take(&mut plan.blocks);
    for block in blocks {
        if block.layout != Layout::SamplesDown || block.unseen.is_some() {
            plan.blocks.push(block);
            continue;
        }
        let said = names_between(grid, reader, &block);
        plan.blocks.extend(if said.is_empty() {
            cut(context, grid, reader, block, findings)
        } else {
            cut_at_names(grid, block, &said)
        });
    }
}

/// Cuts a table at the lines that say anew whose or of when the lines below them are ("Sample: Bore 2", "Sampled |
/// 14/03/2021").
fn cut_at_names(grid: &Grid, mut block: BlockPlan, said: &[(u32, Fact)]) -> Vec<BlockPlan> {
    let rows: BTreeSet<u32> = said.iter().map(|(row, _)| *row).collect();
    for row in &rows {
        block.not_samples.insert(*row, LineRole::Heading);
    }
    // A run of them begins a part.
    let is_line = |row: &u32| !block.not_samples.contains_key(row) && !grid.row(*row).is_empty();
    let mut starts = vec![block.first_line];
    for row in &rows {
        let last = *starts.last().unwrap_or(row);
        if (last..*row).any(|line| is_line(&line)) {
            starts.push(*row);
        }
    }
    let ends: Vec<u32> = (starts.iter().skip(1).map(|row| row - 1))
        .chain([block.last_line])
        .collect();
    let not_samples = std::mem::take(&mut block.not_samples);
    let names = (block.facts.iter()).chain(said.iter().map(|(_, fact)| fact));
    let first_name = names.filter(|fact| is_name(fact)).filter_map(row_of).min();
    let mut parts: Vec<BlockPlan> = Vec::new();
    for (first, last) in starts.into_iter().zip(ends) {
        // What a part does not say anew holds on, but for what is of the sample before.
        let mut part = parts.last().unwrap_or(&block).clone();
        (part.first_line, part.last_line) = (first, last);
        part.not_samples = (not_samples.range(first..=last))
            .map(|(line, role)| (*line, role.clone()))
            .collect();
        let anew = || said.iter().filter(|(row, _)| (first..=last).contains(row));
        if anew().any(|(_, fact)| is_name(fact)) {
            part.facts.retain(|fact| !is_of_one(fact, first_name));
        }
        for (_, fact) in anew() {
            part.facts.retain(|known| known.field != fact.field);
            part.facts.push(fact.clone());
        }
        parts.push(part);
    }
    parts
}

fn is_name(fact: &Fact) -> bool {
    NAMES.contains(&fact.field)
}

/// Whether a fact stands behind a sample's name, and so is of that sample and of no other.
fn is_of_one(fact: &Fact, first_name: Option<u32>) -> bool {
    let is_behind = row_of(fact)
        .zip(first_name)
        .is_some_and(|(row, name)| row >= name);
    is_behind && OF_ONE.contains(&fact.field)
}

/// The row in which the sheet says it.
const fn row_of(fact: &Fact) -> Option<u32> {
    match fact.from {
        Source::Cell(at) | Source::Part(at, _) => Some(at.row),
        Source::Text(_) => None,
    }
}

/// Rows of one or two cells, or of labels each before what it says, among the lines of a table that say whose or of when water is, and what they say.
fn names_between(grid: &Grid, reader: &Reader<'_>, block: &BlockPlan) -> Vec<(u32, Fact)> {
    let mut rows = Grid::default();
    let lines = (grid.rows_from(block.first_line))
        .take_while(|(row, _)| *row <= block.last_line)
        .filter(|(_, cells)| {
            cells.len() <= 2 || are_pairs(reader, cells.iter().map(|(_, cell)| cell.view()))
        });
    for (row, cells) in lines {
        if states_identity(reader, cells.iter().map(|(_, cell)| cell.view())) {
            for (col, cell) in cells {
                rows.put(Address::new(row, *col), cell.clone());
            }
        }
    }
    let pairs: Vec<Pair> = pairs(&rows, reader, &Areas::default())
        .into_iter()
        .filter(|pair| !pair.analyte && pair.label.row == pair.value.row)
        .collect();
    // "Borehole | 12" or "Borehole | see note" is a sample of that name: two cells are a label and what it says
    // where the label ends as one, or several stand together.
    let is_label = |pair: &Pair| {
        let row = pair.label.row;
        let is_told = pair.part.is_some() || rows.view(pair.label).as_text().trim().ends_with(':');
        let is_beside = |other: &Pair| other.label.row.abs_diff(row) == 1;
        let is_in_row = |other: &Pair| other.label.row == row && other.label != pair.label;
        // No result is called "Sample".
        let names = reader.heading(&pair.label_text).meaning == Meaning::Field(Field::SampleRef);
        is_told
            || names
            || pairs
                .iter()
                .any(|other| is_beside(other) || is_in_row(other))
    };
    let is_result = |pair: &Pair| {
        let value = rows.view(pair.value);
        let is_one = reader.look(value) == Look::Number
            || says_nothing_found(&value.as_text().trim().to_lowercase());
        pair.part.is_none() && is_one
    };
    let said = pairs
        .iter()
        .filter(|pair| is_label(pair) && !is_result(pair));
    said.filter_map(|pair| {
        let meaning = &reader.heading(&pair.label_text).meaning;
        let field = facts::field_of(meaning, &pair.label_text)?;
        let from = facts::source(&rows, pair);
        Some((pair.label.row, Fact { field, from }))
    })
    .collect()
}

fn cut(
    context: &Context<'_>,
    grid: &Grid,
    reader: &Reader<'_>,
    mut block: BlockPlan,
    findings: &mut Vec<Finding>,
) -> Vec<BlockPlan> {
    // Over lines that only days tell apart it is the source.
    let is_course = !block.says(&[Field::SampleRef, Field::LabRef]);
    let field = if is_course {
        Field::Source
    } else {
        Field::Site
    };
    let head = block.headings.iter().map(|at| at.row).max();
    let first = head
        .map_or(block.first_line, |row| row + 1)
        .min(block.first_line);
    let alone = |line: u32| match grid.row(line) {
        [(col, cell)] => match cell.view() {
            CellView::Text(text)
                if !is_page(text) && !states_identity(reader, std::iter::once(cell.view())) =>
            {
                Some((Address::new(line, *col), text))
            }
            _ => None,
        },
        _ => None,
    };
    let is_sample = |line: u32| !block.not_samples.contains_key(&line) && grid.row(line).len() > 1;
    let is_heading = |line: u32| block.not_samples.get(&line) == Some(&LineRole::Heading);
    // The headings can come again under the text.
    let goes_on = |line: u32| {
        (line..)
            .find(|line| !is_heading(*line))
            .is_some_and(is_sample)
    };
    let mut sites: Vec<(Address, &str)> = (first..=block.last_line)
        .filter(|line| *line < block.first_line || is_heading(*line))
        .filter_map(alone)
        .filter(|(at, _)| at.row < block.last_line && goes_on(at.row + 1))
        .collect();
    let top = block.headings.iter().map(|at| at.row).min();
    let over_all = top.and_then(|row| alone(row.checked_sub(1)?));
    let are_days = |site: &(Address, &str)| {
        sites
            .iter()
            .chain([site])
            .all(|(_, text)| day_in(text).is_some())
    };
    if let (Some(site), Some((next, _))) = (over_all, sites.first())
        && next.row > block.first_line
        && (is_heading(next.row + 1) || are_days(&site))
    {
        sites.insert(0, site);
    }
    // All lines must lie under one of them, and the title of every page tells nothing apart.
    let differ = sites.iter().any(|(_, text)| *text != sites[0].1);
    if !differ || sites[0].0.row > block.first_line {
        return vec![block];
    }
    let is_undated = !block.says_within(&[Field::SampledOn]);
    let is_bare = |day: &TitleDay<'_>| day.speaks == Speaks::Barely;
    let are_bare = (sites.iter()).all(|(_, text)| day_in(text).as_ref().is_some_and(is_bare));
    let day_of = |text| {
        day_in(text).filter(|day| {
            is_undated && day.speaks != Speaks::OfAnother && (are_bare || !is_bare(day))
        })
    };
    let is_named = block.says(&[Field::Source]) || !is_course && block.says(&[Field::Site]);
    if is_named && !sites.iter().any(|(_, text)| day_of(text).is_some()) {
        return vec![block];
    }
    let ends = sites[1..]
        .iter()
        .map(|(at, _)| at.row - 1)
        .chain([block.last_line]);
    // Each part has its own of these, and no part a copy of all.
    let not_samples = std::mem::take(&mut block.not_samples);
    sites
        .iter()
        .zip(ends)
        .map(|((site, text), last)| {
            let mut part = block.clone();
            part.first_line = if top.is_some_and(|top| site.row < top) {
                block.first_line
            } else {
                site.row
            };
            part.last_line = last;
            part.not_samples = (not_samples.range(part.first_line..=last))
                .map(|(line, role)| (*line, role.clone()))
                .chain([(site.row, LineRole::Heading)])
                .collect();
            match day_of(text) {
                Some(day) => {
                    let field = (!is_named).then_some(field);
                    say_day(context, &mut part, *site, &day, field, findings);
                }
                None if is_named => {}
                None => part.facts.push(Fact {
                    field,
                    from: Source::Cell(*site),
                }),
            }
            part
        })
        .collect()
}
