//! The mapping format: what it accepts, what it says about what it does not accept, its schema.

use proptest::prelude::*;
use std::fmt::Write;
use std::path::{Path, PathBuf};
use wellread::map::{DateOrder, Decimal, QualifierCode, RuleMeaning};
use wellread::mapping::{Example, ExampleReport, Mapping, compile, schema};
use wellread::vocabulary::{Field, Vocabulary};

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn compiled(text: &str) -> Result<Mapping, String> {
    compile(Path::new("lab.toml"), text, Vocabulary::built_in())
}

fn full() -> String {
    std::fs::read_to_string(root().join("tests/mapping/full.toml")).unwrap()
}

#[test]
fn a_mapping_with_every_key_compiles() {
    let mapping = compiled(&full()).unwrap_or_else(|problems| panic!("{problems}"));
    let words = Vocabulary::built_in();
    let rules = &mapping.rules;
    assert_eq!(&*mapping.name, "lab");
    assert_eq!(mapping.encoding.unwrap().name(), "windows-1252");
    assert_eq!(mapping.delimiter, Some(';'));
    assert!(!rules.join_sheets);

    let groups: Vec<_> = rules
        .file_name
        .iter()
        .map(|name| {
            let groups = name
                .pattern
                .captures("clients/Thistle/HL12_May.xlsx")
                .unwrap();
            let (group, field) = &name.groups[0];
            (*field, groups[group.as_str()].to_string())
        })
        .collect();
    let lab_ref = (Field::LabRef, "HL12".to_string());
    let client = (Field::Client, "Thistle".to_string());
    assert_eq!(groups, [lab_ref, client]);

    let [results, metals, other, legend] = &rules.sheets[..] else {
        panic!("{:?}", rules.sheets)
    };
    assert!(results.name.as_ref().unwrap().fits("Results 2026"));
    assert_eq!(results.hints.heading_lines, Some(vec![3, 4]));
    assert!(results.hints.header_fill);
    let reasons: Vec<_> = results.lines_set_aside.iter().map(|l| &*l.1).collect();
    assert_eq!(reasons, ["statistics", "statistics"]);
    assert_eq!(results.areas_set_aside[0].0.bottom, 59);
    assert_eq!(metals.hints.heading_lines, Some(vec![0, 1]));
    assert_eq!(other.hints.heading_count, Some(2));
    assert_eq!(legend.set_aside.as_deref(), Some("explains the codes"));

    // Corrections first, then the labels in the order of the file.
    let meanings: Vec<_> = rules.labels.iter().map(|l| l.meaning.clone()).collect();
    let analyte = |code: &str| Some(RuleMeaning::Analyte(words.find(code).unwrap()));
    assert_eq!(
        meanings,
        [
            analyte("nitrate"),
            None,
            Some(RuleMeaning::Field(Field::SampleRef)),
            analyte("nitrate"),
            analyte("iron"),
            analyte("conductivity"),
            Some(RuleMeaning::SetAside("guideline".into())),
        ]
    );
    let correction = &rules.labels[0];
    assert_eq!(correction.from.unwrap().to_string(), "2019-01-01");
    assert_eq!(correction.to.unwrap().to_string(), "2020-12-31");
    assert!(correction.overrides);
    assert_eq!(correction.basis.as_ref().unwrap().0, "NO3");
    assert_eq!(rules.labels[1].reference_temperature, Some(25.0));
    assert_eq!(rules.labels[6].at, Some(5));

    assert_eq!(rules.decimal, Some(Decimal::Comma));
    assert_eq!(rules.dates, Some(DateOrder::DayFirst));
    assert_eq!(rules.missing_numbers, [9999.0, 99.9]);
    assert_eq!(rules.negative_is_below, Some(true));
    assert_eq!(rules.codes["U"], QualifierCode::Below);
    assert_eq!(rules.codes["n.b."], QualifierCode::Missing);
    assert_eq!(rules.default_basis[0].1.0, "NO3");
    assert_eq!(rules.expect.samples, Some((2, 20)));
    assert_eq!(rules.expect.analytes.len(), 2);
    assert_eq!(
        mapping.example,
        Some(Example {
            report: ExampleReport::Text {
                name: "HL1_x.csv".into(),
                text: "Sample;NO3\nA;5,0\n".into(),
            },
            columns: ["cell", "analyte", "value", "unit"]
                .map(String::from)
                .into(),
            rows: vec![["B2", "nitrate", "22.1", "mg/L"].map(String::from).into()],
        })
    );
}

/// Cases of `tests/mapping/problems.txt`: name, mapping, what is told.
fn cases(text: &str) -> Vec<(&str, &str, &str)> {
    let mut parts = text.split("\n=== ");
    parts.next();
    parts
        .map(|part| {
            let (name, rest) = part.split_once('\n').unwrap();
            let (mapping, told) = rest.split_once("---\n").unwrap_or((rest, ""));
            (name, mapping, told.trim_end_matches('\n'))
        })
        .collect()
}

#[test]
fn err_problems_are_told_word_for_word() {
    let path = root().join("tests/mapping/problems.txt");
    let text = std::fs::read_to_string(&path).unwrap();
    let (head, _) = text.split_once("\n=== ").unwrap();
    let mut made = head.to_string();
    let mut wrong = String::new();
    for (name, mapping, expected) in cases(&text) {
        let told = compiled(mapping).expect_err(name);
        let told: Vec<&str> = told.lines().map(str::trim_end).collect();
        let told = told.join("\n");
        if told != expected {
            write!(wrong, "\n=== {name}\n{mapping}---\n{told}\n").unwrap();
        }
        write!(made, "\n=== {name}\n{mapping}---\n{told}\n").unwrap();
    }
    if std::env::var_os("WELLREAD_BLESS").is_some() {
        std::fs::write(&path, made).unwrap();
    } else {
        assert!(wrong.is_empty(), "told otherwise:\n{wrong}");
    }
}

/// Every key of the schema as `path to the table`, `key`, `type`.
fn keys(schema: &serde_json::Value) -> Vec<(Vec<String>, String, String)> {
    fn walk(
        root: &serde_json::Value,
        node: &serde_json::Value,
        path: &[String],
        found: &mut Vec<(Vec<String>, String, String)>,
    ) {
        let Some(properties) = node["properties"].as_object() else {
            return;
        };
        for (key, value) in properties {
            let node = target(root, value);
            found.push((path.to_vec(), key.clone(), kind(&node)));
            let mut below = path.to_vec();
            below.push(key.clone());
            let items = target(root, &node["items"]);
            let entries = target(root, &node["additionalProperties"]);
            for inner in [&node, &items, &entries] {
                walk(root, inner, &below, found);
            }
        }
    }
    fn target(root: &serde_json::Value, value: &serde_json::Value) -> serde_json::Value {
        let any = value["anyOf"].get(0).unwrap_or(value);
        match any["$ref"].as_str() {
            Some(reference) => root.pointer(&reference[1..]).unwrap().clone(),
            None => any.clone(),
        }
    }
    fn kind(value: &serde_json::Value) -> String {
        let kind = value["type"].get(0).unwrap_or(&value["type"]);
        kind.as_str().unwrap_or("").to_string()
    }
    let mut found = Vec::new();
    walk(schema, schema, &[], &mut found);
    found
}

#[test]
fn every_key_of_the_schema_stands_in_the_full_mapping() {
    let schema: serde_json::Value = serde_json::from_str(&schema()).unwrap();
    let text = full();
    let keys = keys(&schema);
    assert!(keys.len() > 50, "{}", keys.len());
    // `samples` and `rows_file` exclude others that are there.
    for (path, key, _) in keys {
        let there = text
            .lines()
            .any(|l| l.contains(&format!("{key} = ")) || l.trim_matches(['[', ']']) == key);
        assert!(
            there || key == "rows_file" || key == "samples",
            "{}.{key}",
            path.join(".")
        );
    }
}

#[test]
fn err_every_key_refuses_a_value_of_another_type() {
    let schema: serde_json::Value = serde_json::from_str(&schema()).unwrap();
    for (path, key, kind) in keys(&schema) {
        let value = match kind.as_str() {
            "string" => "true",
            _ => "'text'",
        };
        let mut text = String::from("[recognise]\nfile = 'x'\n");
        let line = match path.first().map(String::as_str) {
            None => format!("{key} = {value}\n"),
            Some("labels") => format!("[labels]\na = {{ {key} = {value} }}\n"),
            Some(table @ ("sheet" | "correction")) => format!("[[{table}]]\n{key} = {value}\n"),
            Some("recognise") => {
                text.clear();
                format!("[recognise]\n{key} = {value}\n")
            }
            Some(table) => format!("[{table}]\n{key} = {value}\n"),
        };
        let text = match path.is_empty() && key != "recognise" {
            true => format!("{line}{text}"),
            false if key == "recognise" => line.clone(),
            false => format!("{text}{line}"),
        };
        let told = compiled(&text).expect_err(&text);
        assert!(told.contains("invalid type"), "{text}\n{told}");
        assert!(told.contains(&format!("{key} = {value}")), "{text}\n{told}");
    }
}

#[test]
fn the_schema_beside_the_mappings_is_the_one_of_the_types() {
    let path = root().join("mappings/mapping.schema.json");
    if std::env::var_os("WELLREAD_BLESS").is_some() {
        std::fs::write(&path, schema()).unwrap();
    }
    let written = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(
        written == schema(),
        "mappings/mapping.schema.json has drifted: `wellread mappings --schema > mappings/mapping.schema.json`"
    );
}

#[test]
fn shipped_mappings_point_to_the_schema_and_compile() {
    let words = ["analytes.toml", "units.toml", "fields.toml", "limits.toml"];
    for entry in std::fs::read_dir(root().join("mappings")).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        if !name.ends_with(".toml") || words.contains(&name.as_str()) {
            continue;
        }
        let text = std::fs::read_to_string(&path).unwrap();
        assert!(
            text.starts_with("#:schema mapping.schema.json\n"),
            "{name}: the first line must be `#:schema mapping.schema.json`"
        );
        if let Err(problems) = compile(&path, &text, Vocabulary::built_in()) {
            panic!("{problems}");
        }
    }
}

proptest! {
    #[test]
    fn no_text_panics(text in "\\PC{0,200}") {
        // Whether it compiles does not matter here, only that it comes back.
        drop(compiled(&text));
    }

    /// Lines of the full mapping shuffled, cut and doubled: nearly right, and seldom right.
    #[test]
    fn no_near_mapping_panics(picks in prop::collection::vec((0usize..80, 0usize..60), 0..40)) {
        let full = full();
        let lines: Vec<&str> = full.lines().collect();
        let text: String = picks
            .iter()
            .map(|(line, cut)| {
                let line = lines[line % lines.len()];
                let kept: String = line.chars().take(if *cut > 40 { usize::MAX } else { *cut }).collect();
                kept + "\n"
            })
            .collect();
        drop(compiled(&text));
    }
}
