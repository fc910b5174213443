//! The vocabulary from outside: the written list of headings, and the tables that users add.

use std::fmt::Write as _;
use wellread::vocabulary::{Heading, Meaning, Vocabulary};

/// A reading in the words of `tests/headings.tsv`.
fn told(vocabulary: &Vocabulary, heading: &Heading) -> String {
    let code = |id| vocabulary.analyte(id).code.clone();
    let mut text = match &heading.meaning {
        Meaning::Analyte(id) => code(*id),
        Meaning::Ambiguous(ids) => {
            let codes: Vec<String> = ids.iter().map(|id| code(*id)).collect();
            return format!("? {}", codes.join(" "));
        }
        Meaning::Field(field) => return format!("field {}", field.name()),
        Meaning::Unknown => match (&heading.unit, &heading.basis) {
            (Some(unit), None) => return format!("unit {}", unit.code),
            (Some(unit), Some(basis)) => return format!("unit {} as {basis}", unit.code),
            (None, Some(basis)) => return format!("basis {basis}"),
            (None, None) => return "-".into(),
        },
    };
    if let Some(fraction) = heading.fraction {
        write!(text, " {fraction}").unwrap();
    }
    if let Some(basis) = &heading.basis {
        write!(text, " as {basis}").unwrap();
    }
    if let Some(unit) = &heading.unit {
        write!(text, " in {}", unit.code).unwrap();
    }
    if let Some(t) = heading.reference_temperature {
        write!(text, " at {t}").unwrap();
    }
    text
}

#[test]
fn every_heading_of_the_list_is_read_as_written() {
    let list = include_str!("../headings.tsv");
    let vocabulary = Vocabulary::built_in();
    let mut wrong = String::new();
    let mut count = 0;
    for (number, line) in list.lines().enumerate() {
        if line.starts_with('#') || line.is_empty() {
            continue;
        }
        let mut parts = line.split('\t');
        let heading = parts.next().unwrap().replace("\\n", "\n");
        let expected = parts
            .next()
            .unwrap_or_else(|| panic!("line {}: no tab", number + 1));
        let others = parts.next().unwrap_or_default();
        let context = vocabulary.heading_context(
            others
                .split('|')
                .chain([heading.as_str()])
                .filter(|_| !others.is_empty()),
        );
        let read = told(vocabulary, &vocabulary.read_heading_in(&heading, &context));
        count += 1;
        if read != expected {
            writeln!(
                wrong,
                "line {}: '{heading}' expected '{expected}', read '{read}'",
                number + 1
            )
            .unwrap();
        }
    }
    assert!(count >= 400, "only {count} headings");
    assert!(wrong.is_empty(), "of {count} headings:\n{wrong}");
}

/// As a cell of its own, whatever words lead to it.
#[test]
fn a_basis_alone() {
    let vocabulary = Vocabulary::built_in();
    for (text, basis) in [
        ("as N", Some("N")),
        ("als CaCO3", Some("CaCO3")),
        ("(as P)", Some("P")),
        ("NO3-N", Some("N")),
        ("P2O5", Some("P2O5")),
        ("dissolved", None),
        ("mg/L as N", None),
    ] {
        let read = vocabulary.read_basis(text).map(|basis| basis.to_string());
        assert_eq!(read.as_deref(), basis, "{text}");
    }
}
