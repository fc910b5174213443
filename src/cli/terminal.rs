//! The two streams a person sees, with colour only where the terminal and `NO_COLOR` allow it, and
//! never a control character that came out of a report.

use crate::error::{Error, Result};
use anstream::{AutoStream, ColorChoice};
use std::borrow::Cow;
use std::error::Error as _;
use std::io::{self, IsTerminal, Write};

/// Results go to `out`, progress and errors to `err`.
pub struct Terminal {
    out: AutoStream<io::Stdout>,
    err: AutoStream<io::Stderr>,
}

impl Terminal {
    pub fn open() -> Self {
        Self {
            out: AutoStream::new(io::stdout(), ColorChoice::Auto),
            err: AutoStream::new(io::stderr(), ColorChoice::Auto),
        }
    }

    /// Writes text with its colours. Callers clean what comes from a report with `clean`; what one
    /// forgets never acts on the terminal all the same.
    pub fn print(&mut self, text: &str) -> Result<()> {
        self.out.write_all(sieved(text).as_bytes()).map_err(failed)
    }

    pub fn println(&mut self, text: &str) -> Result<()> {
        self.print(text)?;
        self.print("\n")
    }

    /// A line on stderr. A stderr that is closed is no reason to stop the work.
    pub fn note(&mut self, text: &str) {
        writeln!(self.err, "{}", sieved(text)).ok();
    }

    /// Whether stderr is a terminal.
    pub fn watched(&self) -> bool {
        io::stderr().is_terminal()
    }

    /// Columns of the terminal; 100 where there is none.
    pub fn width(&self) -> usize {
        terminal_size::terminal_size().map_or(100, |(width, _)| usize::from(width.0))
    }

    pub(super) fn error(&mut self, error: &Error) {
        let mut text = format!("wellread: {}", clean(&error.to_string()));
        let mut source = error.source();
        while let Some(cause) = source {
            text.push_str(": ");
            text.push_str(&clean(&cause.to_string()));
            source = cause.source();
        }
        self.note(&text);
    }
}

/// Text of a report without control and direction characters, line ends of ours kept.
pub(super) fn clean(text: &str) -> String {
    text.chars()
        .map(|c| if acts(c) { '\u{fffd}' } else { c })
        .collect()
}

/// Whether a terminal does something else with a character than to show it: control characters but
/// the line end, and those that turn the direction of writing.
fn acts(c: char) -> bool {
    let turns =
        matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    turns || (c.is_control() && c != '\n')
}

/// Text without any character that acts, but tabs and colours.
fn sieved(text: &str) -> Cow<'_, str> {
    if !text.contains(acts) {
        return Cow::Borrowed(text);
    }
    let mut safe = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find(acts) {
        let (before, from) = rest.split_at(at);
        safe.push_str(before);
        let mut after = from.chars();
        let length = match (after.next(), colour(from)) {
            (Some('\t'), _) => 1,
            (_, Some(length)) => length,
            (Some(c), None) => {
                safe.push('\u{fffd}');
                rest = &from[c.len_utf8()..];
                continue;
            }
            (None, None) => break,
        };
        safe.push_str(&from[..length]);
        rest = &from[length..];
    }
    safe.push_str(rest);
    Cow::Owned(safe)
}

/// Length of the colour with which a text begins: `ESC [ 1 ; 31 m` (ECMA-48, SGR).
fn colour(text: &str) -> Option<usize> {
    let numbers = text.strip_prefix("\u{1b}[")?;
    let end = numbers.find(|c: char| !c.is_ascii_digit() && c != ';')?;
    numbers[end..].starts_with('m').then_some(2 + end + 1)
}

fn failed(source: io::Error) -> Error {
    Error::Io {
        path: "standard output".into(),
        what: "cannot write",
        source,
    }
}

/// A reader that has seen enough (`| head`) is no error.
pub(super) fn is_broken_pipe(error: &Error) -> bool {
    matches!(error, Error::Io { source, .. } if source.kind() == io::ErrorKind::BrokenPipe)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_acts_on_the_terminal_but_colours() {
        for (text, expected) in [
            ("plain\ttext\n", "plain\ttext\n"),
            ("\u{1b}[1;31mred\u{1b}[0m", "\u{1b}[1;31mred\u{1b}[0m"),
            ("\u{1b}[2Jgone", "\u{fffd}[2Jgone"),
            ("\u{1b}]0;title\u{7}", "\u{fffd}]0;title\u{fffd}"),
            ("a\rb\u{8}c\u{9b}31md", "a\u{fffd}b\u{fffd}c\u{fffd}31md"),
            ("\u{202e}turned", "\u{fffd}turned"),
            ("\u{1b}[", "\u{fffd}["),
            ("\u{1b}", "\u{fffd}"),
            ("", ""),
        ] {
            assert_eq!(sieved(text), expected, "{text:?}");
        }
    }

    #[test]
    fn of_a_report_not_even_colours_pass() {
        assert_eq!(clean("\u{1b}[31mµg/L\n"), "\u{fffd}[31mµg/L\n");
    }
}
