//! `.ods`: its sheets row by row, as they stand in `content.xml`. Nothing is laid out: a row that is
//! repeated a million times and holds nothing costs nothing.

use super::content::Content;
use super::markup::Broken;
use super::ods_prefixes;
use super::ods_tables::{Cell, Found, Row, Tables};
use super::serial::Base;
use super::workbook::Gather;
use crate::place::Address;
use crate::read::bounds::{CELLS, COLUMNS, HELD_PART_BYTES, ROWS, bound_sheets};
use crate::read::cell::Shown;
use crate::read::findings::Flaw;
use crate::read::grid::Report;
use std::io::Read;

/// Reads all sheets into the report. `content` is the part `content.xml`. Fails when it is not what an
/// office program writes.
pub(in crate::read) fn read(content: impl Read, report: &mut Report) -> Result<(), Flaw> {
    let content = whole(content)?;
    let content = ods_prefixes::usual(&content).map_err(broken)?;
    let mut tables = Tables::of(&content);
    while let Some(table) = tables.next().map_err(broken)? {
        bound_sheets(report.sheets.len() + 1)?;
        let mut gather = Gather::new(report, &table.name, table.is_hidden, Base::Year1900);
        let mut formulas = Formulas::default();
        let (mut row, mut goes_on) = (0, true);
        while let Some(cells) = tables.next_row().map_err(broken)? {
            // All rows are walked to the end of the table; none is taken any more once it is full.
            goes_on = goes_on && cells.put(row, &mut gather, &mut formulas);
            gather.forget_shared();
            let first = row;
            row = row.saturating_add(cells.repeats).min(ROWS);
            if cells.is_hidden && first < row {
                tables.hidden.rows(first, row - 1);
            }
        }
        gather.tell_hidden(std::mem::take(&mut tables.hidden));
        gather.count_zero_formulas(formulas.all, formulas.zeros);
        report.add(gather.finish());
    }
    Ok(())
}

/// Cells of all sheets with their repeats, for the part `content.xml`; 0 where it cannot be read.
pub(in crate::read) fn cells_repeated(content: impl Read) -> u64 {
    let count = |content: &str| {
        let mut tables = Tables::of(content);
        let mut cells = 0_u64;
        while tables.next()?.is_some() {
            while let Some(row) = tables.next_row()? {
                // More than can be read are not taken.
                cells += Some(row.count()).filter(|n| *n <= CELLS).unwrap_or(0);
            }
        }
        Ok::<_, Broken>(cells)
    };
    let Ok(content) = whole(content) else {
        return 0;
    };
    ods_prefixes::usual(&content).map_or(0, |content| count(&content).unwrap_or(0))
}

fn whole(content: impl Read) -> Result<String, Flaw> {
    let mut text = Vec::new();
    let read = content.take(HELD_PART_BYTES).read_to_end(&mut text);
    read.map_err(|e| Flaw::WorkbookBroken {
        reason: e.to_string(),
    })?;
    String::from_utf8(text).map_err(|_| broken("it is not UTF-8"))
}

fn broken(what: Broken) -> Flaw {
    Flaw::WorkbookBroken {
        reason: format!("content.xml: {what}"),
    }
}

#[derive(Default)]
struct Formulas {
    all: u64,
    /// Those that come to 0.
    zeros: u64,
}

impl Found {
    fn content(&self) -> Content<'_> {
        match self {
            // Repeated, it is one text.
            Self::Text(text) => Content::Shared(text),
            Self::Number(number) => Content::Number(*number),
            Self::Time(text) => Content::Iso(text),
            Self::Bool(b) => Content::Bool(*b),
            Self::Empty | Self::Unreadable(_) => Content::Empty,
        }
    }
}

impl Row {
    /// With all repeats.
    fn count(&self) -> u64 {
        let of_row: u64 = self.cells.iter().map(|cell| u64::from(cell.repeats)).sum();
        of_row * u64::from(self.repeats)
    }

    /// Puts the cells from row `first` on. `false` where the workbook has as many as can be read.
    fn put(&self, first: u32, gather: &mut Gather<'_>, formulas: &mut Formulas) -> bool {
        if self.cells.is_empty() {
            return true;
        }
        if self.count() > CELLS {
            gather.has_too_many();
            return false;
        }
        // What lies beyond the last row and column is told by the first cell there.
        let rows = first..first.saturating_add(self.repeats).min(ROWS + 1);
        for row in rows {
            for cell in &self.cells {
                let columns = cell.column..(cell.column + cell.repeats).min(COLUMNS + 1);
                for column in columns {
                    if !cell.put((row, column), gather, formulas) {
                        return false;
                    }
                }
            }
        }
        true
    }
}

impl Cell {
    fn put(&self, at: (u32, u32), gather: &mut Gather<'_>, formulas: &mut Formulas) -> bool {
        formulas.all += u64::from(self.has_formula);
        formulas.zeros += u64::from(self.has_formula && self.found == Found::Number(0.0));
        match &self.found {
            Found::Unreadable(reason) => return gather.unreadable((*reason).to_owned()),
            Found::Empty if self.has_formula => {
                gather.uncalculated(at);
                return true;
            }
            _ => (),
        }
        let goes_on = gather.cell(at, self.found.content(), None);
        if self.shown != Shown::Plain {
            let at = Address::new(at.0, at.1);
            gather.grid().show(at, self.shown.clone());
        }
        goes_on
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::read::bounds::{CELL_CHARS, SHEETS};
    use proptest::prelude::*;

    fn content(table: &str) -> String {
        format!(
            "<office:automatic-styles><style:style style:name=\"up\"><style:text-properties style:text-position=\"super 58%\"/></style:style></office:automatic-styles>\
             <office:spreadsheet><table:table table:name=\"a\">{table}</table:table></office:spreadsheet>"
        )
    }

    /// The cells of a sheet, with their addresses, or why there are none.
    fn cells(content: &str) -> Result<Vec<String>, Flaw> {
        let mut report = Report::default();
        read(content.as_bytes(), &mut report)?;
        let cells = report.sheets.iter().flat_map(|sheet| sheet.grid.cells());
        let told = |(at, cell): (Address, &crate::read::Cell)| {
            let shown = match &cell.shown {
                Shown::Plain => String::new(),
                shown => format!(" {shown:?}"),
            };
            format!("{at} {}{shown}", cell.as_text())
        };
        let unread = report.findings.iter().map(|f| f.code.to_string());
        Ok(cells.map(told).chain(unread).collect())
    }

    #[test]
    fn a_cell_is_what_a_reader_sees() {
        let float = |value: &str, text: &str| {
            format!(
                "<table:table-cell office:value-type=\"float\" office:value=\"{value}\">{text}</table:table-cell>"
            )
        };
        let string = |text: &str| {
            format!("<table:table-cell office:value-type=\"string\">{text}</table:table-cell>")
        };
        for (name, cell, expected) in [
            ("a number", float("7.5", "<text:p>7,50</text:p>"), "A1 7.5"),
            ("no text", float("7.5", ""), "A1 7.5"),
            ("a limit", float("0.05", "<text:p>&lt;0.05</text:p>"), "A1 0.05 Below"),
            ("a unit", float("7.5", "<text:p>7.5 mmol/L</text:p>"), "A1 7.5 With(\"mmol/L\")"),
            ("scaled", float("7500", "<text:p>7.5</text:p>"), "A1 (7500, shown as '7.5')"),
            ("hidden", float("0", "<text:p> </text:p>"), "A1 (0, hidden by its number format)"),
            ("no number", float("7,5", "<text:p>7,5</text:p>"), "cell-unreadable"),
            ("no value", "<table:table-cell office:value-type=\"float\"><text:p>7.5</text:p></table:table-cell>".into(), "A1 7.5"),
            ("a sign in a formula", "<table:table-cell table:formula=\"of:=[.A1]>5\" office:value-type=\"percentage\" office:value=\"0.075\"/>".into(), "A1 0.075 Percent"),
            ("no result", "<table:table-cell table:formula=\"of:=A2\"/>".into(), "A1 (formula never calculated)"),
            ("paragraphs", string("<text:p>a<text:s text:c=\"2\"/>b</text:p><text:p/><text:p>&#181;</text:p>"), "A1 a  b\n\nµ"),
            ("very many spaces", string("<text:p>a<text:s text:c=\"4000000000000\"/></text:p>"), &format!("A1 a{}", " ".repeat(CELL_CHARS - 1))),
            ("a comment on it", string("<office:annotation><text:p>note</text:p></office:annotation><text:p>W1</text:p>"), "A1 W1"),
            ("a shape on it", string("<text:p>W1</text:p><draw:frame><text:p>box</text:p></draw:frame>"), "A1 W1"),
            ("a footnote", string("<text:p>7.5<text:span text:style-name=\"up\">1</text:span></text:p>"), "A1 7.5¹"),
            ("a raised charge", string("<text:p>SO4<text:span text:style-name=\"up\">2-</text:span></text:p>"), "A1 SO42-"),
            ("a table in it", string("<table:table><table:table-row/></table:table>"), "cell-unreadable"),
            ("an error", "<table:table-cell office:value-type=\"string\" office:string-value=\"\" calcext:value-type=\"error\"><text:p>#DIV/0!</text:p></table:table-cell>".into(), "A1 #DIV/0!"),
        ] {
            let row = format!("<table:table-row>{cell}</table:table-row>");
            let found = cells(&content(&row)).unwrap();
            assert_eq!(found.first().map(String::as_str), Some(expected), "{name}");
        }
    }

    const ONE: &str = "<table:table-cell office:value-type=\"float\" office:value=\"1\"/>";

    fn repeated(what: &str, how_often: &str) -> String {
        what.replacen(
            ' ',
            &format!(" table:number-columns-repeated={how_often} "),
            1,
        )
    }

    #[test]
    fn cells_stand_where_repeats_put_them() {
        let blank = |columns: &str| repeated("<table:table-cell />", columns);
        let table = format!(
            "<table:table-header-rows><table:table-row table:number-rows-repeated=\"2147483\"/></table:table-header-rows>\
             <table:table-row>{}{ONE}</table:table-row>",
            blank("'3'")
        );
        assert_eq!(cells(&content(&table)).unwrap(), ["cell-bound"]);
        let table = format!(
            "<table:table-row table:number-rows-repeated=\"&#52;\">{}</table:table-row><table:table-row table:number-rows-repeated = '2'>{}{ONE}{}</table:table-row>\
             <table:table-row table:number-rows-repeated=\"1048575\">{}</table:table-row>",
            blank("\"16384\""),
            blank("'3'"),
            repeated(ONE, "\"2\""),
            blank("\"16384\"")
        );
        let found = cells(&content(&table)).unwrap();
        assert_eq!(found, ["D5 1", "E5 1", "F5 1", "D6 1", "E6 1", "F6 1"]);
        assert_eq!(cells_repeated(content(&table).as_bytes()), 6);
    }

    #[test]
    fn err_more_cells_than_can_be_read_are_not_taken() {
        let cell = repeated(ONE, "\"16384\"");
        let table = format!(
            "<table:table-row>{ONE}</table:table-row><table:table-row x=\">\" table:number-rows-repeated=\"99999999999999999999\">{cell}</table:table-row>"
        );
        assert!(
            cells(&content(&table)).is_err(),
            "a repeat that is no number"
        );
        let table = table.replace("99999999999999999999", "9999999999");
        let found = cells(&content(&table)).unwrap();
        assert_eq!(found, ["A1 1", "cell-bound"]);
        assert_eq!(cells_repeated(content(&table).as_bytes()), 1);
    }

    #[test]
    fn err_what_has_no_end_is_refused() {
        for table in [
            "<table:table-row>",
            "<table:table-row><table:table-cell><text:p>",
            "<table:table-row><table:table-cell><office:annotation></table:table-cell></table:table-row>",
            "<table:table-row><table:table-cell></table:table-row>",
            "<table:shapes>",
            "<!-- ",
        ] {
            let found = cells(&content(table));
            assert!(
                matches!(found, Err(Flaw::WorkbookBroken { .. })),
                "{table}: {found:?}"
            );
        }
        let none =
            cells("<office:spreadsheet><table:table table:name=\"a\"/></office:spreadsheet>");
        assert_eq!(none, Ok(vec![]));
    }

    #[test]
    fn err_more_sheets_than_can_be_held_are_refused() {
        let table = "<table:table table:name=\"a\"/>";
        let book = |n| {
            format!(
                "<office:spreadsheet>{}</office:spreadsheet>",
                table.repeat(n)
            )
        };
        assert_eq!(cells(&book(SHEETS)), Ok(vec![]));
        let refused = Flaw::CellsClaimed {
            what: "sheets",
            bound: SHEETS as u64,
        };
        assert_eq!(cells(&book(SHEETS + 1)), Err(refused));
    }

    proptest! {
        #[test]
        fn no_text_panics(text in "(<office:spreadsheet>)?(</?table:table>|<table:table-row|<table:table-cell|</table:table-row>|</table:table-cell>|<text:p>|</text:p>|7.5|&lt;| table:number-(rows|columns)-repeated=\"[0-9]{1,4}\"|>|/>| office:value-type=\"percentage\"){0,20}") {
            if let Ok(cells) = cells(&text) { prop_assert!(cells.len() as u64 <= CELLS); }
        }
    }
}
