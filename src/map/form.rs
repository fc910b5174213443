//! Forms: labels beside or above their values, one sample for the whole sheet.

use super::findings::finding;
use super::head::Head;
use super::plan::{BlockPlan, FormCell, TrackRole, ValueRole};
use super::resolve::{Beside, Context, resolve};
use super::rules::RuleMeaning;
use super::tracks::rule_for;
use crate::finding::Finding;
use crate::locate::{Layout, Pair, Reader, unit_after_number};
use crate::read::{CellView, Grid};
use std::collections::BTreeMap;

/// The analyte pairs as a block of their own; identity is given to it as facts. `None` when no pair can
/// be placed or named.
pub(super) fn plan(
    grid: &Grid,
    reader: &Reader<'_>,
    context: &Context<'_>,
    pairs: &[Pair],
    findings: &mut Vec<Finding>,
) -> Option<BlockPlan> {
    let mut block = BlockPlan {
        layout: Layout::Form,
        across: false,
        first_line: 0,
        last_line: 0,
        not_samples: BTreeMap::new(),
        headings: Vec::new(),
        tracks: Vec::new(),
        facts: Vec::new(),
        form: Vec::new(),
        unseen: None,
    };
    for pair in pairs.iter().filter(|p| p.analyte) {
        let heading = reader.heading(&pair.label_text);
        let part = pair.part.clone().and_then(|range| {
            let text = grid.view(pair.value).as_text().into_owned();
            text.get(range).map(std::sync::Arc::<str>::from)
        });
        let mut head = Head {
            at: Some(pair.label),
            label: Some(pair.label_text.clone()),
            meaning: heading.meaning.clone(),
            unit: heading
                .unit
                .clone()
                .map(|u| (u, heading.unit_text.as_deref().unwrap_or("").into())),
            basis: heading.basis.clone(),
            basis_text: heading.basis_text.as_deref().map(Into::into),
            basis_implied: heading.basis_implied,
            fraction: heading.fraction,
            reference_temperature: heading.reference_temperature,
            ..Head::default()
        };
        own_unit(grid, context, pair, part.as_deref(), &mut head);
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
        });
    }
    (!block.form.is_empty()).then_some(block)
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
    if let Some((unit, basis)) = context.vocabulary.read_unit(&unit_text) {
        let text: std::sync::Arc<str> = unit_text.as_str().into();
        head.unit = Some((unit, text.clone()));
        head.state_basis(basis, &text);
        head.reference_temperature = head
            .reference_temperature
            .or_else(|| context.vocabulary.temperature_in_unit(&unit_text));
    } else {
        let stated = context.vocabulary.read_basis(&unit_text);
        head.state_basis(stated, &unit_text.as_str().into());
    }
}

/// A sheet on which nothing looks like results.
pub(super) fn not_recognised(context: &Context<'_>, cells: u64, alone: bool) -> Finding {
    let mut told = finding(
        "sheet-not-recognised",
        crate::place::Place::sheet(&context.file, &context.sheet),
        "nothing here looks like results of a water analysis".into(),
        "if it holds some, describe the sheet in a mapping".into(),
    )
    .for_cells(cells);
    // A cover or a legend beside sheets of results is as it should be.
    if !alone {
        told.severity = crate::finding::Severity::Note;
    }
    told
}
