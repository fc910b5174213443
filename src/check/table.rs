//! All checks, in one table.

use super::case::{FileCase, SampleCase, SourceCase};
use super::flaw;
use super::found::Found;
use crate::finding::Severity;

/// What a check looks at.
#[derive(Clone, Copy)]
pub(super) enum Scope {
    Sample(fn(&SampleCase<'_>, &mut Vec<Found>)),
    /// All samples of a file, to say something of its columns.
    File(fn(&FileCase<'_>, &mut Vec<Found>)),
    /// Samples of a file beside each other, to say something of single ones.
    Beside(fn(&FileCase<'_>, &mut Vec<Found>)),
    Source(fn(&SourceCase<'_>, &mut Vec<Found>)),
    /// Found by looking for the cause of other findings.
    Cause,
}

/// A check: what it is called and how severe its findings are unless the user says otherwise.
#[derive(Clone, Copy)]
pub struct Check {
    /// Kebab-case, named for the problem.
    pub code: &'static str,
    pub severity: Severity,
    /// Names of its numbers in `limits.toml`.
    pub limits: &'static [&'static str],
    /// What it found, in a few words, for many samples told as one.
    pub gist: &'static str,
    /// Codes of findings in the same sample that make this one a mere consequence.
    pub(super) yields_to: &'static [&'static str],
    pub(super) scope: Scope,
    /// The check's file: its head is the explanation.
    pub(super) text: &'static str,
}

/// All checks, sorted by code.
pub const CHECKS: &[Check] = flaw::ALL;

/// By code; `None` when there is no such check.
pub fn find(code: &str) -> Option<&'static Check> {
    let position = CHECKS.binary_search_by(|check| check.code.cmp(code));
    position.ok().map(|position| &CHECKS[position])
}

/// The codes of all findings that this stage makes.
pub fn codes() -> impl Iterator<Item = &'static str> + Clone {
    CHECKS.iter().map(|check| check.code)
}

impl Check {
    /// The explanation: Markdown, with the headings 'What it finds', 'Why it matters', 'When it is
    /// wrong' and 'Source'.
    pub fn explanation(&self) -> String {
        let lines: Vec<&str> = (self.text.lines())
            .map_while(|line| line.strip_prefix("//!"))
            .map(|line| line.strip_prefix(' ').unwrap_or(line))
            .collect();
        lines.join("\n")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_sorted_and_every_check_explained() {
        assert!(CHECKS.windows(2).all(|pair| pair[0].code < pair[1].code));
        for check in CHECKS {
            let text = check.explanation();
            let mut rest = text.as_str();
            for heading in [
                format!("# {}: ", check.code).as_str(),
                "## What it finds",
                "## Why it matters",
                "## When it is wrong",
                "## Source",
            ] {
                let at = rest.find(heading);
                let at = at.unwrap_or_else(|| panic!("{}: no '{heading}'", check.code));
                rest = &rest[at..];
            }
            for other in check.yields_to {
                assert!(find(other).is_some(), "{} yields to {other}", check.code);
            }
        }
    }
}
