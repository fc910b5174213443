//! The records of an `.xls` are walked before `calamine` lays its sheets out: how large those would
//! become, and which cells have a number format that shows more than the number. Form: MS-XLS.

use super::bytes::{u16_at, u32_at};
use super::hidden::Hidden;
use super::rich::{Font, Segments};
use super::shown::Format;
use super::strings::Raised;
use crate::read::bounds::{DENSE_CELLS, SHEETS, XLS_TEXTS, bound_sheets};
use crate::read::findings::Flaw;
use std::collections::{HashMap, HashSet};

/// What the walk found.
#[derive(Debug, Default)]
pub(super) struct Survey {
    /// Number formats that show more than the number, by number of the cell style.
    formats: HashMap<u16, Format>,
    /// For each sheet, in the order of the workbook: cells with such a style.
    styled: Vec<Styled>,
    /// For each sheet: cells with a text of the workbook's table.
    texts: Vec<Vec<(u16, u16)>>,
    /// For each sheet: cells whose value is not to be trusted, and why.
    doubtful: Vec<Doubtful>,
    /// For each sheet: what it hides.
    hidden: Vec<Hidden>,
    /// Texts of the table that a reader sees otherwise than they stand.
    pub(super) raised: Raised,
    /// Of BIFF 8, whose texts are Unicode whatever code page it states (MS-XLS 2.5.294); those of
    /// BIFF 5 are in the code page.
    pub(super) is_unicode: bool,
}

impl Survey {
    /// The format of a cell, where it shows more than the number.
    pub(super) fn format(&self, sheet: usize, at: (u32, u32)) -> Option<&Format> {
        self.formats.get(self.styled.get(sheet)?.get(&at)?)
    }

    /// The cells of a sheet, by row and column, that have a text of the workbook's table.
    pub(super) fn texts(&self, sheet: usize) -> impl Iterator<Item = (u32, u32)> {
        let cells = self.texts.get(sheet).into_iter().flatten();
        cells.map(|(row, col)| (u32::from(*row), u32::from(*col)))
    }

    pub(super) fn hidden(&self, sheet: usize) -> Hidden {
        self.hidden.get(sheet).cloned().unwrap_or_default()
    }

    /// The cells of a sheet whose value is not to be trusted, with words to stand in their place.
    pub(super) fn doubtful(&self, sheet: usize) -> &[((u32, u32), &'static str)] {
        self.doubtful.get(sheet).map_or(&[], Vec::as_slice)
    }
}

// Record types, MS-XLS 2.3.
const BOF: u16 = 0x0809;
const EOF: u16 = 0x000A;
const BOUND_SHEET: u16 = 0x0085;
const FORMAT: u16 = 0x041E;
const FONT: u16 = 0x0031;
const SST: u16 = 0x00FC;
const CONTINUE: u16 = 0x003C;
const XF: u16 = 0x00E0;
const DIMENSIONS: u16 = 0x0200;
const NUMBER: u16 = 0x0203;
const RK: u16 = 0x027E;
const MUL_RK: u16 = 0x00BD;
const FORMULA: u16 = 0x0006;
const LABEL: u16 = 0x0204;
const R_STRING: u16 = 0x00D6;
const LABEL_SST: u16 = 0x00FD;
const BOOL_ERR: u16 = 0x0205;
const ROW: u16 = 0x0208;
const COL_INFO: u16 = 0x007D;

/// The text that a formula gives.
const STRING: u16 = 0x0207;
/// There is a password. `calamine` knows one kind of them, and reads nonsense under the other.
const FILE_PASS: u16 = 0x002F;

/// The number that no font has (MS-XLS 2.5.129).
const NO_FONT: usize = 4;

/// Bytes of a stream that are walked for each sheet whatever stands in it.
const SMALL: usize = 64 << 10;

/// Rows times columns of the format itself.
const WHOLE_SHEET: u64 = 65_536 * 256;

/// Cells by row and column, with the number of their style.
type Styled = HashMap<(u32, u32), u16>;

/// Cells by row and column, with words to stand in their place.
type Doubtful = Vec<((u32, u32), &'static str)>;

/// Walks the workbook stream. Fails when laying its sheets out would take more than the bound.
pub(super) fn survey(stream: &[u8]) -> Result<Survey, Flaw> {
    survey_within(stream, XLS_TEXTS)
}

/// `most_texts`: in the cells of all sheets.
fn survey_within(stream: &[u8], most_texts: u64) -> Result<Survey, Flaw> {
    let mut survey = Survey::default();
    let mut codes: HashMap<u16, String> = HashMap::new();
    let mut styles: Vec<(u16, bool)> = Vec::new();
    let mut fonts: Vec<Font> = Vec::new();
    let mut table: Vec<&[u8]> = Vec::new();
    let mut is_in_table = false;
    let mut sheets = Vec::new();
    let mut is_biff8 = true;
    for (kind, data) in Records::of(stream) {
        is_in_table = kind == SST || is_in_table && kind == CONTINUE;
        match kind {
            EOF => break,
            SST | CONTINUE if is_in_table => table.push(data),
            BOF => is_biff8 = u16_at(data, 0) != Some(0x0500),
            FORMAT => {
                if let (Some(id), Some(code)) = (u16_at(data, 0), string(data.get(2..), is_biff8)) {
                    codes.insert(id, code);
                }
            }
            FONT => {
                fonts.push(Font::of(u16_at(data, 2), u16_at(data, 8)));
                if fonts.len() == NO_FONT {
                    fonts.push(Font::default());
                }
            }
            XF => styles.extend(u16_at(data, 2).zip(u16_at(data, 0)).map(|(format, font)| {
                let font = fonts.get(usize::from(font)).copied();
                (format, font.unwrap_or_default().is_struck)
            })),
            FILE_PASS => return Err(Flaw::PasswordProtected),
            BOUND_SHEET => {
                if let Some(start) = u32_at(data, 0) {
                    sheets.push(start as usize);
                }
            }
            _ => (),
        }
    }
    survey.is_unicode = is_biff8;
    if is_biff8 && !fonts.iter().all(|font| font.is_plain()) {
        Segments::of(table).read(&fonts, &mut survey.raised);
    }
    bound_sheets(sheets.len())?;
    for (style, (id, is_struck)) in (0..=u16::MAX).zip(styles) {
        let code = codes.get(&id).map(String::as_str).or(built_in(id));
        if let Some(format) = Format::of(code, is_struck) {
            survey.formats.insert(style, format);
        }
    }
    let (mut total, mut texts, mut walked) = (0_u64, 0_u64, 0);
    // Sheets stand one behind the other, but one without an end runs into the next.
    let most_walked = stream.len().saturating_mul(4) + SHEETS * SMALL;
    for start in sheets {
        let stream = stream.get(start..).unwrap_or(&[]);
        let mut records = SheetRecords::of(stream);
        records.by_ref().for_each(drop);
        walked += stream.len() - records.records.rest.len();
        if walked > most_walked {
            let reason = "its sheets lie over each other".to_owned();
            return Err(Flaw::WorkbookBroken { reason });
        }
        let mut shared = Vec::new();
        let (cells, styled) = walk_sheet(stream, &survey.formats, &mut texts, &mut shared)?;
        if texts > most_texts {
            return Err(Flaw::CellsClaimed {
                what: "texts in the cells of an .xls",
                bound: most_texts,
            });
        }
        total = total.saturating_add(cells);
        if total > DENSE_CELLS {
            return Err(Flaw::CellsClaimed {
                what: "cells to lay out, blank ones included",
                bound: DENSE_CELLS,
            });
        }
        survey.styled.push(styled);
        survey.texts.push(shared);
        survey.doubtful.push(doubtful(stream, is_biff8));
        survey.hidden.push(hidden(stream));
    }
    Ok(survey)
}

/// How many cells the sheet's rectangle has, and which are styled; adds its texts to `texts`, and those of
/// the workbook's table to `shared`.
fn walk_sheet(
    stream: &[u8],
    formats: &HashMap<u16, Format>,
    texts: &mut u64,
    shared: &mut Vec<(u16, u16)>,
) -> Result<(u64, Styled), Flaw> {
    let mut rectangle = Rectangle::default();
    let mut styled = HashMap::new();
    for (kind, data) in SheetRecords::of(stream) {
        match kind {
            DIMENSIONS if claimed(data) > WHOLE_SHEET => {
                let reason = "a sheet claims more cells than the format has".to_owned();
                return Err(Flaw::WorkbookBroken { reason });
            }
            MUL_RK => {
                for (i, at) in cells_of(kind, data).enumerate() {
                    rectangle.add(at);
                    note_style(u16_at(data, 4 + 6 * i), at, formats, &mut styled);
                }
            }
            NUMBER | RK | FORMULA | LABEL | R_STRING | LABEL_SST | BOOL_ERR => {
                *texts += u64::from(matches!(kind, LABEL | R_STRING | LABEL_SST));
                if let (Some(row), Some(col)) = (u16_at(data, 0), u16_at(data, 2)) {
                    let at = (u32::from(row), u32::from(col));
                    rectangle.add(at);
                    if kind == LABEL_SST {
                        shared.push((row, col));
                    }
                    if kind != BOOL_ERR {
                        note_style(u16_at(data, 4), at, formats, &mut styled);
                    }
                }
            }
            _ => (),
        }
    }
    Ok((rectangle.cells(), styled))
}

/// The records of a sheet, without those of charts within it, which have cells of their own.
struct SheetRecords<'s> {
    records: Records<'s>,
    depth: usize,
}

impl<'s> SheetRecords<'s> {
    const fn of(stream: &'s [u8]) -> Self {
        Self {
            records: Records::of(stream),
            depth: 0,
        }
    }
}

impl<'s> Iterator for SheetRecords<'s> {
    type Item = (u16, &'s [u8]);

    fn next(&mut self) -> Option<Self::Item> {
        loop {
            let (kind, data) = self.records.next()?;
            match kind {
                BOF => self.depth += 1,
                EOF if self.depth <= 1 => return None,
                EOF => self.depth -= 1,
                _ if self.depth <= 1 => return Some((kind, data)),
                _ => (),
            }
        }
    }
}

/// Cells of a sheet that are given twice, of which `calamine` takes the last, and those whose text goes on in
/// another record, of which it takes the beginning.
fn doubtful(stream: &[u8], is_biff8: bool) -> Doubtful {
    let mut found = Doubtful::new();
    let mut last = None;
    let mut is_in_order = true;
    for (kind, data) in SheetRecords::of(stream) {
        let text = match kind {
            LABEL | R_STRING => data.get(6..),
            STRING => Some(data),
            _ => None,
        };
        for at in cells_of(kind, data) {
            is_in_order &= last < Some(at);
            last = Some(at);
        }
        let breaks_off = |text| u16_at(text, 0) > Some(0) && string(Some(text), is_biff8).is_none();
        if is_biff8 && text.is_some_and(breaks_off) {
            found.extend(last.map(|at| (at, "(a text that breaks off)")));
        }
    }
    if !is_in_order {
        let mut met = HashSet::new();
        let cells = SheetRecords::of(stream).flat_map(|(kind, data)| cells_of(kind, data));
        let again = cells.filter(|at| !met.insert(*at));
        found.extend(again.map(|at| (at, "(given twice)")));
    }
    found
}

/// Rows and columns that a sheet hides (MS-XLS 2.4.221, 2.4.53).
fn hidden(stream: &[u8]) -> Hidden {
    let mut hidden = Hidden::default();
    for (kind, data) in SheetRecords::of(stream) {
        let has = |at, flag| u16_at(data, at).is_some_and(|flags| flags & flag != 0);
        let (first, last) = (u16_at(data, 0), u16_at(data, 2));
        match (kind, first, last) {
            (ROW, Some(row), _) if has(12, 0x20) => hidden.rows(row.into(), row.into()),
            (COL_INFO, Some(first), Some(last)) if has(8, 1) => {
                hidden.columns(first.into(), last.into());
            }
            _ => (),
        }
    }
    hidden
}

/// Row and column of the cells of a record: several of a MULRK, none of most others.
fn cells_of(kind: u16, data: &[u8]) -> impl Iterator<Item = (u32, u32)> {
    let count = match kind {
        MUL_RK => data.len().saturating_sub(6) / 6,
        NUMBER | RK | FORMULA | LABEL | R_STRING | LABEL_SST | BOOL_ERR => 1,
        _ => 0,
    };
    let first = u16_at(data, 0).zip(u16_at(data, 2));
    let first = first.map(|(row, column)| (u32::from(row), u32::from(column)));
    (0..count as u32).filter_map(move |n| first.map(|(row, column)| (row, column + n)))
}

fn note_style(
    style: Option<u16>,
    at: (u32, u32),
    formats: &HashMap<u16, Format>,
    styled: &mut Styled,
) {
    if let Some(style) = style.filter(|s| formats.contains_key(s)) {
        styled.insert(at, style);
    }
}

/// Cells that a DIMENSIONS record claims, counted as `calamine` counts them (MS-XLS 2.4.90): where the
/// last row stands before the first, that is some thousand million rows.
fn claimed(data: &[u8]) -> u64 {
    let corners = match data.len() {
        10 => (
            u16_at(data, 0).map(u32::from),
            u16_at(data, 2).map(u32::from),
            u16_at(data, 4),
            u16_at(data, 6),
        ),
        14 | 16 => (
            u32_at(data, 0),
            u32_at(data, 4),
            u16_at(data, 8),
            u16_at(data, 10),
        ),
        _ => return 0,
    };
    let (Some(top), Some(bottom), Some(left), Some(right)) = corners else {
        return 0;
    };
    if bottom == 0 || right == 0 {
        return 1;
    }
    let left = if left > 0xFF || right < left { 0 } else { left };
    u64::from(bottom.wrapping_sub(top)) * u64::from(right - left)
}

#[derive(Default)]
struct Rectangle {
    corners: Option<(u32, u32, u32, u32)>,
}

impl Rectangle {
    fn add(&mut self, (row, col): (u32, u32)) {
        let (top, left, bottom, right) = self.corners.unwrap_or((row, col, row, col));
        self.corners = Some((top.min(row), left.min(col), bottom.max(row), right.max(col)));
    }

    fn cells(&self) -> u64 {
        self.corners.map_or(0, |(top, left, bottom, right)| {
            u64::from(bottom - top + 1) * u64::from(right - left + 1)
        })
    }
}

/// The number formats that every `.xls` has (MS-XLS 2.4.126), of those that show more than a number.
pub(super) const fn built_in(id: u16) -> Option<&'static str> {
    match id {
        9 => Some("0%"),
        10 => Some("0.00%"),
        _ => None,
    }
}

struct Records<'s> {
    rest: &'s [u8],
}

impl<'s> Records<'s> {
    const fn of(stream: &'s [u8]) -> Self {
        Self { rest: stream }
    }
}

impl<'s> Iterator for Records<'s> {
    type Item = (u16, &'s [u8]);

    fn next(&mut self) -> Option<Self::Item> {
        let kind = u16_at(self.rest, 0)?;
        let len = usize::from(u16_at(self.rest, 2)?);
        let data = self.rest.get(4..4 + len)?;
        self.rest = &self.rest[4 + len..];
        Some((kind, data))
    }
}

/// A string with a 16-bit count (MS-XLS 2.5.294), or of BIFF 5 with 8 bits and single bytes.
fn string(data: Option<&[u8]>, is_biff8: bool) -> Option<String> {
    let data = data?;
    if !is_biff8 {
        let count = usize::from(*data.first()?);
        return Some(
            data.get(1..1 + count)?
                .iter()
                .map(|b| char::from(*b))
                .collect(),
        );
    }
    let count = usize::from(u16_at(data, 0)?);
    let is_wide = data.get(2)? & 1 != 0;
    if is_wide {
        let bytes = data.get(3..3 + 2 * count)?;
        let units: Vec<u16> = bytes
            .as_chunks::<2>()
            .0
            .iter()
            .map(|u| u16::from_le_bytes(*u))
            .collect();
        Some(String::from_utf16_lossy(&units))
    } else {
        Some(
            data.get(3..3 + count)?
                .iter()
                .map(|b| char::from(*b))
                .collect(),
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn record(kind: u16, data: &[u8]) -> Vec<u8> {
        [
            &kind.to_le_bytes()[..],
            &(data.len() as u16).to_le_bytes(),
            data,
        ]
        .concat()
    }

    fn workbook(sheet: &[Vec<u8>]) -> Vec<u8> {
        let bof = record(BOF, &[0, 6, 5, 0]);
        let eof = record(EOF, &[]);
        let start = (bof.len() + 4 + 8 + eof.len()) as u32;
        let mut bound = start.to_le_bytes().to_vec();
        bound.extend([0, 0, 1, 0]);
        [
            bof.clone(),
            record(BOUND_SHEET, &bound),
            eof.clone(),
            bof,
            sheet.concat(),
            eof,
        ]
        .concat()
    }

    fn number(row: u16, col: u16) -> Vec<u8> {
        let mut data = Vec::new();
        data.extend(row.to_le_bytes());
        data.extend(col.to_le_bytes());
        data.extend([0; 10]);
        record(NUMBER, &data)
    }

    #[test]
    fn a_sheet_of_a_few_cells_passes() {
        assert!(survey(&workbook(&[number(0, 0), number(20, 5)])).is_ok());
    }

    #[test]
    fn err_cells_in_far_corners_are_refused() {
        assert_eq!(
            survey(&workbook(&[number(0, 0), number(65_535, 255)])).err(),
            Some(Flaw::CellsClaimed {
                what: "cells to lay out, blank ones included",
                bound: DENSE_CELLS
            })
        );
    }

    #[test]
    fn err_more_texts_than_can_be_held_are_refused() {
        let text = |kind: u16| record(kind, &[0; 10]);
        let sheet = [LABEL, R_STRING, LABEL_SST, NUMBER].map(text);
        let bound = 2;
        assert!(survey_within(&workbook(&sheet), bound + 1).is_ok());
        assert_eq!(
            survey_within(&workbook(&sheet), bound).err(),
            Some(Flaw::CellsClaimed {
                what: "texts in the cells of an .xls",
                bound
            })
        );
    }

    #[test]
    fn err_more_sheets_than_can_be_held_are_refused() {
        let bound = record(BOUND_SHEET, &[0; 8]);
        let sheets = |n: usize| survey(&[record(BOF, &[0, 6, 5, 0]), bound.repeat(n)].concat());
        assert!(sheets(SHEETS).is_ok());
        let refused = Flaw::CellsClaimed {
            what: "sheets",
            bound: SHEETS as u64,
        };
        assert_eq!(sheets(SHEETS + 1).err(), Some(refused));
    }

    #[test]
    fn err_a_claim_beyond_the_format_is_refused() {
        let mut claim = vec![0; 14];
        claim[4..8].copy_from_slice(&u32::MAX.to_le_bytes());
        claim[10..12].copy_from_slice(&255_u16.to_le_bytes());
        let reason = "a sheet claims more cells than the format has".to_owned();
        assert_eq!(
            survey(&workbook(&[record(DIMENSIONS, &claim)])).err(),
            Some(Flaw::WorkbookBroken { reason })
        );
    }

    proptest! {
        #[test]
        fn no_bytes_panic(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
            if let Ok(survey) = survey(&bytes) { prop_assert!(survey.styled.len() <= SHEETS); }
        }
    }
}
