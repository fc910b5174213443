//! Samples without a day, on a sheet that has one which nothing says to be theirs: a letter's "Date", a title's.

use super::facts::is_bare_date;
use super::title_days::{Speaks, day_in, speaks_beside};
use crate::finding::Finding;
use crate::locate::{Layout, bare_label, is_day};
use crate::map::findings::finding;
use crate::map::plan::{BlockPlan, Plan, SheetPlan};
use crate::place::{Address, Place};
use crate::read::{CellView, Grid, Report};
use crate::text::squash;
use crate::vocabulary::Field;
use std::fmt::Write as _;

pub(in crate::map) const DAYS_UNTAKEN: &str = "days-untaken";

/// Longer texts are no labels.
const LONGEST_LABEL: usize = 40;

/// Tells of them once a sheet, so that no sample lacks its day without a word.
pub(in crate::map) fn tell_untaken(plan: &Plan, report: &Report, findings: &mut Vec<Finding>) {
    for (sheet, of) in plan.sheets.iter().zip(&report.sheets) {
        if !sheet.blocks.iter().any(is_undated) {
            continue;
        }
        let days = untaken(sheet, &of.grid);
        let Some(first) = days.first() else { continue };
        let mut said = format!("'{}'", first.text);
        for other in days.iter().skip(1).take(2) {
            let _ = write!(said, ", '{}' in {}", other.text, other.at);
        }
        let help = match &first.label {
            Some(label) => format!(
                "if they were taken then, say so in a mapping: [labels] \"{label}\" = {{ means = \
                 \"sampled_on\" }}"
            ),
            None => "if they were taken then, write 'Sampled:' and the day above the table, or say it in a \
                     mapping: [constants] sampled_on = \"…\""
                .into(),
        };
        findings.push(finding(
            DAYS_UNTAKEN,
            Place::cell(&report.file, &of.name, first.at),
            format!(
                "nothing says when the samples were taken: {said} can be the day of something else, and is not used"
            ),
            help,
        ));
    }
}

fn is_undated(block: &BlockPlan) -> bool {
    const WHEN: &[Field] = &[
        Field::SampledOn,
        Field::SampledYear,
        Field::SampledMonth,
        Field::SampledDay,
        Field::Occasion,
    ];
    block.unseen.is_none()
        && block.layout != Layout::CrossTable
        && block.places_anything()
        && !block.says(WHEN)
}

/// A day that nothing takes.
struct Day {
    at: Address,
    text: String,
    /// What stands before it.
    label: Option<String>,
}

/// The days above the first headings, or the first result of a form, that are of no known paper.
fn untaken(sheet: &SheetPlan, grid: &Grid) -> Vec<Day> {
    let rows = sheet.blocks.iter().flat_map(|block| {
        let headings = block.headings.iter().map(|at| at.row);
        headings.chain(block.form.iter().map(|cell| cell.value.row))
    });
    let top = rows.min().unwrap_or_default();
    (grid.cells())
        .take_while(|(at, _)| at.row < top)
        .filter(|(at, _)| sheet.identity.binary_search(at).is_err())
        .filter_map(|(at, cell)| day(grid, at, cell.view()))
        .collect()
}

/// `None` where the cell holds no day, or that of a paper.
fn day(grid: &Grid, at: Address, cell: CellView<'_>) -> Option<Day> {
    let text = squash(&cell.as_text()).into_owned();
    if is_day(cell) {
        let before = grid.row(at.row).iter().rev().find(|(col, _)| *col < at.col);
        let label = before.map(|(_, cell)| cell.view().as_text().into_owned());
        let label =
            label.filter(|label| label.len() <= LONGEST_LABEL && !is_day(CellView::Text(label)));
        let is_of_paper = label.as_ref().is_some_and(|label| {
            let speaks = speaks_beside(bare_label(label));
            !is_bare_date(label) && speaks.is_none_or(|speaks| speaks == Speaks::OfAnother)
        });
        let label = label.map(|label| bare_label(&label).to_owned());
        return (!is_of_paper).then_some(Day { at, text, label });
    }
    let CellView::Text(whole) = cell else {
        return None;
    };
    let day = day_in(whole)?;
    let label = whole.split_once(':').map(|(label, _)| label);
    let label = label.filter(|label| is_bare_date(label));
    let is_of_paper = day.speaks == Speaks::OfAnother && label.is_none();
    (!is_of_paper).then(|| Day {
        at,
        text: day.text.to_owned(),
        label: label.map(ToOwned::to_owned),
    })
}
