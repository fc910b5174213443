//! `wellread terms`: what the program knows of analytes, names and units, and what a text would be.

use super::terminal::clean;
use super::{Outcome, Terminal};
use crate::error::{Error, Result};
use crate::vocabulary::{
    Analyte, AnalyteId, Heading, HeadingContext, Meaning, Name, Silent, Vocabulary, in_words, shown,
};
use clap::Args;
use comfy_table::{ContentArrangement, Table, presets};
use serde_json::{Value, json};
use std::path::PathBuf;

#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  wellread terms                       every analyte
  wellread terms nitrate               one analyte: names, units, bases, ranges
  wellread terms hård                  every name with that fragment
  wellread terms --label \"N-NO3 mg/l\"  what a heading would be, and why
  wellread terms --unit \"mval/l\"       what a unit would be")]
pub(super) struct Arguments {
    /// Code, name or fragment of a name; without it all analytes
    words: Vec<String>,
    /// What a heading or label would be read as, and why
    #[arg(long, value_name = "TEXT", conflicts_with = "words")]
    label: Option<String>,
    /// Other headings of the same sheet, as evidence for --label
    #[arg(long, value_name = "TEXT", requires = "label")]
    beside: Vec<String>,
    /// What a unit text would be read as
    #[arg(long, value_name = "TEXT", conflicts_with_all = ["words", "label"])]
    unit: Option<String>,
    /// Write JSON
    #[arg(long)]
    json: bool,
    /// Folder with analytes.toml, units.toml or fields.toml of your own
    #[arg(long, value_name = "FOLDER")]
    mappings: Option<PathBuf>,
}

pub(super) fn run(arguments: &Arguments, terminal: &mut Terminal) -> Result<Outcome> {
    let own;
    let vocabulary = match &arguments.mappings {
        Some(folder) => {
            own = Vocabulary::load(Some(folder))?;
            &own
        }
        None => Vocabulary::built_in(),
    };
    let width = terminal.width();
    let (told, value) = if let Some(text) = &arguments.label {
        label(vocabulary, text, &arguments.beside)
    } else if let Some(text) = &arguments.unit {
        unit(vocabulary, text)?
    } else if arguments.words.is_empty() {
        let all: Vec<(AnalyteId, Vec<&Name>)> = vocabulary.search("");
        (
            overview(vocabulary, &all, width, false),
            list_json(vocabulary, &all),
        )
    } else {
        words(vocabulary, &arguments.words.join(" "), width)?
    };
    if arguments.json {
        let text = serde_json::to_string_pretty(&value)
            .map_err(|e| Error::Law(format!("terms as JSON: {e}")))?;
        terminal.println(&text)?;
    } else {
        terminal.print(&clean(&told))?;
    }
    Ok(Outcome::Done)
}

fn words(vocabulary: &Vocabulary, text: &str, width: usize) -> Result<(String, Value)> {
    let exact = vocabulary
        .find(text)
        .or_else(|| match vocabulary.read_heading(text).meaning {
            Meaning::Analyte(id) => Some(id),
            _ => None,
        });
    if let Some(id) = exact {
        return Ok((
            details(vocabulary, id, width),
            analyte_json(vocabulary, vocabulary.analyte(id)),
        ));
    }
    let found = vocabulary.search(text);
    if found.is_empty() {
        let heading = vocabulary.read_heading(text);
        let near = heading
            .nearest
            .map_or_else(String::new, |near| format!("; did you mean '{near}'?"));
        return Err(Error::Usage(format!(
            "no name holds '{}'{near}",
            clean(text)
        )));
    }
    Ok((
        overview(vocabulary, &found, width, true),
        list_json(vocabulary, &found),
    ))
}

fn table(width: usize) -> Table {
    let mut table = Table::new();
    table
        .load_preset(presets::UTF8_HORIZONTAL_ONLY)
        .set_content_arrangement(ContentArrangement::Dynamic)
        .set_width(u16::try_from(width).unwrap_or(u16::MAX));
    table
}

fn overview(
    vocabulary: &Vocabulary,
    found: &[(AnalyteId, Vec<&Name>)],
    width: usize,
    with_names: bool,
) -> String {
    let mut table = table(width);
    let last = if with_names { "names found" } else { "symbols" };
    table.set_header(["code", "name", "unit", "expressed as", last]);
    for (id, names) in found {
        let analyte = vocabulary.analyte(*id);
        let listed: Vec<&str> = if with_names {
            names.iter().map(|n| n.text.as_str()).collect()
        } else {
            names_in(analyte, "symbol")
        };
        table.add_row([
            analyte.code.as_str(),
            analyte.name.as_str(),
            in_words(&analyte.unit),
            analyte.basis.as_ref().map_or("", |b| b.0.as_str()),
            &unique(listed).join(", "),
        ]);
    }
    format!("{table}\n")
}

fn unique(mut list: Vec<&str>) -> Vec<&str> {
    let mut seen = Vec::new();
    list.retain(|text| {
        let new = !seen.contains(text);
        seen.push(text);
        new
    });
    list
}

fn names_in<'a>(analyte: &'a Analyte, language: &str) -> Vec<&'a str> {
    analyte
        .names
        .iter()
        .filter(|n| n.language == language)
        .map(|n| n.text.as_str())
        .collect()
}

const LANGUAGES: [(&str, &str); 34] = [
    ("symbol", "symbols"),
    ("en", "English"),
    ("de", "German"),
    ("nl", "Dutch"),
    ("fr", "French"),
    ("es", "Spanish"),
    ("it", "Italian"),
    ("pt", "Portuguese"),
    ("da", "Danish"),
    ("pl", "Polish"),
    ("sv", "Swedish"),
    ("nb", "Norwegian"),
    ("fi", "Finnish"),
    ("cs", "Czech"),
    ("sk", "Slovak"),
    ("hu", "Hungarian"),
    ("ro", "Romanian"),
    ("hr", "Croatian and Serbian"),
    ("tr", "Turkish"),
    ("el", "Greek"),
    ("ru", "Russian"),
    ("uk", "Ukrainian"),
    ("id", "Indonesian"),
    ("zh", "Chinese"),
    ("ja", "Japanese"),
    ("ko", "Korean"),
    ("vi", "Vietnamese"),
    ("th", "Thai"),
    ("ar", "Arabic"),
    ("he", "Hebrew"),
    ("fa", "Persian"),
    ("bg", "Bulgarian"),
    ("sl", "Slovene"),
    ("lt", "Lithuanian"),
];

fn details(vocabulary: &Vocabulary, id: AnalyteId, width: usize) -> String {
    let analyte = vocabulary.analyte(id);
    let mut about = table(width);
    about.set_header([analyte.code.as_str(), analyte.name.as_str()]);
    let expressed = match &analyte.basis {
        Some(basis) => format!("{} as {basis}", in_words(&analyte.unit)),
        None => in_words(&analyte.unit).to_string(),
    };
    about.add_row(["canonical", &expressed]);
    about.add_row(["column of samples", &analyte.column]);
    if let Some(cas) = &analyte.cas {
        about.add_row(["CAS number", cas]);
    }
    if analyte.charge != 0 {
        about.add_row(["charge", &format!("{:+}", analyte.charge)]);
    }
    for (name, range) in [
        ("only an error beyond", analyte.hard_range),
        ("look again beyond", analyte.soft_range),
    ] {
        if let Some((low, high)) = range {
            about.add_row([
                name,
                &format!(
                    "{} to {} {}",
                    shown(low),
                    shown(high),
                    in_words(&analyte.unit)
                ),
            ]);
        }
    }
    about.add_row([
        "no unit said",
        match &analyte.assumed_unit {
            Some(_) => "taken as the canonical one, with a warning",
            None => "not placed",
        },
    ]);
    if analyte.basis.is_some() {
        about.add_row([
            "no basis said",
            match analyte.silent {
                Silent::Understood => "the substance itself",
                Silent::Assumed => "taken as the canonical one, with a warning",
                Silent::Refused => "not placed",
            },
        ]);
    }
    for (language, name) in LANGUAGES {
        let names = unique(names_in(analyte, language));
        if !names.is_empty() {
            about.add_row([name, &names.join(", ")]);
        }
    }
    let mut text = format!("{about}\n");
    let factors = factors(vocabulary, id);
    if !factors.is_empty() {
        let mut conversions = table(width);
        conversions.set_header(["reported in", "times", "spellings"]);
        for (unit, times, spellings) in factors {
            conversions.add_row([unit, times, spellings]);
        }
        text.push_str(&format!("\n{conversions}\n"));
    }
    text
}

/// Unit and basis, factor to the canonical one, spellings.
fn factors(vocabulary: &Vocabulary, id: AnalyteId) -> Vec<(String, String, String)> {
    let analyte = vocabulary.analyte(id);
    let mut rows = Vec::new();
    for code in &analyte.units {
        let Some(unit) = vocabulary.unit(code) else {
            continue;
        };
        let mut bases: Vec<Option<_>> = analyte.bases.iter().map(Some).collect();
        if bases.is_empty() || unit.dimension != crate::vocabulary::Dimension::Mass {
            bases = vec![None];
        }
        for basis in bases {
            let Ok(conversion) = vocabulary.convert(id, unit, basis, Some(25.0)) else {
                continue;
            };
            let name = match basis {
                Some(basis) => format!("{} as {basis}", in_words(code)),
                None => in_words(code).to_string(),
            };
            let times = match conversion.plain_factor() {
                Some(factor) => shown(factor),
                None => format!("{} {:+.3}", shown(conversion.factor), conversion.offset),
            };
            let spellings: Vec<&str> = vocabulary
                .spellings(code)
                .into_iter()
                .filter(|s| s.chars().count() <= 10)
                .take(5)
                .collect();
            rows.push((name, times, spellings.join("  ")));
        }
    }
    rows
}

fn label(vocabulary: &Vocabulary, text: &str, beside: &[String]) -> (String, Value) {
    let context = if beside.is_empty() {
        HeadingContext::default()
    } else {
        let all = beside.iter().map(String::as_str).chain([text]);
        vocabulary.heading_context(all)
    };
    let heading = vocabulary.read_heading_in(text, &context);
    let pieces = vocabulary.explain_heading(text, &context);
    let (reading, codes) = reading(vocabulary, &heading);
    let mut told = format!("'{text}' is {reading}\n");
    for (piece, what) in &pieces {
        told.push_str(&format!("  {piece:<20} {what}\n"));
    }
    for line in advice(vocabulary, &heading) {
        told.push_str(&format!("  {line}\n"));
    }
    let value = json!({
        "label": text,
        "reading": reading,
        "analytes": codes,
        "fraction": heading.fraction.map(|f| f.name()),
        "basis": heading.basis.as_ref().map(|b| &b.0),
        "unit": heading.unit.as_ref().map(|u| u.code),
        "reference_temperature": heading.reference_temperature,
        "nearest": heading.nearest,
        "pieces": pieces.iter().map(|(text, what)| json!({"text": text, "says": what})).collect::<Vec<_>>(),
    });
    (told, value)
}

fn reading(vocabulary: &Vocabulary, heading: &Heading) -> (String, Vec<String>) {
    let code = |id: &AnalyteId| vocabulary.analyte(*id).code.clone();
    let mut text = match &heading.meaning {
        Meaning::Analyte(id) => code(id),
        Meaning::Ambiguous(ids) => {
            let codes: Vec<String> = ids.iter().map(code).collect();
            let text = format!("ambiguous, it can mean: {}", codes.join(", "));
            return (text, codes);
        }
        Meaning::Field(field) => return (format!("no analyte but '{}'", field.name()), Vec::new()),
        Meaning::Unknown => match (&heading.unit, &heading.basis) {
            (Some(unit), None) => return (format!("a unit: {}", in_words(unit.code)), Vec::new()),
            (Some(unit), Some(basis)) => {
                return (
                    format!("a unit: {} as {basis}", in_words(unit.code)),
                    Vec::new(),
                );
            }
            (None, Some(basis)) => return (format!("a basis: as {basis}"), Vec::new()),
            (None, None) => return ("unknown".into(), Vec::new()),
        },
    };
    let codes = vec![text.clone()];
    if let Some(fraction) = heading.fraction {
        text.push_str(&format!(", {fraction}"));
    }
    if let Some(basis) = &heading.basis {
        text.push_str(&format!(", as {basis}"));
    }
    if let Some(unit) = &heading.unit {
        text.push_str(&format!(", in {}", in_words(unit.code)));
    }
    if let Some(t) = heading.reference_temperature {
        text.push_str(&format!(", at {t} °C"));
    }
    (text, codes)
}

/// What a user can do about a reading.
fn advice(vocabulary: &Vocabulary, heading: &Heading) -> Vec<String> {
    match &heading.meaning {
        Meaning::Analyte(id) => {
            let analyte = vocabulary.analyte(*id);
            let needs_basis = heading.basis.is_none() && analyte.silent != Silent::Understood;
            let mass = heading
                .unit
                .as_ref()
                .is_none_or(|u| u.dimension == crate::vocabulary::Dimension::Mass);
            let mut lines = Vec::new();
            if needs_basis && mass && analyte.basis.is_some() {
                let bases: Vec<&str> = analyte.bases.iter().map(|b| b.0.as_str()).collect();
                lines.push(format!("the basis is not said; usual: {}", bases.join(", ")));
            }
            lines
        }
        Meaning::Ambiguous(_) => vec![
            "a unit, a basis or the sheet's other headings (--beside) may settle it, else a mapping line".into(),
        ],
        Meaning::Unknown if heading.unit.is_none() && heading.basis.is_none() => {
            let near = heading.nearest.as_ref();
            let mut lines: Vec<String> = near.map(|n| format!("nearest known name: '{n}'")).into_iter().collect();
            lines.push("say in a mapping what it is, or add the name to mappings/analytes.toml".into());
            lines
        }
        _ => Vec::new(),
    }
}

fn unit(vocabulary: &Vocabulary, text: &str) -> Result<(String, Value)> {
    let Some((unit, basis)) = vocabulary.read_unit(text) else {
        let near = vocabulary
            .nearest_unit(text)
            .map_or_else(String::new, |near| format!("; did you mean '{near}'?"));
        return Err(Error::Usage(format!("no unit: '{}'{near}", clean(text))));
    };
    let users: Vec<&str> = (0u16..)
        .map(AnalyteId)
        .zip(vocabulary.analytes())
        .filter(|(id, a)| {
            vocabulary
                .convert(*id, &unit, basis.as_ref().or(a.basis.as_ref()), Some(25.0))
                .is_ok()
        })
        .map(|(_, a)| a.code.as_str())
        .collect();
    let counted = basis
        .as_ref()
        .map_or_else(String::new, |b| format!(" as {b}"));
    let mut told = format!(
        "'{text}' is {}{counted}  (code {}, {})\n",
        in_words(unit.code),
        unit.code,
        unit.dimension.name()
    );
    if let Some(note) = unit.note {
        told.push_str(&format!("  note        {}\n", note.text()));
    }
    told.push_str(&format!("  measures    {}\n", users.join(", ")));
    let value = json!({
        "text": text,
        "code": unit.code,
        "dimension": unit.dimension.name(),
        "basis": basis.as_ref().map(|b| &b.0),
        "note": unit.note.map(|n| n.text()),
        "analytes": users,
    });
    Ok((told, value))
}

fn list_json(vocabulary: &Vocabulary, found: &[(AnalyteId, Vec<&Name>)]) -> Value {
    found
        .iter()
        .map(|(id, _)| analyte_json(vocabulary, vocabulary.analyte(*id)))
        .collect()
}

fn analyte_json(vocabulary: &Vocabulary, analyte: &Analyte) -> Value {
    let names: Vec<Value> = analyte
        .names
        .iter()
        .map(|n| {
            json!({
                "language": n.language,
                "name": n.text,
                "basis": n.basis.as_ref().map(|b| &b.0),
                "fraction": n.fraction.map(|f| f.name()),
            })
        })
        .collect();
    let conversions: Vec<Value> = vocabulary.find(&analyte.code).map_or_else(Vec::new, |id| {
        factors(vocabulary, id)
            .into_iter()
            .map(|(unit, times, _)| json!({"unit": unit, "times": times}))
            .collect()
    });
    json!({
        "code": analyte.code,
        "name": analyte.name,
        "cas": analyte.cas,
        "unit": analyte.unit,
        "column": analyte.column,
        "basis": analyte.basis.as_ref().map(|b| &b.0),
        "charge": analyte.charge,
        "bases": analyte.bases.iter().map(|b| &b.0).collect::<Vec<_>>(),
        "units": analyte.units,
        "hard_range": analyte.hard_range.map(|(a, b)| [a, b]),
        "soft_range": analyte.soft_range.map(|(a, b)| [a, b]),
        "names": names,
        "conversions": conversions,
    })
}
