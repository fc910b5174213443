//! One column of labels under the names of several samples: "Sample: Bore 1" above its results and "Sample: Pond"
//! above its own. Read as one table, the second water would be the first one's.

use super::look::{Look, Reader};
use super::names::NameLine;
use super::pairs::name_said;
use super::strip::Table;
use crate::place::Address;
use crate::read::{CellView, Grid};
use crate::vocabulary::{Field, Meaning};

/// How far above the first label its sample's name can stand.
const FARTHEST_NAME: u32 = 12;

/// The tables of the single samples of an `across` table that has one column of values; else the table itself. `grid`
/// is turned: its lines are columns.
pub(super) fn parts(
    grid: &Grid,
    reader: &Reader<'_>,
    names: &NameLine,
    table: Table,
) -> Vec<(NameLine, Table)> {
    let within = names.names_of((table.left, table.right));
    let (Some(first), Some(last)) = (within.first(), within.last()) else {
        return Vec::new();
    };
    let top = table.area().top;
    // Units can stand behind the values.
    let holds_numbers = |line: &u32| {
        let cells = grid.stretch(*line, *first, *last);
        (cells.iter()).any(|(_, cell)| reader.look(cell.view()) == Look::Number)
    };
    let of_values = (table.first_line..=table.last_line)
        .filter(|line| !table.heading_lines.contains(line) && holds_numbers(line));
    // The rows that name a sample.
    let mut said: Vec<(u32, Field, String)> = Vec::new();
    if of_values.count() == 1 {
        for track in table.left.saturating_sub(FARTHEST_NAME)..=*last {
            if within.binary_search(&track).is_err() {
                let cells: Vec<CellView<'_>> = (top..=table.last_line)
                    .filter_map(|line| grid.get(Address::new(line, track)))
                    .map(crate::read::Cell::view)
                    .collect();
                let name = name_said(reader, &cells);
                said.extend(name.map(|(field, name)| (track, field, name)));
            }
        }
    }
    let has_names = |from: u32, to: u32| !names.names_of((from, to)).is_empty();
    let label = |track: &u32| grid.view(Address::new(names.line, *track)).as_text();
    // A name after results is another sample's, where it differs from the one before or the labels come again.
    let mut cuts: Vec<u32> = Vec::new();
    for (i, (track, field, name)) in said.iter().enumerate() {
        let from = cuts.last().copied().unwrap_or(table.left);
        if !has_names(from, *track) || !has_names(*track, table.right) {
            continue;
        }
        let before = said[..i].iter().rev().find(|(_, other, _)| other == field);
        let is_other = before.is_some_and(|(.., before)| before != name);
        let meant = |track: &u32| reader.heading(&label(track)).meaning.clone();
        let above: Vec<Meaning> = names.names_of((from, *track)).iter().map(meant).collect();
        let comes_again = |below: &u32| above.contains(&meant(below));
        let is_again = before.is_none()
            && names
                .names_of((*track, table.right))
                .iter()
                .any(comes_again);
        if is_other || i > 0 && is_again {
            cuts.push(*track);
        }
    }
    if cuts.is_empty() {
        return vec![(names.clone(), table)];
    }
    let starts = [table.left].into_iter().chain(cuts.iter().copied());
    let ends = cuts.iter().map(|cut| cut - 1).chain([table.right]);
    (starts.zip(ends))
        .map(|(left, right)| {
            let of_part = names.names_of((left, right)).to_vec();
            let mass = of_part.len();
            let names = NameLine {
                line: names.line,
                upper: names.upper,
                names: of_part,
                fields: Vec::new(),
            };
            (
                names,
                Table {
                    left,
                    right,
                    mass,
                    ..table.clone()
                },
            )
        })
        .filter(|(names, _)| !names.names.is_empty())
        .collect()
}
