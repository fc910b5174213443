//! A finding: a flaw in the data. The run goes on; the user reads it with its place and what to do.
//! A leaf. Each stage keeps its own codes and messages in one file; this one knows only the form.

use crate::place::Place;
use std::borrow::Cow;
use std::fmt;
use std::sync::Arc;

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Worth knowing; nothing to do.
    Note,
    /// Look before you use the number.
    Warning,
    /// Something could not be read or cannot be right.
    Error,
}

impl Severity {
    pub const fn name(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Warning => "warning",
            Self::Error => "error",
        }
    }

    pub fn parse(text: &str) -> Option<Self> {
        [Self::Note, Self::Warning, Self::Error]
            .into_iter()
            .find(|s| s.name() == text)
    }
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// One flaw, with its place. `message`: one line, lower case, no full stop, the text found in
/// quotes. `help`: what to do about it, empty where nothing can be done.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    pub severity: Severity,
    /// Kebab-case, named for the problem; stable between versions.
    pub code: Cow<'static, str>,
    pub message: String,
    pub help: String,
    pub place: Place,
    /// Key of the sample concerned, where it is one sample's flaw.
    pub sample_key: Option<Arc<str>>,
    /// Code of the analyte concerned.
    pub analyte: Option<Cow<'static, str>>,
    /// How many cells share this cause; 1 for a single cell.
    pub cells: u64,
    /// What the cells have in common (a label, a field), where the finding stands for more than one:
    /// equal code, sheet and cause in a later part of the same text are the same finding. Not written.
    pub cause: Option<Arc<str>>,
}

impl Finding {
    pub fn new(
        severity: Severity,
        code: &'static str,
        place: Place,
        message: impl Into<String>,
        help: impl Into<String>,
    ) -> Self {
        Self {
            severity,
            code: Cow::Borrowed(code),
            message: message.into(),
            help: help.into(),
            place,
            sample_key: None,
            analyte: None,
            cells: 1,
            cause: None,
        }
    }

    pub fn of_sample(mut self, key: &Arc<str>) -> Self {
        self.sample_key = Some(key.clone());
        self
    }

    pub fn of_analyte(mut self, code: impl Into<Cow<'static, str>>) -> Self {
        self.analyte = Some(code.into());
        self
    }

    pub fn for_cells(mut self, cells: u64) -> Self {
        self.cells = cells;
        self
    }
}
