//! A delimited text, read whole: decoded, cut into records and fields, put on a grid by true line.

use super::columns;
use super::delimiter::{self, Lookout};
use super::encoding::{self, Decoding, Encoding};
use super::fields;
use super::record::{Quoting, Span};
use crate::finding::Finding;
use crate::place::{Address, Place};
use crate::read::bounds::{CELL_CHARS, CELLS, COLUMNS, FINDINGS_OF_A_KIND, WHOLE_TEXT_CELLS};
use crate::read::cell::Cell;
use crate::read::findings::Flaw;
use crate::read::grid::{Grid, Report, Sheet};
use crate::read::options::Options;
use std::sync::Arc;

/// Whether the text has so many cells that it must not be held, and can be read as a stream.
pub(in crate::read) fn is_crowded(bytes: &[u8], options: &Options) -> bool {
    if bytes.len() < WHOLE_TEXT_CELLS || !options.encoding.is_none_or(Encoding::can_be_streamed) {
        return false;
    }
    let parts = |byte: &&u8| matches!(byte, b'\n' | b'\r' | b',' | b';' | b'\t' | b'|');
    bytes.iter().filter(parts).count() > WHOLE_TEXT_CELLS
}

/// Reads the bytes of a text into `report` (whose file name is set). Fails never: what is wrong is
/// a finding of the report.
pub(in crate::read) fn read(bytes: &[u8], options: &Options, report: &mut Report) {
    let decoding = Decoding::of(bytes, options.encoding);
    let text = decoding.decode(&bytes[decoding.mark()..]);
    report
        .findings
        .extend(findings_of_decoding(&report.file, decoding, &text));
    let (delimiter, body) = match (options.delimiter, delimiter::stated_in_text(&text)) {
        (Some(stated), found) => (u8::try_from(stated).ok(), found.map_or(0, |f| f.1)),
        (None, Some((stated, body))) => (Some(stated), body),
        (None, None) => (delimiter::detect(&text), 0),
    };
    let mut grid = Grid::default();
    match delimiter {
        Some(delimiter) => {
            report.delimiter = Some(char::from(delimiter));
            let first_line = u64::from(body > 0);
            let mut gather = Gather::new(&report.file, &mut grid);
            fields::for_each_record(
                &text[body..],
                delimiter,
                first_line,
                |line, span, fields| {
                    gather.record(line, span, fields);
                },
            );
            report.findings.extend(gather.findings());
        }
        None => {
            report
                .findings
                .extend(columns::read(&text, &report.file, &mut grid));
        }
    }
    report.sheets.push(Sheet {
        grid,
        ..Sheet::default()
    });
}

/// What decoding tells about the whole text.
pub(super) fn findings_of_decoding(
    file: &Arc<str>,
    decoding: Decoding,
    text: &str,
) -> Vec<Finding> {
    let mut findings = Vec::new();
    let place = Place::file(file);
    match decoding {
        Decoding::One { assumed: true, .. } => {
            let text = first_beyond_ascii(text).map_or_else(String::new, shorten);
            findings.push(Flaw::EncodingAssumed { text }.at(place.clone()));
        }
        Decoding::One { .. } => (),
        Decoding::ByLine { other, .. } => {
            findings.push(Flaw::EncodingMixed { other }.at(place.clone()));
        }
    }
    if let Some(word) = encoding::doubtful_word(text) {
        findings.push(
            Flaw::CharactersDoubtful {
                text: shorten(word),
            }
            .at(place.clone()),
        );
    }
    let nuls = memchr::memchr_iter(0, text.as_bytes()).count() as u64;
    if nuls > 0 {
        findings.push(Flaw::ControlCharacters { count: nuls }.at(place));
    }
    findings
}

/// The first word with a character beyond ASCII: by it the reader sees whether the encoding is right.
fn first_beyond_ascii(text: &str) -> Option<&str> {
    let at = text.bytes().position(|b| !b.is_ascii())?;
    let is_edge = |c: char| c.is_whitespace() || ",;|\"".contains(c);
    // The byte before `at` is ASCII, and so is a character of its own.
    let from = text[..at].rfind(is_edge).map_or(0, |i| i + 1);
    let to = text[at..].find(is_edge).map_or(text.len(), |i| at + i);
    Some(&text[from..to])
}

/// The beginning of a text, for a message.
pub(in crate::read) fn shorten(text: &str) -> String {
    const SHOWN: usize = 40;
    let mut short: String = text.chars().take(SHOWN).collect();
    if short.len() < text.len() {
        short.push('…');
    }
    short
}

/// Puts records on a grid and keeps account of what is wrong with them.
pub(super) struct Gather<'g> {
    file: Arc<str>,
    grid: &'g mut Grid,
    findings: Vec<Finding>,
    lost: u64,
    /// Place and text of the first record with a space before a quotation mark, and how many.
    spaced: Option<(Address, String)>,
    spaced_records: u64,
    lookout: Lookout,
    too_wide: bool,
    too_many: bool,
}

impl<'g> Gather<'g> {
    pub(super) fn new(file: &Arc<str>, grid: &'g mut Grid) -> Self {
        Self {
            file: file.clone(),
            grid,
            findings: Vec::new(),
            lost: 0,
            spaced: None,
            spaced_records: 0,
            lookout: Lookout::default(),
            too_wide: false,
            too_many: false,
        }
    }

    /// Takes the record of a line (zero-based).
    pub(super) fn record(&mut self, line: u64, span: Span, fields: &[&str]) {
        let Ok(row) = u32::try_from(line) else {
            self.too_many = true;
            return;
        };
        match span.quoting {
            Quoting::Lost => self.lost_quote(row, fields),
            Quoting::Quoted => self.space_before_quote(row, fields),
            Quoting::None => (),
        }
        self.lookout.record(row, fields);
        for (col, field) in fields.iter().enumerate() {
            if col >= COLUMNS as usize {
                self.too_wide = true;
                break;
            }
            if field.trim().is_empty() {
                continue;
            }
            if self.grid.count() >= CELLS {
                self.too_many = true;
                return;
            }
            let at = Address::new(row, col as u32);
            let field = self.bounded(at, field);
            self.grid.put(at, Cell::text(field));
        }
    }

    fn bounded<'f>(&mut self, at: Address, field: &'f str) -> &'f str {
        if field.len() <= CELL_CHARS {
            return field;
        }
        match field.char_indices().nth(CELL_CHARS) {
            None => field,
            Some((end, _)) => {
                let chars = field.chars().count();
                self.findings
                    .push(Flaw::TextCut { chars }.at(self.place(at)));
                &field[..end]
            }
        }
    }

    fn place(&self, at: Address) -> Place {
        Place::cell(&self.file, &"".into(), at)
    }

    fn lost_quote(&mut self, row: u32, fields: &[&str]) {
        self.lost += 1;
        if self.lost > FINDINGS_OF_A_KIND {
            return;
        }
        let Some(col) = fields.iter().position(|f| f.contains('"')) else {
            return;
        };
        let flaw = Flaw::QuoteLost {
            text: shorten(fields[col]),
        };
        self.findings
            .push(flaw.at(self.place(Address::new(row, col as u32))));
    }

    fn space_before_quote(&mut self, row: u32, fields: &[&str]) {
        let is_spaced = |f: &str| f.starts_with(' ') && f.trim_start().starts_with('"');
        let Some(col) = fields.iter().position(|f| is_spaced(f)) else {
            return;
        };
        self.spaced_records += 1;
        if self.spaced.is_none() {
            self.spaced = Some((
                Address::new(row, col as u32),
                shorten(fields[col].trim_start()),
            ));
        }
    }

    pub(super) fn findings(mut self) -> Vec<Finding> {
        let whole = Place::file(&self.file);
        if self.lost > FINDINGS_OF_A_KIND {
            let more = self.lost - FINDINGS_OF_A_KIND;
            self.findings
                .push(Flaw::QuotesLost { more }.at(whole.clone()));
        }
        if let Some((at, text)) = self.spaced.take() {
            let flaw = Flaw::SpaceBeforeQuote {
                text,
                records: self.spaced_records,
            };
            let place = self.place(at);
            self.findings.push(flaw.at(place));
        }
        self.findings
            .extend(std::mem::take(&mut self.lookout).finding(&self.file));
        if self.too_wide {
            let flaw = Flaw::CellBound {
                what: "columns",
                bound: u64::from(COLUMNS),
            };
            self.findings.push(flaw.at(whole.clone()));
        }
        if self.too_many {
            self.findings.push(
                Flaw::CellBound {
                    what: "cells",
                    bound: CELLS,
                }
                .at(whole),
            );
        }
        self.findings
    }
}
