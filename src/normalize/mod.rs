//! Stage 4, normalize: a plan and a sheet's cells become measurements in canonical units, or findings.
//!
//! Executes what the plan says, cell by cell, and decides nothing about what a column means. Knows how
//! a number, its qualifier and its limit become a result, how samples are told apart, and that every
//! non-blank cell is counted exactly once. What the numbers are worth is left to `check`.

mod block;
mod carried;
mod day_parts;
mod expect;
mod findings;
mod form;
mod groups;
mod identity;
mod join;
mod known;
mod long;
mod measure;
mod names;
mod recipe;
mod repeat;
mod runner;
mod sheets;
mod tally;
mod unseen;

use crate::map::{Plan, SheetPlan};
use crate::read::{CellView, Report};
use crate::record::{Extract, Measurement};
use crate::vocabulary::Vocabulary;
pub use expect::unexpected;
pub use findings::CODES;
use long::RowReaders;
use runner::{Part, SheetRunner};
use std::borrow::Cow;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Executes the plan over a whole report. `plan` has one entry for each sheet of `report`; a sheet
/// without one is unplaced as a whole.
///
/// The extract's findings are those of the report, of the plan and of this stage, in this order.
pub fn run(report: &Report, plan: &Plan, vocabulary: &Vocabulary) -> Extract {
    let parts = parts(report, plan, vocabulary);
    join::assemble(report, plan, vocabulary, parts, true)
}

/// The same of a report that nobody needs any more: its cells are let go before its samples are made.
pub fn run_through(mut report: Report, plan: &Plan, vocabulary: &Vocabulary) -> Extract {
    let parts = parts(&report, plan, vocabulary);
    report.sheets = Vec::new();
    join::assemble(&report, plan, vocabulary, parts, true)
}

/// What each sheet gives by itself.
fn parts(report: &Report, plan: &Plan, vocabulary: &Vocabulary) -> Vec<Part> {
    let nothing = SheetPlan::default();
    report
        .sheets
        .iter()
        .enumerate()
        .map(|(index, sheet)| {
            let of_sheet = plan.sheets.get(index).unwrap_or(&nothing);
            let readers = long::row_readers(sheet, &report.file, plan, of_sheet, vocabulary);
            let mut runner =
                SheetRunner::new(report, index, plan, of_sheet, vocabulary, readers, true);
            for (row, cells) in sheet.grid.rows() {
                runner.push_line(row, cells.iter().map(|(col, cell)| (*col, cell.view())));
            }
            runner.finish()
        })
        .collect()
}

/// Executes a plan over the parts of a long delimited text. What is the same for all parts is made
/// once.
#[derive(Debug)]
pub struct TextRunner<'p> {
    report: &'p Report,
    plan: &'p Plan,
    of_sheet: Cow<'p, SheetPlan>,
    vocabulary: &'p Vocabulary,
    readers: RowReaders<'p>,
    /// Of the parts that had most so far.
    most_results: AtomicUsize,
    most_samples: AtomicUsize,
    /// Room for the results of a part, given back: to ask the system for it anew costs more than to fill
    /// it.
    spare: Mutex<Vec<Vec<Measurement>>>,
}

impl<'p> TextRunner<'p> {
    /// `report` holds the rows that the plan was made from.
    ///
    /// # Panics
    /// Where the report has no sheet.
    pub fn new(report: &'p Report, plan: &'p Plan, vocabulary: &'p Vocabulary) -> Self {
        let of_sheet = plan.sheets.first().map_or_else(Cow::default, Cow::Borrowed);
        let sheet = &report.sheets[0];
        let readers = long::row_readers(sheet, &report.file, plan, &of_sheet, vocabulary);
        Self {
            report,
            plan,
            of_sheet,
            vocabulary,
            readers,
            most_results: AtomicUsize::new(0),
            most_samples: AtomicUsize::new(0),
            spare: Mutex::default(),
        }
    }

    /// Takes a part back that nobody needs any more, for the room that its results take.
    pub fn give_back(&self, part: PartOfText) {
        let mut room = part.extract.measurements;
        room.clear();
        if let Ok(mut spare) = self.spare.lock() {
            spare.push(room);
        }
    }

    fn room(&self) -> Vec<Measurement> {
        let spare = self.spare.lock().ok().and_then(|mut spare| spare.pop());
        let mut room = spare.unwrap_or_default();
        room.reserve(self.most_results.load(Ordering::Relaxed));
        room
    }

    /// Executes the plan over some rows: `rows` gives each row of the part to the function it is handed:
    /// the row's number and its fields. Parts of one text follow each other in an extract each. Each part
    /// tells its own samples apart: what only two parts together show (a laboratory number of two
    /// samples, other values for one) is left to the checks.
    pub fn run(
        &self,
        standing: Standing,
        rows: impl FnOnce(&mut dyn FnMut(u32, &[&str])),
    ) -> PartOfText {
        let mut runner = SheetRunner::new(
            self.report,
            0,
            self.plan,
            &self.of_sheet,
            self.vocabulary,
            self.readers.clone(),
            false,
        );
        if standing.after_other_table {
            runner.end_tables();
        }
        runner.put_results_in(self.room(), self.most_samples.load(Ordering::Relaxed));
        rows(&mut |row, fields| {
            runner.push_line(
                row,
                (0..).zip(fields.iter().map(|field| CellView::Text(field))),
            );
        });
        let other_table = runner.met_other_table();
        let part = runner.finish();
        self.most_results
            .fetch_max(part.measurements.len(), Ordering::Relaxed);
        self.most_samples
            .fetch_max(part.drafts.identities.len(), Ordering::Relaxed);
        PartOfText {
            extract: join::assemble(
                self.report,
                self.plan,
                self.vocabulary,
                vec![part],
                standing.is_first,
            ),
            other_table,
        }
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
