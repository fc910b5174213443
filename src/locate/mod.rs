//! Stage 2, locate: where the tables of a sheet are, which way each runs, and what heads it.
//!
//! Knows the layouts and what an analyte label looks like. Decides nothing about values.

mod block;
mod cross;
mod heads;
mod hints;
mod long;
mod look;
mod names;
mod pairs;
mod parts;
mod placed;
mod records;
mod strip;
mod trim;
mod words;

pub use block::{Block, Layout, ResultColumns};
pub use cross::{CrossTable, Named, Of, are_places, caption, is_period};
pub use hints::{Hints, Wording};
pub use look::{Look, Reader, is_number_like};
pub use pairs::{FARTHEST_VALUE, Pair, are_pairs, bare_label, pairs, states_identity};
pub use records::is_day;
pub use strip::unit_after_number;
pub use words::says_nothing_found;

use crate::place::{Area, Areas};
use crate::read::{CellView, Grid};
use crate::vocabulary::{HeadingContext, Meaning, Vocabulary};
use cross::{cross_tables, each_under_days};
use names::{NameLine, name_lines};
use std::collections::BTreeSet;
use strip::{Table, tables_under, told_table};

/// The tables of the sheet `name`, top to bottom, left to right; none where nothing looks like one. Areas of
/// tables never overlap; a form's area may hold tables between its pairs.
///
/// They are found with a reader, which is given too, that knows what the sheet's headings together say of
/// each of them: the languages, whether symbols stand in capitals. The headings are those of the tables
/// that are found without that knowledge; where none are, the short texts at the head of the sheet.
pub fn locate<'v>(
    grid: &Grid,
    name: &str,
    vocabulary: &'v Vocabulary,
    hints: &Hints,
) -> (Reader<'v>, Vec<Block>) {
    let plain = Reader::new(vocabulary, HeadingContext::default());
    let long = grid.extent().filter(|extent| extent.bottom > LAST_ROW);
    let bottom = LAST_ROW;
    let cut = long.map(|extent| within(grid, Area { bottom, ..extent }));
    let head = cut.as_ref().unwrap_or(grid);
    let blocks = locate_with(head, name, &plain, hints);
    let heads: Areas = blocks.iter().flat_map(heads).collect();
    let mut texts: BTreeSet<&str> = BTreeSet::new();
    for (at, cell) in head.cells() {
        if blocks.is_empty() && at.row > LAST_HEAD {
            break;
        }
        if (blocks.is_empty() || heads.contain(at))
            && let CellView::Text(text) = cell.view()
            && text.len() <= LONGEST_HEAD
            && !is_number_like(text.trim())
        {
            texts.insert(text.trim());
        }
    }
    let context = vocabulary.heading_context(texts.into_iter().take(MOST_HEADS));
    let reader = Reader::new(vocabulary, context);
    let placed = placed::placed_heads(head, &reader);
    let reader = if placed.is_empty() {
        reader
    } else {
        reader.with_places(placed)
    };
    let blocks = if cut.is_none() && reader.agrees(&plain) {
        blocks
    } else {
        locate_with(grid, name, &reader, hints)
    };
    (reader, blocks)
}

/// Where the headings of a block stand; of a list of results or a form they stand anywhere in it.
fn heads(block: &Block) -> Vec<Area> {
    let area = block.area;
    let lines = block.heading_lines.iter().copied();
    match block.layout {
        Layout::SamplesDown => lines
            .filter(|row| (area.top..=area.bottom).contains(row))
            .map(|row| Area {
                top: row,
                bottom: row,
                ..area
            })
            .collect(),
        Layout::SamplesAcross => lines
            .filter(|col| (area.left..=area.right).contains(col))
            .map(|col| Area {
                left: col,
                right: col,
                ..area
            })
            .collect(),
        Layout::ResultsDown | Layout::Form => vec![area],
        Layout::CrossTable => (block.cross.iter()).map(|cross| cross.names()).collect(),
    }
}

/// What a sheet's headings say together has been said by then: a longer sheet is not read twice for it.
const LAST_ROW: u32 = 20_000;
/// Rows in which headings are looked for when no table has been found yet.
const LAST_HEAD: u32 = 60;
/// Longer texts are prose.
const LONGEST_HEAD: usize = 80;
/// More headings than this add nothing to what is known of their language.
const MOST_HEADS: usize = 400;

fn locate_with(whole: &Grid, name: &str, reader: &Reader<'_>, hints: &Hints) -> Vec<Block> {
    let cut;
    let grid = match hints.area {
        Some(area) => {
            cut = within(whole, area);
            &cut
        }
        None => whole,
    };
    let mut blocks = Vec::new();
    if let Some(block) = told(grid, reader, hints) {
        blocks.push(block);
    } else {
        let wanted = |layout: Layout| hints.layout.is_none_or(|l| l == layout);
        if wanted(Layout::ResultsDown) {
            for table in long::long_tables(grid, reader) {
                blocks.push(Block {
                    layout: Layout::ResultsDown,
                    area: table.area(),
                    heading_lines: vec![table.heading],
                    first_line: table.first_line,
                    results: table.columns,
                    cross: None,
                });
            }
        }
        // Every other table would overlap one that fills the sheet.
        let is_full =
            (grid.extent()).is_some_and(|all| blocks.iter().any(|block| holds(&block.area, &all)));
        let wanted = |layout: Layout| !is_full && wanted(layout);
        let mut candidates: Vec<(Table, Block)> = Vec::new();
        if wanted(Layout::SamplesDown) {
            let names = name_lines(grid, reader, false);
            candidates.extend(
                (tables(grid, reader, &names, false).into_iter())
                    .map(|(_, table)| (table.clone(), block(Layout::SamplesDown, table))),
            );
        }
        if wanted(Layout::SamplesAcross) && has_label_column(grid, reader) {
            let turned = grid.transposed();
            let told = hints.layout.is_some();
            let names = name_lines(&turned, reader, true);
            candidates.extend(tables(&turned, reader, &names, true).into_iter().map(
                |(names, table)| {
                    let records = (!told)
                        .then(|| records::records(&turned, reader, names, &table))
                        .flatten();
                    let block =
                        records.unwrap_or_else(|| block(Layout::SamplesAcross, table.clone()));
                    (table, block)
                },
            ));
        }
        // The reading that explains most values wins; of equals the one that stands first.
        candidates.sort_by_key(|(t, block)| {
            (std::cmp::Reverse(t.mass), block.layout, t.name_line, t.left)
        });
        for (_, block) in candidates {
            if !blocks.iter().any(|b: &Block| overlap(&b.area, &block.area)) {
                let under_days = (hints.layout.is_none())
                    .then(|| each_under_days(grid, reader, &block))
                    .flatten();
                blocks.push(under_days.map_or(block, cross_table));
            }
        }
    }
    if hints.layout.is_none() {
        let tables: Areas = blocks.iter().map(|b| b.area).collect();
        let found = cross_tables(grid, name, reader, &tables);
        blocks.extend(found.into_iter().map(cross_table));
    }
    if hints.layout.is_none_or(|l| l == Layout::Form) {
        blocks.extend(form(grid, reader, &blocks));
    }
    blocks.sort_by_key(|b| (b.area.top, b.area.left));
    blocks
}

/// The tables under the lines of names, with the line that each hangs under.
fn tables<'n>(
    grid: &Grid,
    reader: &Reader<'_>,
    all: &'n [NameLine],
    across: bool,
) -> Vec<(&'n NameLine, Table)> {
    let mut found: Vec<(&NameLine, Table)> = Vec::new();
    for names in all {
        // The same headings again, as on every printed page: the table above goes on.
        let goes_on = found.last().is_some_and(|(above, table)| {
            names.line <= table.last_line && grid.row(above.line) == grid.row(names.line)
        });
        if !goes_on {
            let tables = tables_under(grid, reader, names, all, across);
            found.extend(tables.into_iter().map(|table| (names, table)));
        }
    }
    found
}

/// Turning a sheet copies it: only worth while when some column names two analytes, for fewer head no table there.
fn has_label_column(grid: &Grid, reader: &Reader<'_>) -> bool {
    let mut names = std::collections::BTreeMap::<u32, u32>::new();
    for (at, cell) in grid.cells() {
        if reader.look(cell.view()) == Look::Analyte {
            let n = names.entry(at.col).or_insert(0);
            *n += 1;
            if *n > 1 {
                return true;
            }
        }
    }
    false
}

fn block(layout: Layout, table: Table) -> Block {
    let area = match layout {
        Layout::SamplesAcross => turn(&table.area()),
        _ => table.area(),
    };
    Block {
        layout,
        area,
        heading_lines: table.heading_lines,
        first_line: table.first_line,
        results: ResultColumns::default(),
        cross: None,
    }
}

fn cross_table(cross: CrossTable) -> Block {
    Block {
        layout: Layout::CrossTable,
        area: cross.area(),
        heading_lines: vec![cross.heads],
        first_line: cross.results.top,
        results: ResultColumns::default(),
        cross: Some(cross),
    }
}

const fn turn(area: &Area) -> Area {
    Area {
        top: area.left,
        left: area.top,
        bottom: area.right,
        right: area.bottom,
    }
}

const fn overlap(a: &Area, b: &Area) -> bool {
    a.top <= b.bottom && b.top <= a.bottom && a.left <= b.right && b.left <= a.right
}

const fn holds(a: &Area, b: &Area) -> bool {
    a.top <= b.top && b.bottom <= a.bottom && a.left <= b.left && b.right <= a.right
}

fn within(grid: &Grid, area: Area) -> Grid {
    let mut cut = Grid::default();
    for (at, cell) in grid.cells().filter(|(at, _)| area.contains(*at)) {
        cut.put(at, cell.clone());
    }
    cut.merges = grid
        .merges
        .iter()
        .filter(|m| overlap(m, &area))
        .copied()
        .collect();
    cut
}

/// The block whose heading lines a mapping names, by number or by the anchor.
fn told(grid: &Grid, reader: &Reader<'_>, hints: &Hints) -> Option<Block> {
    let layout = hints.layout.unwrap_or(Layout::SamplesDown);
    let turned;
    let lines_grid = match layout {
        Layout::SamplesDown | Layout::ResultsDown => grid,
        Layout::SamplesAcross => {
            turned = grid.transposed();
            &turned
        }
        Layout::Form | Layout::CrossTable => return None,
    };
    let heading_lines = match (&hints.heading_lines, &hints.anchor) {
        (Some(lines), _) if !lines.is_empty() => lines.clone(),
        (_, Some(anchor)) => {
            let (at, _) = lines_grid
                .cells()
                .find(|(_, cell)| anchor.fits(&cell.as_text()))?;
            (at.row..at.row.saturating_add(hints.heading_count.unwrap_or(1))).collect()
        }
        _ => return None,
    };
    let table = told_table(lines_grid, reader, &heading_lines)?;
    Some(block(layout, table))
}

/// A form: analytes beside or above their values, outside the tables.
fn form(grid: &Grid, reader: &Reader<'_>, blocks: &[Block]) -> Option<Block> {
    let outside: Areas = blocks.iter().map(|b| b.area).collect();
    let found = pairs(grid, reader, &outside);
    // A temperature alone tells nothing of water.
    if found
        .iter()
        .filter(|p| p.analyte)
        .all(|p| is_temperature(reader, &p.label_text))
    {
        return None;
    }
    let cells = || {
        found
            .iter()
            .filter(|p| p.analyte)
            .flat_map(|p| [p.label, p.value])
    };
    Some(Block {
        layout: Layout::Form,
        area: Area {
            top: cells().map(|a| a.row).min()?,
            left: cells().map(|a| a.col).min()?,
            bottom: cells().map(|a| a.row).max()?,
            right: cells().map(|a| a.col).max()?,
        },
        heading_lines: Vec::new(),
        first_line: cells().map(|a| a.row).min()?,
        results: ResultColumns::default(),
        cross: None,
    })
}

fn is_temperature(reader: &Reader<'_>, label: &str) -> bool {
    let temperature = reader.vocabulary().find("temperature");
    matches!(reader.heading(label).meaning, Meaning::Analyte(id) if Some(id) == temperature)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::Address;
    use crate::read::Cell;

    /// `NI` is nickel only where symbols stand in capitals.
    #[test]
    fn numbers_do_not_crowd_out_the_headings() {
        let mut grid = Grid::default();
        let mut put = |row: u32, texts: [&str; 3]| {
            for (col, text) in (0..).zip(texts) {
                grid.put(Address::new(row, col), Cell::text(text));
            }
        };
        put(0, ["Sample no.", "Parameter", "Result"]);
        for row in 1..=600 {
            let label = ["NI", "PB", "Nickel"][row as usize % 3];
            put(row, [&format!("T{row}"), label, &format!("{row}.5")]);
        }
        let vocabulary = Vocabulary::built_in();
        let (reader, blocks) = locate(&grid, "", vocabulary, &Hints::default());
        assert_eq!(blocks.len(), 1, "{blocks:?}");
        let nickel = vocabulary.find("nickel").map(Meaning::Analyte);
        assert_eq!(Some(reader.heading("NI").meaning.clone()), nickel);
    }
}
