//! Cross-tables: one analyte over places and days, each result a sample of its own.

use super::controls::Names;
use super::head::Head;
use super::lines::{LIMIT, Said, said};
use super::plan::{BlockPlan, Fact, FormCell, LineRole, Source, TrackRole};
use super::resolve::{Beside, Context, resolve};
use super::rules::RuleMeaning;
use super::tracks::rule_for;
use crate::finding::Finding;
use crate::locate::{CrossTable, Layout, Reader};
use crate::place::Address;
use crate::read::Grid;
use crate::vocabulary::Field;
use std::collections::BTreeMap;
use std::sync::Arc;

/// The block of a cross-table.
pub(super) fn plan(
    grid: &Grid,
    reader: &Reader<'_>,
    context: &Context<'_>,
    cross: &CrossTable,
    findings: &mut Vec<Finding>,
) -> BlockPlan {
    let label: Arc<str> = grid.view(cross.analyte).as_text().trim().into();
    let head = Head::of(&reader.heading(&label), cross.analyte, &label);
    let rule = rule_for(context.rules, &context.sheet, &head, cross.analyte.col);
    let role = match rule.and_then(|r| r.meaning.as_ref()) {
        Some(RuleMeaning::SetAside(reason)) => TrackRole::SetAside(reason.clone()),
        _ => {
            let beside = Beside {
                rule,
                ..Beside::default()
            };
            match resolve(context, &head, beside, findings) {
                Ok(track) => TrackRole::Analyte(Box::new(track)),
                Err(reason) => TrackRole::Unplaced(reason),
            }
        }
    };
    let mut block = BlockPlan::of_values(Layout::CrossTable);
    block.headings.push(cross.analyte);
    let corner = Address::new(cross.heads, cross.labels);
    if corner != cross.analyte && !grid.view(corner).is_empty() {
        block.headings.push(corner);
    }
    let no_places = no_places(grid, reader, cross);
    let area = cross.results;
    let rows = grid.rows_from(area.top);
    for (row, _) in rows.take_while(|(row, _)| *row <= area.bottom) {
        for (col, _) in grid.stretch(row, area.left, area.right) {
            let value = Address::new(row, *col);
            let (place, day) = cross.sides(value);
            let fact = |field: Field, at: Address| Fact {
                field,
                from: Source::Cell(at),
            };
            block.form.push(FormCell {
                value,
                part: None,
                role: no_places.get(&place).unwrap_or(&role).clone(),
                companions: Vec::new(),
                own: vec![fact(cross.place, place), fact(Field::SampledOn, day)],
            });
        }
    }
    block
}

/// Names beside the results that are no places: statistics, controls, limits. What their cells become.
fn no_places(grid: &Grid, reader: &Reader<'_>, cross: &CrossTable) -> BTreeMap<Address, TrackRole> {
    let area = cross.results;
    let places: Vec<Address> = if cross.days_across {
        (area.top..=area.bottom)
            .map(|row| Address::new(row, cross.labels))
            .collect()
    } else {
        (area.left..=area.right)
            .map(|col| Address::new(cross.heads, col))
            .collect()
    };
    let text = |at: &Address| grid.view(*at).as_text().trim().to_owned();
    let names: Names = (places.iter()).map(|at| text(at).into()).collect();
    let role = |at: Address| {
        let role = match said(reader, !cross.days_across, &text(&at), &names)? {
            Said::Limit(_) => TrackRole::Unplaced(LIMIT.into()),
            Said::Role(LineRole::SetAside(reason)) => TrackRole::SetAside(reason),
            Said::Role(LineRole::Unplaced(reason)) => TrackRole::Unplaced(reason),
            Said::Role(LineRole::Heading | LineRole::Companion { .. }) => {
                TrackRole::Unplaced("not-a-place".into())
            }
        };
        Some((at, role))
    };
    places.into_iter().filter_map(role).collect()
}
