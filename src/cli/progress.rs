//! One line on stderr that says how far a run is; only where a person is watching.

use super::Terminal;
use super::terminal::clean;
use crate::run::Step;
use std::io::{self, Write};
use std::sync::Mutex;
use std::time::{Duration, Instant};

/// No more often than this: a terminal is slower than the work.
const PAUSE: Duration = Duration::from_millis(80);

/// Shared by all threads of a run.
pub(super) struct ProgressLine {
    /// When the line was last drawn; `None` where nobody is watching.
    drawn: Option<Mutex<Option<Instant>>>,
    width: usize,
}

impl ProgressLine {
    pub(super) fn on(terminal: &Terminal) -> Self {
        Self {
            drawn: terminal.watched().then(|| Mutex::new(None)),
            width: terminal.width(),
        }
    }

    pub(super) fn show(&self, step: &Step<'_>) {
        let Some(drawn) = &self.drawn else { return };
        // A thread that panicked while drawing left nothing broken behind: draw on.
        let mut drawn = drawn.lock().unwrap_or_else(|e| e.into_inner());
        let now = Instant::now();
        if drawn.is_some_and(|before| now - before < PAUSE) && !step.is_last() {
            return;
        }
        *drawn = Some(now);
        let text: String = match *step {
            Step::Found { files } => format!("{files} files"),
            Step::Read { done, of, file } => format!("reading {done} of {of}: {}", clean(file)),
            Step::Checking { samples } => format!("checking {samples} samples"),
            Step::Writing => "writing".to_owned(),
        };
        let text: String = text.chars().take(self.width.saturating_sub(1)).collect();
        // A stderr that is closed is no reason to stop the work.
        write!(io::stderr(), "\r\x1b[2K{text}").ok();
        io::stderr().flush().ok();
    }

    pub(super) fn clear(&self) {
        if self.drawn.is_some() {
            write!(io::stderr(), "\r\x1b[2K").ok();
            io::stderr().flush().ok();
        }
    }
}
