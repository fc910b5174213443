//! The shape of the house, held by a test: arrows point one way, foreign crates stay in the stage that
//! owns them, no file grows out of hand, no missing value becomes a zero.

use std::fs;
use std::path::{Path, PathBuf};

/// Every Rust file under `src`, with its path relative to `src`, `/` between folders.
fn sources() -> Vec<(String, String)> {
    fn walk(folder: &Path, root: &Path, found: &mut Vec<(String, String)>) {
        let mut entries: Vec<PathBuf> = fs::read_dir(folder)
            .unwrap()
            .map(|e| e.unwrap().path())
            .collect();
        entries.sort();
        for path in entries {
            if path.is_dir() {
                walk(&path, root, found);
            } else if path.extension().is_some_and(|e| e == "rs") {
                let name = path.strip_prefix(root).unwrap().to_str().unwrap();
                found.push((name.replace('\\', "/"), fs::read_to_string(&path).unwrap()));
            }
        }
    }
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut found = Vec::new();
    walk(&root, &root, &mut found);
    found
}

/// The code of a file without its comments and without its unit tests, which stand at the end.
fn code(text: &str) -> String {
    let text = text.split("#[cfg(test)]").next().unwrap_or(text);
    text.lines()
        .filter(|line| !line.trim_start().starts_with("//"))
        .collect::<Vec<_>>()
        .join("\n")
}

fn area(path: &str) -> &str {
    path.split('/')
        .next()
        .unwrap_or(path)
        .trim_end_matches(".rs")
}

const LEAVES: &[&str] = &[
    "place",
    "file",
    "finding",
    "error",
    "guard",
    "problem",
    "reading",
    "record",
    "schema",
    "text",
    "vocabulary",
];

/// Area, and what it may import besides the leaves.
const MAY_IMPORT: &[(&str, &[&str])] = &[
    ("read", &[]),
    ("locate", &["read"]),
    ("map", &["read", "locate"]),
    ("mapping", &["read", "locate", "map"]),
    ("normalize", &["read", "locate", "map"]),
    ("check", &[]),
    ("write", &["check"]),
    (
        "run",
        &[
            "read",
            "locate",
            "map",
            "mapping",
            "normalize",
            "check",
            "write",
        ],
    ),
    (
        "cli",
        &[
            "read",
            "locate",
            "map",
            "mapping",
            "normalize",
            "check",
            "write",
            "run",
        ],
    ),
];

/// Crate, and the only areas that may name it.
const OWNED: &[(&str, &[&str])] = &[
    ("calamine", &["read"]),
    ("zip", &["read"]),
    ("encoding_rs", &["read"]),
    ("csv", &["read", "write"]),
    ("polars", &["write"]),
    ("polars_parquet", &["write"]),
    ("polars_arrow", &["write"]),
    ("clap", &["cli"]),
    ("toml", &["mapping", "vocabulary", "check", "problem"]),
];

#[test]
fn arrows_point_one_way() {
    let areas: Vec<&str> = MAY_IMPORT.iter().map(|(area, _)| *area).collect();
    let mut wrong = Vec::new();
    for (path, text) in sources() {
        let here = area(&path);
        let allowed: &[&str] = MAY_IMPORT
            .iter()
            .find(|(a, _)| *a == here)
            .map_or(&[], |(_, allowed)| allowed);
        for other in &areas {
            if here != *other
                && !matches!(here, "main" | "lib")
                && !allowed.contains(other)
                && code(&text).contains(&format!("crate::{other}::"))
            {
                wrong.push(format!("{path} imports {other}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn leaves_import_only_leaves() {
    let mut wrong = Vec::new();
    for (path, text) in sources() {
        if !LEAVES.contains(&area(&path)) {
            continue;
        }
        for line in code(&text).lines() {
            if let Some(rest) = line.split("crate::").nth(1) {
                let target: String = rest
                    .chars()
                    .take_while(|c| c.is_ascii_lowercase() || *c == '_')
                    .collect();
                if !target.is_empty() && !LEAVES.contains(&target.as_str()) {
                    wrong.push(format!("{path} imports {target}"));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn foreign_crates_stay_in_their_stage() {
    let mut wrong = Vec::new();
    for (path, text) in sources() {
        let code = code(&text);
        for (name, owners) in OWNED {
            let named = code.contains(&format!("use {name}::"))
                || code.contains(&format!(" {name}::"))
                || code.contains(&format!("({name}::"))
                || code.contains(&format!("<{name}::"))
                || code.contains(&format!("&{name}::"));
            if named && !owners.contains(&area(&path)) {
                wrong.push(format!("{path} names {name}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn no_file_grows_out_of_hand() {
    let long: Vec<String> = sources()
        .iter()
        .filter(|(_, text)| text.lines().count() > 600)
        .map(|(path, text)| format!("{path}: {} lines", text.lines().count()))
        .collect();
    assert!(long.is_empty(), "{}", long.join("\n"));
}

/// A blank is not a zero: no number is filled in where one is missing.
#[test]
fn no_missing_value_becomes_a_zero() {
    let mut wrong = Vec::new();
    for (path, text) in sources() {
        for (i, line) in code(&text).lines().enumerate() {
            if line.contains("unwrap_or(0.0") || line.contains("unwrap_or_default() as f64") {
                wrong.push(format!("{path}, code line {}: {}", i + 1, line.trim()));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
