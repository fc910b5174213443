//! `wellread mappings`: what mappings there are, whether they are right, and their format.

use super::terminal::clean;
use super::{Outcome, Terminal};
use crate::error::{Error, Result};
use crate::finding::Severity;
use crate::mapping::{self, Difference, Library, Mapping};
use crate::run;
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
        return check(&library, arguments.json, terminal);
    }
    if arguments.json {
        terminal.println(&json(&library))?;
    } else {
        terminal.print(&list(&library))?;
    }
    Ok(Outcome::Done)
}

/// How a mapping's example came out.
struct Trial<'a> {
    mapping: &'a Mapping,
    /// `None`: it has no example.
    outcome: Option<Proof>,
}

struct Proof {
    expected: usize,
    /// Whether the mapping recognises its own example.
    recognised: bool,
    difference: Difference,
    /// Errors that reading the example met.
    errors: Vec<String>,
}

impl Trial<'_> {
    fn is_good(&self) -> bool {
        self.outcome
            .as_ref()
            .is_none_or(|p| p.recognised && p.difference.is_empty())
    }
}

fn check(library: &Library, as_json: bool, terminal: &mut Terminal) -> Result<Outcome> {
    let trials: Vec<Trial<'_>> = library
        .mappings()
        .iter()
        .map(|mapping| attempt(mapping, library))
        .collect();
    if as_json {
        let list: Vec<_> = trials.iter().map(trial_json).collect();
        let text =
            serde_json::to_string_pretty(&list).expect("a list of texts and numbers is JSON");
        terminal.println(&text)?;
    } else {
        for trial in &trials {
            terminal.print(&told(trial))?;
        }
        let bad = trials.iter().filter(|t| !t.is_good()).count();
        let all = trials.len();
        terminal.println(&format!(
            "{all} {} compiled, {bad} with an example that fails",
            if all == 1 { "mapping" } else { "mappings" }
        ))?;
    }
    Ok(if trials.iter().all(Trial::is_good) {
        Outcome::Done
    } else {
        Outcome::Findings
    })
}

fn attempt<'a>(mapping: &'a Mapping, library: &Library) -> Trial<'a> {
    let seen = run::see_example(mapping, library.vocabulary());
    let outcome = mapping
        .example
        .as_ref()
        .zip(seen)
        .map(|(example, seen)| Proof {
            expected: example.rows.len(),
            recognised: mapping.recognise.fits(&seen.report),
            difference: example.compare(&seen.extract, library.vocabulary()),
            errors: seen
                .extract
                .findings
                .iter()
                .filter(|finding| finding.severity == Severity::Error)
                .map(|finding| format!("{}: {}", finding.place, finding.message))
                .collect(),
        });
    Trial { mapping, outcome }
}

/// Rows shown of what is missing and of what is extra.
const ROWS_SHOWN: usize = 10;

fn told(trial: &Trial<'_>) -> String {
    let name = clean(&trial.mapping.name);
    let mut text = String::new();
    let Some(proof) = &trial.outcome else {
        line(&mut text, &format!("{name}: no example"));
        return text;
    };
    if trial.is_good() {
        line(
            &mut text,
            &format!("{name}: {} results as expected", proof.expected),
        );
        return text;
    }
    line(&mut text, &format!("{name}: the example fails"));
    if !proof.recognised {
        line(
            &mut text,
            "  [recognise] does not fit the mapping's own example",
        );
    }
    for error in proof.errors.iter().take(ROWS_SHOWN) {
        line(&mut text, &format!("  {}", clean(error)));
    }
    let columns = trial
        .mapping
        .example
        .as_ref()
        .map_or_else(String::new, |example| example.columns.join(","));
    line(&mut text, &format!("    {columns}"));
    for (sign, rows) in [
        ("-", &proof.difference.missing),
        ("+", &proof.difference.extra),
    ] {
        for row in rows.iter().take(ROWS_SHOWN) {
            line(&mut text, &format!("  {sign} {}", clean(&row.join(","))));
        }
        if rows.len() > ROWS_SHOWN {
            line(
                &mut text,
                &format!("  {sign} … {} more", rows.len() - ROWS_SHOWN),
            );
        }
    }
    line(
        &mut text,
        "  (-: expected and not there; +: there and not expected)",
    );
    text
}

fn trial_json(trial: &Trial<'_>) -> serde_json::Value {
    let outcome = trial.outcome.as_ref().map(|proof| {
        serde_json::json!({
            "expected": proof.expected,
            "recognised": proof.recognised,
            "missing": proof.difference.missing,
            "extra": proof.difference.extra,
            "errors": proof.errors,
        })
    });
    serde_json::json!({
        "name": &*trial.mapping.name,
        "good": trial.is_good(),
        "example": outcome,
    })
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
        line(
            &mut text,
            &format!("{}: {count} {word}", clean(&folder.display().to_string())),
        );
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
