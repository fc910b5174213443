//! One report: read, claimed by a mapping or recognised, planned, normalized.

use super::encoding::by_words;
use super::findings;
use super::words::Words;
use crate::finding::Finding;
use crate::guard::guard;
use crate::map::{self, Plan, Rules, SheetPlan};
use crate::mapping::Claim;
use crate::normalize::{self, PartOfText, Standing, TextRunner};
use crate::read::{self, Opened, Options, Report, TextStream};
use crate::record::Extract;
use crate::vocabulary::Vocabulary;
use std::path::Path;
use std::sync::Arc;

/// Opens a report with what its mapping says of encoding and delimiter, and tells which mapping that is.
/// A mapping is found by what the report contains, so a text whose mapping says such a thing is opened
/// twice.
pub(super) fn open<'w>(
    path: &Path,
    name: &Arc<str>,
    options: &Options,
    words: &'w Words,
) -> (Opened, Claim<'w>) {
    let claimed = |opened: Opened| {
        let claim = words.library.claim(opened.report());
        (opened, claim)
    };
    let (opened, claim) = claimed(open_unclaimed(path, name, options, words.vocabulary()));
    if let Claim::One(mapping) = claim
        && opened.report().delimiter.is_some()
        && let Some(said) = mapping.reading()
    {
        let options = Options {
            digest: options.digest.clone(),
            stream_above: options.stream_above,
            ..said
        };
        return claimed(open_unclaimed(path, name, &options, words.vocabulary()));
    }
    (opened, claim)
}

/// Opens a report whose mapping says `options` of it. Where neither they nor its bytes tell the encoding of a text,
/// its words do.
pub(super) fn open_unclaimed(
    path: &Path,
    name: &Arc<str>,
    options: &Options,
    vocabulary: &Vocabulary,
) -> Opened {
    let opened = read::open(path, name, options);
    let Some((encoding, finding)) = by_words(opened.report(), vocabulary) else {
        return opened;
    };
    let options = Options {
        encoding: Some(encoding),
        ..options.clone()
    };
    read::open(path, name, &options).with(finding)
}

/// What each column, row and cell of the report means.
pub(super) fn plan(report: &Report, claim: &Claim<'_>, words: &Words) -> Plan {
    match claim {
        Claim::None => map::plan(report, words.vocabulary(), None),
        Claim::One(mapping) => {
            let rules: &Rules = &mapping.rules;
            map::plan(report, words.vocabulary(), Some(rules))
        }
        Claim::Several(mappings) => {
            let names: Vec<&str> = mappings.iter().map(|m| &*m.name).collect();
            Plan {
                mapping: "none".into(),
                sheets: vec![SheetPlan::default(); report.sheets.len()],
                findings: vec![findings::several_mappings(&report.file, &names)],
                ..Plan::default()
            }
        }
    }
}

/// What a report gave, or what is told of it where a fault of the program stopped it: a fault costs the one
/// report, and the next run reads it again.
pub(super) fn or_told<T>(file: &Arc<str>, call: impl FnOnce() -> T) -> Result<T, Box<Extract>> {
    guard(call).map_err(|words| {
        Box::new(Extract {
            file: file.clone(),
            findings: vec![findings::report_failed(file, &words)],
            ..Extract::default()
        })
    })
}

/// A report that is held whole.
pub(super) fn extract(report: Report, claim: &Claim<'_>, words: &Words) -> Extract {
    let plan = plan(&report, claim, words);
    let mut extract = normalize::run_through(report, &plan, words.vocabulary());
    if let Claim::One(mapping) = claim {
        let expect = &mapping.rules.expect;
        let unexpected = normalize::unexpected(&extract, expect, words.vocabulary());
        extract.findings.extend(unexpected);
    }
    extract
}

/// One chunk of a long text; `after_other_table` when the headings of another table stand in a chunk
/// before it. A chunk that can no longer be read, or in which a fault of the program shows, gives its finding
/// and nothing else, and takes the digest away: the next run reads the report again, whatever its bytes are then.
pub(super) fn extract_chunk(
    stream: &TextStream,
    index: usize,
    runner: &TextRunner<'_>,
    after_other_table: bool,
) -> PartOfText {
    let standing = Standing {
        is_first: index == 0,
        after_other_table,
    };
    let lost = |findings: Vec<Finding>| {
        let mut part = without_rows(runner, standing, findings);
        part.extract.sha256 = Arc::default();
        part
    };
    let read = || -> Result<PartOfText, Box<Finding>> {
        let chunk = stream.chunk(index)?;
        let part = runner.run(standing, |take| chunk.for_each_row(take));
        stream.give_back(chunk);
        Ok(part)
    };
    match or_told(&stream.report().file, read) {
        Ok(Ok(part)) => part,
        Ok(Err(finding)) => lost(vec![*finding]),
        Err(told) => lost(told.findings),
    }
}

/// What can be told only when all chunks of a long text were read.
pub(super) fn told_at_the_end(stream: &TextStream, runner: &TextRunner<'_>) -> Option<PartOfText> {
    let finding = stream.told()?;
    let standing = Standing {
        is_first: false,
        after_other_table: false,
    };
    Some(without_rows(runner, standing, vec![finding]))
}

/// A part of a long text that holds nothing but what is told.
fn without_rows(runner: &TextRunner<'_>, standing: Standing, findings: Vec<Finding>) -> PartOfText {
    let mut part = runner.run(standing, |_| {});
    part.extract.findings.extend(findings);
    part
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn err_a_fault_of_the_program_costs_one_report() {
        let file: Arc<str> = "a.csv".into();
        assert_eq!(or_told(&file, || 7), Ok(7));
        let told = or_told(&file, || -> u8 { panic!("row {}", 9) }).unwrap_err();
        assert_eq!(told.findings[0].code, "report-failed");
        assert!(told.findings[0].message.contains("row 9"), "{told:?}");
        assert_eq!(&*told.sha256, "");
    }
}
