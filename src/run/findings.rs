//! What the run itself has to say: about files, not about what stands in them.

use crate::finding::{Finding, Severity};
use crate::place::Place;
use crate::read::Encoding;
use crate::write::FormerReport;
use std::sync::Arc;

/// Code, severity, and what it finds.
pub const CODES: &[(&str, Severity, &str)] = &[
    (
        ENCODING_BY_WORDS,
        Severity::Note,
        "a text is read in the encoding in which most of its words are known",
    ),
    (
        MEMORY_MUCH,
        Severity::Note,
        "the samples of the dataset take much memory while it is made",
    ),
    (
        REPORT_CHANGED,
        Severity::Note,
        "a report that was gathered before has changed and replaces what it had brought",
    ),
    (
        REPORT_FAILED,
        Severity::Error,
        "a fault of the program stopped the reading of a report",
    ),
    (
        REPORT_GONE,
        Severity::Note,
        "a report that was gathered before is no longer there; what it brought is kept",
    ),
    (
        SEVERAL_MAPPINGS,
        Severity::Error,
        "more than one mapping claims a report",
    ),
];

const ENCODING_BY_WORDS: &str = "encoding-by-words";
const MEMORY_MUCH: &str = "memory-much";
const REPORT_CHANGED: &str = "report-changed";
const REPORT_FAILED: &str = "report-failed";
const REPORT_GONE: &str = "report-gone";
const SEVERAL_MAPPINGS: &str = "several-mappings";

/// `known`: the words that are known in this encoding, not empty; `before`: how many are in Windows-1252.
pub(super) fn encoding_by_words(
    file: &Arc<str>,
    encoding: Encoding,
    known: &[String],
    before: usize,
) -> Finding {
    let shown: Vec<&str> = known.iter().take(3).map(String::as_str).collect();
    Finding::new(
        Severity::Note,
        ENCODING_BY_WORDS,
        Place::file(file),
        format!(
            "not UTF-8; read as {}, in which {} of its words with letters beyond a to z are known ('{}'), {before} in \
             Windows-1252",
            encoding.name(),
            known.len(),
            shown.join("', '"),
        ),
        "if names are spelled wrongly, state the encoding in a mapping: encoding = \"…\"",
    )
}

/// `file`: the report that was taken when what is held of `samples` came to take about `bytes`.
pub(super) fn memory_much(file: &Arc<str>, samples: usize, bytes: usize) -> Finding {
    // As much again is needed to judge and write them.
    let gib = 2.0 * bytes as f64 / f64::from(1 << 30);
    Finding::new(
        Severity::Note,
        MEMORY_MUCH,
        Place::file(file),
        format!(
            "{samples} samples so far, for which the run takes up to {gib:.1} GiB of memory; further ones \
             take more"
        ),
        "if memory is short, gather the reports in parts (--part NAME), each a dataset that can be read \
         by itself; 'wellread join' takes as much memory as one run over all of them",
    )
}

pub(super) fn report_changed(report: &FormerReport) -> Finding {
    Finding::new(
        Severity::Note,
        REPORT_CHANGED,
        Place::file(&report.file),
        format!(
            "the report has changed since it was gathered; its {} results are replaced",
            report.results
        ),
        "nothing to do",
    )
}

pub(super) fn report_failed(file: &Arc<str>, words: &str) -> Finding {
    Finding::new(
        Severity::Error,
        REPORT_FAILED,
        Place::file(file),
        format!("the program has a fault that shows in this report: {words}"),
        "what it had not read by then is missing; tell the makers of the program, with the report or one like it",
    )
}

pub(super) fn report_gone(report: &FormerReport) -> Finding {
    Finding::new(
        Severity::Note,
        REPORT_GONE,
        Place::file(&report.file),
        format!(
            "the report is not among the files of this run; its {} results are kept",
            report.results
        ),
        "nothing to do; to drop them, gather into a new folder",
    )
}

pub(super) fn several_mappings(file: &Arc<str>, names: &[&str]) -> Finding {
    Finding::new(
        Severity::Error,
        SEVERAL_MAPPINGS,
        Place::file(file),
        format!(
            "more than one mapping claims this report: {}",
            names.join(", ")
        ),
        "make their [recognise] sections tell the reports apart; nothing of the report was placed",
    )
}
