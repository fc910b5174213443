//! `wellread draft`: a mapping for reports that none fits, nearly finished.

mod place;

use super::terminal::clean;
use super::{Outcome, Terminal};
use crate::error::{Error, Result};
use crate::file::{SETTINGS_BYTES, read_whole_text};
use crate::mapping::draft::{self, Detail, Drafted};
use crate::mapping::{self, Library};
use crate::read;
use crate::run::{self, Seen};
use crate::vocabulary::Vocabulary;
use clap::Args;
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// Reports; those of one layout share one mapping
    #[arg(required = true)]
    files: Vec<PathBuf>,
    /// Folder to write the mappings into; without it they are printed
    #[arg(long, value_name = "FOLDER")]
    into: Option<PathBuf>,
    /// A mapping that no longer fits: show what changed and write it repaired
    #[arg(long, value_name = "MAPPING")]
    from: Option<PathBuf>,
}

/// A report of the command line.
struct Given {
    path: PathBuf,
    seen: Seen,
}

/// Text of a mapping and where it goes.
struct Written {
    name: String,
    mapping: String,
    /// File name and text of the expected rows, where they are no part of the mapping.
    rows: Option<(String, String)>,
}

pub(super) fn run(arguments: &Arguments, terminal: &mut Terminal) -> Result<Outcome> {
    // Words of the user's own are words; mappings are not looked at: they do not fit, or there would
    // be nothing to draft.
    let library = Library::open(&arguments.files, None)?;
    let vocabulary = library.vocabulary();
    let found = read::discover(&arguments.files);
    let mut given = Vec::new();
    for file in &found.files {
        let seen = run::see_with(&file.path, &file.name, None, vocabulary);
        for finding in seen.report.findings.iter().filter(|_| seen.report.refused) {
            terminal.note(&clean(&format!("{}: {}", finding.place, finding.message)));
        }
        if !seen.report.refused {
            given.push(Given {
                path: file.path.clone(),
                seen,
            });
        }
    }
    if given.is_empty() {
        return Err(Error::Usage("there is no report to draft from".into()));
    }
    if let Some(old) = &arguments.from {
        return repair(old, &given, vocabulary, arguments.into.as_deref(), terminal);
    }
    for group in groups(&given) {
        let written = write(&group, vocabulary, arguments.into.as_deref(), terminal)?;
        put(&written, arguments.into.as_deref(), terminal)?;
    }
    Ok(Outcome::Done)
}

/// Reports of one layout together, in the order given.
fn groups(given: &[Given]) -> Vec<Vec<&Given>> {
    let mut groups: Vec<Vec<&Given>> = Vec::new();
    for one in given {
        let fits = |group: &&mut Vec<&Given>| {
            let first = &group[0].seen;
            draft::same_layout(
                (&first.report, &first.plan),
                (&one.seen.report, &one.seen.plan),
            )
        };
        match groups.iter_mut().find(fits) {
            Some(group) => group.push(one),
            None => groups.push(vec![one]),
        }
    }
    groups
}

/// Above this many results the expected rows go into a file of their own.
const ROWS_IN_MAPPING: usize = 60;

/// Drafts with all that was recognised; where stating it changes what the reports give, with less.
fn write(
    group: &[&Given],
    vocabulary: &Vocabulary,
    into: Option<&Path>,
    terminal: &mut Terminal,
) -> Result<Written> {
    let folder = into.map_or_else(|| PathBuf::from("mappings"), Path::to_path_buf);
    let paths: Vec<String> = group
        .iter()
        .map(|given| place::relative(&given.path, &folder))
        .collect();
    let drafted: Vec<Drafted<'_>> = group
        .iter()
        .zip(&paths)
        .map(|(given, path)| Drafted {
            report: &given.seen.report,
            plan: &given.seen.plan,
            extract: &given.seen.extract,
            path,
        })
        .collect();
    let name = place::name(&group[0].path);
    let results = group[0].seen.extract.measurements.len();
    let rows_file =
        (into.is_some() && results > ROWS_IN_MAPPING).then(|| format!("{name}.expected.csv"));
    for detail in [Detail::Full, Detail::Analytes, Detail::Comments] {
        // The rows stand in the text while it is tried: their file is not written yet.
        let (text, _) = draft::draft(&drafted, vocabulary, detail, None);
        if gives_the_same(&text, group, vocabulary)? {
            let (mapping, rows) = draft::draft(&drafted, vocabulary, detail, rows_file.as_deref());
            return Ok(Written {
                name,
                mapping,
                rows: rows_file.map(|file| (file, rows)),
            });
        }
    }
    terminal.note(&clean(&format!(
        "{}: the draft does not give what was recognised; look at it closely",
        group[0].path.display()
    )));
    let (mapping, rows) =
        draft::draft(&drafted, vocabulary, Detail::Comments, rows_file.as_deref());
    Ok(Written {
        name,
        mapping,
        rows: rows_file.map(|file| (file, rows)),
    })
}

/// Whether the draft compiles, recognises its reports, and gives the same results as recognition.
fn gives_the_same(text: &str, group: &[&Given], vocabulary: &Vocabulary) -> Result<bool> {
    let mapping =
        mapping::compile(Path::new("draft.toml"), text, vocabulary).map_err(|problems| {
            Error::Law(format!("a drafted mapping does not compile:\n{problems}"))
        })?;
    Ok(group.iter().all(|given| {
        let seen = run::mapped(given.seen.report.clone(), Some(&mapping.rules), vocabulary);
        mapping.recognise.fits(&given.seen.report)
            && seen.extract.measurements == given.seen.extract.measurements
            && seen.extract.recipes == given.seen.extract.recipes
            && seen.extract.samples == given.seen.extract.samples
    }))
}

fn put(written: &Written, into: Option<&Path>, terminal: &mut Terminal) -> Result<()> {
    let Some(folder) = into else {
        return terminal.print(&clean_toml(&written.mapping));
    };
    let path = folder.join(format!("{}.toml", written.name));
    place::write_new(&path, &written.mapping)?;
    if let Some((name, rows)) = &written.rows {
        place::write_new(&folder.join(name), rows)?;
    }
    terminal.note(&clean(&format!("written: {}", path.display())));
    let open = written.mapping.matches("CHECK").count() - 1;
    terminal.note(&format!(
        "  {open} places are marked CHECK; then: wellread mappings {} --check",
        clean(&folder.display().to_string())
    ));
    Ok(())
}

/// A drafted text has no control characters but line ends and those of its own layout.
fn clean_toml(text: &str) -> String {
    clean(text)
}

fn repair(
    old: &Path,
    given: &[Given],
    vocabulary: &Vocabulary,
    into: Option<&Path>,
    terminal: &mut Terminal,
) -> Result<Outcome> {
    let failed = |source| Error::Io {
        path: old.to_path_buf(),
        what: "cannot read",
        source,
    };
    let mut text = read_whole_text(old, SETTINGS_BYTES).map_err(failed)?;
    let mut changed = false;
    for one in given {
        let seen = &one.seen;
        let repair = mapping::repair(old, &text, &seen.report, &seen.plan, vocabulary)
            .map_err(Error::Mapping)?;
        terminal.note(&clean(&seen.report.file));
        for change in &repair.changes {
            terminal.note(&clean(&format!("  {change}")));
        }
        if repair.changes.is_empty() {
            terminal.note("  nothing changed: the mapping fits");
        }
        changed |= repair.text != text;
        text = repair.text;
    }
    match into {
        Some(folder) if changed => {
            let name = old.file_name().unwrap_or_default();
            let path = folder.join(name);
            place::write_new(&path, &text)?;
            terminal.note(&clean(&format!("written: {}", path.display())));
        }
        Some(_) => {}
        None => terminal.print(&clean_toml(&text))?,
    }
    Ok(Outcome::Done)
}
