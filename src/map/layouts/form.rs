//! Forms: labels beside or above their values, one sample for the whole sheet.

use crate::finding::Finding;
use crate::locate::{Layout, Pair, Reader, unit_after_number};
use crate::map::expressed::small_conductivity::{is_cell_too_small, refuse_one};
use crate::map::findings::finding;
use crate::map::heads::head::Head;
use crate::map::heads::marks::tells_apart;
use crate::map::heads::resolve::{Beside, Context, resolve};
use crate::map::heads::tracks::rule_for;
use crate::map::plan::{BlockPlan, FormCell, TrackRole, ValueRole};
use crate::map::rules::RuleMeaning;
use crate::map::whose::facts;
use crate::place::Address;
use crate::read::{CellView, Grid};
use crate::text::fold;
use std::collections::BTreeMap;
use std::sync::Arc;

/// The analyte pairs of a page as a block of their own; identity is given to it as facts. `None` when no pair can
/// be placed or named.
pub(in crate::map) fn plan<'p>(
    grid: &Grid,
    reader: &Reader<'_>,
    context: &Context<'_>,
    pairs: impl Iterator<Item = &'p Pair>,
    findings: &mut Vec<Finding>,
) -> Option<BlockPlan> {
    let mut block = BlockPlan::of_values(Layout::Form);
    let mut labels: BTreeMap<String, usize> = BTreeMap::new();
    let pairs: Vec<&Pair> = pairs.collect();
    // A word behind a number is its unit where those of others stand there.
    let has_units = pairs.iter().filter(|pair| pair.unit.is_some()).count() > 1;
    for pair in pairs {
        *labels.entry(fold(&pair.label_text)).or_default() += 1;
        let heading = reader.heading(&pair.label_text);
        let part = pair.part.clone().and_then(|range| {
            let text = grid.view(pair.value).as_text().into_owned();
            text.get(range).map(Arc::<str>::from)
        });
        let cell = (part.as_deref()).map_or_else(|| grid.view(pair.value), CellView::Text);
        let mut head = Head::of(&heading, pair.label, &pair.label_text);
        own_unit(grid, context, pair, part.as_deref(), &mut head);
        if head.unit.is_none() && has_units {
            head.unit_words = words_behind(grid, pair);
        }
        let rule = rule_for(context.rules, &context.sheet, &head, pair.label.col);
        let role = match rule.and_then(|r| r.meaning.as_ref()) {
            Some(RuleMeaning::Field(field)) => TrackRole::Field(*field),
            Some(RuleMeaning::SetAside(reason)) => TrackRole::SetAside(reason.clone()),
            Some(RuleMeaning::Analyte(_)) | None => match resolve(
                context,
                &head,
                Beside {
                    rule,
                    ..Beside::default()
                },
                findings,
            ) {
                Ok(track) if is_cell_too_small(context.vocabulary, &track, cell) => {
                    let place = context.place(pair.label);
                    TrackRole::Unplaced(refuse_one(place, &pair.label_text, findings))
                }
                Ok(track) => TrackRole::Analyte(Box::new(track)),
                Err(reason) => TrackRole::Unplaced(reason),
            },
        };
        if pair.part.is_none() {
            block.headings.push(pair.label);
        }
        let companions = pair
            .unit
            .map(|at| (at, ValueRole::Unit))
            .into_iter()
            .collect();
        block.form.push(FormCell {
            value: pair.value,
            part,
            role,
            companions,
            own: Vec::new(),
        });
    }
    if let Some(at) = block.form.first().map(|cell| cell.value)
        && are_of_several(&labels)
    {
        findings.push(
            finding(
                SAMPLE_OF_WHICH,
                context.place(at),
                "most labels stand here several times, and nothing says whose each is: not placed"
                    .into(),
                "name the sample above its results, or describe the sheet in a mapping".into(),
            )
            .for_cells(block.place_nothing(SAMPLE_OF_WHICH)),
        );
    }
    (!block.form.is_empty()).then_some(block)
}

/// Reason and finding of a page on which several samples stand.
pub(in crate::map) const SAMPLE_OF_WHICH: &str = "sample-of-which";

/// Labels of a page, and how often each stands there: one or two come again (in another unit, or measured in the
/// field too), most of them only for another sample.
fn are_of_several(labels: &BTreeMap<String, usize>) -> bool {
    let again = labels.values().filter(|count| **count > 1).count();
    again > 1 && again * 2 > labels.len()
}

/// The first rows of the pages of a form. A page says who its sample is and then gives its results; where the
/// same label then names another sample, the next page begins.
pub(in crate::map) fn pages(grid: &Grid, reader: &Reader<'_>, pairs: &[Pair]) -> Vec<u32> {
    let mut starts = vec![0];
    let mut named: BTreeMap<String, Arc<str>> = BTreeMap::new();
    // The first row with a name since the last result, and whether it opens a page.
    let (mut first, mut is_other) = (None, false);
    let mut has_results = false;
    // The analytes of the page, and whether a name stands behind them under a label that was not met before.
    let (mut met, mut is_new) = (Vec::new(), false);
    for pair in pairs {
        if pair.analyte {
            has_results = true;
            let meaning = reader.heading(&pair.label_text).meaning.clone();
            let is_again = is_new && met.contains(&meaning);
            if let Some(row) = first.take().filter(|_| is_other || is_again) {
                starts.push(row);
                met.clear();
            }
            met.push(meaning);
            (is_other, is_new) = (false, false);
        } else if facts::field_of(&reader.heading(&pair.label_text).meaning, &pair.label_text)
            .is_some_and(tells_apart)
        {
            first.get_or_insert(pair.label.row);
            let name = facts::source(grid, pair).text(grid);
            let before = named.insert(fold(&pair.label_text), name.clone());
            is_other |= has_results && before.as_ref().is_some_and(|before| *before != name);
            is_new |= has_results && before.is_none() && named.len() > 1;
        }
    }
    starts
}

/// The unit in the value's own cell, or in the cell behind it.
fn own_unit(grid: &Grid, context: &Context<'_>, pair: &Pair, part: Option<&str>, head: &mut Head) {
    let text = match (part, grid.view(pair.value)) {
        (Some(part), _) => part,
        (None, CellView::Text(text)) => text,
        _ => "",
    };
    let own = unit_after_number(text).map(ToOwned::to_owned);
    let beside = pair.unit.map(|at| grid.view(at).as_text().into_owned());
    let Some(unit_text) = own.or(beside) else {
        return;
    };
    state_unit(context, &unit_text, head);
}

/// The words in the cell behind a value, known or not.
fn words_behind(grid: &Grid, pair: &Pair) -> Option<Arc<str>> {
    let behind = Address::new(pair.value.row, pair.value.col + 1);
    match grid.view(behind) {
        CellView::Text(text) if pair.part.is_none() && text.chars().any(char::is_alphanumeric) => {
            Some(text.trim().into())
        }
        _ => None,
    }
}

/// A unit or a basis in a cell of its own.
pub(super) fn state_unit(context: &Context<'_>, unit_text: &str, head: &mut Head) {
    if let Some((unit, basis)) = context.vocabulary.read_unit(unit_text) {
        let text: Arc<str> = unit_text.into();
        head.unit = Some((unit, text.clone()));
        head.state_basis(basis, &text);
        head.reference_temperature = head
            .reference_temperature
            .or_else(|| context.vocabulary.temperature_in_unit(unit_text));
    } else {
        let stated = context.vocabulary.read_basis(unit_text);
        head.state_basis(stated, &unit_text.into());
    }
}

/// A sheet on which nothing looks like results.
pub(in crate::map) fn not_recognised(context: &Context<'_>, cells: u64, alone: bool) -> Finding {
    let mut told = finding(
        "sheet-not-recognised",
        crate::place::Place::sheet(&context.file, &context.sheet),
        "nothing here looks like results of a water analysis".into(),
        "if it holds some, describe the sheet in a mapping: 'wellread draft' begins one".into(),
    )
    .for_cells(cells);
    // A cover or a legend beside sheets of results is as it should be.
    if !alone {
        told.severity = crate::finding::Severity::Note;
    }
    told
}
