//! Which reports a mapping is for.

use crate::locate::Wording;
use crate::read::{Report, Sheet};
use regex::Regex;

/// All that is stated must hold; a mapping that states nothing does not compile.
#[derive(Clone, Debug, Default)]
pub struct Recognise {
    /// Of the whole path relative to the gathered root.
    pub file: Option<Regex>,
    pub folder: Option<Regex>,
    /// Each stands in some cell, alone or within a longer text.
    pub texts: Vec<String>,
    /// Each is the whole text of a cell, all on one sheet.
    pub headings: Vec<Wording>,
    pub sheet: Option<Wording>,
    /// The same in words, for people: `wellread mappings` lists it.
    pub words: Vec<String>,
}

impl Recognise {
    /// Whether the report is one of those that the mapping is for.
    pub fn fits(&self, report: &Report) -> bool {
        let path = |pattern: &Option<Regex>| {
            pattern
                .as_ref()
                .is_none_or(|pattern| pattern.is_match(&report.file))
        };
        path(&self.file)
            && path(&self.folder)
            && self
                .sheet
                .as_ref()
                .is_none_or(|wording| report.sheets.iter().any(|sheet| wording.fits(&sheet.name)))
            && self.has_texts(report)
            && (self.headings.is_empty()
                || report.sheets.iter().any(|sheet| self.has_headings(sheet)))
    }

    fn has_texts(&self, report: &Report) -> bool {
        let (mut wanted, mut folded) = (String::new(), String::new());
        self.texts.iter().all(|text| {
            fold_into(&mut wanted, text);
            texts(report).any(|text| {
                text.len() >= wanted.len() && {
                    fold_into(&mut folded, text);
                    folded.contains(&wanted)
                }
            })
        })
    }

    fn has_headings(&self, sheet: &Sheet) -> bool {
        self.headings.iter().all(|wanted| {
            sheet
                .grid
                .cells()
                .any(|(_, cell)| matches!(&cell.value, crate::read::Value::Text(text) if wanted.fits(text)))
        })
    }
}

fn texts(report: &Report) -> impl Iterator<Item = &str> {
    report
        .sheets
        .iter()
        .flat_map(|sheet| sheet.grid.cells())
        .filter_map(|(_, cell)| match &cell.value {
            crate::read::Value::Text(text) => Some(&**text),
            _ => None,
        })
}

/// Lower case, one space between words. `folded` is kept for the next text: this is done for every cell.
fn fold_into(folded: &mut String, text: &str) {
    folded.clear();
    for word in text.split_whitespace() {
        if !folded.is_empty() {
            folded.push(' ');
        }
        if word.is_ascii() {
            folded.extend(word.chars().map(|c| c.to_ascii_lowercase()));
        } else {
            folded.push_str(&word.to_lowercase());
        }
    }
}
