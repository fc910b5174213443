//! A report as it is seen: its sheets, the tables drawn with what each column means, and what is not
//! understood.

use super::canvas::{Canvas, Piece, Row, cut, styled};
use super::meaning::{self, Kind};
use crate::cli::terminal::clean;
use crate::finding::Severity;
use crate::locate::Layout;
use crate::map::{BlockPlan, DateOrder, Decimal, Plan, SheetPlan, Source};
use crate::place::{Address, column_letters};
use crate::read::{Report, Sheet};
use crate::record::Extract;
use crate::vocabulary::Vocabulary;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

/// Lines that one table may take: a screenful.
const SCREENFUL: usize = 40;
/// Lines of data shown before the rest is counted.
const LINES_SHOWN: usize = 3;
/// Lines that are no samples shown, before the rest is counted.
const OTHERS_SHOWN: usize = 4;
/// Findings told below the picture.
const FINDINGS_SHOWN: usize = 12;
/// Cells named for one reason of not being placed.
const CELLS_NAMED: usize = 4;

/// All that the picture is drawn from.
pub(super) struct Subject<'a> {
    pub(super) report: &'a Report,
    pub(super) plan: &'a Plan,
    pub(super) extract: &'a Extract,
    pub(super) vocabulary: &'a Vocabulary,
}

/// Draws the whole report for a terminal of `width` columns.
pub(super) fn draw(subject: &Subject<'_>, width: usize) -> String {
    let mut text = head(subject);
    for (index, (sheet, plan)) in subject
        .report
        .sheets
        .iter()
        .zip(&subject.plan.sheets)
        .enumerate()
    {
        text.push('\n');
        draw_sheet(&mut text, subject, index, sheet, plan, width);
    }
    findings(&mut text, subject, width);
    text
}

/// What is worth saying, the worst first.
fn findings(text: &mut String, subject: &Subject<'_>, width: usize) {
    let mut findings: Vec<_> = subject.extract.findings.iter().collect();
    if findings.is_empty() {
        return;
    }
    // Stable: within one severity in the order of the report.
    findings.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
    text.push('\n');
    for finding in findings.iter().take(FINDINGS_SHOWN) {
        let kind = match finding.severity {
            Severity::Error => Kind::Unplaced,
            Severity::Warning => Kind::Assumed,
            Severity::Note => Kind::Plain,
        };
        let cell = finding
            .place
            .cell
            .map_or_else(String::new, |at| format!("{at}: "));
        let line = format!("{} {cell}{}", finding.severity, one_line(&finding.message));
        push(text, &styled(&cut(&line, width), kind));
        if !finding.help.is_empty() {
            push(text, &cut(&format!("  {}", one_line(&finding.help)), width));
        }
    }
    if findings.len() > FINDINGS_SHOWN {
        let more = findings.len() - FINDINGS_SHOWN;
        push(text, &format!("and {more} more; --json shows all"));
    }
}

fn head(subject: &Subject<'_>) -> String {
    let plan = subject.plan;
    let mut text = String::new();
    let report = subject.report;
    let form = match report.delimiter {
        Some('\t') => "text, fields between tabs".to_string(),
        Some(' ') => "text, columns aligned by spaces".to_string(),
        Some(c) => format!("text, fields between '{c}'"),
        None if report.sheets.len() == 1 => "workbook of 1 sheet".to_string(),
        None => format!("workbook of {} sheets", report.sheets.len()),
    };
    push(&mut text, &format!("{}: {form}", clean(&report.file)));
    let by = match &*plan.mapping {
        "recognised" => "no mapping claims it; seen as follows".to_string(),
        name => format!("read with the mapping '{}'", clean(name)),
    };
    push(&mut text, &by);
    let decimal = match plan.locale.decimal {
        Decimal::Point => "decimal point",
        Decimal::Comma => "decimal comma",
        Decimal::Undecided => "decimal sign not decided",
    };
    let dates = match plan.locale.dates {
        DateOrder::DayFirst => "dates with the day first",
        DateOrder::MonthFirst => "dates with the month first",
        DateOrder::YearFirst => "dates with the year first",
        DateOrder::Undecided => "order of dates not decided",
    };
    push(&mut text, &format!("{decimal}, {dates}"));
    text
}

fn draw_sheet(
    text: &mut String,
    subject: &Subject<'_>,
    index: usize,
    sheet: &Sheet,
    plan: &SheetPlan,
    width: usize,
) {
    let name = if sheet.name.is_empty() {
        "the text".to_string()
    } else {
        format!("sheet '{}'", clean(&sheet.name))
    };
    let hidden = if sheet.hidden { ", hidden" } else { "" };
    let title = format!("{name}{hidden} ");
    let rule = "─".repeat(width.saturating_sub(title.chars().count()).min(60));
    push(text, &styled(&format!("{title}{rule}"), Kind::Heading));
    if let Some(account) = subject.extract.sheets.get(index) {
        push(
            text,
            &format!(
                "{} cells: {} results, {} identity, {} headings, {} set aside, {} not placed",
                account.cells,
                account.results,
                account.identity,
                account.headings,
                account.set_aside,
                account.unplaced
            ),
        );
    }
    for block in &plan.blocks {
        text.push('\n');
        draw_block(text, subject, sheet, block, width);
    }
    if plan.blocks.is_empty() {
        push(text, "no table found");
    }
    for (area, reason) in &plan.set_aside {
        let from = Address::new(area.top, area.left);
        let to = Address::new(area.bottom, area.right);
        push(text, &format!("set aside: {from}:{to}: {}", clean(reason)));
    }
    not_placed(text, subject, index, width);
}

/// What went to `unplaced`, one line a reason.
fn not_placed(text: &mut String, subject: &Subject<'_>, index: usize, width: usize) {
    let mut reasons: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    for cell in &subject.extract.unplaced {
        if usize::from(cell.sheet) == index {
            let named = format!("{} '{}'", cell.at, cut(&one_line(&cell.text), 24));
            reasons.entry(&cell.reason).or_default().push(named);
        }
    }
    if !reasons.is_empty() {
        text.push('\n');
    }
    for (reason, cells) in reasons {
        let shown = cells.iter().take(CELLS_NAMED).cloned().collect::<Vec<_>>();
        let more = if cells.len() > CELLS_NAMED {
            ", …"
        } else {
            ""
        };
        let line = format!(
            "not placed: {} of {}: {}{more}",
            cells.len(),
            clean(reason),
            shown.join(", ")
        );
        push(text, &styled(&cut(&line, width), Kind::Unplaced));
    }
}

fn draw_block(
    text: &mut String,
    subject: &Subject<'_>,
    sheet: &Sheet,
    block: &BlockPlan,
    width: usize,
) {
    push(text, &title(sheet, block));
    facts(text, sheet, block);
    let canvas = match (block.layout, block.across) {
        (Layout::Form, _) => form(subject, sheet, block),
        (_, true) => across(subject, sheet, block),
        (_, false) => down(subject, sheet, block),
    };
    let (drawn, shown) = canvas.draw(width, SCREENFUL);
    text.push_str(&drawn);
    if !block.across && shown < canvas.columns.len() {
        let rest: Vec<String> = block
            .tracks
            .iter()
            .filter(|track| !canvas.columns[..shown].contains(&column_letters(track.at)))
            .map(|track| {
                let meaning = meaning::track(&track.role, false, subject.vocabulary);
                format!("{} {}", column_letters(track.at), clean(&meaning.name))
            })
            .collect();
        let line = format!("and {} more columns: {}", rest.len(), rest.join(", "));
        push(text, &cut(&line, width * 3));
    }
}

/// `table A3:I12: one sample a row, 9 samples`
fn title(sheet: &Sheet, block: &BlockPlan) -> String {
    let (what, one, many) = match block.layout {
        Layout::SamplesDown => ("one sample a row ↓", "sample", "samples"),
        Layout::SamplesAcross => ("one sample a column →", "sample", "samples"),
        Layout::ResultsDown => ("one result a row ↓", "result", "results"),
        Layout::Form => ("a form, labels beside values", "value", "values"),
    };
    let count = match block.layout {
        Layout::Form => block.form.len(),
        _ => samples(sheet, block).len(),
    };
    let count = format!("{count} {}", if count == 1 { one } else { many });
    let place = extent(sheet, block).map_or_else(String::new, |(from, to)| format!(" {from}:{to}"));
    styled(&format!("table{place}: {what}, {count}"), Kind::Heading)
}

/// First and last cell of a block; `None` when nothing of it stands in the sheet.
fn extent(sheet: &Sheet, block: &BlockPlan) -> Option<(Address, Address)> {
    let tracks = block.tracks.iter().map(|track| track.at);
    let lines = samples(sheet, block);
    let ends = lines
        .first()
        .copied()
        .into_iter()
        .chain(lines.last().copied());
    let cells = tracks.flat_map(|at| {
        ends.clone().map(move |line| {
            if block.across {
                Address::new(at, line)
            } else {
                Address::new(line, at)
            }
        })
    });
    let cells: Vec<Address> = cells
        .chain(block.headings.iter().copied())
        .chain(block.form.iter().map(|cell| cell.value))
        .collect();
    let rows = cells.iter().map(|at| at.row);
    let cols = cells.iter().map(|at| at.col);
    Some((
        Address::new(rows.clone().min()?, cols.clone().min()?),
        Address::new(rows.max()?, cols.max()?),
    ))
}

/// The lines that hold something and are samples (or results).
fn samples(sheet: &Sheet, block: &BlockPlan) -> Vec<u32> {
    let tracks: BTreeSet<u32> = block.tracks.iter().map(|track| track.at).collect();
    let lines: BTreeSet<u32> = sheet
        .grid
        .cells()
        .map(|(at, _)| {
            if block.across {
                (at.col, at.row)
            } else {
                (at.row, at.col)
            }
        })
        .filter(|(line, track)| {
            (block.first_line..=block.last_line).contains(line)
                && tracks.contains(track)
                && !block.not_samples.contains_key(line)
        })
        .map(|(line, _)| line)
        .collect();
    lines.into_iter().collect()
}

/// Identity from outside the lines.
fn facts(text: &mut String, sheet: &Sheet, block: &BlockPlan) {
    for fact in &block.facts {
        let (value, from) = match &fact.from {
            Source::Cell(at) => (cell(sheet, *at), format!("from {at}")),
            Source::Part(at, part) => (one_line(part), format!("from {at}")),
            Source::Text(value) => (one_line(value), "from the mapping or the file name".into()),
        };
        let name = styled(fact.field.name(), Kind::Identity);
        push(text, &format!("  {name} = '{}', {from}", cut(&value, 40)));
    }
}

/// Rows as they stand; under the headings what each column means.
fn down(subject: &Subject<'_>, sheet: &Sheet, block: &BlockPlan) -> Canvas {
    let mut columns: BTreeSet<u32> = block.tracks.iter().map(|track| track.at).collect();
    columns.extend(block.headings.iter().map(|at| at.col));
    let columns: Vec<u32> = columns.into_iter().collect();
    let cells = |row: u32, kind: Kind| -> Vec<Piece> {
        columns
            .iter()
            .map(|col| Piece::new(cell(sheet, Address::new(row, *col)), kind))
            .collect()
    };
    let line = |label: &str, row: u32, kind: Kind| Row {
        gutter: Piece::new(format!("{label} {:>4}", u64::from(row) + 1), kind),
        cells: cells(
            row,
            if kind == Kind::Heading {
                kind
            } else {
                Kind::Plain
            },
        ),
    };
    let headings: BTreeSet<u32> = block.headings.iter().map(|at| at.row).collect();
    let mut rows: Vec<Row> = headings
        .iter()
        .filter(|row| !block.not_samples.contains_key(row))
        .map(|row| line("heading", *row, Kind::Heading))
        .collect();
    rows.extend(meanings(subject, block, &columns));
    let word = if block.layout == Layout::ResultsDown {
        "result"
    } else {
        "sample"
    };
    let samples = samples(sheet, block);
    for row in samples.iter().take(LINES_SHOWN) {
        rows.push(line(word, *row, Kind::Plain));
    }
    if samples.len() > LINES_SHOWN {
        rows.push(more(samples.len() - LINES_SHOWN, &format!("{word}s")));
    }
    let others: Vec<_> = block
        .not_samples
        .iter()
        .filter(|(row, _)| !headings.contains(row))
        .collect();
    for (row, role) in others.iter().take(OTHERS_SHOWN) {
        let (kind, label) = meaning::line(role, false);
        let mut row = line(&label, **row, kind);
        row.cells.iter_mut().for_each(|piece| piece.kind = kind);
        rows.push(row);
    }
    if others.len() > OTHERS_SHOWN {
        rows.push(more(others.len() - OTHERS_SHOWN, "that are no samples"));
    }
    Canvas {
        columns: columns.iter().map(|col| column_letters(*col)).collect(),
        rows,
    }
}

/// `means`, `unit` and `note` under the headings.
fn meanings(subject: &Subject<'_>, block: &BlockPlan, columns: &[u32]) -> Vec<Row> {
    let found: Vec<Option<meaning::Meaning>> = columns
        .iter()
        .map(|col| {
            let track = block.tracks.iter().find(|track| track.at == *col)?;
            Some(meaning::track(&track.role, false, subject.vocabulary))
        })
        .collect();
    let band = |label: &str, part: &dyn Fn(&meaning::Meaning) -> &str| Row {
        gutter: Piece::new(format!("{label}     "), Kind::SetAside),
        cells: found
            .iter()
            .map(|meaning| match meaning {
                Some(meaning) => Piece::new(one_line(part(meaning)), meaning.kind),
                None => Piece::new("", Kind::Plain),
            })
            .collect(),
    };
    let bands = [
        band("means", &|m| &m.name),
        band("unit", &|m| &m.unit),
        band("", &|m| &m.note),
    ];
    bands
        .into_iter()
        .filter(|row| row.cells.iter().any(|piece| !piece.text.is_empty()))
        .collect()
}

/// Rows as they stand, and before each what it means; samples are columns.
fn across(subject: &Subject<'_>, sheet: &Sheet, block: &BlockPlan) -> Canvas {
    let samples = samples(sheet, block);
    let others: Vec<u32> = block.not_samples.keys().copied().collect();
    let mut columns: BTreeSet<u32> = block.headings.iter().map(|at| at.col).collect();
    columns.extend(samples.iter().take(LINES_SHOWN + 2));
    columns.extend(others.iter().take(OTHERS_SHOWN));
    let columns: Vec<u32> = columns.into_iter().collect();
    let cells = |row: u32, kind: Kind| -> Vec<Piece> {
        columns
            .iter()
            .map(|col| Piece::new(cell(sheet, Address::new(row, *col)), kind))
            .collect()
    };
    let mut rows = vec![Row {
        gutter: Piece::new("", Kind::Plain),
        cells: columns
            .iter()
            .map(|col| match block.not_samples.get(col) {
                Some(role) => {
                    let (kind, label) = meaning::line(role, true);
                    Piece::new(label, kind)
                }
                None if samples.contains(col) => Piece::new("sample", Kind::Identity),
                None => Piece::new("heading", Kind::Heading),
            })
            .collect(),
    }];
    let tracks: BTreeMap<u32, _> = block.tracks.iter().map(|track| (track.at, track)).collect();
    let mut lines: BTreeSet<u32> = tracks.keys().copied().collect();
    lines.extend(block.headings.iter().map(|at| at.row));
    for row in lines.iter().take(SCREENFUL - 4) {
        let (words, kind) = match tracks.get(row) {
            Some(track) => {
                let meaning = meaning::track(&track.role, true, subject.vocabulary);
                let parts = [&*meaning.name, &*meaning.unit, &*meaning.note];
                let words: Vec<&str> = parts.into_iter().filter(|p| !p.is_empty()).collect();
                (one_line(&words.join(" ")), meaning.kind)
            }
            None => ("heading".into(), Kind::Heading),
        };
        rows.push(Row {
            gutter: Piece::new(
                format!("{} {:>4}", cut(&words, 29), u64::from(*row) + 1),
                kind,
            ),
            cells: cells(
                *row,
                if kind == Kind::Heading {
                    kind
                } else {
                    Kind::Plain
                },
            ),
        });
    }
    if lines.len() > SCREENFUL - 4 {
        rows.push(more(
            lines.len() - (SCREENFUL - 4),
            "rows; --json shows all",
        ));
    }
    if samples.len() > LINES_SHOWN + 2 {
        rows.push(more(samples.len() - LINES_SHOWN - 2, "columns of samples"));
    }
    Canvas {
        columns: columns.iter().map(|col| column_letters(*col)).collect(),
        rows,
    }
}

/// One line a value: what it means, where it stands, what stands there and beside it.
fn form(subject: &Subject<'_>, sheet: &Sheet, block: &BlockPlan) -> Canvas {
    let mut rows: Vec<Row> = block
        .form
        .iter()
        .take(SCREENFUL - 4)
        .map(|entry| {
            let meaning = meaning::track(&entry.role, false, subject.vocabulary);
            let value = match &entry.part {
                Some(part) => one_line(part),
                None => cell(sheet, entry.value),
            };
            let beside: Vec<String> = entry
                .companions
                .iter()
                .map(|(at, role)| format!("{} '{}'", meaning::value_role(*role), cell(sheet, *at)))
                .collect();
            Row {
                gutter: Piece::new(one_line(&meaning.name), meaning.kind),
                cells: vec![
                    Piece::new(entry.value.to_string(), Kind::SetAside),
                    Piece::new(value, Kind::Plain),
                    Piece::new(meaning.unit, meaning.kind),
                    Piece::new(meaning.note, Kind::SetAside),
                    Piece::new(beside.join(", "), Kind::Companion),
                ],
            }
        })
        .collect();
    if block.form.len() > SCREENFUL - 4 {
        rows.push(more(
            block.form.len() - (SCREENFUL - 4),
            "values; --json shows all",
        ));
    }
    Canvas {
        columns: ["cell", "value", "unit", "", "beside"]
            .map(String::from)
            .into(),
        rows,
    }
}

fn more(count: usize, what: &str) -> Row {
    Row {
        gutter: Piece::new(format!("⋮ {count} more {what}"), Kind::SetAside),
        cells: Vec::new(),
    }
}

fn cell(sheet: &Sheet, at: Address) -> String {
    one_line(&sheet.grid.view(at).as_text())
}

/// A text of a report on one line, without control characters.
fn one_line(text: &str) -> String {
    let words: Vec<&str> = text.split_whitespace().collect();
    clean(&words.join(" "))
}

fn push(text: &mut String, line: &str) {
    writeln!(text, "{line}").expect("text can always be written into a string");
}
