//! The labels of a report and what each was taken for, in the order of the sheets.

use super::Drafted;
use super::guess::{Guess, TO_BE_NAMED};
use crate::finding::Finding;
use crate::locate::Layout;
use crate::map::{
    ANALYTE_UNKNOWN, BlockPlan, DAYS_OF_WHAT, NAMES_OF_WHAT, Plan, TrackRole, ValueRole,
};
use crate::place::{Address, column_letters};
use crate::read::{Report, Sheet};
use crate::record::Origin;
use crate::vocabulary::{AnalyteId, Field, Fraction};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

#[derive(Clone, Debug, PartialEq)]
pub enum Means {
    Analyte {
        analyte: AnalyteId,
        fraction: Option<Fraction>,
        /// As the report has them; `None` where it has none.
        unit_text: Option<Arc<str>>,
        basis_text: Option<Arc<str>>,
        /// What the numbers were taken to count.
        basis: Option<String>,
        from: Origin,
    },
    Field(Field),
    /// Taken for it by what stands below: the heading is none of our words.
    Guessed(Field),
    /// A part of the result beside it.
    Companion(ValueRole),
    SetAside(Arc<str>),
    Unplaced(Arc<str>),
}

/// One label, as it stands in the report.
#[derive(Clone, Debug, PartialEq)]
pub struct Label {
    pub text: String,
    pub means: Means,
    pub sheet: Arc<str>,
    /// The column or row that it heads, as people name it.
    pub position: String,
    /// Whether a cell has this text and no more, so that it can be recognised by.
    pub is_cell: bool,
    /// Why something was assumed or not placed, in the words of the finding; empty where there is none.
    pub why: String,
    /// What a mapping could say of it (`means = "label"`), likeliest first; empty where nothing tells.
    pub could_be: Vec<String>,
}

/// Every label once for each meaning that it has.
pub fn labels(report: &Report, plan: &Plan) -> Vec<Label> {
    let mut found: Vec<Label> = Vec::new();
    for (sheet, sheet_plan) in report.sheets.iter().zip(&plan.sheets) {
        for block in &sheet_plan.blocks {
            for label in of_block(sheet, block, &plan.findings) {
                let known = found.iter().any(|other| {
                    folded(&other.text) == folded(&label.text) && other.means == label.means
                });
                if !known {
                    found.push(label);
                }
            }
        }
    }
    found
}

/// The labels of a drafted report: those of [`labels`], and those that only its rows have or that no
/// table was seen under. `guesses`: of each sheet on which none was.
pub(super) fn all_labels(drafted: &Drafted<'_>, guesses: &[Option<Guess>]) -> Vec<Label> {
    let mut found = labels(drafted.report, drafted.plan);
    for (index, (sheet, plan)) in drafted
        .report
        .sheets
        .iter()
        .zip(&drafted.plan.sheets)
        .enumerate()
    {
        let mut more = Vec::new();
        for block in plan
            .blocks
            .iter()
            .filter(|b| b.layout == Layout::ResultsDown)
        {
            more.extend(labels_of_rows(drafted, index, sheet, block));
        }
        if let Some(guess) = &guesses[index]
            && !sheet.hidden
        {
            more.extend(guess.labels.iter().cloned());
        }
        for label in more {
            if !found
                .iter()
                .any(|other| folded(&other.text) == folded(&label.text))
            {
                found.push(label);
            }
        }
    }
    found
}

/// Labels of a long table whose values could not be placed.
fn labels_of_rows(
    drafted: &Drafted<'_>,
    index: usize,
    sheet: &Sheet,
    block: &BlockPlan,
) -> Vec<Label> {
    let column = |wanted: Field| {
        block.tracks.iter().find_map(|track| match &track.role {
            TrackRole::Field(field) if *field == wanted => Some(track.at),
            _ => None,
        })
    };
    let (Some(label), Some(value)) = (column(Field::Label), column(Field::Value)) else {
        return Vec::new();
    };
    drafted
        .extract
        .unplaced
        .iter()
        .filter(|cell| usize::from(cell.sheet) == index && cell.at.col == value)
        .filter_map(|cell| {
            let at = Address::new(cell.at.row, label);
            unplaced(sheet, at, &cell.reason)
        })
        .collect()
}

/// `None` where no text stands.
fn unplaced(sheet: &Sheet, at: Address, reason: &str) -> Option<Label> {
    let crate::read::Value::Text(text) = &sheet.grid.get(at)?.value else {
        return None;
    };
    Some(Label {
        text: text.split_whitespace().collect::<Vec<_>>().join(" "),
        means: Means::Unplaced(reason.into()),
        sheet: sheet.name.clone(),
        position: at.to_string(),
        is_cell: true,
        why: String::new(),
        could_be: vec![TO_BE_NAMED.into()],
    })
}

fn of_block(sheet: &Sheet, block: &BlockPlan, findings: &[Finding]) -> Vec<Label> {
    let mut heads: BTreeMap<u32, Vec<Address>> = BTreeMap::new();
    for at in &block.headings {
        let track = if block.across { at.row } else { at.col };
        heads.entry(track).or_default().push(*at);
    }
    let tracks = block.tracks.iter().filter_map(|track| {
        let cells = heads.get(&track.at).map_or(&[][..], Vec::as_slice);
        let position = if block.across {
            (u64::from(track.at) + 1).to_string()
        } else {
            column_letters(track.at)
        };
        let mut label = label(sheet, &track.role, cells, position)?;
        label.why = why(sheet, cells, findings);
        let is_guess = |finding: &Finding| [DAYS_OF_WHAT, NAMES_OF_WHAT].contains(&&*finding.code);
        if let Means::Field(field) = label.means
            && told_of(sheet, cells, findings).any(is_guess)
        {
            label.means = Means::Guessed(field);
        }
        Some(label)
    });
    let values = block
        .form
        .iter()
        .filter_map(|cell| label(sheet, &cell.role, &[], cell.value.to_string()));
    tracks.chain(values).collect()
}

/// What the findings at the headings say.
fn why(sheet: &Sheet, heads: &[Address], findings: &[Finding]) -> String {
    let told: Vec<&str> = told_of(sheet, heads, findings)
        .map(|finding| finding.message.as_str())
        .collect();
    told.join("; ")
}

fn told_of<'f>(
    sheet: &Sheet,
    heads: &[Address],
    findings: &'f [Finding],
) -> impl Iterator<Item = &'f Finding> {
    (findings.iter()).filter(|finding| {
        finding.place.sheet == sheet.name
            && finding.place.cell.is_some_and(|at| heads.contains(&at))
    })
}

/// `None` where no text says what the numbers are.
fn label(sheet: &Sheet, role: &TrackRole, heads: &[Address], position: String) -> Option<Label> {
    let head = heads
        .iter()
        .map(|at| sheet.grid.view(*at).as_text().into_owned())
        .find(|text| !text.trim().is_empty());
    let (text, means) = match role {
        TrackRole::Analyte(track) => (
            Some(track.label_text.to_string()),
            Means::Analyte {
                analyte: track.analyte,
                fraction: track.fraction,
                unit_text: track.unit_text.clone(),
                basis_text: track.basis_text.clone(),
                basis: track.basis.as_ref().map(ToString::to_string),
                from: track.unit_from,
            },
        ),
        TrackRole::Field(field) => (head, Means::Field(*field)),
        TrackRole::Companion { role, .. } => (head, Means::Companion(*role)),
        TrackRole::SetAside(reason) => (head, Means::SetAside(reason.clone())),
        TrackRole::Unplaced(reason) => (head, Means::Unplaced(reason.clone())),
    };
    let text = text?.split_whitespace().collect::<Vec<_>>().join(" ");
    if text.is_empty() {
        return None;
    }
    let is_cell = sheet.grid.cells().any(|(_, cell)| {
        matches!(&cell.value, crate::read::Value::Text(cell) if folded(cell) == folded(&text))
    });
    let is_unknown = matches!(&means, Means::Unplaced(reason) if &**reason == ANALYTE_UNKNOWN);
    Some(Label {
        text,
        means,
        sheet: sheet.name.clone(),
        position,
        is_cell,
        why: String::new(),
        could_be: is_unknown.then(|| TO_BE_NAMED.into()).into_iter().collect(),
    })
}

/// Whether two reports have one layout: the same kinds of table under the same labels.
pub fn same_layout(a: (&Report, &Plan), b: (&Report, &Plan)) -> bool {
    shape(a.0, a.1) == shape(b.0, b.1)
}

fn shape(report: &Report, plan: &Plan) -> BTreeSet<(&'static str, String)> {
    let mut shape = BTreeSet::new();
    for (sheet, plan) in report.sheets.iter().zip(&plan.sheets) {
        for block in &plan.blocks {
            // The analytes of a long table or a form change with the order placed; its own headings,
            // and the kind of table, do not.
            for label in of_block(sheet, block, &[]) {
                shape.insert((block.layout.name(), folded(&label.text)));
            }
        }
    }
    shape
}

/// Lower case, one space between words: how a mapping compares labels.
pub(in crate::mapping) fn folded(text: &str) -> String {
    let words: Vec<String> = text.split_whitespace().map(str::to_lowercase).collect();
    words.join(" ")
}
