//! How a mapping names a label: word for word, by a pattern between slashes, or by its place.

use super::raw::Text;
use crate::locate::Wording;
use crate::place::Address;
use crate::problem::Problems;
use regex::{Regex, RegexBuilder};
use std::ops::Range;

/// No honest pattern is longer, and a long one can be made to cost much.
const PATTERN_CHARACTERS: usize = 1_000;
/// Bytes that a compiled pattern may take.
const PATTERN_SIZE: usize = 1 << 20;

/// A label and, where it is named by its place, the zero-based column or row.
pub(super) struct Label {
    pub(super) wording: Wording,
    pub(super) at: Option<u32>,
}

/// `"NO3"`, `'/Fe.*/'`, `"@F"`, `"@12"`; `None` after a problem.
pub(super) fn label(text: &Text, problems: &mut Problems<'_>) -> Option<Label> {
    let Some(place) = text.get_ref().strip_prefix('@') else {
        return Some(Label {
            wording: wording(text, problems)?,
            at: None,
        });
    };
    let row = place.parse::<u32>().ok().and_then(|n| n.checked_sub(1));
    let column = || Address::parse(&format!("{place}1")).map(|at| at.col);
    // `ok` above: what is no row number is tried as a column.
    let Some(at) = row.or_else(column) else {
        problems
            .push(text.span(), format!("'{}' is no place", text.get_ref()))
            .help("a column is \"@F\", a row is \"@12\"");
        return None;
    };
    Some(Label {
        wording: Wording::Pattern(everything()),
        at: Some(at),
    })
}

/// A text word for word, or a pattern between slashes; `None` after a problem.
pub(super) fn wording(text: &Text, problems: &mut Problems<'_>) -> Option<Wording> {
    let word = text.get_ref().trim();
    if word.is_empty() {
        problems.push(text.span(), "an empty text fits nothing");
        return None;
    }
    let pattern = word
        .strip_prefix('/')
        .and_then(|rest| rest.strip_suffix('/'))
        .filter(|inner| !inner.is_empty());
    match pattern {
        None => Some(Wording::Text(word.into())),
        Some(inner) => pattern_of(&format!("^(?:{inner})$"), inner, text.span(), problems)
            .map(Wording::Pattern),
    }
}

/// A pattern that must fit the whole text; `inner` is what the author wrote of it.
pub(super) fn pattern_of(
    whole: &str,
    inner: &str,
    span: Range<usize>,
    problems: &mut Problems<'_>,
) -> Option<Regex> {
    if inner.chars().count() > PATTERN_CHARACTERS {
        problems.push(
            span,
            format!("a pattern of more than {PATTERN_CHARACTERS} characters"),
        );
        return None;
    }
    let build = |pattern: &str| RegexBuilder::new(pattern).size_limit(PATTERN_SIZE).build();
    // The author's part must be right alone, so that `a)(b` cannot pair with our brackets.
    match build(inner).and_then(|_| build(whole)) {
        Ok(pattern) => Some(pattern),
        Err(error) => {
            let why = reason(&error.to_string());
            let problem = problems.push(span, format!("this pattern cannot be read: {why}"));
            if ["(?=", "(?!", "(?<=", "(?<!"]
                .iter()
                .any(|look| inner.contains(look))
            {
                problem.help("patterns cannot look ahead or behind");
            } else {
                problem.help(
                    "to mean a character such as ( or . itself, put it in square brackets: [(]",
                );
            }
            None
        }
    }
}

/// The last line of the pattern library's message, without its own picture.
fn reason(message: &str) -> String {
    let last = message.lines().last().unwrap_or(message).trim();
    last.strip_prefix("error: ").unwrap_or(last).to_string()
}

fn everything() -> Regex {
    Regex::new("").expect("the empty pattern is one")
}
