//! `wellread join`: the parts of a dataset become one.

use super::gather::partition;
use super::progress::ProgressLine;
use super::summary::{self, as_json};
use super::{Outcome, Terminal};
use crate::error::Result;
use crate::run::{self, Request};
use crate::write::Partition;
use clap::Args;
use std::path::PathBuf;

#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// The dataset whose parts were written by 'wellread gather --part NAME'
    #[arg(value_name = "FOLDER")]
    dataset: PathBuf,

    /// Folder of the mapping files that the parts were read with
    #[arg(long, value_name = "FOLDER")]
    mappings: Option<PathBuf>,

    /// Leave out the CSV twins of the tables
    #[arg(long)]
    no_csv: bool,

    /// Write results.parquet as a folder of files, as 'wellread gather' does
    #[arg(long, value_name = "WHAT", value_parser = partition)]
    partition_by: Option<Partition>,

    /// Wait for runs that write to the dataset or to a part, instead of refusing
    #[arg(long)]
    wait: bool,

    /// The summary as JSON on standard output
    #[arg(long)]
    json: bool,
}

pub(super) fn run(arguments: &Arguments, terminal: &mut Terminal) -> Result<Outcome> {
    let request = Request {
        into: arguments.dataset.clone(),
        mappings: arguments.mappings.clone(),
        csv: !arguments.no_csv,
        partition: arguments.partition_by,
        wait: arguments.wait,
        ..Request::default()
    };
    let progress = ProgressLine::on(terminal);
    let joined = run::join(&request, &|step| progress.show(&step));
    progress.clear();
    let summary = joined?;
    if arguments.json {
        terminal.println(&as_json(&summary)?)?;
    } else {
        let text = summary::render(&summary, &request, terminal.width());
        terminal.print(&text)?;
    }
    Ok(Outcome::Done)
}
