//! Stage 4, normalize: a plan and a sheet's cells become measurements in canonical units, or findings.
//!
//! Executes what the plan says, cell by cell, and decides nothing about what a column means. Knows how
//! a number, its qualifier and its limit become a result, how samples are told apart, and that every
//! non-blank cell is counted exactly once. What the numbers are worth is left to `check`.

mod block;
mod findings;
mod form;
mod identity;
mod join;
mod known;
mod long;
mod measure;
mod recipe;
mod repeat;
mod runner;
mod tally;
mod unseen;

pub use findings::CODES;
pub use runner::{Part, SheetRunner};

use crate::map::{Plan, SheetPlan};
use crate::read::{CellView, Report};
use crate::record::Extract;
use crate::vocabulary::Vocabulary;

/// Executes the plan over a whole report. `plan` has one entry for each sheet of `report`; a sheet
/// without one is unplaced as a whole.
///
/// The extract's findings are those of the report, of the plan and of this stage, in this order.
pub fn run(report: &Report, plan: &Plan, vocabulary: &Vocabulary) -> Extract {
    let nothing = SheetPlan::default();
    let parts = report
        .sheets
        .iter()
        .enumerate()
        .map(|(index, sheet)| {
            let of_sheet = plan.sheets.get(index).unwrap_or(&nothing);
            let mut runner = SheetRunner::new(report, index, plan, of_sheet, vocabulary, true);
            for (row, cells) in sheet.grid.rows() {
                runner.push_line(row, cells.iter().map(|(col, cell)| (*col, cell.view())));
            }
            runner.finish()
        })
        .collect();
    join::assemble(report, plan, vocabulary, parts, true)
}

/// Executes the plan over some rows of a long delimited text. `report` holds the rows that the plan
/// was made from; `rows` gives each row of the part to the function it is handed: the row's number
/// and its fields. Parts of one text follow each other in an extract each. Each part tells its own samples apart: what
/// only two parts together show (a laboratory number of two samples, other values for one) is left to
/// the checks.
pub fn run_rows(
    report: &Report,
    plan: &Plan,
    vocabulary: &Vocabulary,
    standing: Standing,
    rows: impl FnOnce(&mut dyn FnMut(u32, &[&str])),
) -> PartOfText {
    let nothing = SheetPlan::default();
    let of_sheet = plan.sheets.first().unwrap_or(&nothing);
    let mut runner = SheetRunner::new(report, 0, plan, of_sheet, vocabulary, false);
    if standing.after_other_table {
        runner.end_tables();
    }
    rows(&mut |row, fields| {
        runner.push_line(
            row,
            (0..).zip(fields.iter().map(|field| CellView::Text(field))),
        );
    });
    let other_table = runner.met_other_table();
    PartOfText {
        extract: join::assemble(
            report,
            plan,
            vocabulary,
            vec![runner.finish()],
            standing.is_first,
        ),
        other_table,
    }
}

/// Where a part of a long text stands in it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Standing {
    /// What the report and the plan have to say goes with this part.
    pub is_first: bool,
    /// The headings of another table stand in a part before this one: nothing is placed any more by
    /// the headings of the first.
    pub after_other_table: bool,
}

/// What a part of a long text gave.
#[derive(Debug)]
pub struct PartOfText {
    pub extract: Extract,
    /// Another table begins in this part, or has begun before it.
    pub other_table: bool,
}
