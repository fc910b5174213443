//! Identity that stands once for several samples elsewhere than at a table's head: on a cover sheet of the
//! workbook, or between the lines of a table.

use super::facts;
use super::plan::{BlockPlan, Fact, LineRole, Plan, SheetPlan, Source};
use super::resolve::Context;
use super::title_days::{Speaks, TitleDay, day_in};
use super::titles::{is_page, say_day};
use crate::finding::Finding;
use crate::locate::{Layout, Pair, Reader};
use crate::place::Address;
use crate::read::{CellView, Grid};
use crate::vocabulary::Field;
use std::sync::Arc;

/// A sheet without a table, as it was seen.
pub(super) struct Cover<'a, 'v> {
    /// Its place among the sheets.
    pub(super) index: usize,
    pub(super) grid: &'a Grid,
    pub(super) reader: &'a Reader<'v>,
    pub(super) pairs: &'a [Pair],
}

/// What the covers of a workbook say holds for the tables of its other sheets, where those say nothing
/// themselves and the covers do not say different things. Who a single sample is, no cover tells.
pub(super) fn from_covers(covers: &[Cover<'_, '_>], plan: &mut Plan) {
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
pub(super) fn cut_at_sites(
    context: &Context<'_>,
    grid: &Grid,
    plan: &mut SheetPlan,
    findings: &mut Vec<Finding>,
) {
    let blocks = std::mem::take(&mut plan.blocks);
    plan.blocks = blocks
        .into_iter()
        .flat_map(|block| cut(context, grid, block, findings))
        .collect();
}

fn cut(
    context: &Context<'_>,
    grid: &Grid,
    mut block: BlockPlan,
    findings: &mut Vec<Finding>,
) -> Vec<BlockPlan> {
    let is_whole = block.layout == Layout::SamplesDown && block.unseen.is_none();
    // Over lines that only days tell apart it is the source.
    let is_course = !block.says(&[Field::SampleRef, Field::LabRef]);
    let field = if is_course {
        Field::Source
    } else {
        Field::Site
    };
    if !is_whole {
        return vec![block];
    }
    let head = block.headings.iter().map(|at| at.row).max();
    let first = head
        .map_or(block.first_line, |row| row + 1)
        .min(block.first_line);
    let alone = |line: u32| match grid.row(line) {
        [(col, cell)] => match cell.view() {
            CellView::Text(text) if !is_page(text) => Some((Address::new(line, *col), text)),
            _ => None,
        },
        _ => None,
    };
    let is_sample = |line: u32| !block.not_samples.contains_key(&line) && grid.row(line).len() > 1;
    let is_heading = |line: u32| block.not_samples.get(&line) == Some(&LineRole::Heading);
    // The headings can come again under the text.
    let goes_on = |line: u32| is_sample(line) || is_heading(line) && is_sample(line + 1);
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
