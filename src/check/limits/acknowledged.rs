//! Acknowledgements: a finding that somebody has looked into stays quiet in later runs, with a reason
//! and a name, until what it says changes.

use crate::finding::Finding;
use crate::problem::Problems;
use glob::Pattern;
use serde::Deserialize;
use toml::Spanned;

/// `[[acknowledged]]` as written.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Acknowledgement {
    code: Spanned<String>,
    sample: Option<Spanned<String>>,
    file: Option<Spanned<String>>,
    cell: Option<Spanned<String>>,
    analyte: Option<String>,
    message: Spanned<String>,
    reason: Spanned<String>,
    name: Spanned<String>,
}

/// One acknowledgement. The message holds the values that were seen, so a changed value makes a
/// changed message, and the finding speaks again.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::check) struct Acknowledged {
    code: String,
    /// Patterns with `*` and `?`; `None` fits everything.
    sample: Option<Pattern>,
    file: Option<Pattern>,
    cell: Option<Pattern>,
    analyte: Option<String>,
    /// Exactly as the finding said it.
    message: String,
    pub reason: String,
    pub name: String,
}

impl Acknowledged {
    pub(super) fn compile(raw: Acknowledgement, problems: &mut Problems<'_>) -> Option<Self> {
        let mut sound = true;
        for (text, what) in [
            (&raw.reason, "a reason"),
            (&raw.name, "the name of who looked"),
            (&raw.message, "the finding's message"),
        ] {
            if text.get_ref().trim().is_empty() {
                problems.push(text.span(), format!("an acknowledgement needs {what}"));
                sound = false;
            }
        }
        if raw.sample.is_none() && raw.file.is_none() {
            problems
                .push(
                    raw.code.span(),
                    "an acknowledgement needs a sample or a file",
                )
                .help("sample = \"the sample's key\", or file = \"2026/*.csv\"");
            sound = false;
        }
        let mut pattern = |text: Option<Spanned<String>>| -> Option<Pattern> {
            let text = text?;
            match Pattern::new(text.get_ref()) {
                Ok(pattern) => Some(pattern),
                Err(error) => {
                    problems.push(text.span(), format!("not a pattern: {}", error.msg));
                    sound = false;
                    None
                }
            }
        };
        let (sample, file, cell) = (pattern(raw.sample), pattern(raw.file), pattern(raw.cell));
        sound.then(|| Self {
            code: raw.code.into_inner(),
            sample,
            file,
            cell,
            analyte: raw.analyte,
            message: raw.message.into_inner(),
            reason: raw.reason.into_inner(),
            name: raw.name.into_inner(),
        })
    }

    pub(in crate::check) fn covers(&self, finding: &Finding) -> bool {
        let fits = |pattern: &Option<Pattern>, text: Option<&str>| match (pattern, text) {
            (None, _) => true,
            (Some(pattern), Some(text)) => pattern.matches(text),
            (Some(_), None) => false,
        };
        let cell = finding.place.cell.map(|cell| cell.to_string());
        self.code == finding.code
            && self.message == finding.message
            && fits(&self.sample, finding.sample_key.as_deref())
            && fits(&self.file, Some(&finding.place.file))
            && fits(&self.cell, cell.as_deref())
            && (self.analyte.is_none() || self.analyte.as_deref() == finding.analyte.as_deref())
    }
}
