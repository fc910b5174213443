//! The cells of a line that say who, where and when, as one text: lines with the same text are of the
//! same sample, which costs no parsing then.

use super::identity::Drafts;
use crate::read::CellView;
use std::borrow::Cow;

/// Stands between texts that make one key: no report has it in a cell.
const BETWEEN: char = '\u{1f}';

/// What is known already of the identity cells of a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Names {
    /// Those of a draft.
    Of(u32),
    /// Those of a draft with causes of findings to be counted again.
    Seen,
    New,
}

/// Reads the names of a block's lines.
#[derive(Debug)]
pub(super) struct NameReader {
    /// Indices of the tracks that say who, where and when.
    tracks: Vec<usize>,
    /// Keeps blocks apart, which differ in their facts.
    prefix: String,
    /// The names of the last line that was looked at closely, and its sample where lines with the same
    /// names can take it over.
    raw: String,
    former_draft: Option<u32>,
}

impl NameReader {
    pub(super) fn new(block: usize, tracks: Vec<usize>) -> Self {
        Self {
            tracks,
            prefix: format!("{block}{BETWEEN}"),
            raw: String::new(),
            former_draft: None,
        }
    }

    /// The names of the line that was read last.
    pub(super) fn raw(&self) -> &str {
        &self.raw
    }

    pub(super) fn read(&mut self, drafts: &Drafts, cells: &[(usize, CellView<'_>)]) -> Names {
        // Rows of one sample follow each other.
        if let Some(draft) = self.former_draft
            && self.are_the_same(cells)
        {
            return Names::Of(draft);
        }
        self.raw.clear();
        self.raw.push_str(&self.prefix);
        for text in texts(&self.tracks, cells) {
            self.raw.push_str(&text);
            self.raw.push(BETWEEN);
        }
        self.former_draft = None;
        match drafts.seen(&self.raw) {
            // Only where nothing has to be counted row by row.
            Some((draft, [])) => {
                self.former_draft = Some(draft);
                Names::Of(draft)
            }
            Some(_) => Names::Seen,
            None => Names::New,
        }
    }

    /// Whether the names of a line are, text for text, those that `raw` was made of.
    fn are_the_same(&self, cells: &[(usize, CellView<'_>)]) -> bool {
        let raw = &self.raw[self.prefix.len()..];
        let rest = texts(&self.tracks, cells).try_fold(raw, |rest, text| {
            let behind = match text.is_empty() {
                true => rest,
                false => rest.strip_prefix(&*text)?,
            };
            behind.strip_prefix(BETWEEN)
        });
        rest == Some("")
    }
}

/// The texts of the cells that are names, in the order of their tracks; empty where there is no cell.
fn texts<'c>(
    tracks: &'c [usize],
    cells: &'c [(usize, CellView<'c>)],
) -> impl Iterator<Item = Cow<'c, str>> {
    let mut rest = cells.iter().peekable();
    tracks.iter().map(move |track| {
        while rest.next_if(|(other, _)| other < track).is_some() {}
        rest.next_if(|(other, _)| other == track)
            .map_or(Cow::Borrowed(""), |(_, cell)| cell.as_text())
    })
}
