//! Sheets that are called after the source or the year of their samples, where nothing on them says it.

use super::title_days::day_in;
use super::titles::DAY_FROM_TITLE;
use crate::finding::Finding;
use crate::locate::{Layout, is_period};
use crate::map::findings::finding;
use crate::map::left_out::controls::{Names, is_control};
use crate::map::left_out::statistics::is_statistic;
use crate::map::left_out::whole::analytes_of;
use crate::map::plan::{BlockPlan, Fact, Plan, Source, TrackRole};
use crate::place::Place;
use crate::read::{CellView, Report};
use crate::text::words;
use crate::vocabulary::{AnalyteId, Field};
use std::collections::{BTreeMap, BTreeSet};

pub(in crate::map) const SAID_BY_SHEET: &str = "said-by-sheet";

/// What a sheet of results measures.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
enum Measured {
    Analyte(AnalyteId),
    /// Rows of results, each with a label of its own.
    Rows,
}

/// Several sheets of the same analytes and the same samples would give one sample all their results. Where
/// they are called after years, and no table has days, each is of its year ("2019", "2020"); where tables
/// have no names, and the sheets are not called after years, each is of its source ("Bore 1", "Bore 2").
pub(in crate::map) fn say_by_name(plan: &mut Plan, report: &Report, findings: &mut Vec<Finding>) {
    say_of_alike(plan, report, findings);
    say_day_by_name(plan, report, findings);
}

fn say_of_alike(plan: &mut Plan, report: &Report, findings: &mut Vec<Finding>) {
    let name = |sheet: usize| &report.sheets[sheet].name;
    let undated = alike(plan, |block| !block.says(&[Field::SampledOn]));
    let unnamed = alike(plan, BlockPlan::is_unnamed);
    let (of_sheets, field, wanted): (_, _, fn(&BlockPlan) -> bool) = if !undated.is_empty()
        && undated
            .iter()
            .all(|sheet| is_a_time(name(*sheet)) || is_period(CellView::Text(name(*sheet))))
    {
        (undated, Field::SampledOn, |block| {
            !block.says(&[Field::SampledOn])
        })
    } else if !unnamed.is_empty() && unnamed.iter().all(|sheet| is_a_source(name(*sheet))) {
        (unnamed, Field::Source, BlockPlan::is_unnamed)
    } else {
        return;
    };
    let what = match field {
        Field::Source => "the source",
        _ => "when the samples were taken",
    };
    for sheet in of_sheets {
        let text = name(sheet);
        let blocks = plan.sheets[sheet].blocks.iter_mut();
        for block in blocks.filter(|block| wanted(block)) {
            block.facts.push(Fact {
                field,
                from: Source::Text(text.clone()),
            });
        }
        findings.push(finding(
            SAID_BY_SHEET,
            Place::sheet(&report.file, text),
            format!("nothing says {what}: taken from the sheet's name, '{text}'"),
            "say it on the sheet, or in a mapping".into(),
        ));
    }
}

/// A sheet that is called "2021-03-12" and nothing else holds what was sampled then, where it does not say more.
fn say_day_by_name(plan: &mut Plan, report: &Report, findings: &mut Vec<Finding>) {
    for (sheet, of) in plan.sheets.iter_mut().zip(&report.sheets) {
        let is_day = day_in(&of.name).is_some_and(|day| day.text == of.name.trim());
        let undated = (sheet.blocks.iter_mut())
            .filter(|block| !block.says(&[Field::SampledOn]) && block.places_anything());
        let blocks: Vec<_> = undated.filter(|_| is_day).collect();
        if blocks.is_empty() {
            continue;
        }
        for block in blocks {
            block.facts.push(Fact {
                field: Field::SampledOn,
                from: Source::Text(of.name.clone()),
            });
        }
        findings.push(finding(
            DAY_FROM_TITLE,
            Place::sheet(&report.file, &of.name),
            format!(
                "nothing else says when the samples were taken: the sheet's name does, '{}'",
                of.name
            ),
            "say it on the sheet, or in a mapping, if they were taken on another day".into(),
        ));
    }
}

/// The sheets whose tables of a kind measure for the most part what those of other sheets measure too.
fn alike(plan: &Plan, wanted: impl Fn(&BlockPlan) -> bool) -> Vec<usize> {
    let measured: Vec<BTreeSet<Measured>> = (plan.sheets.iter())
        .map(|sheet| {
            let blocks =
                (sheet.blocks.iter()).filter(|block| wanted(block) && block.places_anything());
            blocks.flat_map(measured_in).collect()
        })
        .collect();
    let mut sheets_with: BTreeMap<&Measured, usize> = BTreeMap::new();
    for measured in measured.iter().flatten() {
        *sheets_with.entry(measured).or_default() += 1;
    }
    (0..measured.len())
        .filter(|sheet| {
            let of_sheet = &measured[*sheet];
            let shared = of_sheet.iter().filter(|one| sheets_with[one] > 1);
            shared.count() * 2 > of_sheet.len()
        })
        .collect()
}

fn measured_in(block: &BlockPlan) -> BTreeSet<Measured> {
    let of_form = block.form.iter().filter_map(|cell| match &cell.role {
        TrackRole::Analyte(track) => Some(track.analyte),
        _ => None,
    });
    let rows = (block.layout == Layout::ResultsDown).then_some(Measured::Rows);
    (analytes_of(block).chain(of_form))
        .map(Measured::Analyte)
        .chain(rows)
        .collect()
}

/// Holds a year of four digits.
fn is_a_time(name: &str) -> bool {
    let is_year = |word: &str| {
        word.len() == 4
            && (word.starts_with("19") || word.starts_with("20"))
            && word.bytes().all(|b| b.is_ascii_digit())
    };
    words(name).any(is_year)
}

fn is_a_source(name: &str) -> bool {
    let names = Names::new();
    !name.trim().is_empty() && !is_a_time(name) && !is_statistic(name) && !is_control(name, &names)
}
