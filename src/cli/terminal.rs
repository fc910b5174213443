//! The two streams a person sees, with colour only where the terminal and `NO_COLOR` allow it, and
//! never a control character that came out of a report.

use crate::error::{Error, Result};
use anstream::{AutoStream, ColorChoice};
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

    /// Writes text as it is; callers clean what comes from a report with `clean`.
    pub fn print(&mut self, text: &str) -> Result<()> {
        self.out.write_all(text.as_bytes()).map_err(failed)
    }

    pub fn println(&mut self, text: &str) -> Result<()> {
        self.print(text)?;
        self.print("\n")
    }

    /// A line on stderr. A stderr that is closed is no reason to stop the work.
    pub fn note(&mut self, text: &str) {
        writeln!(self.err, "{text}").ok();
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
        .map(|c| match c {
            '\n' => c,
            c if c.is_control() => '\u{fffd}',
            '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => {
                '\u{fffd}'
            }
            c => c,
        })
        .collect()
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
