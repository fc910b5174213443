//! One report on its own, without any dataset: what `look`, `draft` and a mapping's example need.

use super::report;
use super::words::Words;
use crate::map::{self, Plan, Rules};
use crate::mapping::{ExampleReport, Mapping};
use crate::normalize;
use crate::read::{self, Opened, Options, Report};
use crate::record::Extract;
use crate::vocabulary::Vocabulary;
use std::path::Path;
use std::sync::Arc;

/// A report, what each of its cells means, and what that gives.
#[derive(Clone, Debug)]
pub struct Seen {
    pub report: Report,
    pub plan: Plan,
    pub extract: Extract,
}

/// Reads a report with the mapping that claims it. Of a long text only the rows that decisions are made
/// from.
pub fn see(path: &Path, name: &Arc<str>, words: &Words) -> Seen {
    let (opened, claim) = report::open(path, name, &Options::default(), words);
    let report = held(opened);
    let plan = report::plan(&report, &claim, words);
    let extract = normalize::run(&report, &plan, words.vocabulary());
    Seen {
        report,
        plan,
        extract,
    }
}

/// Reads a report as if there were no mappings, or only the one given.
pub fn see_with(
    path: &Path,
    name: &Arc<str>,
    mapping: Option<&Mapping>,
    vocabulary: &Vocabulary,
) -> Seen {
    let options = mapping.and_then(Mapping::reading).unwrap_or_default();
    let report = held(report::open_unclaimed(path, name, &options, vocabulary));
    mapped(report, mapping.map(|m| &m.rules), vocabulary)
}

/// Reads the report of a mapping's example with that mapping; `None` when it has none.
pub fn see_example(mapping: &Mapping, vocabulary: &Vocabulary) -> Option<Seen> {
    match &mapping.example.as_ref()?.report {
        ExampleReport::File(path) => {
            let name = path.file_name().unwrap_or_default().to_string_lossy();
            Some(see_with(path, &name.into(), Some(mapping), vocabulary))
        }
        ExampleReport::Text { name, text } => {
            let options = mapping.reading().unwrap_or_default();
            let report = read::open_text(text, &name.as_str().into(), &options);
            Some(mapped(report, Some(&mapping.rules), vocabulary))
        }
    }
}

fn held(opened: Opened) -> Report {
    match opened {
        Opened::Whole(report) => report,
        Opened::Stream(stream) => stream.into_report(),
    }
}

/// What a report gives with the rules of one mapping, or recognised freely.
pub fn mapped(report: Report, rules: Option<&Rules>, vocabulary: &Vocabulary) -> Seen {
    let plan = map::plan(&report, vocabulary, rules);
    let extract = normalize::run(&report, &plan, vocabulary);
    Seen {
        report,
        plan,
        extract,
    }
}
