//! `wellread gather`: reports in, a dataset out, and a summary that fits a screen.

use super::progress::ProgressLine;
use super::summary::{self, as_json};
use super::{Outcome, Terminal};
use crate::error::{Error, Result};
use crate::finding::Severity;
use crate::run::{self, Request};
use crate::write::{Partition, part_folder};
use clap::Args;
use std::path::PathBuf;

#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// Reports, folders of reports, or patterns such as 'reports/2026*.xlsx'
    #[arg(required = true, value_name = "PATH")]
    paths: Vec<PathBuf>,

    /// Folder of the dataset; it is made, or grows by what is new
    #[arg(long, value_name = "FOLDER")]
    into: PathBuf,

    /// Folder of mapping files [default: 'mappings' in or beside the gathered folder]
    #[arg(long, value_name = "FOLDER")]
    mappings: Option<PathBuf>,

    /// Read everything and say what would happen, but write nothing
    #[arg(long)]
    dry_run: bool,

    /// Leave out the CSV twins of the tables
    #[arg(long)]
    no_csv: bool,

    /// Write results.parquet as a folder of files, one for each year of sampling or each value:
    /// year, client, site, source, source_kind, region, lab
    #[arg(long, value_name = "WHAT", value_parser = partition)]
    partition_by: Option<Partition>,

    /// Write a part of the dataset, so that several runs can write beside each other; 'wellread
    /// join' brings them together
    #[arg(long, value_name = "NAME")]
    part: Option<String>,

    /// Wait for another run that writes to the same dataset, instead of refusing
    #[arg(long)]
    wait: bool,

    /// Exit with 1 when a finding is this severe or more: note, warning, error [default: never]
    #[arg(long, value_name = "SEVERITY", value_parser = severity)]
    fail_on: Option<Severity>,

    /// The summary as JSON on standard output
    #[arg(long)]
    json: bool,

    /// How many threads read at once [default: one for each processor]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    threads: Option<u16>,
}

fn severity(text: &str) -> std::result::Result<Severity, String> {
    Severity::parse(text).ok_or_else(|| "one of: note, warning, error".to_owned())
}

pub(super) fn partition(text: &str) -> std::result::Result<Partition, String> {
    Partition::parse(text).ok_or_else(|| {
        let words = Partition::ALL.map(Partition::name);
        format!("one of: {}", words.join(", "))
    })
}

pub(super) fn run(arguments: &Arguments, terminal: &mut Terminal) -> Result<Outcome> {
    if let Some(threads) = arguments.threads {
        rayon::ThreadPoolBuilder::new()
            .num_threads(usize::from(threads))
            .build_global()
            .map_err(|e| Error::Usage(format!("cannot start {threads} threads: {e}")))?;
    }
    let request = Request {
        paths: arguments.paths.clone(),
        into: match &arguments.part {
            Some(part) => part_folder(&arguments.into, part)?,
            None => arguments.into.clone(),
        },
        mappings: arguments.mappings.clone(),
        dry_run: arguments.dry_run,
        csv: !arguments.no_csv,
        partition: arguments.partition_by,
        wait: arguments.wait,
        much_memory: None,
    };
    let progress = ProgressLine::on(terminal);
    let gathered = run::gather(&request, &|step| progress.show(&step));
    progress.clear();
    let summary = gathered?;
    if arguments.json {
        terminal.println(&as_json(&summary)?)?;
    } else {
        let text = summary::render(&summary, &request, terminal.width());
        terminal.print(&text)?;
    }
    let failed = arguments
        .fail_on
        .is_some_and(|level| summary.has_at_least(level));
    Ok(if failed {
        Outcome::Findings
    } else {
        Outcome::Done
    })
}
