//! An XML spreadsheet of 2003: one XML text with all sheets, which laboratory systems like to call `.xls`.
//! Form: the XML Spreadsheet Reference of Office 2003, as programs write it.

use super::content::Content;
use super::hidden::Hidden;
use super::markup::{Broken, Piece, Pieces, Tag, local, unescape};
use super::mend;
use super::rich::{Font, RichText};
use super::serial::Base;
use super::sheet_scan::MERGES;
use super::shown::Format;
use super::workbook::Gather;
use crate::place::Area;
use crate::read::bounds::{COLUMNS, ROWS, bound_sheets};
use crate::read::findings::Flaw;
use crate::read::grid::Report;
use std::borrow::Cow;
use std::collections::HashMap;

const NO_END: Broken = "a sheet, a cell or its data has no end";

/// Reads all sheets into the report. Fails when the text is not what an office program writes.
pub(in crate::read) fn read(bytes: &[u8], report: &mut Report) -> Result<(), Flaw> {
    let text = mend::text_of_xml(bytes)
        .ok_or_else(|| broken("it is not in the encoding that it states"))?;
    let mut pieces = Pieces::of(&text);
    let mut styles = Styles::default();
    while let Some(piece) = pieces.next() {
        let Piece::Open(tag) = piece.map_err(broken)? else {
            continue;
        };
        if local(tag.name) != "Worksheet" {
            styles.take(&tag).map_err(broken)?;
            continue;
        }
        bound_sheets(report.sheets.len() + 1)?;
        styles.compile();
        let name = value(&tag, "Name").map_err(broken)?.unwrap_or_default();
        let mut gather = Gather::new(report, &name, false, Base::Year1900);
        let mut rows = Rows::default();
        let is_hidden = match tag.is_empty {
            true => false,
            false => rows
                .read(&mut pieces, &styles, &mut gather)
                .map_err(broken)?,
        };
        if rows.merges.len() > MERGES {
            rows.merges.truncate(MERGES);
            gather.flaw(Flaw::CellBound {
                what: "merged regions",
                bound: MERGES as u64,
            });
        }
        gather.grid().merges = rows.merges;
        gather.tell_hidden(rows.hidden);
        let (mut sheet, findings) = gather.finish();
        sheet.hidden = is_hidden;
        report.add((sheet, findings));
    }
    Ok(())
}

fn broken(what: Broken) -> Flaw {
    Flaw::WorkbookBroken {
        reason: what.to_owned(),
    }
}

/// The styles of the cells, by their names.
#[derive(Default)]
struct Styles {
    all: HashMap<String, Style>,
    /// The one whose properties stand here.
    last: String,
    /// What they show, when all of them are known.
    formats: HashMap<String, Option<Format>>,
}

#[derive(Clone, Default)]
struct Style {
    code: Option<String>,
    is_struck: bool,
}

impl Styles {
    fn take(&mut self, tag: &Tag<'_>) -> Result<(), Broken> {
        match local(tag.name) {
            "Style" => {
                self.last = value(tag, "ID")?.unwrap_or_default().into_owned();
                let parent = value(tag, "Parent")?;
                let parent = parent.and_then(|parent| self.all.get(&*parent));
                let style = parent.cloned().unwrap_or_default();
                self.all.insert(self.last.clone(), style);
            }
            "NumberFormat" => {
                let code = value(tag, "Format")?.map(|code| match &*code {
                    "Percent" => "0.00%".to_owned(),
                    _ => code.into_owned(),
                });
                if let Some(style) = self.all.get_mut(&self.last) {
                    style.code = code;
                }
            }
            "Font" => {
                let is_struck = value(tag, "StrikeThrough")?.as_deref() == Some("1");
                if let Some(style) = self.all.get_mut(&self.last) {
                    style.is_struck = is_struck;
                }
            }
            _ => (),
        }
        Ok(())
    }

    /// The styles stand before the sheets.
    fn compile(&mut self) {
        if self.formats.is_empty() {
            let format = |style: &Style| Format::of(style.code.as_deref(), style.is_struck);
            let all = self.all.iter();
            self.formats = all.map(|(id, style)| (id.clone(), format(style))).collect();
        }
    }

    fn format(&self, cell: &Tag<'_>) -> Result<Option<&Format>, Broken> {
        let id = value(cell, "StyleID")?;
        Ok(id.and_then(|id| self.formats.get(&*id)?.as_ref()))
    }
}

/// Where in a sheet the reading stands, and what it found beside the cells.
#[derive(Default)]
struct Rows {
    row: u32,
    next_row: u32,
    column: u32,
    /// Of the descriptions of columns.
    next_column: u32,
    is_full: bool,
    hidden: Hidden,
    merges: Vec<Area>,
}

impl Rows {
    /// Reads a sheet to its end. Gives whether it is hidden.
    fn read(
        &mut self,
        pieces: &mut Pieces<'_>,
        styles: &Styles,
        gather: &mut Gather<'_>,
    ) -> Result<bool, Broken> {
        let (mut is_hidden, mut says_visible) = (false, false);
        loop {
            match pieces.next().unwrap_or(Err(NO_END))? {
                Piece::Open(tag) => match local(tag.name) {
                    "Row" => self.row(&tag)?,
                    "Column" => {
                        let first = index(&tag)?.unwrap_or(self.next_column);
                        let last = first.saturating_add(count(&tag, "Span")?);
                        self.next_column = last.saturating_add(1);
                        if value(&tag, "Hidden")?.as_deref() == Some("1") {
                            self.hidden.columns(first, last);
                        }
                    }
                    "Cell" => self.cell(&tag, pieces, styles, gather)?,
                    "Visible" => says_visible = true,
                    _ => (),
                },
                Piece::Text(text) if says_visible => is_hidden |= text.contains("Hidden"),
                Piece::Close(name) => match local(name) {
                    "Worksheet" => return Ok(is_hidden),
                    _ => says_visible = false,
                },
                _ => (),
            }
        }
    }

    fn row(&mut self, tag: &Tag<'_>) -> Result<(), Broken> {
        self.row = index(tag)?.unwrap_or(self.next_row);
        let last = self.row.saturating_add(count(tag, "Span")?);
        self.next_row = last.saturating_add(1).min(ROWS);
        self.column = 0;
        if value(tag, "Hidden")?.as_deref() == Some("1") {
            self.hidden.rows(self.row, last);
        }
        Ok(())
    }

    fn cell(
        &mut self,
        tag: &Tag<'_>,
        pieces: &mut Pieces<'_>,
        styles: &Styles,
        gather: &mut Gather<'_>,
    ) -> Result<(), Broken> {
        let at = (self.row, index(tag)?.unwrap_or(self.column));
        let (across, down) = (count(tag, "MergeAcross")?, count(tag, "MergeDown")?);
        let right = at.1.saturating_add(across).min(COLUMNS);
        self.column = right.saturating_add(1);
        if (across > 0 || down > 0) && self.merges.len() <= MERGES {
            self.merges.push(Area {
                top: at.0,
                left: at.1,
                bottom: at.0.saturating_add(down).min(ROWS),
                right,
            });
        }
        let data = match tag.is_empty {
            true => None,
            false => data_of(pieces)?,
        };
        if self.is_full {
            return Ok(());
        }
        let format = styles.format(tag)?;
        let goes_on = match &data {
            Some(data) => match data.content() {
                Some(content) => gather.cell(at, content, format),
                None => gather.unreadable("its value is not of the kind that it states".to_owned()),
            },
            None => {
                if tag.attributes().any(|(name, _)| local(name) == "Formula") {
                    gather.uncalculated(at);
                }
                true
            }
        };
        self.is_full = !goes_on;
        Ok(())
    }
}

/// What a cell holds.
struct Data {
    kind: String,
    text: String,
    /// The cell has another beside it.
    is_twice: bool,
}

impl Data {
    /// `None` where it is no value of its kind.
    fn content(&self) -> Option<Content<'_>> {
        if self.is_twice {
            return None;
        }
        Some(match &*self.kind {
            _ if self.text.trim().is_empty() => Content::Empty,
            "Number" => Content::Number(self.text.trim().parse().ok()?),
            "DateTime" => Content::Iso(self.text.trim()),
            "Boolean" => Content::Bool(self.text.trim() == "1"),
            "Error" => Content::Error(self.text.clone()),
            _ => Content::Text(&self.text),
        })
    }
}

/// The data of a cell, up to its end; `None` where it has none.
fn data_of(pieces: &mut Pieces<'_>) -> Result<Option<Data>, Broken> {
    let (mut kind, mut rich) = (None, RichText::default());
    let (mut in_data, mut in_comment, mut is_twice) = (false, false, false);
    // Elements of raised and of struck text that are open.
    let (mut up, mut out) = (0_u32, 0_u32);
    loop {
        let font = Font {
            is_raised: up > 0,
            is_struck: out > 0,
        };
        match pieces.next().unwrap_or(Err(NO_END))? {
            Piece::Open(tag) if tag.is_empty => {
                if in_data && local(tag.name).eq_ignore_ascii_case("br") {
                    rich.push("\n", Font::default());
                }
            }
            Piece::Open(tag) => match local(tag.name) {
                "Comment" => in_comment = true,
                "Data" if !in_comment => {
                    is_twice |= kind.is_some();
                    kind = Some(value(&tag, "Type")?.unwrap_or_default().into_owned());
                    in_data = true;
                }
                "Sup" => up += 1,
                "S" => out += 1,
                _ => (),
            },
            Piece::Close(name) => match local(name) {
                "Cell" => break,
                "Comment" => in_comment = false,
                "Data" => in_data = false,
                "Sup" => up = up.saturating_sub(1),
                "S" => out = out.saturating_sub(1),
                "Row" | "Table" | "Worksheet" => return Err(NO_END),
                _ => (),
            },
            Piece::Text(_) | Piece::Verbatim(_) if !in_data => (),
            Piece::Text(text) => rich.push(&unescape(text)?, font),
            Piece::Verbatim(text) => rich.push(text, font),
        }
    }
    Ok(kind.map(|kind| Data {
        kind,
        text: rich.seen(),
        is_twice,
    }))
}

/// The value of an attribute, whatever its prefix.
fn value<'x>(tag: &Tag<'x>, name: &str) -> Result<Option<Cow<'x, str>>, Broken> {
    let mut attributes = tag.attributes();
    let found = attributes.find(|(attribute, _)| local(attribute) == name);
    found.map(|(_, text)| unescape(text)).transpose()
}

/// Where a row, a column or a cell stands, counted from 0; `None` where it stands behind the one before.
fn index(tag: &Tag<'_>) -> Result<Option<u32>, Broken> {
    let Some(text) = value(tag, "Index")? else {
        return Ok(None);
    };
    let number: u32 = text.trim().parse().map_err(|_| "a place is no number")?;
    number.checked_sub(1).map(Some).ok_or("a place is 0")
}

fn count(tag: &Tag<'_>, name: &str) -> Result<u32, Broken> {
    let text = value(tag, name)?;
    text.map_or(Ok(0), |text| {
        text.trim().parse().map_err(|_| "a count is no number")
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cells(table: &str) -> Result<Vec<String>, Flaw> {
        let mut report = Report::default();
        let book = format!(
            "<?xml version=\"1.0\"?><Workbook xmlns:ss=\"urn:schemas-microsoft-com:office:spreadsheet\"><Styles><Style ss:ID=\"p\"><NumberFormat ss:Format=\"Percent\"/></Style><Style ss:ID=\"s\" ss:Parent=\"p\"><Font ss:StrikeThrough=\"1\"/></Style></Styles><Worksheet ss:Name=\"a\"><Table>{table}</Table></Worksheet></Workbook>"
        );
        read(book.as_bytes(), &mut report)?;
        let cells = report.sheets.iter().flat_map(|sheet| sheet.grid.cells());
        let told = cells.map(|(at, cell)| format!("{at} {} {:?}", cell.as_text(), cell.shown));
        Ok(told
            .chain(report.findings.iter().map(|f| f.code.to_string()))
            .collect())
    }

    fn cell(more: &str, kind: &str, data: &str) -> String {
        format!("<Cell{more}><Data ss:Type=\"{kind}\">{data}</Data></Cell>")
    }

    #[test]
    fn cells_are_what_a_reader_sees() {
        for (name, cell, expected) in [
            ("number", cell("", "Number", "7.5"), "A1 7.5 Plain"),
            (
                "per cent",
                cell(" ss:StyleID=\"p\"", "Number", "0.075"),
                "A1 0.075 Percent",
            ),
            (
                "struck out",
                cell(" ss:StyleID=\"s\"", "Number", "7"),
                "A1 (7, struck out) Plain",
            ),
            (
                "struck in part",
                cell("", "String", "<S>7</S>8"),
                "A1 (78, struck out) Plain",
            ),
            (
                "text",
                cell("", "String", "&lt;0.5&#10;mg/L"),
                "A1 <0.5\nmg/L Plain",
            ),
            (
                "a footnote",
                cell("", "String", "7.5<Sup>1</Sup>"),
                "A1 7.5¹ Plain",
            ),
            (
                "a charge",
                cell("", "String", "SO4<Sup>2-</Sup>"),
                "A1 SO42- Plain",
            ),
            (
                "a day",
                cell("", "DateTime", "2024-05-03T00:00:00.000"),
                "A1 2024-05-03 Plain",
            ),
            ("truth", cell("", "Boolean", "1"), "A1 TRUE Plain"),
            ("an error", cell("", "Error", "#N/A"), "A1 #N/A Plain"),
            ("a line end", cell("", "String", "7<BR/>5"), "A1 7\n5 Plain"),
            (
                "two values",
                "<Cell><Data ss:Type=\"Number\">8</Data><Data ss:Type=\"Number\">9</Data></Cell>"
                    .into(),
                "cell-unreadable",
            ),
            ("no number", cell("", "Number", "7,5"), "cell-unreadable"),
            (
                "a comment",
                "<Cell><Comment><Data>x</Data></Comment><Data ss:Type=\"Number\">7</Data></Cell>"
                    .into(),
                "A1 7 Plain",
            ),
            (
                "a formula",
                "<Cell ss:Formula=\"=A2\"/>".into(),
                "A1 (formula never calculated) Plain",
            ),
            (
                "elsewhere",
                cell(" ss:Index=\"3\"", "Number", "7"),
                "C1 7 Plain",
            ),
        ] {
            let found = cells(&format!("<Row>{cell}</Row>"));
            assert_eq!(
                found.unwrap().first().map(String::as_str),
                Some(expected),
                "{name}"
            );
        }
    }

    #[test]
    fn rows_and_cells_stand_where_they_say() {
        let one = |more: &str| cell(more, "Number", "1");
        let table = format!(
            "<Column ss:Index=\"4\" ss:Span=\"1\" ss:Hidden=\"1\"/><Row ss:Span=\"2\"/><Row>{}{}</Row><Row ss:Index=\"9\" ss:Hidden=\"1\">{}</Row><Row>{}</Row>",
            one(" ss:MergeAcross=\"1\" ss:MergeDown=\"1\""),
            one(""),
            one(" ss:Index=\"5\""),
            one("")
        );
        let found = cells(&table).unwrap();
        let expected = [
            "A4 1 Plain",
            "C4 1 Plain",
            "E9 1 Plain",
            "A10 1 Plain",
            "rows-hidden",
        ];
        assert_eq!(found, expected);
    }

    #[test]
    fn err_what_has_no_end_is_refused() {
        for table in [
            "<Row><Cell><Data>7",
            "<Row><Cell><Data>7</Data></Row>",
            "<Row ss:Index=\"0\"/>",
            "<Row ss:Index=\"x\"/>",
            "<!DOCTYPE a>",
            "<Row><Cell><Data>&x;</Data></Cell></Row>",
        ] {
            let found = cells(table);
            assert!(
                matches!(found, Err(Flaw::WorkbookBroken { .. })),
                "{table}: {found:?}"
            );
        }
    }
}
