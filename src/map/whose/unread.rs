//! Columns under headings that are none of our words, where samples would come together that differ in them: days in
//! any table, names in a list. What was measured of different waters, or on different days, is not one sample.

use crate::finding::Finding;
use crate::locate::{Layout, is_day};
use crate::map::findings::finding;
use crate::map::left_out::lines::HEADING_UNKNOWN;
use crate::map::plan::{BlockPlan, Plan, TrackRole};
use crate::place::{Address, Place};
use crate::read::{CellView, Grid, Report};
use crate::text::squash;
use crate::vocabulary::Field;
use hashbrown::HashMap;
use std::collections::BTreeSet;
use std::sync::Arc;

/// A column of days. They are not taken as days of sampling: they may be those of the analysis.
pub const DAYS_OF_WHAT: &str = "days-of-what";

/// A column that names the samples of a table, though nothing says that it does.
pub const NAMES_OF_WHAT: &str = "names-of-what";

/// Parts of the day of sampling, each of which says more than a day of something else.
const WHEN: &[Field] = &[
    Field::SampledOn,
    Field::SampledYear,
    Field::SampledMonth,
    Field::SampledDay,
];

/// What names the sample of a result.
const NAMES: &[Field] = &[Field::SampleRef, Field::LabRef, Field::Source, Field::Site];

/// Longer texts are remarks.
const LONGEST_NAME: usize = 60;

/// Finds such columns in all tables that give results, and tells of them.
pub(in crate::map) fn tell_unread(plan: &mut Plan, report: &Report, findings: &mut Vec<Finding>) {
    for (sheet, of) in plan.sheets.iter_mut().zip(&report.sheets) {
        for block in sheet.blocks.iter_mut().filter(|block| has_results(block)) {
            let grid = &of.grid;
            if unread(block, grid).is_empty() {
                continue;
            }
            let at = |at: Address| Place::cell(&report.file, &of.name, at);
            let lines = lines(block, grid);
            if !block.says(WHEN) {
                findings.extend(days(block, grid, &lines, at));
            }
            if block.layout == Layout::ResultsDown && !block.says_within(NAMES) {
                findings.extend(names(block, grid, &lines, at));
            }
            findings.extend(not_read(block, grid, &lines, at));
        }
    }
}

fn has_results(block: &BlockPlan) -> bool {
    let has_values = match block.layout {
        Layout::ResultsDown => block.says_within(&[Field::Value]),
        Layout::SamplesDown | Layout::SamplesAcross => true,
        _ => false,
    };
    has_values && block.places_anything()
}

/// A column of days of nothing else than what is unknown tells samples apart, where it is the only one.
fn days(
    block: &mut BlockPlan,
    grid: &Grid,
    lines: &[u32],
    place: impl Fn(Address) -> Place,
) -> Vec<Finding> {
    let mut columns = unread(block, grid);
    columns.retain(|column| {
        let cells = || lines.iter().map(|line| column.cell(block, grid, *line));
        cells().all(|cell| cell.is_empty() || is_day(cell))
            && cells().filter(|cell| !cell.is_empty()).nth(1).is_some()
    });
    let taken = match columns.as_slice() {
        [only] => {
            block.tracks[only.track].role = TrackRole::Field(Field::Occasion);
            "they tell samples apart, and are not taken as days of sampling"
        }
        _ => "not read",
    };
    let told = columns.iter().map(|Unread { head, heading, .. }| {
        finding(
            DAYS_OF_WHAT,
            place(*head),
            format!("'{heading}' holds days, but nothing says of what: {taken}"),
            format!(
                "if the samples were taken then, say so in a mapping: [labels] \"{heading}\" = \
                 {{ means = \"sampled_on\" }}"
            ),
        )
        .for_cells(lines.len() as u64)
    });
    told.collect()
}

/// In a list that names no sample, results that would come together are told apart by the columns in which they
/// differ. (Tables of samples are told apart where their tracks are drafted.)
fn names(
    block: &mut BlockPlan,
    grid: &Grid,
    lines: &[u32],
    place: impl Fn(Address) -> Place,
) -> Vec<Finding> {
    let mut columns = unread(block, grid);
    let together = together(block, grid, lines);
    columns.retain(|column| {
        let cells: Vec<CellView<'_>> = (lines.iter())
            .map(|line| column.cell(block, grid, *line))
            .collect();
        let texts: Vec<String> = cells.iter().map(|cell| text(*cell)).collect();
        let are_names = (cells.iter().zip(&texts))
            .all(|(cell, text)| (1..=LONGEST_NAME).contains(&text.len()) && !is_day(*cell));
        let text = |line: u32| text(column.cell(block, grid, line));
        are_names
            && tells_of_samples(block, grid, lines, &texts)
            && (together.iter()).any(|[one, other]| text(*one) != text(*other))
    });
    let told = columns.iter().map(|Unread { track, head, heading, .. }| {
        block.tracks[*track].role = TrackRole::Field(Field::SampleRef);
        finding(
            NAMES_OF_WHAT,
            place(*head),
            format!(
                "no known heading names the samples: '{heading}' is taken for their names, since \
                 it tells them apart"
            ),
            format!(
                "say in a mapping what it is: [labels] \"{heading}\" = {{ means = \"source\" }}, or \
                 \"sample_ref\", or set it aside"
            ),
        )
        .for_cells(lines.len() as u64)
    });
    told.collect()
}

/// What stands below and is no number, which is told elsewhere, and no day.
fn not_read(
    block: &BlockPlan,
    grid: &Grid,
    lines: &[u32],
    place: impl Fn(Address) -> Place,
) -> Vec<Finding> {
    let columns = unread(block, grid);
    let told = columns.iter().filter_map(|column| {
        let cells = lines.iter().map(|line| column.cell(block, grid, *line));
        let cells: Vec<CellView<'_>> = cells.filter(|cell| !cell.is_empty()).collect();
        let heading = &column.heading;
        let are_days = cells.iter().all(|cell| is_day(*cell));
        (!are_days).then(|| {
            finding(
                HEADING_UNKNOWN,
                place(column.head),
                format!("'{heading}' is none of the known headings: what stands there is not read"),
                format!("say in a mapping what it is, or set it aside: [labels] \"{heading}\" = {{ means = \"…\" }}"),
            )
            .for_cells(cells.len() as u64)
        })
    });
    told.collect()
}

/// Whether a column of a list can name samples: it says different things of most labels, and no other of each result.
fn tells_of_samples(block: &BlockPlan, grid: &Grid, lines: &[u32], texts: &[String]) -> bool {
    let is_label = |role: &TrackRole| matches!(role, TrackRole::Field(Field::Label));
    let Some(label) = (block.tracks.iter()).find(|track| is_label(&track.role)) else {
        return true;
    };
    let distinct: BTreeSet<&String> = texts.iter().collect();
    let mut of_labels: HashMap<String, BTreeSet<&String>> = HashMap::new();
    for (line, said) in lines.iter().zip(texts) {
        let label = text(cell(block, grid, *line, label.at));
        of_labels.entry(label).or_default().insert(said);
    }
    let of_several = of_labels.values().filter(|said| said.len() > 1).count();
    distinct.len() * 2 <= lines.len() && of_several * 2 >= of_labels.len()
}

/// A track under a heading that is none of our words.
struct Unread {
    /// Index into the tracks.
    track: usize,
    /// Its position.
    at: u32,
    head: Address,
    heading: Arc<str>,
}

impl Unread {
    fn cell<'g>(&self, block: &BlockPlan, grid: &'g Grid, line: u32) -> CellView<'g> {
        cell(block, grid, line, self.at)
    }
}

fn unread(block: &BlockPlan, grid: &Grid) -> Vec<Unread> {
    let unknown = (block.tracks.iter().enumerate()).filter(
        |(_, track)| matches!(&track.role, TrackRole::Unplaced(why) if **why == *HEADING_UNKNOWN),
    );
    unknown
        .filter_map(|(index, track)| {
            let of_track = |at: &&Address| track.at == if block.across { at.row } else { at.col };
            let mut heads = block.headings.iter().filter(of_track);
            heads.find_map(|head| match grid.view(*head) {
                CellView::Text(text) => Some(Unread {
                    track: index,
                    at: track.at,
                    head: *head,
                    heading: squash(text).as_ref().into(),
                }),
                _ => None,
            })
        })
        .collect()
}

/// The lines that were seen and are samples or results.
fn lines(block: &BlockPlan, grid: &Grid) -> Vec<u32> {
    let is_line = |line: &u32| {
        (block.first_line..=block.last_line).contains(line) && !block.not_samples.contains_key(line)
    };
    if block.across {
        let tracks = block.tracks.iter();
        let lines: BTreeSet<u32> = tracks
            .flat_map(|track| grid.row(track.at).iter().map(|(col, _)| *col))
            .filter(is_line)
            .collect();
        lines.into_iter().collect()
    } else {
        let rows = grid.rows_from(block.first_line).map(|(row, _)| row);
        rows.take_while(|row| *row <= block.last_line)
            .filter(is_line)
            .collect()
    }
}

fn cell<'g>(block: &BlockPlan, grid: &'g Grid, line: u32, track: u32) -> CellView<'g> {
    grid.view(if block.across {
        Address::new(track, line)
    } else {
        Address::new(line, track)
    })
}

fn text(cell: CellView<'_>) -> String {
    squash(&cell.as_text()).into_owned()
}

/// Pairs of results, the first of their kind and another, of the same label, of which nothing that is read tells that
/// they are of two samples.
fn together(block: &BlockPlan, grid: &Grid, lines: &[u32]) -> Vec<[u32; 2]> {
    let says = |role: &TrackRole| matches!(role, TrackRole::Field(field) if field.is_identity() || *field == Field::Label);
    let told_by: Vec<u32> = (block.tracks.iter())
        .filter(|track| says(&track.role))
        .map(|track| track.at)
        .collect();
    let mut first: HashMap<Vec<String>, u32> = HashMap::new();
    let mut together = Vec::new();
    for line in lines {
        let said: Vec<String> = (told_by.iter())
            .map(|track| text(cell(block, grid, *line, *track)))
            .collect();
        let one = *first.entry(said).or_insert(*line);
        if one != *line {
            together.push([one, *line]);
        }
    }
    together
}
