//! Labels outside the tables that a mapping gives a meaning ("Entnommen: 5.3.2016"): to the vocabulary they can be
//! any text.

use super::facts;
use crate::locate::{FARTHEST_VALUE, Pair, bare_label};
use crate::map::rules::{RuleMeaning, Rules};
use crate::place::{Address, Areas};
use crate::read::{CellView, Grid};
use crate::vocabulary::{Field, Meaning};

/// The field that a label outside the tables gives: what the mapping says, else what is known of it; `None` where it
/// gives no identity.
pub(super) fn field_of(
    rules: Option<&Rules>,
    sheet: &str,
    label: &str,
    known: &Meaning,
) -> Option<Field> {
    match rules.and_then(|rules| rules.meaning_of_words(sheet, label)) {
        Some(RuleMeaning::Field(field)) => {
            (field.is_identity() || *field == Field::ReportRef).then_some(*field)
        }
        Some(_) => None,
        None => facts::field_of(known, label),
    }
}

/// Adds the pairs of such labels, in the order of their labels.
pub(in crate::map) fn add(
    rules: &Rules,
    sheet: &str,
    grid: &Grid,
    tables: &Areas,
    pairs: &mut Vec<Pair>,
) {
    let is_told = |label: &str| {
        let meaning = rules.meaning_of_words(sheet, label);
        matches!(meaning, Some(RuleMeaning::Field(_)))
    };
    let free = |at: Address| !tables.contain(at);
    let added: Vec<Pair> = (grid.cells())
        .filter(|(at, _)| free(*at) && pairs.binary_search_by_key(at, |p| p.label).is_err())
        .filter_map(|(label, cell)| {
            let CellView::Text(text) = cell.view() else {
                return None;
            };
            let pair = |name: &str, value, part| Pair {
                label,
                label_text: name.into(),
                value,
                part,
                unit: None,
                analyte: false,
            };
            let name = bare_label(text);
            if is_told(name) {
                let beside = grid.stretch(label.row, label.col + 1, label.col + FARTHEST_VALUE);
                let (col, _) = beside.first()?;
                let value = Address::new(label.row, *col);
                return free(value).then(|| pair(name, value, None));
            }
            let (name, value) = text.split_once(':')?;
            let part = (!value.trim().is_empty() && is_told(name.trim())).then(|| {
                let from = text.len() - value.trim_start().len();
                from..from + value.trim().len()
            })?;
            Some(pair(name.trim(), label, Some(part)))
        })
        .collect();
    pairs.extend(added);
    pairs.sort_by_key(|pair| pair.label);
}
