//! How far a run is, on stderr: one line that changes where a person is watching; elsewhere a line now and
//! then while a run takes long, so that no run is silent for more than a minute.

use super::Terminal;
use super::terminal::clean;
use crate::run::Step;
use std::io::{self, Write};
use std::sync::mpsc::{self, RecvTimeoutError, Sender};
use std::sync::{Arc, Mutex, MutexGuard};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// No more often than this: a terminal is slower than the work.
const PAUSE: Duration = Duration::from_millis(80);

/// After so long, and then again and again, a run that nobody watches says what it is at.
const PATIENCE: Duration = Duration::from_secs(30);

/// Shared by all threads of a run.
pub(super) struct ProgressLine {
    state: Arc<Mutex<State>>,
    watched: bool,
    width: usize,
    /// Where nobody is watching: says now and then what the run is at, until the sender is gone.
    patient: Option<(Sender<()>, JoinHandle<()>)>,
}

/// What a run is at.
#[derive(Default)]
struct State {
    /// When the line was last drawn.
    drawn: Option<Instant>,
    /// The files that are being read, those begun first before others.
    reading: Vec<String>,
    text: String,
}

impl State {
    fn take(&mut self, step: &Step<'_>) {
        match *step {
            Step::Found { files } => self.text = format!("{files} files"),
            Step::Begun { file } => self.reading.push(clean(file)),
            Step::Read { done, of, file } => {
                let file = clean(file);
                self.reading.retain(|begun| *begun != file);
                self.text = format!("{done} of {of} files read");
            }
            Step::Checking { samples } => self.text = format!("checking {samples} samples"),
            Step::Writing => self.text = "writing".to_owned(),
            Step::Told { .. } => (),
        }
    }

    fn text(&self) -> String {
        match self.reading.first() {
            Some(file) => format!("{}, at work on {file}", self.text),
            None => self.text.clone(),
        }
    }
}

/// A thread that panicked while drawing left nothing broken behind: go on.
fn locked(state: &Mutex<State>) -> MutexGuard<'_, State> {
    state.lock().unwrap_or_else(|e| e.into_inner())
}

impl ProgressLine {
    pub(super) fn on(terminal: &Terminal) -> Self {
        let state = Arc::new(Mutex::new(State::default()));
        let watched = terminal.watched();
        Self {
            patient: (!watched).then(|| patient(state.clone(), PATIENCE, io::stderr())),
            state,
            watched,
            width: terminal.width(),
        }
    }

    pub(super) fn show(&self, step: &Step<'_>) {
        let mut state = locked(&self.state);
        state.take(step);
        if let Step::Told { finding } = step {
            let over = if self.watched { "\r\x1b[2K" } else { "" };
            let (place, message) = (finding.place.to_string(), &finding.message);
            let told = format!("{place}: {message}\nhelp: {}", finding.help);
            writeln!(io::stderr(), "{over}wellread: {}", clean(&told)).ok();
        }
        if !self.watched {
            return;
        }
        let now = Instant::now();
        if state.drawn.is_some_and(|before| now - before < PAUSE) && !step.is_last() {
            return;
        }
        state.drawn = Some(now);
        let text: String = state
            .text()
            .chars()
            .take(self.width.saturating_sub(1))
            .collect();
        // A stderr that is closed is no reason to stop the work.
        write!(io::stderr(), "\r\x1b[2K{text}").ok();
        io::stderr().flush().ok();
    }

    pub(super) fn clear(self) {
        if self.watched {
            write!(io::stderr(), "\r\x1b[2K").ok();
            io::stderr().flush().ok();
        }
        if let Some((sender, thread)) = self.patient {
            drop(sender);
            // It has nothing to give; if it panicked, the run is done all the same.
            thread.join().ok();
        }
    }
}

/// Says every `patience` on `err` what the run is at.
fn patient(
    state: Arc<Mutex<State>>,
    patience: Duration,
    mut err: impl Write + Send + 'static,
) -> (Sender<()>, JoinHandle<()>) {
    let (sender, receiver) = mpsc::channel();
    let began = Instant::now();
    let thread = std::thread::spawn(move || {
        while receiver.recv_timeout(patience) == Err(RecvTimeoutError::Timeout) {
            let seconds = began.elapsed().as_secs();
            let text = locked(&state).text();
            writeln!(err, "wellread: at work for {seconds} s: {text}").ok();
        }
    });
    (sender, thread)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Written to by one thread, read by another.
    #[derive(Clone, Default)]
    struct Shared(Arc<Mutex<Vec<u8>>>);

    impl Write for Shared {
        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            self.0.lock().unwrap().write(bytes)
        }

        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    #[test]
    fn a_long_run_says_what_it_is_at() {
        let state = Arc::new(Mutex::new(State::default()));
        for step in [
            Step::Begun { file: "a.csv" },
            Step::Begun {
                file: "b\u{1b}.xlsx",
            },
            Step::Read {
                done: 1,
                of: 2,
                file: "a.csv",
            },
        ] {
            locked(&state).take(&step);
        }
        let told = Shared::default();
        let (sender, thread) = patient(state, Duration::from_millis(1), told.clone());
        let expected = "wellread: at work for 0 s: 1 of 2 files read, at work on b\u{fffd}.xlsx\n";
        while told.0.lock().unwrap().len() < expected.len() {
            std::thread::yield_now();
        }
        drop(sender);
        thread.join().unwrap();
        let told = String::from_utf8(told.0.lock().unwrap().clone()).unwrap();
        assert!(told.starts_with(expected), "{told}");
    }
}
