//! A mapping that no longer fits a report of its laboratory: what changed, and the mapping with the
//! change put in. The author's text stays as it is; lines are added, and words that nothing in the new
//! report answers to are taken out of `[recognise]`.

use super::draft::{Label, Means, folded, labels, quoted};
use super::raw::{RawLabel, RawMapping, Text};
use super::{Mapping, compile};
use crate::locate::Wording;
use crate::map::{Plan, RuleMeaning};
use crate::problem::{Problems, nearest, read_toml};
use crate::read::{Report, Value};
use crate::vocabulary::Vocabulary;
use std::ops::Range;
use std::path::Path;

/// One thing that a report has in another way than its mapping says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Change {
    /// A label of the mapping goes by another name in the report.
    Renamed { from: String, to: String },
    /// A label of the mapping that is not in the report.
    Gone { label: String },
    /// A label of the report that the mapping does not know; `means` as it is recognised.
    New {
        label: String,
        means: Option<String>,
    },
    /// Something in `[recognise]` that the report does not have.
    NotRecognisedBy { what: String },
    /// A sheet that the mapping names and the report lacks.
    SheetGone { name: String },
}

impl std::fmt::Display for Change {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Renamed { from, to } => write!(f, "renamed: '{from}' is now '{to}'"),
            Self::Gone { label } => write!(f, "gone: '{label}'"),
            Self::New {
                label,
                means: Some(means),
            } => write!(f, "new: '{label}', recognised as {means}"),
            Self::New { label, means: None } => write!(f, "new: '{label}', not understood"),
            Self::NotRecognisedBy { what } => write!(f, "not recognised by {what}"),
            Self::SheetGone { name } => write!(f, "no sheet '{name}'"),
        }
    }
}

/// What changed, and the repaired text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Repair {
    pub changes: Vec<Change>,
    pub text: String,
}

/// Compares the mapping in `text` with a report, `plan` being how the report is recognised without
/// any mapping. The repaired text still fits the former reports, where it can: a renamed label keeps
/// its old line and gets a second one.
///
/// Fails with the problems of `text`, rendered.
pub fn repair(
    path: &Path,
    text: &str,
    report: &Report,
    plan: &Plan,
    vocabulary: &Vocabulary,
) -> Result<Repair, String> {
    let mapping = compile(path, text, vocabulary)?;
    let mut problems = Problems::new(path.to_string_lossy(), text);
    let Some(raw) = read_toml::<RawMapping>(text, &mut problems) else {
        return Err(problems.render());
    };
    let mut edits = Edits::default();
    let mut changes = recognition(text, &raw, &mapping, report, &mut edits);
    changes.extend(sheets(&raw, &mapping, report));
    changes.extend(meanings(
        text, &raw, &mapping, report, plan, vocabulary, &mut edits,
    ));
    Ok(Repair {
        changes,
        text: edits.apply(text),
    })
}

/// Replacements of byte ranges of the text.
#[derive(Debug, Default)]
struct Edits(Vec<(Range<usize>, String)>);

impl Edits {
    fn insert(&mut self, at: usize, text: String) {
        self.0.push((at..at, text));
    }

    fn apply(mut self, text: &str) -> String {
        // Stable: insertions at one place stay in their order.
        self.0.sort_by_key(|(range, _)| range.start);
        let mut made = String::new();
        let mut at = 0;
        for (range, new) in self.0 {
            made.push_str(&text[at..range.start]);
            made.push_str(&new);
            at = range.end;
        }
        made.push_str(&text[at..]);
        made
    }
}

fn texts(report: &Report) -> impl Iterator<Item = &str> {
    report
        .sheets
        .iter()
        .flat_map(|sheet| sheet.grid.cells())
        .filter_map(|(_, cell)| match &cell.value {
            Value::Text(text) => Some(&**text),
            _ => None,
        })
}

/// Words of `[recognise]` that the report does not answer to are taken out.
fn recognition(
    text: &str,
    raw: &RawMapping,
    mapping: &Mapping,
    report: &Report,
    edits: &mut Edits,
) -> Vec<Change> {
    let mut changes = Vec::new();
    let recognise = &mapping.recognise;
    for (pattern, raw, what) in [
        (&recognise.file, &raw.recognise.file, "file"),
        (&recognise.folder, &raw.recognise.folder, "folder"),
    ] {
        if let (Some(pattern), Some(raw)) = (pattern, raw)
            && !pattern.is_match(&report.file)
        {
            changes.push(Change::NotRecognisedBy {
                what: format!("{what} {}", raw.get_ref()),
            });
            edits.insert(
                line_start(text, raw.span().start),
                "# CHECK no longer so: ".into(),
            );
        }
    }
    let has_heading = |wanted: &Wording| texts(report).any(|cell| wanted.fits(cell));
    let headings: Vec<bool> = recognise.headings.iter().map(has_heading).collect();
    changes.extend(list("heading", &raw.recognise.headings, &headings, edits));
    let has_text = |wanted: &String| {
        let wanted = folded(wanted);
        texts(report).any(|cell| folded(cell).contains(&wanted))
    };
    let found: Vec<bool> = recognise.texts.iter().map(has_text).collect();
    changes.extend(list("text", &raw.recognise.texts, &found, edits));
    changes
}

/// Keeps of a list what the report has, where it has any of it.
fn list(what: &str, raw: &[Text], there: &[bool], edits: &mut Edits) -> Vec<Change> {
    let gone = raw.iter().zip(there).filter(|(_, there)| !**there);
    let changes = gone
        .map(|(text, _)| Change::NotRecognisedBy {
            what: format!("{what} '{}'", text.get_ref()),
        })
        .collect::<Vec<_>>();
    if let (Some(first), Some(last), false) = (raw.first(), raw.last(), changes.is_empty()) {
        let kept: Vec<String> = raw
            .iter()
            .zip(there)
            .filter(|(_, there)| **there)
            .map(|(text, _)| quoted(text.get_ref()))
            .collect();
        edits
            .0
            .push((first.span().start..last.span().end, kept.join(", ")));
    }
    changes
}

fn sheets(raw: &RawMapping, mapping: &Mapping, report: &Report) -> Vec<Change> {
    raw.sheet
        .iter()
        .zip(&mapping.rules.sheets)
        .filter_map(|(raw, rule)| {
            let wording = rule.name.as_ref()?;
            let there = report.sheets.iter().any(|sheet| wording.fits(&sheet.name));
            let name = raw.name.as_ref()?.get_ref().clone();
            (!there).then_some(Change::SheetGone { name })
        })
        .collect()
}

/// Labels that went, came, or go by another name.
fn meanings(
    text: &str,
    raw: &RawMapping,
    mapping: &Mapping,
    report: &Report,
    plan: &Plan,
    vocabulary: &Vocabulary,
    edits: &mut Edits,
) -> Vec<Change> {
    let rules = &mapping.rules.labels;
    let mut unknown: Vec<Label> = labels(report, plan)
        .into_iter()
        .filter(|label| {
            !rules
                .iter()
                .any(|rule| rule.at.is_none() && rule.label.fits(&label.text))
        })
        .collect();
    let mut gone: Vec<(&Text, &RawLabel)> = raw
        .labels
        .iter()
        .filter(|(key, _)| !named(key.get_ref(), report))
        .collect();
    gone.sort_by_key(|(key, _)| key.span().start);
    let mut changes = Vec::new();
    for (key, entry) in gone {
        match successor(key, entry, mapping, &unknown) {
            Some(index) => {
                let new = unknown.remove(index);
                edits.insert(
                    line_of(text, key.span().start).end,
                    format!(
                        "\n# CHECK the laboratory writes it otherwise now:\n{}",
                        under_new_name(text, key, &new.text)
                    ),
                );
                changes.push(Change::Renamed {
                    from: key.get_ref().clone(),
                    to: new.text,
                });
            }
            None => changes.push(Change::Gone {
                label: key.get_ref().clone(),
            }),
        }
    }
    let mut added = String::new();
    for label in unknown {
        let means = word(&label.means, vocabulary);
        let key = quoted(&label.text);
        match &means {
            // What is recognised needs no line; what is not, does.
            Some(_) => {}
            None => added.push_str(&format!(
                "\n# CHECK new and not understood:\n# {key} = {{ means = \"…\" }}"
            )),
        }
        changes.push(Change::New {
            label: label.text,
            means,
        });
    }
    if let Some(last) = raw.labels.keys().map(|key| key.span().start).max() {
        edits.insert(line_of(text, last).end, added);
    }
    changes
}

/// The line of a label once more, under another name. What does not stand on one line is left to the
/// author.
fn under_new_name(text: &str, key: &Text, name: &str) -> String {
    let line = &text[line_of(text, key.span().start)];
    let on_one_line = text[key.span().end..].trim_start().starts_with('=')
        && line.matches('{').count() == line.matches('}').count();
    if on_one_line {
        line.replacen(&text[key.span()], &quoted(name), 1)
    } else {
        format!("# {} = {{ … as the entry above … }}", quoted(name))
    }
}

/// Whether a key of `[labels]` is a word for word label that the report has, or one that does not
/// name a label word for word.
fn named(key: &str, report: &Report) -> bool {
    let by_pattern = key.len() > 2 && key.starts_with('/') && key.ends_with('/');
    by_pattern || key.starts_with('@') || texts(report).any(|text| folded(text) == folded(key))
}

/// The unknown label that is meant by a line whose own label has gone: the one of the same meaning
/// where there is just one, else the one that is spelled alike.
fn successor(key: &Text, entry: &RawLabel, mapping: &Mapping, unknown: &[Label]) -> Option<usize> {
    let rule =
        mapping.rules.labels.iter().find(
            |rule| matches!(&rule.label, Wording::Text(text) if **text == *key.get_ref().trim()),
        );
    let same_meaning = |label: &Label| match (rule.and_then(|r| r.meaning.as_ref()), &label.means) {
        (
            Some(RuleMeaning::Analyte(a)),
            Means::Analyte {
                analyte, fraction, ..
            },
        ) => a == analyte && rule.is_none_or(|r| r.fraction.is_none() || r.fraction == *fraction),
        (Some(RuleMeaning::Field(a)), Means::Field(b) | Means::Guessed(b)) => a == b,
        _ => false,
    };
    let same: Vec<usize> = (0..unknown.len())
        .filter(|i| same_meaning(&unknown[*i]))
        .collect();
    if let [only] = same[..] {
        return Some(only);
    }
    // Without a meaning of its own, spelling is all there is to go by.
    if entry.means.is_some() && !same.is_empty() {
        return None;
    }
    let near = nearest(
        key.get_ref(),
        unknown.iter().map(|label| label.text.as_str()),
    )?;
    unknown.iter().position(|label| label.text == near)
}

/// `None` where nothing is recognised.
fn word(means: &Means, vocabulary: &Vocabulary) -> Option<String> {
    match means {
        Means::Analyte { analyte, .. } => Some(vocabulary.analyte(*analyte).code.clone()),
        Means::Field(field) | Means::Guessed(field) => Some(field.name().to_string()),
        Means::Companion(_) => Some("part of the result beside it".into()),
        Means::SetAside(reason) => Some(format!("set aside ({reason})")),
        Means::Unplaced(_) => None,
    }
}

fn line_start(text: &str, at: usize) -> usize {
    text[..at].rfind('\n').map_or(0, |i| i + 1)
}

/// The line around a position, without its line end.
fn line_of(text: &str, at: usize) -> Range<usize> {
    let end = text[at..].find('\n').map_or(text.len(), |i| at + i);
    line_start(text, at)..end
}
