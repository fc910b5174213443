//! The text of a drafted mapping.

use super::Drafted;
use super::entry::meanings;
use super::guess::{Guess, guess};
use super::quote::{comment, quoted, wording};
use super::seen::{Label, Means, all_labels, folded};
use crate::locate::Layout;
use crate::map::{BlockPlan, DateOrder, Decimal};
use crate::mapping::example::{comparable, rows};
use crate::place::column_letters;
use crate::read::Report;
use crate::vocabulary::Vocabulary;
use std::collections::BTreeSet;
use std::fmt::Write;

/// How much of what was recognised is stated, rather than left to be recognised again.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Detail {
    /// All of it.
    Full,
    /// Analytes; identity and the parts of results as comments.
    Analytes,
    /// Everything as comments.
    Comments,
}

/// Headings by which a report is recognised; more would make the mapping fail for a report that lacks
/// one of them.
const HEADINGS: usize = 6;

/// Results shown in an example that stands in the mapping itself.
const EXAMPLE_COLUMNS: [&str; 7] = [
    "sheet",
    "cell",
    "sample_ref",
    "analyte",
    "value",
    "unit",
    "censored",
];

/// Writes the mapping for reports of one layout; the first is its example. `rows_file` names the CSV
/// with the expected rows, where they do not stand in the mapping. Returns the mapping and the rows.
///
/// `reports` must not be empty.
pub fn draft(
    reports: &[Drafted<'_>],
    vocabulary: &Vocabulary,
    detail: Detail,
    rows_file: Option<&str>,
) -> (String, String) {
    let first = reports
        .first()
        .expect("the caller groups at least one report");
    let guesses: Vec<Option<Guess>> = (first.report.sheets.iter().zip(&first.plan.sheets))
        .map(|(sheet, plan)| match plan.blocks.is_empty() {
            true => guess(sheet, vocabulary),
            false => None,
        })
        .collect();
    let labels = all_labels(first, &guesses);
    let mut text = String::from("#:schema mapping.schema.json\n\n");
    head(&mut text, reports);
    recognise(&mut text, reports, &labels);
    constants(&mut text, first);
    values(&mut text, first);
    sheets(&mut text, first, &guesses);
    meanings(&mut text, &labels, vocabulary, detail);
    expect(&mut text, reports, vocabulary);
    let rows = csv_rows(first, vocabulary, rows_file.is_some());
    example(&mut text, first, &rows, rows_file);
    (text, rows)
}

fn head(text: &mut String, reports: &[Drafted<'_>]) {
    push(text, "# Drafted by wellread from:");
    for report in reports {
        push(text, &format!("#   {}", comment(&report.report.file)));
    }
    push(
        text,
        "# Everything below is what was recognised. Lines with CHECK need a person: remove the word when\n\
         # it is settled. `wellread mappings --check` then tries the example at the end.\n",
    );
    push(
        text,
        "title = \"CHECK the laboratory, and which of its reports\"\n",
    );
}

fn recognise(text: &mut String, reports: &[Drafted<'_>], labels: &[Label]) {
    push(
        text,
        "# A report belongs to this mapping when all that is stated here holds.",
    );
    push(text, "[recognise]");
    let headings = headings(reports, labels);
    if headings.is_empty() {
        let names: BTreeSet<String> = reports.iter().map(|r| name_pattern(r.report)).collect();
        let names: Vec<String> = names.into_iter().collect();
        push(
            text,
            "# CHECK no label is common to these reports: recognised by name",
        );
        push(text, &format!("file = {}\n", quoted(&names.join("|"))));
        return;
    }
    let list: Vec<String> = headings.iter().map(|label| wording(label)).collect();
    push(text, &format!("headings = [{}]\n", list.join(", ")));
}

/// Labels of one sheet that stand alone in a cell in every report of the group: identity first, then
/// analytes, which tell laboratories apart by their spelling.
fn headings(reports: &[Drafted<'_>], labels: &[Label]) -> Vec<String> {
    let in_all = |label: &&Label| {
        label.is_cell
            && reports
                .iter()
                .all(|r| r.report.sheets.iter().any(|s| has_cell(s, &label.text)))
    };
    let sheet = labels.iter().find(in_all).map(|label| label.sheet.clone());
    let on_sheet = |label: &&Label| Some(&label.sheet) == sheet.as_ref() && in_all(label);
    let identity = labels
        .iter()
        .filter(|label| !matches!(label.means, Means::Analyte { .. }))
        .filter(on_sheet)
        .take(HEADINGS / 2);
    let analytes = labels
        .iter()
        .filter(|label| matches!(label.means, Means::Analyte { .. }))
        .filter(on_sheet);
    let mut seen = BTreeSet::new();
    identity
        .chain(analytes)
        .filter(|label| seen.insert(folded(&label.text)))
        .take(HEADINGS)
        .map(|label| label.text.clone())
        .collect()
}

fn has_cell(sheet: &crate::read::Sheet, text: &str) -> bool {
    sheet.grid.cells().any(|(_, cell)| {
        matches!(&cell.value, crate::read::Value::Text(cell) if folded(cell) == folded(text))
    })
}

/// The file's name with its numbers left open: reports are numbered and dated.
fn name_pattern(report: &Report) -> String {
    let name = report.file.rsplit('/').next().unwrap_or(&report.file);
    let mut pattern = String::new();
    let mut digits = false;
    for c in name.chars() {
        match (c.is_ascii_digit(), digits) {
            (true, true) => {}
            (true, false) => pattern.push_str("[0-9]+"),
            (false, _) => pattern.push_str(&regex::escape(&c.to_string())),
        }
        digits = c.is_ascii_digit();
    }
    pattern
}

/// The laboratory, where every sample of the report has one and the same.
fn constants(text: &mut String, report: &Drafted<'_>) {
    let labs: BTreeSet<_> = report
        .extract
        .samples
        .iter()
        .map(|s| s.lab.clone())
        .collect();
    if labs.iter().any(Option::is_some) {
        return;
    }
    push(
        text,
        "# Identity that the reports do not tell, the same for every sample.",
    );
    push(text, "# [constants]");
    push(text, "# lab = \"CHECK\"");
    push(text, "# client = \"CHECK\"\n");
}

fn values(text: &mut String, report: &Drafted<'_>) {
    let locale = report.plan.locale;
    let decimal = match locale.decimal {
        Decimal::Point => Some("point"),
        Decimal::Comma => Some("comma"),
        Decimal::Undecided => None,
    };
    let dates = match locale.dates {
        DateOrder::DayFirst => Some("day-first"),
        DateOrder::MonthFirst => Some("month-first"),
        DateOrder::YearFirst => Some("year-first"),
        DateOrder::Undecided => None,
    };
    push(text, "[values]");
    match decimal {
        Some(word) => push(text, &format!("decimal = \"{word}\"")),
        None => push(
            text,
            "# no number of the report tells the decimal sign; CHECK where numbers stayed unplaced:\n\
             # decimal = \"point\"",
        ),
    }
    match dates {
        Some(word) => push(text, &format!("dates = \"{word}\"")),
        None => push(
            text,
            "# no date of the report tells day from month; CHECK where dates stayed empty:\n\
             # dates = \"day-first\"",
        ),
    }
    text.push('\n');
}

/// Where the tables were seen; comments, so that a table may move.
fn sheets(text: &mut String, report: &Drafted<'_>, guesses: &[Option<Guess>]) {
    push(
        text,
        "# Where the tables were seen. Only needed where a report is seen otherwise.",
    );
    let sheets = report.report.sheets.iter().zip(&report.plan.sheets);
    for ((sheet, plan), guess) in sheets.zip(guesses) {
        // No mapping says where a cross-table is; it is seen by itself.
        let said = |block: &&BlockPlan| block.layout != Layout::CrossTable;
        for block in plan.blocks.iter().filter(said) {
            push(text, "# [[sheet]]");
            if !sheet.name.is_empty() {
                push(text, &format!("# name = {}", wording(&sheet.name)));
            }
            push(text, &format!("# layout = \"{}\"", block.layout.name()));
            let lines: BTreeSet<u32> = block
                .headings
                .iter()
                .map(|at| if block.across { at.col } else { at.row })
                .collect();
            let lines: Vec<String> = lines
                .iter()
                .map(|line| match block.across {
                    true => quoted(&column_letters(*line)),
                    false => (u64::from(*line) + 1).to_string(),
                })
                .collect();
            let key = if block.across {
                "heading_columns"
            } else {
                "heading_rows"
            };
            if !lines.is_empty() && block.layout != Layout::Form {
                push(text, &format!("# {key} = [{}]", lines.join(", ")));
            }
        }
        if plan.blocks.is_empty() {
            push(text, "# CHECK no table was seen here; say what it is:");
            push(text, "# [[sheet]]");
            if !sheet.name.is_empty() {
                push(text, &format!("# name = {}", wording(&sheet.name)));
            }
            match guess {
                Some(guess) => {
                    push(text, &format!("# layout = \"{}\"", guess.layout.name()));
                    push(
                        text,
                        &format!("# heading_rows = [{}]", u64::from(guess.heading_row) + 1),
                    );
                }
                None => push(text, "# layout = \"samples-down\""),
            }
        }
    }
    text.push('\n');
}

fn expect(text: &mut String, reports: &[Drafted<'_>], vocabulary: &Vocabulary) {
    let analytes = |report: &Drafted<'_>| -> BTreeSet<_> {
        let extract = report.extract;
        extract
            .measurements
            .iter()
            .map(|m| extract.recipe(m.recipe).analyte)
            .collect()
    };
    let mut common: Option<BTreeSet<_>> = None;
    for report in reports {
        let here = analytes(report);
        common = Some(match common {
            None => here,
            Some(before) => before.intersection(&here).copied().collect(),
        });
    }
    let codes: Vec<String> = common
        .into_iter()
        .flatten()
        .map(|id| quoted(&vocabulary.analyte(id).code))
        .collect();
    push(
        text,
        "# A report that has less than this has changed its layout.",
    );
    push(text, "[expect]");
    push(text, "samples_at_least = 1");
    let mut line = String::from("analytes = [");
    let mut list = String::new();
    for code in codes {
        if line.len() + code.len() > 96 {
            list.push_str(line.trim_end());
            list.push('\n');
            line = "    ".into();
        }
        line.push_str(&code);
        line.push_str(", ");
    }
    list.push_str(line.trim_end().trim_end_matches(','));
    push(text, &format!("{list}]\n"));
}

/// The results as CSV with a heading line; in a file of its own nothing that a spreadsheet runs.
fn csv_rows(report: &Drafted<'_>, vocabulary: &Vocabulary, in_file: bool) -> String {
    let columns = EXAMPLE_COLUMNS.map(String::from);
    let one_sheet = report.report.sheets.len() < 2;
    let columns = if one_sheet {
        &columns[1..]
    } else {
        &columns[..]
    };
    let mut csv = columns.join(",") + "\n";
    for row in rows(report.extract, vocabulary, columns) {
        let fields: Vec<String> = row
            .iter()
            .zip(columns)
            .map(
                |(field, column)| match (column.as_str(), field.parse::<f64>()) {
                    // More than an example compares would only hide the number.
                    ("value", Ok(number)) => short(number),
                    (_, Err(_)) if in_file => csv_field(&comparable(field)),
                    _ => csv_field(field),
                },
            )
            .collect();
        csv.push_str(&fields.join(","));
        csv.push('\n');
    }
    csv
}

/// Seven digits, in the shortest form.
fn short(number: f64) -> String {
    format!("{number:.6e}")
        .parse::<f64>()
        .map_or_else(|_| number.to_string(), |rounded| rounded.to_string())
}

/// Rows that a mapping can hold and still be read.
const ROWS_IN_PLACE: usize = 400;

fn csv_field(field: &str) -> String {
    // A line end cannot stand in an example's row; a space compares as well as any.
    let field = field.replace(['\n', '\r'], " ");
    if field.contains(['"', ',']) {
        format!("\"{}\"", field.replace('"', "\"\""))
    } else {
        field
    }
}

fn example(text: &mut String, report: &Drafted<'_>, rows: &str, rows_file: Option<&str>) {
    push(
        text,
        "# The proof of this mapping: what the report below must give. CHECK some of it against the report.",
    );
    // An example without its rows would be none.
    let left_out = rows_file.is_none() && rows.lines().count() > ROWS_IN_PLACE;
    let mark = if left_out { "# " } else { "" };
    push(text, &format!("{mark}[example]"));
    push(text, &format!("{mark}file = {}", quoted(report.path)));
    match rows_file {
        Some(file) => push(text, &format!("rows_file = {}", quoted(file))),
        None if rows.lines().count() > ROWS_IN_PLACE => push(
            text,
            &format!(
                "# {} rows; `--into FOLDER` writes them into a file beside the mapping",
                rows.lines().count() - 1
            ),
        ),
        None => {
            let lines: Vec<String> = rows.lines().map(multi_line).collect();
            push(
                text,
                &format!("rows = \"\"\"\n{}\n\"\"\"", lines.join("\n")),
            );
        }
    }
}

/// A line within a multi-line basic string.
fn multi_line(line: &str) -> String {
    let quoted = quoted(line);
    quoted[1..quoted.len() - 1].to_string()
}

pub(super) fn push(text: &mut String, line: &str) {
    writeln!(text, "{line}").expect("text can always be written into a string");
}
