//! `wellread mappings`: what mappings there are, whether they are right, and their format.

use super::terminal::clean;
use super::{Outcome, Terminal};
use crate::error::{Error, Result};
use crate::mapping::{self, Library, Mapping};
use clap::Args;
use std::fmt::Write;
use std::path::PathBuf;

#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// Folder of mapping files; without it, the folder `mappings` here or beside this one
    folder: Option<PathBuf>,
    /// Try each mapping's example and compare with the rows it expects
    #[arg(long)]
    check: bool,
    /// Print the JSON Schema of the format, for editors
    #[arg(long, conflicts_with_all = ["check", "json", "folder"])]
    schema: bool,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

pub(super) fn run(arguments: &Arguments, terminal: &mut Terminal) -> Result<Outcome> {
    if arguments.schema {
        terminal.print(&mapping::schema())?;
        return Ok(Outcome::Done);
    }
    let library = Library::open(&[PathBuf::from(".")], arguments.folder.as_deref())?;
    if library.folders().is_empty() {
        return Err(Error::Usage(
            "there is no folder 'mappings' here or beside this one; name one: wellread mappings FOLDER"
                .into(),
        ));
    }
    if arguments.check {
        return Err(Error::Usage("not built yet".into()));
    }
    if arguments.json {
        terminal.println(&json(&library))?;
    } else {
        terminal.print(&list(&library))?;
    }
    Ok(Outcome::Done)
}

fn list(library: &Library) -> String {
    let mut text = String::new();
    for folder in library.folders() {
        let count = library
            .mappings()
            .iter()
            .filter(|m| m.path.parent() == Some(folder))
            .count();
        let word = if count == 1 { "mapping" } else { "mappings" };
        line(&mut text, &format!("{}: {count} {word}", folder.display()));
    }
    for mapping in library.mappings() {
        line(&mut text, "");
        line(&mut text, &entry(mapping));
    }
    text
}

fn entry(mapping: &Mapping) -> String {
    let mut text = format!("{}\n", clean(&mapping.name));
    if !mapping.title.is_empty() {
        line(&mut text, &format!("  {}", clean(&mapping.title)));
    }
    for word in &mapping.recognise.words {
        line(&mut text, &format!("  for   {}", clean(word)));
    }
    let example = match &mapping.example {
        None => "no example: nothing tells when it no longer fits".to_string(),
        Some(example) => format!("an example of {} results", example.rows.len()),
    };
    text.push_str(&format!("  proof {example}"));
    text
}

fn json(library: &Library) -> String {
    let list: Vec<_> = library
        .mappings()
        .iter()
        .map(|mapping| {
            serde_json::json!({
                "name": &*mapping.name,
                "title": mapping.title,
                "path": mapping.path.to_string_lossy(),
                "recognises": mapping.recognise.words,
                "example_results": mapping.example.as_ref().map(|e| e.rows.len()),
            })
        })
        .collect();
    serde_json::to_string_pretty(&list).expect("a list of texts and numbers is JSON")
}

fn line(text: &mut String, line: &str) {
    writeln!(text, "{line}").expect("text can always be written into a string");
}
