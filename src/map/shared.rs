//! Identity that stands once for several samples elsewhere than at a table's head: on a cover sheet of the
//! workbook, or between the lines of a table.

use super::facts;
use super::plan::{BlockPlan, Fact, LineRole, Plan, SheetPlan, Source};
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
pub(super) fn cut_at_sites(grid: &Grid, plan: &mut SheetPlan) {
    let blocks = std::mem::take(&mut plan.blocks);
    plan.blocks = blocks
        .into_iter()
        .flat_map(|block| cut(grid, block))
        .collect();
}

fn cut(grid: &Grid, mut block: BlockPlan) -> Vec<BlockPlan> {
    let is_whole = block.layout == Layout::SamplesDown && block.unseen.is_none();
    // Over lines that only days tell apart it is the source.
    let is_course = !block.says(&[Field::SampleRef, Field::LabRef]);
    let field = if is_course {
        Field::Source
    } else {
        Field::Site
    };
    if !is_whole || block.says(&[Field::Source]) || !is_course && block.says(&[Field::Site]) {
        return vec![block];
    }
    let head = block.headings.iter().map(|at| at.row).max();
    let first = head
        .map_or(block.first_line, |row| row + 1)
        .min(block.first_line);
    let alone = |line: u32| match grid.row(line) {
        [(col, cell)] if matches!(cell.view(), CellView::Text(_)) => Some(Address::new(line, *col)),
        _ => None,
    };
    let is_sample = |line: u32| !block.not_samples.contains_key(&line) && grid.row(line).len() > 1;
    let is_heading = |line: u32| block.not_samples.get(&line) == Some(&LineRole::Heading);
    // The headings can come again under the text.
    let goes_on = |line: u32| is_sample(line) || is_heading(line) && is_sample(line + 1);
    let mut sites: Vec<Address> = (first..=block.last_line)
        .filter(|line| *line < block.first_line || is_heading(*line))
        .filter_map(alone)
        .filter(|at| at.row < block.last_line && goes_on(at.row + 1))
        .collect();
    let top = block.headings.iter().map(|at| at.row).min();
    let over_all = top.and_then(|row| alone(row.checked_sub(1)?));
    if let (Some(at), Some(next)) = (over_all, sites.first())
        && next.row > block.first_line
        && is_heading(next.row + 1)
    {
        sites.insert(0, at);
    }
    // All lines must lie under one of them.
    if sites.len() < 2 || sites[0].row > block.first_line {
        return vec![block];
    }
    let ends = sites[1..]
        .iter()
        .map(|at| at.row - 1)
        .chain([block.last_line]);
    // Each part has its own of these, and no part a copy of all.
    let not_samples = std::mem::take(&mut block.not_samples);
    sites
        .iter()
        .zip(ends)
        .map(|(site, last)| {
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
            part.facts.push(Fact {
                field,
                from: Source::Cell(*site),
            });
            part
        })
        .collect()
}
