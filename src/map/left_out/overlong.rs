//! Rows of a delimited text with more fields than headings: a separator stands within a field (a decimal
//! comma, a comma in a name), and all behind it is one column too far.

use crate::finding::Finding;
use crate::locate::Layout;
use crate::map::findings::finding;
use crate::map::plan::{BlockPlan, LineRole, Plan};
use crate::place::{Address, Place};
use crate::read::{Grid, Report};

/// The finding, and the reason of the cells that stay unplaced for it.
pub(in crate::map) const LINE_OVERLONG: &str = "line-overlong";

/// Leaves such rows out, where the fields beyond the headings are not a column that nobody gave a heading.
pub(in crate::map) fn overlong_lines(
    plan: &mut Plan,
    report: &Report,
    findings: &mut Vec<Finding>,
) {
    let Some(delimiter) = report.delimiter else {
        return;
    };
    for (sheet, of) in plan.sheets.iter_mut().zip(&report.sheets) {
        // A table beside another has that one's fields behind its own.
        let [block] = sheet.blocks.as_mut_slice() else {
            continue;
        };
        let is_of_lines = matches!(block.layout, Layout::SamplesDown | Layout::ResultsDown);
        let Some(last) = block.headings.iter().map(|at| at.col).max() else {
            continue;
        };
        if !is_of_lines || block.across {
            continue;
        }
        let lines = Lines::of(block, &of.grid, last);
        let Some(first) = lines.overlong.first().copied() else {
            continue;
        };
        let is_column = lines.overlong.len() * 2 > lines.all;
        if is_column && !(delimiter == ',' && lines.are_split) {
            continue;
        }
        for at in &lines.overlong {
            let role = LineRole::Unplaced(LINE_OVERLONG.into());
            block.not_samples.insert(at.row, role);
        }
        let count = lines.overlong.len() as u64;
        if let Some(unseen) = block.unseen.as_mut().filter(|_| is_column) {
            unseen.none_is_sample = Some(LINE_OVERLONG.into());
        }
        let rows = if count == 1 { "a row has" } else { "rows have" };
        findings.push(
            finding(
                LINE_OVERLONG,
                Place::cell(&report.file, &of.name, first),
                format!("{rows} more fields than there are headings, so that nobody can say which is which: not placed"),
                "a separator stands within a field, as a decimal comma does: put such fields in quotation marks, or save the file with another separator".into(),
            )
            .for_cells(count),
        );
    }
}

/// The lines of samples or results of a table.
struct Lines {
    all: usize,
    /// The first cell beyond the headings of each line that has one.
    overlong: Vec<Address>,
    /// Whole numbers stand beyond the headings, and no number of the table has a decimal point.
    are_split: bool,
}

impl Lines {
    /// `last`: the column of the last heading.
    fn of(block: &BlockPlan, grid: &Grid, last: u32) -> Self {
        let mut lines = Self {
            all: 0,
            overlong: Vec::new(),
            are_split: true,
        };
        let rows = grid.rows_from(block.first_line);
        for (row, cells) in rows.take_while(|(row, _)| *row <= block.last_line) {
            if block.not_samples.contains_key(&row) {
                continue;
            }
            lines.all += 1;
            for (col, cell) in cells {
                let text = cell.as_text();
                if *col > last {
                    lines.are_split &= text.trim().bytes().all(|b| b.is_ascii_digit());
                } else {
                    lines.are_split &= !has_decimal_point(&text);
                }
            }
            let beyond = cells.iter().map(|(col, _)| *col).find(|col| *col > last);
            lines
                .overlong
                .extend(beyond.map(|col| Address::new(row, col)));
        }
        lines
    }
}

fn has_decimal_point(text: &str) -> bool {
    let number = text.trim().trim_start_matches(['<', '>', ' ']);
    number.contains('.') && number.parse::<f64>().is_ok()
}
