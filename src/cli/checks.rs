//! `wellread checks`: what is checked and how waters are classed, with the limits in force and where they
//! come from.

use super::{Outcome, Terminal};
use crate::check::{
    self, Limits, ListedCheck, ListedClass, codes, listed, listed_checks, listed_classes,
};
use crate::error::{Error, Result};
use crate::problem::nearest;
use clap::Args;
use comfy_table::presets::NOTHING;
use comfy_table::{ContentArrangement, Table};
use serde_json::json;
use std::path::PathBuf;

#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// Explain one check: what it finds, why it matters, when it is wrong, its source
    #[arg(value_name = "CODE", conflicts_with = "classes")]
    code: Option<String>,

    /// List the classes of waters instead of the checks
    #[arg(long)]
    classes: bool,

    /// Folder of mapping files whose limits.toml is in force
    #[arg(long, value_name = "FOLDER")]
    mappings: Option<PathBuf>,

    /// As JSON
    #[arg(long)]
    json: bool,
}

pub(super) fn run(arguments: &Arguments, terminal: &mut Terminal) -> Result<Outcome> {
    let limits = Limits::load(arguments.mappings.as_deref())?;
    let text = match (&arguments.code, arguments.classes) {
        (Some(code), _) => explain(code, &limits, arguments.json)?,
        (None, true) if arguments.json => pretty(&classes_json(&listed_classes(&limits))),
        (None, true) => classes_table(&listed_classes(&limits), terminal.width()),
        (None, false) if arguments.json => {
            let checks: Vec<_> = listed_checks(&limits).iter().map(check_json).collect();
            pretty(&checks.into())
        }
        (None, false) => checks_table(&listed_checks(&limits), terminal.width()),
    };
    terminal.println(text.trim_end())?;
    Ok(Outcome::Done)
}

fn explain(code: &str, limits: &Limits, as_json: bool) -> Result<String> {
    let Some(check) = check::find(code) else {
        let near = nearest(code, codes())
            .map_or_else(String::new, |near| format!("; did you mean '{near}'?"));
        return Err(Error::Usage(format!(
            "no check '{code}'{near} ('wellread checks' lists them)"
        )));
    };
    let listed = listed(check, limits);
    if as_json {
        let mut json = check_json(&listed);
        json["explanation"] = check.explanation().into();
        return Ok(pretty(&json));
    }
    let mut text = check.explanation();
    text.push_str("\n\n## Limits in force\n\n");
    text.push_str(&format!("severity: {}\n", severity(&listed)));
    for (name, number) in &listed.limits {
        text.push_str(&format!("{name}: {number}\n"));
    }
    text.push_str(&format!("source: {}\n", listed.source));
    text.push_str(&format!(
        "\nTo change them, write into limits.toml in your mappings folder:\n\n[check.{code}]\nseverity = \"note\"\n"
    ));
    for (name, number) in &listed.limits {
        text.push_str(&format!("limit.{name} = {number:?}\n"));
    }
    Ok(text)
}

fn severity(check: &ListedCheck) -> &'static str {
    check.severity.map_or("off", |severity| severity.name())
}

fn table(width: usize, header: [&str; 4]) -> Table {
    let mut table = Table::new();
    table
        .load_preset(NOTHING)
        .set_content_arrangement(ContentArrangement::Dynamic)
        .set_width(u16::try_from(width).unwrap_or(u16::MAX))
        .set_header(header);
    table
}

fn checks_table(checks: &[ListedCheck], width: usize) -> String {
    let mut table = table(width, ["check", "severity", "finds", "limits"]);
    for check in checks {
        let limits: Vec<String> = (check.limits.iter())
            .map(|(name, number)| format!("{name} {number}"))
            .collect();
        table.add_row([
            check.code,
            severity(check),
            &check.title,
            &limits.join(", "),
        ]);
    }
    format!("{table}\n\n'wellread checks CODE' explains one; graded checks go a step up or down.")
}

fn classes_table(classes: &[ListedClass], width: usize) -> String {
    let mut table = table(width, ["column of samples", "of", "steps", "source"]);
    for class in classes {
        table.add_row([&class.figure, &class.of, &class.steps, &class.source]);
    }
    table.to_string()
}

fn check_json(check: &ListedCheck) -> serde_json::Value {
    let limits: serde_json::Map<String, serde_json::Value> = (check.limits.iter())
        .map(|(name, number)| ((*name).to_owned(), json!(number)))
        .collect();
    json!({
        "code": check.code,
        "title": check.title,
        "severity": severity(check),
        "limits": limits,
        "source": check.source,
    })
}

fn classes_json(classes: &[ListedClass]) -> serde_json::Value {
    (classes.iter())
        .map(|class| {
            json!({
                "figure": class.figure,
                "of": class.of,
                "steps": class.steps,
                "source": class.source,
            })
        })
        .collect()
}

fn pretty(json: &serde_json::Value) -> String {
    format!("{json:#}")
}
