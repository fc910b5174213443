//! Writes sheets of texts as a small workbook: the least that a reader of Open XML or OpenDocument asks for.

use super::lay::{Sheet, Written};
use std::io::{Cursor, Write};

/// The report as a file with this ending. `as_numbers`: plain numbers of a workbook are such cells.
pub(super) fn bytes(written: &Written, ending: &str, as_numbers: bool) -> Vec<u8> {
    let number = |text: &str| {
        let point = if written.comma {
            text.replace(',', ".")
        } else {
            text.to_owned()
        };
        let is_plain = as_numbers && point.parse::<f64>().is_ok();
        is_plain.then_some(point)
    };
    match ending {
        "xlsx" => open_xml(&written.sheets, number),
        "ods" => open_document(&written.sheets, number),
        _ => written.text().into_bytes(),
    }
}

const MAIN: &str = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";
const OFFICE: &str = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
const PACKAGE: &str = "http://schemas.openxmlformats.org/package/2006/relationships";

fn open_xml(sheets: &[Sheet], number: impl Fn(&str) -> Option<String>) -> Vec<u8> {
    let (mut names, mut targets) = (String::new(), String::new());
    let mut parts = Vec::new();
    for (i, sheet) in (1..).zip(sheets) {
        names += &format!("<sheet name=\"Page {i}\" sheetId=\"{i}\" r:id=\"rId{i}\"/>");
        targets += &format!(
            "<Relationship Id=\"rId{i}\" Type=\"{OFFICE}/worksheet\" Target=\"worksheets/sheet{i}.xml\"/>"
        );
        let rows = xml(sheet, "row", |text| match number(text) {
            _ if text.is_empty() => "<c/>".to_owned(),
            Some(number) => format!("<c><v>{number}</v></c>"),
            None => format!("<c t=\"inlineStr\"><is><t>{}</t></is></c>", escaped(text)),
        });
        parts.push((
            format!("xl/worksheets/sheet{i}.xml"),
            format!("<worksheet xmlns=\"{MAIN}\"><sheetData>{rows}</sheetData></worksheet>"),
        ));
    }
    parts.push((
        "_rels/.rels".to_owned(),
        format!(
            "<Relationships xmlns=\"{PACKAGE}\"><Relationship Id=\"rId1\" Type=\"{OFFICE}/officeDocument\" Target=\"xl/workbook.xml\"/></Relationships>"
        ),
    ));
    parts.push((
        "xl/workbook.xml".to_owned(),
        format!(
            "<workbook xmlns=\"{MAIN}\" xmlns:r=\"{OFFICE}\"><sheets>{names}</sheets></workbook>"
        ),
    ));
    parts.push((
        "xl/_rels/workbook.xml.rels".to_owned(),
        format!("<Relationships xmlns=\"{PACKAGE}\">{targets}</Relationships>"),
    ));
    packed(&parts)
}

fn open_document(sheets: &[Sheet], number: impl Fn(&str) -> Option<String>) -> Vec<u8> {
    const NAMES: &str = "urn:oasis:names:tc:opendocument:xmlns";
    let mut tables = String::new();
    for (i, sheet) in (1..).zip(sheets) {
        let rows = xml(sheet, "table:table-row", |text| match number(text) {
            _ if text.is_empty() => "<table:table-cell/>".to_owned(),
            Some(number) => format!(
                "<table:table-cell office:value-type=\"float\" office:value=\"{number}\"><text:p>{text}</text:p></table:table-cell>"
            ),
            None => format!(
                "<table:table-cell office:value-type=\"string\"><text:p>{}</text:p></table:table-cell>",
                escaped(text)
            ),
        });
        tables += &format!("<table:table table:name=\"Page {i}\">{rows}</table:table>");
    }
    let kind = "application/vnd.oasis.opendocument.spreadsheet";
    packed(&[
        ("mimetype".to_owned(), kind.to_owned()),
        (
            "META-INF/manifest.xml".to_owned(),
            format!(
                "<manifest:manifest xmlns:manifest=\"{NAMES}:manifest:1.0\"><manifest:file-entry manifest:full-path=\"/\" manifest:media-type=\"{kind}\"/></manifest:manifest>"
            ),
        ),
        (
            "content.xml".to_owned(),
            format!(
                "<office:document-content xmlns:office=\"{NAMES}:office:1.0\" xmlns:table=\"{NAMES}:table:1.0\" xmlns:text=\"{NAMES}:text:1.0\"><office:body><office:spreadsheet>{tables}</office:spreadsheet></office:body></office:document-content>"
            ),
        ),
    ])
}

/// Each row of a sheet as an element with its cells.
fn xml(sheet: &Sheet, row: &str, cell: impl Fn(&str) -> String) -> String {
    let of_row = |cells: &Vec<String>| {
        // A row without any cell is one with a blank cell.
        let cells = match cells.as_slice() {
            [] => cell(""),
            cells => cells.iter().map(|text| cell(text)).collect(),
        };
        format!("<{row}>{cells}</{row}>")
    };
    sheet.iter().map(of_row).collect()
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;")
}

fn packed(parts: &[(String, String)]) -> Vec<u8> {
    let mut package = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let stored =
        zip::write::SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    for (name, content) in parts {
        package.start_file(name.as_str(), stored).unwrap();
        package.write_all(content.as_bytes()).unwrap();
    }
    package.finish().unwrap().into_inner()
}
