//! The README says what the program does: its session is run and must print what stands there, its
//! mapping must be one, its commands are those of CI. `WELLREAD_BLESS=1` writes the session anew.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn readme() -> String {
    fs::read_to_string(root().join("README.md")).unwrap()
}

/// The bodies of the fenced blocks of one language.
fn blocks(text: &str, language: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut body: Option<String> = None;
    for line in text.lines() {
        match &mut body {
            None if line == format!("```{language}") => body = Some(String::new()),
            None => {}
            Some(_) if line == "```" => found.extend(body.take()),
            Some(body) => {
                body.push_str(line);
                body.push('\n');
            }
        }
    }
    found
}

/// A folder with the samples and the mappings, where the session can write.
fn place_of_session() -> tempfile::TempDir {
    fn copy(from: &Path, to: &Path) {
        fs::create_dir(to).unwrap();
        for entry in fs::read_dir(from).unwrap() {
            let entry = entry.unwrap();
            let target = to.join(entry.file_name());
            if entry.path().is_file() {
                fs::copy(entry.path(), target).unwrap();
            }
        }
    }
    let place = tempfile::tempdir().unwrap();
    for folder in ["samples", "mappings"] {
        copy(&root().join(folder), &place.path().join(folder));
    }
    place
}

/// Runs the commands of a block (lines that begin with `$ `), and gives the block as it should read.
fn played(block: &str, place: &Path) -> String {
    let program = PathBuf::from(env!("CARGO_BIN_EXE_wellread"));
    let path = format!(
        "{}:{}",
        program.parent().unwrap().display(),
        std::env::var("PATH").unwrap()
    );
    let mut text = String::new();
    for command in block.lines().filter_map(|line| line.strip_prefix("$ ")) {
        let output = Command::new("sh")
            .args(["-c", command])
            .current_dir(place)
            .env("PATH", &path)
            .env("NO_COLOR", "1")
            .output()
            .unwrap();
        assert_ne!(output.status.code(), Some(2), "{command}: {output:?}");
        text.push_str(&format!("$ {command}\n"));
        text.push_str(&String::from_utf8(output.stdout).unwrap());
    }
    text
}

#[test]
fn the_session_of_the_readme_prints_what_stands_there() {
    let place = place_of_session();
    let text = readme();
    let mut now = text.clone();
    let blocks = blocks(&text, "console");
    assert!(!blocks.is_empty());
    for block in blocks {
        now = now.replace(&block, &played(&block, place.path()));
    }
    if std::env::var_os("WELLREAD_BLESS").is_some() {
        fs::write(root().join("README.md"), &now).unwrap();
        return;
    }
    for (before, after) in text.lines().zip(now.lines()) {
        assert_eq!(before, after);
    }
    assert_eq!(text.len(), now.len());
}

#[test]
fn the_mapping_of_the_readme_is_one() {
    for (number, block) in blocks(&readme(), "toml").iter().enumerate() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join(format!("lab-{number}.toml")), block).unwrap();
        let output = Command::new(env!("CARGO_BIN_EXE_wellread"))
            .args(["mappings", "--check"])
            .arg(folder.path())
            .output()
            .unwrap();
        assert!(output.status.success(), "{output:?}");
    }
}

#[test]
fn ci_runs_the_commands_of_the_readme() {
    let ci = fs::read_to_string(root().join(".ci/run")).unwrap();
    let readme = readme();
    let sh = blocks(&readme, "sh").join("");
    assert!(sh.contains("cargo run --release -- gather samples/ --into water\n"));
    assert!(sh.contains("cargo test --release\n"));
    assert!(ci.contains("\ncargo test --release\n"));
    assert!(ci.contains("cargo run --release --quiet -- gather samples/ --into "));
}
