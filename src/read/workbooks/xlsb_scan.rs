//! The records of an `.xlsb` are walked before `calamine` reads its cells: which have a number format that
//! shows more than the number, and which it would take for others. Form: MS-XLSB 2.1.4, 2.3.

use super::biff::built_in;
use super::bytes::{u16_at, u32_at};
use super::hidden::Hidden;
use super::rich::{self, Font};
use super::shown::Format;
use super::strings::Raised;
use crate::read::bounds::CELLS;
use std::collections::HashMap;
use std::io::{ErrorKind, Read};

// Record types, MS-XLSB 2.3.1.
const ROW_HDR: u16 = 0;
const CELL_RK: u16 = 2;
const CELL_REAL: u16 = 5;
const FMLA_NUM: u16 = 9;
const FMLA_ERROR: u16 = 11;
/// Cells that do not say in which column they stand; `calamine` passes over them.
const FIRST_SHORT: u16 = 13;
const LAST_SHORT: u16 = 18;
const CELL_R_STRING: u16 = 62;
const COL_INFO: u16 = 60;
const FONT: u16 = 43;
const FMT: u16 = 44;
const XF: u16 = 47;
const END_SHEET_DATA: u16 = 0x92;
const BUNDLE_SH: u16 = 0x9C;
const BEGIN_CELL_XFS: u16 = 0x269;
const END_CELL_XFS: u16 = 0x26A;

/// The last row that `calamine` takes; it passes over all behind one beyond it.
const LAST_ROW: u32 = 0x10_0000;

/// Bytes of a record that are looked at: those of a format code of 255 characters, and more than a cell's.
const LOOKED_AT: u64 = 1024;

/// What was found of one sheet.
#[derive(Debug, Default)]
pub(super) struct SheetScan {
    /// Number of the style of each cell whose format shows more than the number.
    styles: HashMap<(u32, u32), usize>,
    /// Cells whose formula failed, and how: `calamine` passes over them.
    pub(super) failed: Vec<((u32, u32), &'static str)>,
    pub(super) hidden: Hidden,
    /// Why `calamine` would misread the sheet.
    pub(super) misread: Option<&'static str>,
}

/// The number formats of the styles, in order; `None` where they show the number and nothing else.
#[derive(Debug, Default)]
pub(super) struct Formats {
    formats: Vec<Option<Format>>,
    fonts: Vec<Font>,
}

impl Formats {
    /// `styles`: the part `styles.bin`.
    pub(super) fn of(styles: &[u8]) -> Self {
        let mut codes: HashMap<u16, String> = HashMap::new();
        let mut formats = Vec::new();
        let mut in_cells = false;
        let mut fonts: Vec<Font> = Vec::new();
        Records(styles).each(|kind, _, data| {
            match kind {
                FMT => codes.extend(u16_at(data, 0).zip(wide(data, 2))),
                // MS-XLSB 2.4.148: the height of the font, and its flags.
                FONT => fonts.push(Font::of(u16_at(data, 2), u16_at(data, 6))),
                BEGIN_CELL_XFS => in_cells = true,
                END_CELL_XFS => in_cells = false,
                XF if in_cells => {
                    let id = u16_at(data, 2).unwrap_or_default();
                    let code = codes.get(&id).map(String::as_str).or(built_in(id));
                    let font = u16_at(data, 4).and_then(|font| fonts.get(usize::from(font)));
                    formats.push(Format::of(code, font.is_some_and(|font| font.is_struck)));
                }
                _ => (),
            }
            true
        });
        Self { formats, fonts }
    }

    /// Of the texts of `table`, the part `sharedStrings.bin`, those that a reader sees otherwise than they
    /// stand (MS-XLSB 2.5.122).
    pub(super) fn raised(&self, table: &[u8]) -> Raised {
        const ITEM: u16 = 19;
        let mut found = Raised::new();
        if self.fonts.iter().all(|font| font.is_plain()) {
            return found;
        }
        Records(table).each(|kind, _, data| {
            if kind == ITEM && data.first().is_some_and(|flags| flags & 1 != 0) {
                self.rich(data, &mut found);
            }
            true
        });
        found
    }

    /// A text and its runs; one that is longer than what is looked at is left.
    fn rich(&self, data: &[u8], to: &mut Raised) -> Option<()> {
        let count = u32_at(data, 1)? as usize;
        let end = count.checked_mul(2)?.checked_add(5)?;
        let units = data.get(5..end)?.as_chunks::<2>().0.iter();
        let units: Vec<u16> = units.map(|u| u16::from_le_bytes(*u)).collect();
        let runs = data.get(end + 4..)?.as_chunks::<4>().0.iter();
        let runs = runs.take(u32_at(data, end)? as usize);
        let runs: Vec<(u16, u16)> = runs
            .filter_map(|run| u16_at(run, 0).zip(u16_at(run, 2)))
            .collect();
        rich::add(&units, &runs, &self.fonts, to);
        Some(())
    }

    pub(super) fn of_cell(&self, scan: &SheetScan, at: (u32, u32)) -> Option<&Format> {
        self.formats.get(*scan.styles.get(&at)?)?.as_ref()
    }
}

/// The names by which the relationships of the workbook know its sheets, in order. `workbook`: the part
/// `workbook.bin`.
pub(super) fn sheet_ids(workbook: &[u8]) -> Vec<String> {
    let mut ids = Vec::new();
    Records(workbook).each(|kind, _, data| {
        // `calamine` knows no sheet without a name for its part.
        if kind == BUNDLE_SH && u32_at(data, 8) != Some(u32::MAX) {
            ids.push(wide(data, 8).unwrap_or_default());
        }
        true
    });
    ids
}

/// Looks through the part of a sheet. A part that breaks off gives what stands before; the reading of its
/// cells tells.
pub(super) fn scan(part: impl Read, formats: &Formats) -> SheetScan {
    let mut scan = SheetScan::default();
    let mut row = 0;
    Records(part).each(|kind, len, data| {
        match kind {
            ROW_HDR => {
                row = u32_at(data, 0).unwrap_or(u32::MAX);
                if row > LAST_ROW {
                    scan.misread = Some("a row lies beyond the last that a sheet has");
                } else if data.get(11).is_some_and(|flags| flags & 0x10 != 0) {
                    scan.hidden.rows(row, row);
                }
            }
            CELL_RK..=FMLA_ERROR => {
                if len < shortest(kind) {
                    scan.misread = Some("a cell holds no value");
                }
                let style = u32_at(data, 4).map_or(0, |style| style as usize & 0xFF_FFFF);
                let column = u32_at(data, 0).unwrap_or(u32::MAX);
                if kind == FMLA_ERROR && scan.failed.len() as u64 <= CELLS {
                    let code = data.get(8).copied().unwrap_or_default();
                    scan.failed.push(((row, column), error(code)));
                }
                let is_number = matches!(kind, CELL_RK | CELL_REAL | FMLA_NUM);
                let format = formats.formats.get(style).and_then(Option::as_ref);
                if format.is_some_and(|format| is_number || format.is_struck) {
                    scan.styles.insert((row, column), style);
                }
            }
            COL_INFO if data.get(16).is_some_and(|flags| flags & 1 != 0) => {
                if let (Some(first), Some(last)) = (u32_at(data, 0), u32_at(data, 4)) {
                    scan.hidden.columns(first, last);
                }
            }
            FIRST_SHORT..=LAST_SHORT => {
                scan.misread = Some("a cell does not say in which column it stands");
            }
            CELL_R_STRING => scan.misread = Some("a text with fonts of its own stands in a cell"),
            _ => (),
        }
        kind != END_SHEET_DATA && scan.misread.is_none()
    });
    scan
}

/// How a spreadsheet shows a failed formula (MS-XLSB 2.5.97.2, BErr).
const fn error(code: u8) -> &'static str {
    match code {
        0x00 => "#NULL!",
        0x07 => "#DIV/0!",
        0x0F => "#VALUE!",
        0x17 => "#REF!",
        0x1D => "#NAME?",
        0x24 => "#NUM!",
        0x2A => "#N/A",
        _ => "#ERROR!",
    }
}

/// Bytes of a cell of a kind, at the least: column and style, and the value (MS-XLSB 2.4.22 to 2.4.33).
const fn shortest(kind: u16) -> u64 {
    match kind {
        CELL_REAL | FMLA_NUM => 16,
        // Errors and truths.
        3 | 4 | 10 | 11 => 9,
        // RK numbers, texts by their length, and indexes.
        _ => 12,
    }
}

/// A text with a 32-bit count of characters (MS-XLSB 2.5.169).
fn wide(data: &[u8], at: usize) -> Option<String> {
    let count = u32_at(data, at)? as usize;
    let bytes = data.get(at + 4..)?.get(..count.checked_mul(2)?)?;
    let units = bytes.as_chunks::<2>().0.iter();
    let units: Vec<u16> = units.map(|u| u16::from_le_bytes(*u)).collect();
    Some(String::from_utf16_lossy(&units))
}

struct Records<R>(R);

impl<R: Read> Records<R> {
    /// Shows each record (its kind, its length and the beginning of its data) until `see` has seen enough.
    fn each(mut self, mut see: impl FnMut(u16, u64, &[u8]) -> bool) {
        let mut data = Vec::new();
        loop {
            let read = self.next(&mut data);
            match read {
                Ok((kind, len)) if see(kind, len, &data) => (),
                _ => return,
            }
        }
    }

    fn next(&mut self, data: &mut Vec<u8>) -> std::io::Result<(u16, u64)> {
        let mut kind = u16::from(self.byte()?);
        if kind & 0x80 != 0 {
            kind = kind & 0x7F | u16::from(self.byte()? & 0x7F) << 7;
        }
        let mut len = 0_u64;
        for shift in [0, 7, 14, 21] {
            let byte = self.byte()?;
            len |= u64::from(byte & 0x7F) << shift;
            if byte & 0x80 == 0 {
                break;
            }
        }
        data.clear();
        let looked_at = len.min(LOOKED_AT);
        self.0.by_ref().take(looked_at).read_to_end(data)?;
        let rest = len - looked_at;
        let passed = std::io::copy(&mut self.0.by_ref().take(rest), &mut std::io::sink())?;
        match data.len() as u64 == looked_at && passed == rest {
            true => Ok((kind, len)),
            false => Err(ErrorKind::UnexpectedEof.into()),
        }
    }

    fn byte(&mut self) -> std::io::Result<u8> {
        let mut byte = [0];
        self.0.read_exact(&mut byte)?;
        Ok(byte[0])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn no_bytes_panic(bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
            let scan = scan(&bytes[..], &Formats::of(&bytes));
            prop_assert!(scan.styles.len() <= bytes.len());
            prop_assert!(sheet_ids(&bytes).len() <= bytes.len());
        }
    }
}
