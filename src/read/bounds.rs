//! How much of a file is believed before it is refused. Reports are untrusted input: each bound is
//! held before memory is asked for, and each has its reason beside it. Past a bound the file (or
//! the cell) gets an error finding that names the bound, and the run goes on.

use super::findings::Flaw;

/// Bytes of a workbook file. Laboratory workbooks are below 50 MB; two are read at once.
pub(super) const WORKBOOK_BYTES: u64 = 256 << 20;

/// Bytes of an `.xls` file: `calamine` holds the file, all its strings and all its cells at once.
pub(super) const XLS_BYTES: u64 = 96 << 20;

/// Bytes of a text file that is read whole; a longer one is read as a stream of rows.
pub(super) const WHOLE_TEXT_BYTES: u64 = 16 << 20;

/// Separators and line ends of a text that is read whole, about: as many cells at most. One with more is
/// read as a stream too: held, its cells would take more than ten times its bytes.
pub(super) const WHOLE_TEXT_CELLS: usize = 4_000_000;

/// Entries in a zipped workbook. A workbook of 255 sheets with drawings has about 2,000.
pub(super) const ZIP_ENTRIES: usize = 10_000;

/// Bytes that one part of a zipped workbook may unfold to. A sheet of 8 million cells is about this.
pub(super) const PART_BYTES: u64 = 512 << 20;

/// Bytes that all parts of a zipped workbook may unfold to.
pub(super) const PACKAGE_BYTES: u64 = 1 << 30;

/// Bytes of the table of strings, and of styles: these are held in memory as long as the workbook is.
pub(super) const HELD_PART_BYTES: u64 = 128 << 20;

/// Deflate cannot unfold more than 1032 to 1 (258 bytes from 2 bits: RFC 1951 section 3.2.5), so
/// that a part whose packed size times this is within bounds needs no trial.
pub(super) const DEFLATE_RATIO: u64 = 1032;

/// Non-blank cells of one workbook: about 64 bytes each, two workbooks at once, within 2 GiB.
pub(super) const CELLS: u64 = 8_000_000;

/// Bytes of text in all cells of one workbook, a text counted for each cell that shows it: one string of
/// the table can stand in a million cells, and each is looked at several times. 64 bytes a cell.
pub(super) const TEXT_BYTES: u64 = 512 << 20;

/// Texts in all cells of one workbook: what is kept of each while its sheet is understood is three times
/// what a number takes. A sheet of all rows with four columns of text has 4.2 million.
pub(super) const TEXTS: u64 = 5_000_000;

/// Those of them that are not the same text of the workbook's table again: 500 bytes each, and each is
/// understood, which takes 10 microseconds. A sheet of all rows with two columns of distinct text has 2.1
/// million.
pub(super) const OWN_TEXTS: u64 = 2_500_000;

/// Cells of the rectangles that `calamine` lays out for the sheets of an `.xls`, blanks included: 32 bytes
/// a value and 24 a formula.
pub(super) const DENSE_CELLS: u64 = 8_000_000;

/// Texts in the cells of an `.xls`: `calamine` holds each twice beside ours, and each is understood.
pub(super) const XLS_TEXTS: u64 = 2_000_000;

/// Rows and columns of a sheet: those of the spreadsheet programs themselves (ECMA-376 part 1,
/// 18.18.7 ST_CellRef in its use by Excel: XFD1048576).
pub(super) const ROWS: u32 = 1_048_576;
pub(super) const COLUMNS: u32 = 16_384;

/// Sheets of one workbook: an account holds the sheet as 16 bits, and no laboratory has 1,000.
pub(super) const SHEETS: usize = 1_000;

/// Fails where a workbook has more sheets than are read.
pub(super) const fn bound_sheets(sheets: usize) -> Result<(), Flaw> {
    match sheets > SHEETS {
        true => Err(Flaw::CellsClaimed {
            what: "sheets",
            bound: SHEETS as u64,
        }),
        false => Ok(()),
    }
}

/// Characters of one cell: Excel's own limit.
pub(super) const CELL_CHARS: usize = 32_767;

/// Unreadable cells after which the rest of a sheet is given up: by then it is not one odd cell.
pub(super) const BAD_CELLS: u64 = 1_000;

/// Line ends inside one quoted field after which its opening quote counts as a lost one. Notes of
/// laboratories run to a few lines; a lost quote runs to the end of the file.
pub(super) const QUOTED_LINES: u64 = 50;

/// Bytes inside one quoted field after which its opening quote counts as a lost one: the longest
/// cell in a four-byte encoding.
pub(super) const QUOTED_BYTES: usize = CELL_CHARS * 4;

/// Bytes of one record of a streamed text. A record of 16,384 fields of 200 characters is less.
pub(super) const RECORD_BYTES: usize = 8 << 20;

/// Fields of one record of delimited text: the columns of a sheet.
pub(super) const FIELDS: usize = COLUMNS as usize;

/// Bytes read at a time from a streamed text; one part for one thread. What a part gives takes ten times as
/// much, and should not be fresh memory each time.
pub(super) const BLOCK_BYTES: usize = 1 << 20;

/// Lines of one text: an address holds the row as 32 bits.
pub(super) const LINES: u64 = u32::MAX as u64;

/// Files of one run, so that a wrong path (a whole disk) is noticed.
pub(super) const FILES: usize = 200_000;

/// Folders within folders: deeper is a loop of some kind.
pub(super) const DEPTH: usize = 64;

/// Findings of one kind from one file that are told one by one; the rest is one finding with a count.
pub(super) const FINDINGS_OF_A_KIND: u64 = 20;
