//! `[example]`: a report and the rows expected of it. Files are only named here, not opened, except
//! the CSV of the expected rows.

use super::super::raw::{RawExample, Text};
use super::super::{COLUMNS, Example, ExampleReport};
use super::words::Words;
use crate::file::{ROWS_BYTES, read_whole_text};
use crate::problem::Problems;
use std::path::Path;

/// `None` after a problem.
pub(super) fn example(path: &Path, raw: &RawExample, words: &mut Words<'_, '_>) -> Option<Example> {
    let whole = words.whole;
    let problems = &mut *words.problems;
    let folder = path.parent().unwrap_or(Path::new(""));
    let report = report(folder, raw, whole, problems);
    let (rows, at) = match (&raw.rows, &raw.rows_file) {
        (Some(rows), None) => (rows.get_ref().clone(), rows),
        (None, Some(file)) => (read_rows(folder, file, problems)?, file),
        (Some(_), Some(file)) => {
            problems.push(file.span(), "the rows are given already");
            return None;
        }
        (None, None) if !whole => return None,
        (None, None) => {
            problems
                .push(span(raw), "an example without its rows")
                .help(
                    "rows = \"\"\"…\"\"\": CSV with a heading line such as cell,analyte,value,unit",
                );
            return None;
        }
    };
    let (columns, rows) = table(&rows, at, problems)?;
    Some(Example {
        report: report?,
        columns,
        rows,
    })
}

fn span(raw: &RawExample) -> std::ops::Range<usize> {
    let first = raw.file.as_ref().or(raw.text.as_ref());
    first.map_or(0..0, toml::Spanned::span)
}

fn report(
    folder: &Path,
    raw: &RawExample,
    whole: bool,
    problems: &mut Problems<'_>,
) -> Option<ExampleReport> {
    match (&raw.file, &raw.text) {
        (Some(file), None) => Some(ExampleReport::File(folder.join(file.get_ref()))),
        (Some(file), Some(text)) => Some(ExampleReport::Text {
            name: file.get_ref().clone(),
            text: text.get_ref().clone(),
        }),
        (None, Some(text)) => {
            problems
                .push(text.span(), "a text without the name that it goes by")
                .help("file = \"example.csv\"");
            None
        }
        (None, None) if !whole => None,
        (None, None) => {
            let at = raw.rows.as_ref().or(raw.rows_file.as_ref());
            problems
                .push(
                    at.map_or(0..0, toml::Spanned::span),
                    "an example without a report",
                )
                .help("file = \"…\": a report in the folder of this mapping");
            None
        }
    }
}

fn read_rows(folder: &Path, file: &Text, problems: &mut Problems<'_>) -> Option<String> {
    match read_whole_text(&folder.join(file.get_ref()), ROWS_BYTES) {
        Ok(text) => Some(text),
        Err(error) => {
            problems.push(
                file.span(),
                format!("cannot read '{}': {error}", file.get_ref()),
            );
            None
        }
    }
}

type Table = (Vec<String>, Vec<Vec<String>>);

/// Heading line and rows; `None` after a problem.
fn table(csv: &str, at: &Text, problems: &mut Problems<'_>) -> Option<Table> {
    let mut lines = csv
        .lines()
        .enumerate()
        .filter(|(_, line)| !line.trim().is_empty());
    let Some((_, heading)) = lines.next() else {
        problems.push(at.span(), "no rows");
        return None;
    };
    let columns = fields(heading);
    let mut right = true;
    for column in &columns {
        if !COLUMNS.contains(&column.as_str()) {
            problems
                .push(at.span(), format!("'{column}' is no column of results"))
                .nearest(column, COLUMNS);
            right = false;
        }
    }
    let mut rows = Vec::new();
    for (number, line) in lines {
        let row = fields(line);
        if row.len() != columns.len() {
            let message = format!("row {} does not have {} fields", number + 1, columns.len());
            problems.push(at.span(), message);
            right = false;
        }
        rows.push(row);
    }
    right.then_some((columns, rows))
}

/// The fields of one CSV line, RFC 4180 quotes; a field cannot hold a line end here.
pub(in super::super) fn fields(line: &str) -> Vec<String> {
    let mut fields = Vec::new();
    let mut field = String::new();
    let mut quoted = false;
    let mut chars = line.trim_end_matches('\r').chars().peekable();
    while let Some(c) = chars.next() {
        match c {
            '"' if quoted && chars.peek() == Some(&'"') => {
                field.push('"');
                chars.next();
            }
            '"' if quoted => quoted = false,
            '"' if field.is_empty() => quoted = true,
            ',' if !quoted => fields.push(std::mem::take(&mut field)),
            c => field.push(c),
        }
    }
    fields.push(field);
    fields
}
