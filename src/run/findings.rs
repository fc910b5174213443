//! What the run itself has to say: about files, not about what stands in them.

use crate::finding::{Finding, Severity};
use crate::place::Place;
use crate::write::FormerReport;
use std::sync::Arc;

/// Code, severity, and what it finds.
pub const CODES: &[(&str, Severity, &str)] = &[
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

const MEMORY_MUCH: &str = "memory-much";
const REPORT_CHANGED: &str = "report-changed";
const REPORT_FAILED: &str = "report-failed";
const REPORT_GONE: &str = "report-gone";
const SEVERAL_MAPPINGS: &str = "several-mappings";

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
