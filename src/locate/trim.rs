//! Where a table that runs across begins and ends along its label column.

use super::look::{Look, Reader};
use super::names::NameLine;
use super::pairs::states_identity;
use super::strip::Table;
use crate::place::Address;
use crate::read::{CellView, Grid};
use crate::vocabulary::Field;
use std::ops::Range;

/// A label column goes on over titles, a preamble and footers. What has no cell beside a sample is none of
/// the table; with a single sample the values of a preamble stand there too, so then the table begins
/// and ends with an analyte.
pub(super) fn trimmed(
    grid: &Grid,
    reader: &Reader<'_>,
    names: &NameLine,
    mut table: Table,
) -> Table {
    let lines: Vec<u32> = grid
        .rows_from(table.first_line)
        .map(|(line, _)| line)
        .take_while(|line| *line <= table.last_line)
        .filter(|line| !table.heading_lines.contains(line))
        .collect();
    let named = |track: u32| names.names.binary_search(&track).is_ok();
    // "Sampled: 13/05/2026" far right in a letterhead is of no sample's column.
    let held = |track: u32| {
        let mut cells = (lines.iter()).filter_map(|line| grid.get(Address::new(*line, track)));
        let first = cells.next();
        let is_alone = lines.len() > 1 && cells.next().is_none();
        first
            .is_some_and(|cell| !is_alone || !states_identity(reader, std::iter::once(cell.view())))
    };
    // "(mg/L)" below the last label belongs to it.
    let look = |track: u32| reader.look(grid.view(Address::new(names.line, track)));
    let is_unit = |track: u32| named(track - 1) && look(track) == Look::Unit;
    let keep = |track: u32| named(track) || (lines.len() > 1 && held(track));
    let first_name = names.names.first().copied().unwrap_or(table.left);
    if let Some(last) = letterhead(grid, reader, names.line, &lines, table.left..first_name) {
        table.left = (last + 1).min(first_name);
    }
    let any_line = |track: u32, is: fn(CellView<'_>) -> bool| {
        (lines.iter()).any(|line| is(grid.view(Address::new(*line, track))))
    };
    // The row directly over the first label heads the table unless it is itself a label with its value.
    let heads_first = |track: u32| {
        named(track + 1)
            && any_line(track, |cell| matches!(cell, CellView::Text(_)))
            && !matches!(look(track), Look::Field(field) if field != Field::Label)
    };
    // "Parameter | Unit | Bore 1" heads the lines of a single sample too, where labels stand down to the first name.
    let heads_labels = |track: u32| {
        let has_label = |track: u32| grid.get(Address::new(names.line, track)).is_some();
        look(track) == Look::Field(Field::Label)
            && (track..first_name).all(has_label)
            && any_line(track, |cell| !cell.is_empty())
    };
    let heads = |track: u32| heads_first(track) || heads_labels(track);
    while table.left < table.right && !keep(table.left) && !heads(table.left) {
        table.left += 1;
    }
    while table.right > table.left && !keep(table.right) && !is_unit(table.right) {
        table.right -= 1;
    }
    table
}

/// The last row of a letterhead among those over the first analyte, whatever columns its values stand in: "Client: |
/// Thistle | | Report no.: | 17", "Client | Date received" over what they say. It ends before what several samples have.
fn letterhead(
    grid: &Grid,
    reader: &Reader<'_>,
    label_line: u32,
    lines: &[u32],
    rows: Range<u32>,
) -> Option<u32> {
    let mut last = None;
    for row in rows {
        if last.is_some_and(|last| row <= last) {
            continue;
        }
        let held: Vec<CellView<'_>> = (lines.iter())
            .map(|line| grid.view(Address::new(*line, row)))
            .filter(|cell| !cell.is_empty())
            .collect();
        let label = reader.look(grid.view(Address::new(label_line, row)));
        if held
            .iter()
            .any(|cell| cell.as_text().trim_end().ends_with(':'))
        {
            last = Some(row);
        } else if !held.is_empty()
            && held
                .iter()
                .all(|cell| is_of_letterheads(reader.look(*cell)))
        {
            last = Some(row + 1);
        } else if lines.len() > 1 && held.len() == 1 && is_of_reports(label) {
            last = Some(row);
        } else if held.len() > 1 {
            break;
        }
    }
    last
}

/// What is said once of a whole report.
const fn is_of_reports(look: Look) -> bool {
    matches!(
        look,
        Look::Field(
            Field::Client | Field::Lab | Field::ReportRef | Field::ReceivedOn | Field::ReportedOn
        )
    )
}

fn is_of_letterheads(look: Look) -> bool {
    is_of_reports(look) || matches!(look, Look::Field(Field::LabRef | Field::SampledOn))
}
