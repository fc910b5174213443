//! Real files, where they are at hand (`../shared/real`): every one goes through the whole program,
//! the account law holds for each, and with a mapping the score of a person's reading is clean.
//! Nothing of them is copied here; the mappings in `tests/real-mappings` hold headings only.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use wellread::run::{self, Request};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// `None`, with a message, where the folder is absent.
fn real() -> Option<PathBuf> {
    let folder = root().join("../shared/real");
    if folder.join("truth.csv").is_file() {
        return Some(folder);
    }
    eprintln!("left out: no real files in {}", folder.display());
    None
}

/// All reports of the folder, relative to it.
fn reports(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for origin in fs::read_dir(folder).unwrap() {
        let origin = origin.unwrap().path();
        if origin.is_dir() {
            let files = fs::read_dir(&origin).unwrap();
            found.extend(files.map(|file| file.unwrap().path()));
        }
    }
    found.sort();
    found
}

#[test]
fn every_real_file_goes_through_and_its_cells_add_up() {
    let Some(folder) = real() else { return };
    let into = tempfile::tempdir().unwrap();
    for (number, file) in reports(&folder).iter().enumerate() {
        let dataset = into.path().join(number.to_string());
        let request = Request {
            paths: vec![file.clone()],
            into: dataset.clone(),
            mappings: Some(root().join("tests/real-mappings")),
            csv: true,
            ..Request::default()
        };
        run::gather(&request, &|_| {}).unwrap();
        let mut accounts = csv::Reader::from_path(dataset.join("account.csv")).unwrap();
        let mut results = 0;
        for row in accounts.deserialize::<BTreeMap<String, String>>() {
            let row = row.unwrap();
            let count = |column: &str| row[column].parse::<u64>().unwrap();
            let sum: u64 = ["results", "identity", "headings", "set_aside", "unplaced"]
                .into_iter()
                .map(count)
                .sum();
            assert_eq!(count("cells"), sum, "{} {}", file.display(), row["sheet"]);
            results += count("results");
        }
        let table = csv::Reader::from_path(dataset.join("results.csv")).unwrap();
        assert_eq!(
            table.into_records().count() as u64,
            results,
            "{}",
            file.display()
        );
    }
}

/// Runs the scorer over the files whose name holds `only`, with the mappings of a folder; its counts by name.
fn score(folder: &Path, only: &str, mappings: &Path) -> BTreeMap<String, u64> {
    let json = tempfile::NamedTempFile::new().unwrap();
    let output = Command::new("python3")
        .arg(root().join("../shared/tools/score.py"))
        .args(["--program", env!("CARGO_BIN_EXE_wellread"), "--data"])
        .arg(folder)
        .arg("--truth")
        .arg(folder.join("truth.csv"))
        .arg("--mappings")
        .arg(mappings)
        .args(["--only", only, "--json"])
        .arg(json.path())
        .output()
        .unwrap();
    let told = String::from_utf8_lossy(&output.stdout);
    assert!(output.status.success(), "{only}: the scorer failed: {told}");
    println!("{told}");
    serde_json::from_str(&fs::read_to_string(json.path()).unwrap()).unwrap()
}

#[test]
fn mapped_real_files_read_as_a_person_reads_them() {
    let Some(folder) = real() else { return };
    for only in [
        "semarang-indonesia/data_smg.csv",
        "telangana-india/ground_water_quality_2019_post.csv",
        "telangana-india/ground_water_quality_2020_post.csv",
        "puerto-wilches-colombia/muestras.csv",
    ] {
        let counts = score(&folder, only, &root().join("tests/real-mappings"));
        assert_clean(only, &counts);
    }
}

/// Every result is what a person reads, and nothing else is placed.
fn assert_clean(only: &str, counts: &BTreeMap<String, u64>) {
    let of = |name: &str| counts.get(name).copied().map_or(0, |n| n);
    for name in ["wrong", "missed", "extra", "misdated"] {
        assert_eq!(of(name), 0, "{only}: {name}");
    }
    assert!(of("right") > 0, "{only}");
    assert_eq!(of("right"), of("truth"), "{only}: right");
}

/// A draft with the lines of a person put in.
fn edited(draft: &str, edits: &[toml::Value]) -> String {
    let mut lines: Vec<String> = draft.lines().map(ToOwned::to_owned).collect();
    for edit in edits {
        let (after, line) = (
            edit["after"].as_str().unwrap(),
            edit["line"].as_str().unwrap(),
        );
        let key = line.split(" = ").next().unwrap();
        lines.retain(|old| !old.starts_with(&format!("{key} = ")));
        let at = lines.iter().position(|old| old.starts_with(after)).unwrap();
        lines.insert(at + 1, line.to_owned());
    }
    lines.join("\n")
}

#[test]
fn drafts_edited_in_a_few_lines_read_as_a_person_reads() {
    const MOST_LINES: usize = 10;
    let Some(folder) = real() else { return };
    let list = fs::read_to_string(root().join("tests/real-edits.toml")).unwrap();
    let list: toml::Table = list.parse().unwrap();
    for report in list["report"].as_array().unwrap() {
        let file = report["file"].as_str().unwrap();
        let edits = report["edits"].as_array().unwrap();
        assert!(edits.len() <= MOST_LINES, "{file}");
        let mappings = tempfile::tempdir().unwrap();
        let output = Command::new(env!("CARGO_BIN_EXE_wellread"))
            .arg("draft")
            .arg(folder.join(file))
            .arg("--into")
            .arg(mappings.path())
            .output()
            .unwrap();
        assert!(output.status.success(), "{file}: no draft");
        let drafts = fs::read_dir(mappings.path()).unwrap();
        let mapping = drafts
            .map(|entry| entry.unwrap().path())
            .find(|path| path.extension().is_some_and(|e| e == "toml"))
            .unwrap();
        let draft = fs::read_to_string(&mapping).unwrap();
        fs::write(&mapping, edited(&draft, edits)).unwrap();
        assert_clean(file, &score(&folder, file, mappings.path()));
    }
}
