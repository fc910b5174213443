//! What only shows when all tables are seen together: tables that belong to no sample, logs beside
//! results, numbers that stand for something else in the whole file.

use super::lines::{NAMELESS, QUALITY_CONTROL, STATISTIC};
use super::{guides, statistics};
use crate::finding::Finding;
use crate::locate::Layout;
use crate::map::findings::finding;
use crate::map::heads::marks::tells_apart;
use crate::map::heads::resolve::Context;
use crate::map::layouts::table::Told;
use crate::map::plan::{BlockPlan, LineRole, Plan, SheetPlan, TrackRole};
use crate::map::rules::Rules;
use crate::map::whose::titles::{NEAREST_TITLE, lone_texts};
use crate::place::{Address, Area, Place};
use crate::read::{Grid, Report};
use crate::text::fold;
use crate::vocabulary::{AnalyteId, Field};
use std::collections::BTreeSet;

/// A table without any name of a sample beside one that has names is a calculation from it (sums in
/// meq, molar masses): its numbers belong to no sample that can be told.
pub(in crate::map) fn nameless_tables(
    context: &Context<'_>,
    plan: &mut SheetPlan,
    findings: &mut Vec<Finding>,
) {
    let is_table = |b: &BlockPlan| matches!(b.layout, Layout::SamplesDown | Layout::SamplesAcross);
    let named = |b: &BlockPlan| {
        b.tracks
            .iter()
            .any(|t| matches!(&t.role, TrackRole::Field(f) if tells_apart(*f)))
    };
    if !plan.blocks.iter().any(|b| is_table(b) && named(b)) {
        return;
    }
    for block in &mut plan.blocks {
        let one_by_title =
            block.facts.iter().any(|f| tells_apart(f.field)) && block.first_line == block.last_line;
        if !is_table(block) || named(block) || one_by_title {
            continue;
        }
        block.place_nothing(NAMELESS);
        if let Some(at) = block.headings.first() {
            findings.push(finding(
                "line-nameless",
                context.place(*at),
                "a table without names of samples, beside one that has them: not placed".into(),
                "if its lines are samples, name them in the report".into(),
            ));
        }
    }
}

/// An instrument's log holds standards, repeats and dilutions beside the samples, before anybody has
/// corrected anything. Where another sheet of the workbook gives the same analytes without that, the log
/// is not the result: told by its name ("raw data"), or by a fifth of its lines being controls.
pub(in crate::map) fn logs_of_runs(
    plan: &mut Plan,
    report: &Report,
    rules: Option<&Rules>,
    findings: &mut Vec<Finding>,
) {
    if rules.is_some_and(Rules::names_sheets) {
        return;
    }
    let of: Vec<Log> = plan
        .sheets
        .iter()
        .zip(&report.sheets)
        .map(|(s, r)| Log::of(s, &r.name))
        .collect();
    for (i, log) in of.iter().enumerate() {
        let other = of.iter().enumerate().any(|(j, other)| {
            j != i
                && !other.is_log()
                && other.lines > 0
                && log.analytes.intersection(&other.analytes).count() * 2 >= log.analytes.len()
        });
        if log.analytes.is_empty() || !log.is_log() || !other {
            continue;
        }
        let blocks = &mut plan.sheets[i].blocks;
        let lines = blocks
            .iter_mut()
            .map(|b| b.place_nothing("log-of-runs"))
            .sum();
        findings.push(
            finding(
                "sheet-of-runs",
                Place::sheet(&report.file, &report.sheets[i].name),
                "a log of measurements and controls beside a sheet of results: not placed".into(),
                "name the sheet in a mapping if its numbers are results".into(),
            )
            .for_cells(lines),
        );
    }
}

/// A table of means or other statistics, by the name of its sheet or its title, is of no samples: its lines have no
/// day and no number of a sample. A mere summary is none either where another table of the report gives the same
/// analytes of all its names with days.
pub(in crate::map) fn tables_of_statistics(
    plan: &mut Plan,
    report: &Report,
    rules: Option<&Rules>,
    findings: &mut Vec<Finding>,
) {
    if rules.is_some_and(Rules::names_sheets) {
        return;
    }
    let dated: Vec<Dated> = (plan.sheets.iter().zip(&report.sheets))
        .flat_map(|(sheet, of)| sheet.blocks.iter().map(|block| Dated::of(block, &of.grid)))
        .flatten()
        .collect();
    for (sheet, of) in plan.sheets.iter_mut().zip(&report.sheets) {
        let mut above = 0;
        for block in &mut sheet.blocks {
            let head = block.headings.iter().min().copied();
            let top = head.map_or(block.first_line, |at| at.row);
            let near = top.saturating_sub(NEAREST_TITLE).max(above);
            let told = lone_texts(&of.grid, near..top)
                .map(|(_, title)| title)
                .chain([&*of.name])
                .filter_map(|title| {
                    let not_measured = guides::is_not_measured(title);
                    let told = not_measured.then_some(statistics::Told::NotMeasured);
                    told.or_else(|| statistics::told_by(title))
                })
                .max();
            let drawn = is_drawn_together(&of.grid, near, top);
            let told = told.max(drawn.then_some(statistics::Told::NotMeasured));
            above = block
                .headings
                .iter()
                .map(|at| at.row)
                .max()
                .unwrap_or(0)
                .max(top)
                + 1;
            if !block.across {
                above = above.max(block.last_line.saturating_add(1));
            }
            let (Some(told), Some(head)) = (told, head) else {
                continue;
            };
            if !block.tracks.is_empty() && is_of_statistics(block, &of.grid, told, &dated) {
                let place = Place::cell(&report.file, &of.name, head);
                findings.push(
                    finding(
                        TABLE_OF_STATISTICS,
                        place,
                        if told == statistics::Told::NotMeasured {
                            "a table of aims, changes or sums, not of what was measured: not placed"
                        } else {
                            "a table of means, or a summary of other samples: not placed"
                        }
                        .into(),
                        "name the sheet and its layout in a mapping if its lines are samples"
                            .into(),
                    )
                    .for_cells(block.place_nothing(STATISTIC)),
                );
            }
        }
    }
}

/// Whether the first text in the rows above a table, or in that of its headings, is that of a pivot table.
fn is_drawn_together(grid: &Grid, from: u32, to: u32) -> bool {
    let rows = grid.rows_from(from).take_while(|(row, _)| *row <= to);
    let mut firsts = rows.filter_map(|(_, cells)| cells.first());
    firsts.any(|(_, cell)| statistics::heads_drawn_together(&cell.as_text()))
}

pub(in crate::map) const TABLE_OF_STATISTICS: &str = "table-of-statistics";

fn is_of_statistics(
    block: &BlockPlan,
    grid: &Grid,
    told: statistics::Told,
    dated: &[Dated],
) -> bool {
    if block.says(&[Field::SampledOn, Field::LabRef]) || !block.places_anything() {
        return false;
    }
    let names = names_of(block, grid);
    let analytes: BTreeSet<AnalyteId> = analytes_of(block).collect();
    let repeats = |other: &Dated| {
        names.is_subset(&other.names)
            && analytes.intersection(&other.analytes).count() * 2 > analytes.len()
    };
    let is_alone = told == statistics::Told::Statistics && !block.says(&[Field::SampleRef]);
    told == statistics::Told::NotMeasured
        || is_alone
        || !names.is_empty() && dated.iter().any(repeats)
}

/// What a table with days measures, and of whom.
struct Dated {
    names: BTreeSet<String>,
    analytes: BTreeSet<AnalyteId>,
}

impl Dated {
    fn of(block: &BlockPlan, grid: &Grid) -> Option<Self> {
        block.says(&[Field::SampledOn]).then(|| Self {
            names: names_of(block, grid),
            analytes: analytes_of(block).collect(),
        })
    }
}

/// The names of the lines of a table, folded.
fn names_of(block: &BlockPlan, grid: &Grid) -> BTreeSet<String> {
    let tracks = block.tracks.iter().filter(|track| {
        matches!(
            track.role,
            TrackRole::Field(Field::Source | Field::Site | Field::SampleRef)
        )
    });
    let tracks: BTreeSet<u32> = tracks.map(|track| track.at).collect();
    let Some((first, last)) = tracks.first().zip(tracks.last()) else {
        return BTreeSet::new();
    };
    let (lines, tracks_between) = (block.first_line..=block.last_line, *first..=*last);
    let (rows, cols) = if block.across {
        (tracks_between, lines)
    } else {
        (lines, tracks_between)
    };
    let area = Area {
        top: *rows.start(),
        bottom: *rows.end(),
        left: *cols.start(),
        right: *cols.end(),
    };
    let turned = |at: Address| {
        if block.across {
            (at.col, at.row)
        } else {
            (at.row, at.col)
        }
    };
    (grid.cells_in(area))
        .map(|(at, cell)| (turned(at), cell))
        .filter(|((line, track), _)| {
            tracks.contains(track) && !block.not_samples.contains_key(line)
        })
        .map(|(_, cell)| fold(cell.as_text().trim()))
        .collect()
}

/// The analytes of a block's tracks.
pub(in crate::map) fn analytes_of(block: &BlockPlan) -> impl Iterator<Item = AnalyteId> + '_ {
    block.tracks.iter().filter_map(|t| match &t.role {
        TrackRole::Analyte(track) => Some(track.analyte),
        _ => None,
    })
}

/// What tells a log from a sheet of results.
struct Log {
    analytes: BTreeSet<AnalyteId>,
    lines: usize,
    controls: usize,
    raw: bool,
}

impl Log {
    fn of(sheet: &SheetPlan, name: &str) -> Self {
        // Common practice, no source.
        const RAW: &[&str] = &[
            "raw", "rohdaten", "sequence", "sequenz", "brut", "brutes", "bruts", "crudos",
            "brutos", "grezzi", "ruwe", "rå", "surowe",
        ];
        let tables = || {
            sheet
                .blocks
                .iter()
                .filter(|b| matches!(b.layout, Layout::SamplesDown | Layout::SamplesAcross))
        };
        let controls = tables()
            .flat_map(|b| b.not_samples.values())
            .filter(
                |role| matches!(role, LineRole::Unplaced(reason) if &**reason == QUALITY_CONTROL),
            )
            .count();
        Self {
            analytes: tables().flat_map(analytes_of).collect(),
            lines: tables()
                .map(|b| {
                    (b.last_line.saturating_sub(b.first_line) as usize + 1)
                        .saturating_sub(b.not_samples.len())
                })
                .sum(),
            controls,
            raw: name
                .to_lowercase()
                .split(|c: char| !c.is_alphabetic())
                .any(|w| RAW.contains(&w)),
        }
    }

    const fn is_log(&self) -> bool {
        self.raw || (self.controls >= 3 && self.controls * 5 >= self.lines + self.controls)
    }
}

/// What all tables together tell of the file.
pub(in crate::map) fn whole_file(
    plan: &mut Plan,
    report: &Report,
    rules: Option<&Rules>,
    told: &[Told],
    findings: &mut Vec<Finding>,
) {
    let mut missing: Vec<f64> = rules.map(|r| r.missing_numbers.clone()).unwrap_or_default();
    for number in told.iter().flat_map(|t| &t.missing_numbers) {
        if !missing.contains(number) {
            missing.push(*number);
            findings.push(finding(
                "missing-number",
                Place::file(&report.file),
                format!("{number} recurs far above all other numbers: taken as 'no result'"),
                "list it in a mapping under missing_numbers, or say there that it is a number"
                    .into(),
            ));
        }
    }
    missing.sort_by(f64::total_cmp);
    plan.missing_numbers = missing;
    let sum = |of: fn(&Told) -> usize| told.iter().map(of).sum::<usize>();
    let (all, at_limit, tracks) = (
        sum(|t| t.negatives),
        sum(|t| t.negatives_at_limit),
        sum(|t| t.tracks_at_limit),
    );
    // Every negative number is the limit of its own column with a minus before it, in several columns:
    // no measurement does that by chance.
    let proven = tracks >= 2 && at_limit >= 3 && at_limit * 20 >= all * 19;
    let told = rules.and_then(|r| r.negative_is_below);
    plan.negative_is_below = told.unwrap_or(proven);
    plan.negatives_are_measured = told == Some(false);
    if proven && rules.is_none_or(|r| r.negative_is_below.is_none()) {
        findings.push(
            finding(
                "negative-is-limit",
                Place::file(&report.file),
                "negative numbers repeat the limit of their column: taken as 'below that limit'"
                    .into(),
                "say negative_is_below = false in a mapping if they are measurements".into(),
            )
            .for_cells(at_limit as u64),
        );
    }
}
