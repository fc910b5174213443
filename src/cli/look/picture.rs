//! A report as it is seen: its sheets, the tables drawn with what each column means, and what is not
//! understood.

use super::canvas::{cut, styled};
use super::meaning::Kind;
use super::table;
use crate::cli::terminal::clean;
use crate::finding::Severity;
use crate::map::{DateOrder, Decimal, Plan, SheetPlan};
use crate::place::Address;
use crate::read::{Report, Sheet};
use crate::record::Extract;
use crate::vocabulary::Vocabulary;
use std::collections::BTreeMap;
use std::fmt::Write;

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
    if report.partial {
        let lines: usize = report.sheets.iter().map(|s| s.grid.rows().count()).sum();
        push(
            &mut text,
            &format!(
                "a long text: {lines} of its lines, spread over all of it, are shown; 'gather' reads every line"
            ),
        );
    }
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
        DateOrder::Undecided
            if subject
                .extract
                .samples
                .iter()
                .any(|s| s.sampled_on.is_some()) =>
        {
            "dates that can be read in one way only"
        }
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
        table::draw(text, subject, sheet, block, width);
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

pub(super) fn cell(sheet: &Sheet, at: Address) -> String {
    one_line(&sheet.grid.view(at).as_text())
}

/// A text of a report on one line, without control characters.
pub(super) fn one_line(text: &str) -> String {
    let words: Vec<&str> = text.split_whitespace().collect();
    clean(&words.join(" "))
}

pub(super) fn push(text: &mut String, line: &str) {
    writeln!(text, "{line}").expect("text can always be written into a string");
}
