//! Where the labels of a mapping stand, on a sheet on which nothing looks like a table: a laboratory's own words
//! over its columns, codes for its analytes.

use super::rules::{RuleMeaning, Rules};
use crate::locate::{Hints, Layout, Look, Reader};
use crate::read::{CellView, Grid};
use crate::vocabulary::Field;

/// Rows in which the headings are looked for.
const LAST_HEAD: u32 = 60;

/// What a row of headings would head.
#[derive(Debug, Default)]
struct Row {
    /// Headings that are analytes by the mapping.
    analytes: usize,
    label: bool,
    value: bool,
}

impl Row {
    fn take(&mut self, field: Field) {
        self.label |= field == Field::Label;
        self.value |= field == Field::Value;
    }

    fn layout(&self) -> Option<Layout> {
        if self.label && self.value {
            Some(Layout::ResultsDown)
        } else if self.analytes > 1 {
            Some(Layout::SamplesDown)
        } else {
            None
        }
    }
}

/// `hints` completed by the first row that the labels of the mapping make one of headings; `None` where the mapping
/// says itself where the headings are, or where no row is one. Columns of codes are not looked for: a list and
/// samples side by side look alike there.
pub(super) fn where_labels_stand(
    grid: &Grid,
    reader: &Reader<'_>,
    sheet: &str,
    rules: &Rules,
    hints: &Hints,
) -> Option<Hints> {
    if hints.heading_lines.is_some() || hints.anchor.is_some() {
        return None;
    }
    let rows = grid.rows().take_while(|(row, _)| *row <= LAST_HEAD);
    rows.filter(|(row, _)| hints.area.is_none_or(|a| (a.top..=a.bottom).contains(row)))
        .find_map(|(row, cells)| {
            let mut found = Row::default();
            for (_, cell) in cells {
                let CellView::Text(text) = cell.view() else {
                    continue;
                };
                match rules.meaning_of(sheet, text) {
                    Some(RuleMeaning::Analyte(_)) => found.analytes += 1,
                    Some(RuleMeaning::Field(field)) => found.take(*field),
                    Some(RuleMeaning::SetAside(_)) => {}
                    None => {
                        if let Look::Field(field) = reader.look(cell.view()) {
                            found.take(field);
                        }
                    }
                }
            }
            let layout = found.layout()?;
            (hints.layout.is_none_or(|told| told == layout)).then(|| Hints {
                layout: Some(layout),
                heading_lines: Some(vec![row]),
                ..hints.clone()
            })
        })
}
