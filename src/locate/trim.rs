//! Where a table that runs across begins and ends along its label column.

use super::look::{Look, Reader};
use super::names::NameLine;
use super::pairs::{is_label, states_identity};
use super::strip::Table;
use crate::place::Address;
use crate::read::{CellView, Grid};
use crate::vocabulary::Field;

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
    // The row directly over the first label heads the table unless it is itself a label with its value.
    let heads = |track: u32| {
        named(track + 1)
            && lines
                .iter()
                .any(|line| matches!(grid.view(Address::new(*line, track)), CellView::Text(_)))
            && !matches!(look(track), Look::Field(field) if field != Field::Label)
    };
    // "Client: | Thistle | | Report no.: | 17" is a letterhead, whatever column its second value stands in.
    let labels = |track: u32| {
        (lines
            .iter()
            .map(|line| grid.view(Address::new(*line, track))))
        .any(|cell| is_label(reader, &cell.as_text()))
    };
    let first_name = names.names.first().copied().unwrap_or(table.left);
    if let Some(last) = (table.left..first_name).rev().find(|track| labels(*track)) {
        table.left = last + 1;
    }
    while table.left < table.right && !keep(table.left) && !heads(table.left) {
        table.left += 1;
    }
    while table.right > table.left && !keep(table.right) && !is_unit(table.right) {
        table.right -= 1;
    }
    table
}
