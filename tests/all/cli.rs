//! The command as a person or a script meets it: exit codes, streams, colours.

use std::path::Path;
use std::process::{Command, Output, Stdio};

fn wellread(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_wellread"))
        .args(arguments)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .env_remove("NO_COLOR")
        .output()
        .unwrap()
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

#[test]
fn the_version_is_the_package_version() {
    let output = wellread(&["--version"]);
    assert_eq!(
        out(&output),
        format!("wellread {}\n", env!("CARGO_PKG_VERSION"))
    );
    assert_eq!(output.status.code(), Some(0));
}

#[test]
fn err_without_words_the_help_is_shown_and_nothing_is_done() {
    let output = wellread(&[]);
    assert_eq!(output.status.code(), Some(2));
    assert!(err(&output).contains("gather"), "{}", err(&output));
}

#[test]
fn a_run_over_the_samples_is_done_and_summed_up_on_a_screen() {
    let into = tempfile::tempdir().unwrap();
    let folder = into.path().to_str().unwrap();
    let output = wellread(&["gather", "samples", "--into", folder]);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    let text = out(&output);
    for word in ["read", "placed", "unplaced", "ions", "findings.csv"] {
        assert!(text.contains(word), "{word} is missing in\n{text}");
    }
    assert!(!text.contains('\u{1b}'), "colour into a pipe:\n{text}");
    assert!(text.lines().count() <= 45, "more than a screen:\n{text}");
    assert_eq!(err(&output), "", "progress into a pipe");
}

#[test]
fn findings_end_with_one_only_where_they_were_asked_for() {
    let into = tempfile::tempdir().unwrap();
    let folder = into.path().to_str().unwrap();
    let warned = wellread(&[
        "gather",
        "samples",
        "--into",
        folder,
        "--fail-on",
        "warning",
    ]);
    assert_eq!(warned.status.code(), Some(1), "{}", err(&warned));
    // The scenario has warnings, but nothing that could not be read.
    let clean = wellread(&["gather", "samples", "--into", folder, "--fail-on", "error"]);
    assert_eq!(clean.status.code(), Some(0), "{}", err(&clean));
}

#[test]
fn a_dry_run_reads_everything_and_writes_nothing() {
    let parent = tempfile::tempdir().unwrap();
    let folder = parent.path().join("water");
    let output = wellread(&[
        "gather",
        "samples",
        "--into",
        folder.to_str().unwrap(),
        "--dry-run",
    ]);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    assert!(out(&output).contains("nothing was written"));
    assert!(!folder.exists());
}

#[test]
fn the_summary_as_json_has_the_same_tally() {
    let into = tempfile::tempdir().unwrap();
    let folder = into.path().to_str().unwrap();
    let output = wellread(&["gather", "samples", "--into", folder, "--json"]);
    let summary: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let rows = std::fs::read_to_string(Path::new(folder).join("account.csv")).unwrap();
    assert!(summary["reports_read"].as_u64().unwrap() > 0);
    assert!(summary["results"].as_u64().unwrap() > 0);
    assert!(rows.lines().count() > 1);
}

#[test]
fn err_a_path_that_does_not_exist_is_a_finding_of_the_run() {
    let into = tempfile::tempdir().unwrap();
    let folder = into.path().to_str().unwrap();
    let output = wellread(&[
        "gather",
        "no-such-folder",
        "--into",
        folder,
        "--fail-on",
        "error",
    ]);
    assert_eq!(output.status.code(), Some(1));
    assert!(out(&output).contains("no-such-folder"), "{}", out(&output));
}

#[test]
fn a_reader_that_has_seen_enough_is_no_error() {
    let mut child = Command::new(env!("CARGO_BIN_EXE_wellread"))
        .arg("terms")
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
}
