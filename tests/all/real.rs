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

/// Runs the scorer over the files whose name holds `only`; its counts by name.
fn score(folder: &Path, only: &str) -> BTreeMap<String, u64> {
    let json = tempfile::NamedTempFile::new().unwrap();
    let output = Command::new("python3")
        .arg(root().join("../shared/tools/score.py"))
        .args(["--program", env!("CARGO_BIN_EXE_wellread"), "--data"])
        .arg(folder)
        .arg("--truth")
        .arg(folder.join("truth.csv"))
        .arg("--mappings")
        .arg(root().join("tests/real-mappings"))
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
        let counts = score(&folder, only);
        let of = |name: &str| counts.get(name).copied().map_or(0, |n| n);
        for name in ["wrong", "missed", "extra", "misdated"] {
            assert_eq!(of(name), 0, "{only}: {name}");
        }
        assert!(of("right") > 0, "{only}");
        assert_eq!(of("right"), of("truth"), "{only}: right");
    }
}
