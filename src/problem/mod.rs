//! Problems of a file that people write (mappings, vocabulary): collected, then shown all at once,
//! each with line and column, the text underlined, and what to write instead. A leaf.
//!
//! Flaws of a laboratory's report are `finding`s instead.

mod strict;

pub use strict::read_toml;

use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use std::ops::Range;

/// One thing that is wrong in a text, at a byte range of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// One line, lower case, no full stop, the word found in quotes.
    pub message: String,
    /// Bytes of the text; empty at the end of it.
    pub span: Range<usize>,
    /// Stands behind the underline; empty where the message says it all.
    pub label: String,
    /// What to do about it, a line each.
    pub help: Vec<String>,
}

impl Problem {
    /// Adds a line of help.
    pub fn help(&mut self, text: impl Into<String>) -> &mut Self {
        self.help.push(text.into());
        self
    }

    /// Puts text behind the underline.
    pub fn label(&mut self, text: impl Into<String>) -> &mut Self {
        self.label = text.into();
        self
    }

    /// Proposes the nearest of the known words, where one is near, and else lists them when they
    /// are few.
    pub fn nearest<'a>(
        &mut self,
        word: &str,
        known: impl IntoIterator<Item = &'a str> + Clone,
    ) -> &mut Self {
        if let Some(near) = nearest(word, known.clone()) {
            self.label = format!("did you mean '{near}'?");
        }
        let known: Vec<&str> = known.into_iter().collect();
        if !known.is_empty() && known.len() <= KNOWN_WORDS_SHOWN {
            self.help(format!("known here: {}", known.join(", ")));
        }
        self
    }
}

/// A list of known words up to this length is shown whole: it still fits a few terminal lines.
const KNOWN_WORDS_SHOWN: usize = 32;

/// The problems of one text.
#[derive(Clone, Debug)]
pub struct Problems<'a> {
    path: String,
    text: &'a str,
    found: Vec<Problem>,
}

impl<'a> Problems<'a> {
    /// `path` is shown as it is given.
    pub fn new(path: impl Into<String>, text: &'a str) -> Self {
        Self {
            path: path.into(),
            text,
            found: Vec::new(),
        }
    }

    /// Notes a problem; help and label can be added to what comes back.
    pub fn push(&mut self, span: Range<usize>, message: impl Into<String>) -> &mut Problem {
        self.found.push(Problem {
            message: message.into(),
            span: within(self.text, &span),
            label: String::new(),
            help: Vec::new(),
        });
        self.found.last_mut().expect("one was pushed just now")
    }

    pub const fn is_empty(&self) -> bool {
        self.found.is_empty()
    }

    pub fn found(&self) -> &[Problem] {
        &self.found
    }

    /// All problems in the order of the text, as lines for a person. Empty when there are none.
    pub fn render(&self) -> String {
        let mut found: Vec<&Problem> = self.found.iter().collect();
        found.sort_by_key(|problem| problem.span.start);
        // Colour is left to the terminal: the same text goes into files and tests.
        let renderer = Renderer::plain();
        let told: Vec<String> = found
            .into_iter()
            .map(|problem| renderer.render(&[self.group(problem)]))
            .collect();
        told.join("\n\n")
    }

    fn group<'p>(&'p self, problem: &'p Problem) -> Group<'p> {
        let mark = AnnotationKind::Primary.span(problem.span.clone());
        let mark = if problem.label.is_empty() {
            mark
        } else {
            mark.label(problem.label.as_str())
        };
        let snippet = Snippet::source(self.text)
            .path(self.path.as_str())
            .annotation(mark);
        let help = problem.help.iter().map(|line| Level::HELP.message(line));
        Level::ERROR
            .primary_title(problem.message.as_str())
            .element(snippet)
            .elements(help)
    }
}

/// The span cut to the text and to whole characters.
fn within(text: &str, span: &Range<usize>) -> Range<usize> {
    let floor = |mut at: usize| {
        at = at.min(text.len());
        while !text.is_char_boundary(at) {
            at -= 1;
        }
        at
    };
    let start = floor(span.start);
    start..floor(span.end).max(start)
}

/// The known word that `word` was probably meant to be; `None` when none is near enough. A
/// suggestion, never a match.
pub fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let plain = |text: &str| text.to_lowercase().replace(['-', ' '], "_");
    let word = plain(word);
    // A third of the letters may be wrong: 'nitrat' is near, 'iron' is not near to 'zinc'.
    let bound = (word.chars().count() / 3).max(1);
    known
        .into_iter()
        .map(|candidate| {
            (
                strsim::damerau_levenshtein(&word, &plain(candidate)),
                candidate,
            )
        })
        .filter(|(distance, _)| *distance <= bound)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_word_is_near() {
        let known = ["nitrate", "nitrite", "iron", "sampled_on"];
        for (word, near) in [
            ("nitrat", Some("nitrate")),
            ("Nitrate", Some("nitrate")),
            ("sampled-on", Some("sampled_on")),
            ("irno", Some("iron")),
            ("zinc", None),
            ("", None),
        ] {
            assert_eq!(nearest(word, known), near, "{word}");
        }
    }

    #[test]
    fn err_problems_are_shown_in_the_order_of_the_text() {
        let text = "one = 1\ntwö = 2\n";
        let mut problems = Problems::new("a.toml", text);
        problems.push(15..16, "second").help("do this");
        problems.push(0..3, "first").label("here");
        let expected = "\
error: first
 --> a.toml:1:1
  |
1 | one = 1
  | ^^^ here

error: second
 --> a.toml:2:7
  |
2 | twö = 2
  |       ^
  |
  = help: do this";
        // Columns are characters, not bytes: 'ö' is two bytes.
        assert_eq!(
            problems
                .render()
                .lines()
                .map(str::trim_end)
                .collect::<Vec<_>>()
                .join("\n"),
            expected
        );
    }

    #[test]
    fn spans_outside_the_text_are_cut_to_it() {
        let mut problems = Problems::new("a.toml", "ö");
        problems.push(1..99, "odd");
        assert_eq!(problems.found()[0].span, 0..2);
        problems.render();
    }
}
