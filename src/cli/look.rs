//! `wellread look`: how a report is seen, before anything is written.

mod canvas;
mod json;
mod meaning;
mod picture;

use super::{Outcome, Terminal};
use crate::error::{Error, Result};
use clap::Args;
use std::path::PathBuf;

#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// Reports to look at
    #[arg(required = true)]
    files: Vec<PathBuf>,
    /// Folder of mapping files; without it, the folder `mappings` beside the reports
    #[arg(long, value_name = "FOLDER")]
    mappings: Option<PathBuf>,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

pub(super) fn run(arguments: &Arguments, terminal: &mut Terminal) -> Result<Outcome> {
    let _ = (arguments, terminal);
    Err(Error::Usage("not built yet".into()))
}
