//! The end of a run as a person reads it: a screenful, the most serious first, what to do next.

use super::terminal::clean;
use crate::error::{Error, Result};
use crate::finding::Severity;
use crate::run::{Group, Request, Summary};
use anstyle::{AnsiColor, Style};

/// Groups of findings shown; the rest is one line. With the tally above and the advice below, a
/// terminal of 40 lines holds it.
const GROUPS_SHOWN: usize = 8;

pub(super) fn as_json(summary: &Summary) -> Result<String> {
    serde_json::to_string_pretty(summary)
        .map_err(|e| Error::Law(format!("the summary is no JSON: {e}")))
}

/// The whole summary, coloured; the terminal strips the colours where they are not wanted.
pub(super) fn render(summary: &Summary, request: &Request, width: usize) -> String {
    let mut text = String::new();
    tally(&mut text, summary);
    if !summary.groups.is_empty() {
        text.push('\n');
        let shown = summary.groups.len().min(GROUPS_SHOWN);
        for group in &summary.groups[..shown] {
            one_group(&mut text, group, width);
        }
        let rest: u64 = summary.groups[shown..].iter().map(|g| g.cells).sum();
        if rest > 0 {
            let kinds = (summary.groups.len() - shown) as u64;
            let plural = |count: u64| if count == 1 { "" } else { "s" };
            line(
                &mut text,
                &format!(
                    "{rest} more finding{} of {kinds} other kind{}",
                    plural(rest),
                    plural(kinds)
                ),
            );
        }
    }
    text.push('\n');
    advice(&mut text, summary, request);
    text
}

fn line(text: &mut String, what: &str) {
    text.push_str(what);
    text.push('\n');
}

/// `1 report`, `12 reports`.
pub(super) fn count(n: u64, one: &str) -> String {
    if n == 1 {
        format!("{} {one}", grouped(n))
    } else {
        format!("{} {one}s", grouped(n))
    }
}

/// 1234567 as `1 234 567`, with the narrow no-break space that ISO 80000-1 asks for.
fn grouped(n: u64) -> String {
    let digits = n.to_string();
    let mut text = String::with_capacity(digits.len() * 2);
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            text.push('\u{202f}');
        }
        text.push(digit);
    }
    text
}

fn tally(text: &mut String, s: &Summary) {
    let reports = |n: usize| count(n as u64, "report");
    let mut read = vec![reports(s.reports_read)];
    for (n, what) in [
        (s.reports_replaced, "changed since the last run"),
        (s.reports_unchanged, "unchanged, not read again"),
        (s.reports_kept, "from earlier runs, kept"),
        (s.files_same_bytes, "with the bytes of another, read once"),
        (s.files_refused, "could not be read"),
    ] {
        if n > 0 {
            read.push(format!("{} {what}", grouped(n as u64)));
        }
    }
    let row = |text: &mut String, head: &str, what: String| {
        let bold = Style::new().bold();
        line(text, &format!("{bold}{head:<9}{bold:#}{what}"));
    };
    row(text, "read", read.join(" · "));
    row(
        text,
        "placed",
        format!(
            "{} of {}",
            count(s.results, "result"),
            count(s.samples as u64, "sample")
        ),
    );
    row(
        text,
        "unplaced",
        format!(
            "{} of {}",
            grouped(s.cells_unplaced),
            count(s.cells, "cell")
        ),
    );
    row(
        text,
        "ions",
        format!(
            "{} balanced · {} unbalanced · {} without all major ions",
            grouped(s.balanced as u64),
            grouped(s.unbalanced as u64),
            grouped(s.incomplete as u64)
        ),
    );
}

fn one_group(text: &mut String, group: &Group, width: usize) {
    let colour = match group.severity {
        Severity::Error => AnsiColor::Red,
        Severity::Warning => AnsiColor::Yellow,
        Severity::Note => AnsiColor::Cyan,
    };
    let style = Style::new().fg_color(Some(colour.into()));
    let times = if group.cells == 1 {
        String::new()
    } else if group.files > 1 {
        format!(
            "  {} times in {}",
            grouped(group.cells),
            count(group.files as u64, "file")
        )
    } else {
        format!("  {} times", grouped(group.cells))
    };
    line(
        text,
        &format!(
            "{style}{}{style:#} {}{times}",
            group.severity,
            clean(&group.code)
        ),
    );
    let told = if group.cells == 1 { "" } else { "first: " };
    for wrapped in wrap(
        &clean(&format!("{told}{}: {}", group.place, group.message)),
        width.saturating_sub(4),
    ) {
        line(text, &format!("    {wrapped}"));
    }
    if !group.help.is_empty() {
        for (i, wrapped) in wrap(&clean(&group.help), width.saturating_sub(10))
            .iter()
            .enumerate()
        {
            let head = if i == 0 { "help:" } else { "" };
            line(text, &format!("    {head:<5} {wrapped}"));
        }
    }
}

/// Words into lines of at most `width` characters; a longer word keeps its own line.
fn wrap(text: &str, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(last) if last.chars().count() + 1 + word.chars().count() <= width => {
                last.push(' ');
                last.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

fn advice(text: &mut String, summary: &Summary, request: &Request) {
    let folder = clean(&request.into.display().to_string());
    if request.dry_run {
        line(text, "nothing was written (--dry-run)");
        return;
    }
    let twin = if request.csv { "csv" } else { "parquet" };
    line(
        text,
        &format!("dataset in {folder}: results, samples, findings, unplaced, account"),
    );
    if summary.groups.is_empty() {
        return;
    }
    line(
        text,
        &format!("every finding with its cell: {folder}/findings.{twin}"),
    );
    if summary.cells_unplaced > 0 {
        line(
            text,
            &format!("what was not understood, and why: {folder}/unplaced.{twin}"),
        );
        line(
            text,
            "next: 'wellread look FILE' shows how a report is seen; 'wellread draft FILE' writes a mapping to edit",
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_numbers_are_grouped() {
        for (n, text) in [
            (0, "0"),
            (999, "999"),
            (1000, "1\u{202f}000"),
            (1_234_567, "1\u{202f}234\u{202f}567"),
        ] {
            assert_eq!(grouped(n), text);
        }
    }

    #[test]
    fn lines_are_wrapped_at_words() {
        assert_eq!(wrap("one two three", 7), ["one two", "three"]);
        assert_eq!(wrap("unbreakable", 3), ["unbreakable"]);
        assert!(wrap("", 10).is_empty());
    }
}
