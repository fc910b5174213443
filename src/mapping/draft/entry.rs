//! `[labels]` of a draft: what each label was taken for, what was assumed and why, what could be meant.

use super::guess::is_to_be_named;
use super::quote::{comment, quoted, wording};
use super::seen::{Label, Means, folded};
use super::write::{Detail, push};
use crate::map::{VALUE_COLUMN_UNKNOWN, ValueRole};
use crate::record::Origin;
use crate::vocabulary::{Field, Meaning, Vocabulary};
use std::collections::BTreeSet;

/// All labels, each on its line; what is doubtful as comments.
pub(super) fn meanings(
    text: &mut String,
    labels: &[Label],
    vocabulary: &Vocabulary,
    detail: Detail,
) {
    push(
        text,
        "# What the labels mean. Unit and basis stand here only where the report is silent.",
    );
    if labels
        .iter()
        .flat_map(|l| &l.could_be)
        .any(|body| is_to_be_named(body))
    {
        push(
            text,
            "# For … write the code of an analyte (`wellread terms WORD` finds it) and the unit that the report leaves out.",
        );
    }
    push(text, "[labels]");
    let mut said: BTreeSet<String> = BTreeSet::new();
    for label in labels {
        // A label with two meanings (the same heading on two sheets) cannot be said in one line.
        let again = !said.insert(folded(&label.text));
        meaning(text, label, vocabulary, detail, again);
    }
    text.push('\n');
}

fn meaning(text: &mut String, label: &Label, vocabulary: &Vocabulary, detail: Detail, again: bool) {
    let key = wording(&label.text);
    let place = place(label);
    let stated = |text: &mut String, wanted: Detail, line: &str| {
        if detail <= wanted && !again {
            push(text, line);
        } else {
            push(text, &format!("# {line}"));
        }
    };
    match &label.means {
        Means::Analyte {
            analyte,
            fraction,
            unit_text,
            basis_text,
            basis,
            from,
        } => {
            let code = &vocabulary.analyte(*analyte).code;
            let fraction = fraction.map_or_else(String::new, |f| format!(", fraction = \"{f}\""));
            let unit = unit_text.as_deref().unwrap_or("");
            let beside = [unit, basis_text.as_deref().unwrap_or("")].join(" ");
            let beside = match (beside.trim(), *from == Origin::Assumed) {
                (_, true) => String::new(),
                ("", false) => format!("  # {place}"),
                (beside, false) => format!("  # {place}, {}", comment(beside)),
            };
            let line = format!("{key} = {{ means = \"{code}\"{fraction} }}{beside}");
            stated(text, Detail::Analytes, &line);
            if *from == Origin::Assumed {
                let unit = unit_text
                    .as_deref()
                    .unwrap_or(&vocabulary.analyte(*analyte).unit);
                let basis = basis
                    .as_ref()
                    .map_or_else(String::new, |b| format!(", basis = {}", quoted(b)));
                push(
                    text,
                    &format!(
                        "# CHECK {place}: {}. If it is so, use this line instead:",
                        because(label, "the report does not say it all")
                    ),
                );
                push(
                    text,
                    &format!(
                        "# {key} = {{ means = \"{code}\"{fraction}, unit = {}{basis}, reason = \"…\" }}",
                        quoted(unit)
                    ),
                );
            }
        }
        Means::Guessed(field) => {
            let why = because(label, "");
            push(text, &format!("# CHECK {place}: {why}; one of these:"));
            let likely = match field {
                Field::Occasion => Field::SampledOn,
                _ => Field::Source,
            };
            for field in [likely, *field] {
                let line = format!("# {key} = {{ means = \"{}\" }}", field.name());
                push(text, &line);
            }
        }
        Means::Field(field) => {
            let line = format!("{key} = {{ means = \"{}\" }}  # {place}", field.name());
            stated(text, Detail::Full, &line);
        }
        Means::Companion(role) => {
            let line = format!(
                "{key} = {{ means = \"{}\" }}  # {place}",
                field_of(*role).name()
            );
            stated(text, Detail::Full, &line);
        }
        Means::SetAside(reason) => {
            let line = format!(
                "{key} = {{ means = \"set-aside\", reason = {} }}  # {place}",
                quoted(&comment(reason))
            );
            stated(text, Detail::Full, &line);
        }
        Means::Unplaced(reason) => {
            push(
                text,
                &format!(
                    "# CHECK {place}: not placed: {}; one of these:",
                    because(label, reason)
                ),
            );
            let mut bodies: Vec<String> = (candidates(&label.text, vocabulary).iter())
                .map(|word| format!("means = \"{word}\""))
                .collect();
            if reason.as_ref() == VALUE_COLUMN_UNKNOWN {
                bodies.insert(0, "means = \"value\"".into());
            }
            let is_named = !bodies.is_empty();
            for body in &label.could_be {
                if !(bodies.contains(body) || is_named && is_to_be_named(body)) {
                    bodies.push(body.clone());
                }
            }
            for body in bodies {
                push(text, &format!("# {key} = {{ {body} }}"));
            }
            push(
                text,
                &format!("# {key} = {{ means = \"set-aside\", reason = \"…\" }}"),
            );
        }
    }
}

/// Why, in the words of the finding or else those given.
fn because(label: &Label, otherwise: &str) -> String {
    comment(if label.why.is_empty() {
        otherwise
    } else {
        &label.why
    })
}

fn place(label: &Label) -> String {
    let position = &label.position;
    let what = if position.bytes().all(|b| b.is_ascii_digit()) {
        "row"
    } else if position.bytes().all(|b| b.is_ascii_uppercase()) {
        "column"
    } else {
        "cell"
    };
    if label.sheet.is_empty() {
        format!("{what} {position}")
    } else {
        format!("{what} {position} of '{}'", comment(&label.sheet))
    }
}

const fn field_of(role: ValueRole) -> Field {
    match role {
        ValueRole::Qualifier | ValueRole::Flag { .. } => Field::Qualifier,
        ValueRole::DetectionLimit => Field::DetectionLimit,
        ValueRole::QuantificationLimit => Field::QuantificationLimit,
        ValueRole::Uncertainty => Field::Uncertainty,
        ValueRole::Method => Field::Method,
        ValueRole::Unit => Field::Unit,
    }
}

/// What a label could mean: never used, only shown.
fn candidates(label: &str, vocabulary: &Vocabulary) -> Vec<String> {
    let heading = vocabulary.read_heading(label);
    let word = |meaning: &Meaning| match meaning {
        Meaning::Analyte(id) => vec![vocabulary.analyte(*id).code.clone()],
        Meaning::Ambiguous(ids) => ids
            .iter()
            .map(|id| vocabulary.analyte(*id).code.clone())
            .collect(),
        Meaning::Field(field) => vec![field.name().to_string()],
        Meaning::Unknown => Vec::new(),
    };
    let found = word(&heading.meaning);
    match (&heading.nearest, found.is_empty()) {
        (Some(near), true) => word(&vocabulary.read_heading(near).meaning),
        _ => found,
    }
}
