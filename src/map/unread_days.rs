//! Columns of days under a heading that is none of our words. They are not taken as days of sampling: they may be
//! those of the analysis. Samples of different days are not one sample all the same.

use super::findings::finding;
use super::lines::HEADING_UNKNOWN;
use super::plan::{BlockPlan, Plan, TrackRole};
use crate::finding::Finding;
use crate::locate::Layout;
use crate::place::{Address, Place};
use crate::read::{CellView, Grid, Report};
use crate::reading::{DateFault, DateOrder, read_date};
use crate::vocabulary::Field;
use std::sync::Arc;

/// The finding.
pub(super) const DAYS_OF_WHAT: &str = "days-of-what";

/// Parts of the day of sampling, each of which says more than a day of something else.
const WHEN: &[Field] = &[
    Field::SampledOn,
    Field::SampledYear,
    Field::SampledMonth,
    Field::SampledDay,
];

/// A column of days.
struct Days {
    /// Index into the tracks.
    track: usize,
    heading: (Address, Arc<str>),
    cells: u64,
}

/// Tells of such columns in tables that say nothing else of when their samples were taken. A single one tells
/// samples apart.
pub(super) fn tell_unread_days(plan: &mut Plan, report: &Report, findings: &mut Vec<Finding>) {
    let order = plan.locale.dates;
    for (sheet, of) in plan.sheets.iter_mut().zip(&report.sheets) {
        let undated =
            (sheet.blocks.iter_mut()).filter(|block| has_results(block) && !block.says(WHEN));
        for block in undated {
            let columns = columns_of_days(block, &of.grid, order);
            if let [only] = columns.as_slice() {
                block.tracks[only.track].role = TrackRole::Field(Field::Occasion);
            }
            let taken = match columns.len() {
                1 => "they tell samples apart, and are not taken as days of sampling",
                _ => "not read",
            };
            findings.extend(columns.iter().map(|column| {
                let (at, heading) = &column.heading;
                finding(
                    DAYS_OF_WHAT,
                    Place::cell(&report.file, &of.name, *at),
                    format!("'{heading}' holds days, but nothing says of what: {taken}"),
                    format!("if the samples were taken then, say so in a mapping: [labels] \"{heading}\" = {{ means = \"sampled_on\" }}"),
                )
                .for_cells(column.cells)
            }));
        }
    }
}

fn has_results(block: &BlockPlan) -> bool {
    let has_values = block.layout != Layout::ResultsDown || block.says_within(&[Field::Value]);
    has_values && block.places_anything()
}

fn columns_of_days(block: &BlockPlan, grid: &Grid, order: DateOrder) -> Vec<Days> {
    let unknown = (block.tracks.iter().enumerate()).filter(
        |(_, track)| matches!(&track.role, TrackRole::Unplaced(why) if **why == *HEADING_UNKNOWN),
    );
    unknown
        .filter_map(|(index, track)| {
            let of_track = |at: &&Address| if block.across { at.row } else { at.col } == track.at;
            let heading =
                block
                    .headings
                    .iter()
                    .filter(of_track)
                    .find_map(|at| match grid.view(*at) {
                        CellView::Text(text) => Some((*at, Arc::from(text.trim()))),
                        _ => None,
                    })?;
            let cells = cells(block, grid, track.at);
            let are_days = cells.len() > 1 && cells.iter().all(|cell| is_day(*cell, order));
            are_days.then_some(Days {
                track: index,
                heading,
                cells: cells.len() as u64,
            })
        })
        .collect()
}

/// What stands in a track, in the lines that are samples or results.
fn cells<'g>(block: &BlockPlan, grid: &'g Grid, track: u32) -> Vec<CellView<'g>> {
    let is_line = |line: &u32| {
        (block.first_line..=block.last_line).contains(line) && !block.not_samples.contains_key(line)
    };
    let views: Vec<CellView<'g>> = if block.across {
        (grid.row(track).iter())
            .filter(|(col, _)| is_line(col))
            .map(|(_, cell)| cell.view())
            .collect()
    } else {
        (grid.rows_from(block.first_line))
            .take_while(|(row, _)| *row <= block.last_line)
            .filter(|(row, _)| is_line(row))
            .map(|(row, _)| grid.view(Address::new(row, track)))
            .collect()
    };
    views.into_iter().filter(|cell| !cell.is_empty()).collect()
}

fn is_day(cell: CellView<'_>, order: DateOrder) -> bool {
    match cell {
        CellView::Date(..) => true,
        CellView::Text(text) => {
            matches!(
                read_date(text, order),
                Ok(_) | Err(DateFault::Ambiguous { .. })
            )
        }
        _ => false,
    }
}
