//! `.ods`: read whole by `calamine`, after its content was looked through: how large the sheets
//! would become when repeats are laid out, and which cells are percentages, which `calamine` drops.

use super::bounds::{COLUMNS, DENSE_CELLS, HELD_PART_BYTES, ROWS, SHEETS};
use super::cell::Shown;
use super::findings::Flaw;
use super::grid::Report;
use super::guard::guard;
use super::serial::Base;
use super::workbook::{Gather, open_book};
use crate::place::Address;
use calamine::{Ods, OdsError, Reader, SheetVisible};
use memchr::{memchr, memmem};
use std::collections::BTreeSet;
use std::io::{Cursor, Read};

/// Reads all sheets into the report. `content` is the part `content.xml`. Fails when the workbook
/// cannot be read at all.
pub(super) fn read(bytes: &[u8], content: impl Read, report: &mut Report) -> Result<(), Flaw> {
    let tables = survey(&whole(content)?)?;
    let mut book: Ods<_> = open_book(
        || Ods::new(Cursor::new(bytes)),
        |e| matches!(e, OdsError::Password),
    )?;
    for (index, sheet) in book.sheets_metadata().to_vec().into_iter().enumerate() {
        let hidden = sheet.visible != SheetVisible::Visible;
        let mut gather = Gather::new(report, &sheet.name, hidden, Base::Year1900);
        if let Err(reason) = read_sheet(&mut book, &sheet.name, &mut gather) {
            gather.flaw(Flaw::SheetUnreadable { reason });
        }
        if let Some(table) = tables.get(index) {
            table
                .percents
                .iter()
                .for_each(|at| gather.grid().show(*at, Shown::Percent));
        }
        let (sheet, findings) = gather.finish();
        report.sheets.push(sheet);
        report.findings.extend(findings);
    }
    Ok(())
}

fn whole(content: impl Read) -> Result<Vec<u8>, Flaw> {
    let mut text = Vec::new();
    let read = content.take(HELD_PART_BYTES).read_to_end(&mut text);
    read.map_err(|e| Flaw::WorkbookBroken {
        reason: e.to_string(),
    })?;
    Ok(text)
}

/// Cells of all sheets when they are laid out, for the part `content.xml`; 0 where they would not be.
pub(super) fn cells_laid_out(content: impl Read) -> u64 {
    let tables = whole(content).and_then(|text| survey(&text));
    tables.map_or(0, |tables| tables.iter().map(Table::cells).sum())
}

fn read_sheet(
    book: &mut Ods<Cursor<&[u8]>>,
    name: &str,
    gather: &mut Gather<'_>,
) -> Result<(), String> {
    let range = guard(|| book.worksheet_range(name))?.map_err(|e| e.to_string())?;
    gather.range(&range, |_| None);
    let formulas = guard(|| book.worksheet_formula(name))?.map_err(|e| e.to_string())?;
    gather.formulas(&range, &formulas);
    Ok(())
}

/// One table of the content.
#[derive(Debug, Default)]
struct Table {
    row: u64,
    column: u64,
    /// Of the row in hand.
    row_repeats: u64,
    row_is_used: bool,
    first_used: Option<u64>,
    last_used: u64,
    width: u64,
    percents: BTreeSet<Address>,
}

impl Table {
    /// Cells of the rectangle that `calamine` lays out.
    fn cells(&self) -> u64 {
        self.first_used
            .map_or(0, |first| (self.last_used - first + 1) * self.width)
    }

    fn begin_row(&mut self, tag: &[u8]) {
        self.row_repeats = repeats(tag, b"table:number-rows-repeated=\"");
        self.column = 0;
        self.row_is_used = false;
    }

    fn end_row(&mut self) {
        let next = (self.row + self.row_repeats).min(u64::from(ROWS));
        if self.row_is_used && next > self.row {
            self.first_used = self.first_used.or(Some(self.row));
            self.last_used = next - 1;
        }
        self.row = next;
        self.row_repeats = 0;
    }

    fn cell(&mut self, tag: &[u8]) -> Result<(), Flaw> {
        let next = (self.column + repeats(tag, b"table:number-columns-repeated=\""))
            .min(u64::from(COLUMNS));
        let is_used = memmem::find(tag, b"value-type=").is_some()
            || memmem::find(tag, b"table:formula=").is_some();
        if is_used {
            self.row_is_used = true;
            self.width = self.width.max(next);
        }
        if is_used && memmem::find(tag, b"office:value-type=\"percentage\"").is_some() {
            let last_row = (self.row + self.row_repeats).min(u64::from(ROWS));
            if (last_row - self.row) * (next - self.column) > DENSE_CELLS {
                return Err(too_many());
            }
            for row in self.row..last_row {
                for column in self.column..next {
                    // Both were held below the rows and columns of a sheet.
                    self.percents
                        .insert(Address::new(row as u32, column as u32));
                }
            }
        }
        self.column = next;
        Ok(())
    }
}

fn too_many() -> Flaw {
    Flaw::CellsClaimed {
        what: "cells to lay out, blank ones included",
        bound: DENSE_CELLS,
    }
}

fn no_end() -> Flaw {
    Flaw::WorkbookBroken {
        reason: "a table of content.xml has no end".into(),
    }
}

/// Walks the tags of the content. Fails when laying the sheets out would take more than the bound, and
/// where a table or a row has no end: `calamine` looks for it for ever.
fn survey(content: &[u8]) -> Result<Vec<Table>, Flaw> {
    let mut tables: Vec<Table> = Vec::new();
    let (mut finished, mut percents) = (0, 0);
    // Tables, and rows, that are begun and not ended.
    let (mut begun, mut begun_rows) = (0i64, 0i64);
    let mut at = 0;
    while let Some(open) = memchr(b'<', &content[at..]) {
        let start = at + open + 1;
        let Some(len) = memchr(b'>', &content[start..]) else {
            break;
        };
        let tag = &content[start..start + len];
        at = start + len + 1;
        let Some(name) = tag.strip_prefix(b"table:") else {
            // Neither stands in what office programs write; an end within one would be none.
            if tag.starts_with(b"!--") || tag.starts_with(b"![CDATA[") {
                return Err(no_end());
            }
            begun -= i64::from(tag == b"/table:table");
            begun_rows -= i64::from(tag == b"/table:table-row");
            if let (b"/table:table-row", Some(table)) = (tag, tables.last_mut()) {
                table.end_row();
                let total = finished + table.cells();
                if total > DENSE_CELLS || percents > DENSE_CELLS {
                    return Err(too_many());
                }
            }
            continue;
        };
        let is = |wanted: &[u8]| {
            name.strip_prefix(wanted).is_some_and(|rest| {
                matches!(
                    rest.first(),
                    None | Some(b' ' | b'/' | b'\n' | b'\t' | b'\r')
                )
            })
        };
        let is_open = i64::from(!tag.ends_with(b"/"));
        begun += is_open * i64::from(is(b"table"));
        begun_rows += is_open * i64::from(is(b"table-row"));
        if is(b"table") && memmem::find(tag, b"table:name=").is_some() {
            if tables.len() >= SHEETS {
                return Err(Flaw::CellsClaimed {
                    what: "sheets",
                    bound: SHEETS as u64,
                });
            }
            finished += tables.last().map_or(0, Table::cells);
            tables.push(Table::default());
        }
        let Some(table) = tables.last_mut() else {
            continue;
        };
        if is(b"table-row") {
            table.begin_row(tag);
            if tag.ends_with(b"/") {
                table.end_row();
            }
        } else if is(b"table-cell") || is(b"covered-table-cell") {
            let before = table.percents.len() as u64;
            table.cell(tag)?;
            percents += table.percents.len() as u64 - before;
        }
    }
    match (begun, begun_rows) {
        (0, 0) => Ok(tables),
        _ => Err(no_end()),
    }
}

/// The number of an attribute such as `table:number-rows-repeated="3"`; 1 where there is none.
fn repeats(tag: &[u8], attribute: &[u8]) -> u64 {
    let Some(found) = memmem::find(tag, attribute) else {
        return 1;
    };
    let digits: String = tag[found + attribute.len()..]
        .iter()
        .take_while(|b| b.is_ascii_digit())
        .map(|b| char::from(*b))
        .collect();
    // More digits than a u64 has is more than any sheet has.
    digits.parse().unwrap_or(u64::MAX / 2).min(u64::from(ROWS))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const CELL: &str = "<table:table-cell office:value-type=\"percentage\" office:value=\"0.1\"/>";

    #[test]
    fn percentages_have_their_places() {
        let text = format!(
            "<table:table table:name=\"a\"><table:table-row table:number-rows-repeated=\"2\"><table:table-cell/></table:table-row>\
             <table:table-row><table:table-cell table:number-columns-repeated=\"3\"/>{CELL}</table:table-row></table:table>"
        );
        let tables = survey(text.as_bytes()).unwrap();
        assert_eq!(
            tables[0]
                .percents
                .iter()
                .map(ToString::to_string)
                .collect::<Vec<_>>(),
            ["D3"]
        );
        assert_eq!(tables[0].cells(), 4);
    }

    #[test]
    fn a_tail_of_formatted_blanks_counts_for_nothing() {
        let text = format!(
            "<table:table table:name=\"a\"><table:table-row>{CELL}<table:table-cell table:number-columns-repeated=\"16383\"/></table:table-row>\
             <table:table-row table:number-rows-repeated=\"1048575\"><table:table-cell table:number-columns-repeated=\"16384\"/></table:table-row></table:table>"
        );
        assert_eq!(survey(text.as_bytes()).unwrap()[0].cells(), 1);
    }

    #[test]
    fn err_tables_without_end_are_told() {
        for (content, whole) in [
            (
                "<table:table table:name=\"a\"><table:table-row><x/></table:table-row></table:table>",
                true,
            ),
            (
                "<table:table table:name=\"a\"><table:table-row r=\"2\"/></table:table>",
                true,
            ),
            (
                "<table:table table:name=\"a\"><table:table-row></table:table-row>",
                false,
            ),
            (
                "<table:table table:name=\"a\"><table:table-row></table:table>",
                false,
            ),
            ("<table:table><!-- </table:table> -->", false),
        ] {
            assert_eq!(survey(content.as_bytes()).is_ok(), whole, "{content}");
        }
    }

    #[test]
    fn cells_are_counted_as_often_as_they_are_repeated() {
        let row = format!(
            "<table:table table:name=\"a\"><table:table-row table:number-rows-repeated=\"1000\">{}</table:table-row></table:table>",
            CELL.repeat(7)
        );
        assert_eq!(cells_laid_out(row.as_bytes()), 7_000);
        assert_eq!(cells_laid_out(&b"<table:table>"[..]), 0);
    }

    #[test]
    fn err_repeats_beyond_the_bound_are_refused() {
        let text = "<table:table table:name=\"a\"><table:table-row table:number-rows-repeated=\"99999999999999999999\">\
             <table:table-cell office:value-type=\"float\" office:value=\"1\" table:number-columns-repeated=\"16384\"/></table:table-row></table:table>";
        assert_eq!(survey(text.as_bytes()).err(), Some(too_many()));
        let text = text.replace(
            "<table:table-cell office:value-type=\"float\" office:value=\"1\"",
            CELL.trim_end_matches("/>"),
        );
        assert_eq!(survey(text.as_bytes()).err(), Some(too_many()));
    }

    proptest! {
        #[test]
        fn no_text_panics(text in "(<table:table(-row|-cell)?|<table:table table:name=\"a\"|</table:table-row>| table:number-(rows|columns)-repeated=\"[0-9]{1,4}\"|>|/>| office:value-type=\"percentage\"){0,20}") {
            if let Ok(tables) = survey(text.as_bytes()) { prop_assert!(tables.len() <= SHEETS); }
        }
    }
}
