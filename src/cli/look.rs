//! `wellread look`: how a report is seen, before anything is written.

mod canvas;
mod json;
mod meaning;
mod picture;
mod table;

use super::terminal::clean;
use super::{Outcome, Terminal};
use crate::error::{Error, Result};
use crate::read;
use crate::run::{self, Words};
use clap::Args;
use picture::Subject;
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
    let words = Words::open(&arguments.files, arguments.mappings.as_deref())?;
    let found = read::discover(&arguments.files);
    let mut documents = Vec::new();
    for (index, file) in found.files.iter().enumerate() {
        let seen = run::see(&file.path, &file.name, &words);
        let subject = Subject {
            report: &seen.report,
            plan: &seen.plan,
            extract: &seen.extract,
            vocabulary: words.vocabulary(),
        };
        if arguments.json {
            documents.push(json::document(&subject));
            continue;
        }
        if index > 0 {
            terminal.println("")?;
        }
        terminal.print(&picture::draw(&subject, terminal.width()))?;
    }
    if arguments.json {
        let text =
            serde_json::to_string_pretty(&documents).expect("a document has only strings as keys");
        terminal.println(&text)?;
    }
    for finding in &found.findings {
        terminal.note(&clean(&format!("{}: {}", finding.place, finding.message)));
    }
    if found.files.is_empty() {
        return Err(Error::Usage("there is no report to look at".into()));
    }
    Ok(Outcome::Done)
}
