//! Folders, globs and names: what a run reads, and what it passes over.

#![allow(
    clippy::print_stderr,
    clippy::print_stdout,
    reason = "a test tells what it skipped"
)]

use std::fs;
use std::path::{Path, PathBuf};
use wellread::read::{Digest, Discovery, Options, cells_at_most, discover, open, same_bytes_again};

fn put(path: &Path, text: &str) {
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    fs::write(path, text).unwrap();
}

fn names(discovery: &Discovery) -> Vec<&str> {
    discovery.files.iter().map(|f| &*f.name).collect()
}

fn told(discovery: &Discovery) -> Vec<String> {
    discovery
        .findings
        .iter()
        .map(|f| format!("{} {}: {}", f.code, f.place, f.message))
        .collect()
}

#[test]
fn folders_are_walked_and_what_is_no_report_is_told() {
    let root = tempfile::tempdir().unwrap();
    let root = root.path();
    for name in [
        "b.csv",
        "2025/a.xlsx",
        "2025/north/c.CSV",
        "report",
        "scan.pdf",
        "2025/~$a.xlsx",
        "lab.toml",
        "mappings/lab.toml",
        "mappings/mapping.schema.json",
        "mappings/scan.pdf",
        ".git/x.csv",
        ".hidden.csv",
    ] {
        put(&root.join(name), "a,b\n");
    }
    put(
        &root.join("water/datapackage.json"),
        "{\"created_by\": \"wellread 0.1.0\"}",
    );
    put(&root.join("water/results.csv"), "a,b\n");
    put(
        &root.join("water/results/year=2025/results.parquet"),
        "a,b\n",
    );
    put(&root.join("water/parts/one/results.csv"), "a,b\n");
    // A report that was put beside it.
    put(&root.join("water/new.csv"), "a,b\n");
    put(
        &root.join("other/datapackage.json"),
        "{\"name\": \"not ours\"}",
    );
    put(&root.join("other/results.csv"), "a,b\n");
    let found = discover(&[root.to_path_buf()]);
    assert_eq!(
        names(&found),
        [
            "2025/a.xlsx",
            "2025/north/c.CSV",
            "b.csv",
            "other/results.csv",
            "report",
            "water/new.csv"
        ]
    );
    let named = discover(&[root.join("water/results.csv"), root.join("water/new.csv")]);
    assert_eq!(names(&named), ["new.csv"]);
    assert_eq!(
        told(&named),
        ["dataset-skipped results.csv: a dataset that wellread wrote; not read as reports"]
    );
    assert_eq!(
        told(&found),
        [
            "file-skipped 2025/~$a.xlsx: a lock file of an office program; not read",
            "file-skipped lab.toml: a mapping or settings file; not read",
            "file-skipped mappings/scan.pdf: a PDF document; not read",
            "file-skipped other/datapackage.json: a data or settings file; not read",
            "file-skipped scan.pdf: a PDF document; not read",
            "dataset-skipped water: a dataset that wellread wrote; not read as reports",
        ]
    );
}

#[test]
fn the_order_of_paths_does_not_matter() {
    let root = tempfile::tempdir().unwrap();
    let (one, two) = (root.path().join("one"), root.path().join("two"));
    for path in [
        one.join("a.csv"),
        one.join("only.csv"),
        two.join("a.csv"),
        root.path().join("two.csv"),
    ] {
        put(&path, "a,b\n");
    }
    let glob = root.path().join("*.csv");
    let forth = discover(&[one.clone(), two.clone(), glob.clone()]);
    let back = discover(&[glob, two, one.clone(), one.join("a.csv")]);
    assert_eq!(
        names(&forth),
        ["one/a.csv", "only.csv", "two.csv", "two/a.csv"]
    );
    assert_eq!(names(&back), names(&forth));
}

#[test]
fn a_file_named_twice_is_one_file() {
    let root = tempfile::tempdir().unwrap();
    put(&root.path().join("sub/a.csv"), "a,b\n");
    let found = discover(&[
        root.path().to_path_buf(),
        root.path().join("sub"),
        root.path().join("sub/a.csv"),
    ]);
    assert_eq!(found.files.len(), 1);
}

#[test]
fn err_paths_that_lead_nowhere_are_findings() {
    let root = tempfile::tempdir().unwrap();
    let found = discover(&[
        root.path().join("gone.csv"),
        root.path().join("*.ods"),
        root.path().join("["),
    ]);
    assert!(found.files.is_empty());
    assert_eq!(
        told(&found),
        [
            "file-unreadable *.ods: could not be read: no file matches",
            "file-unreadable [: could not be read: Pattern syntax error near position 1: invalid range pattern",
            "file-unreadable gone.csv: could not be read: No such file or directory (os error 2)",
        ]
        .map(|t| t.replace("near position 1", &format!("near position {}", root.path().as_os_str().len() + 1)))
    );
}

#[cfg(unix)]
#[test]
fn err_what_is_no_file_is_told_and_never_waited_for() {
    use std::os::unix::fs::symlink;
    let root = tempfile::tempdir().unwrap();
    let root = root.path();
    fs::create_dir_all(root.join("folder.csv")).unwrap();
    put(&root.join("folder.csv/inside.csv"), "a,b\n");
    let made = std::process::Command::new("mkfifo")
        .arg(root.join("pipe.csv"))
        .status();
    assert!(made.unwrap().success());
    symlink(root, root.join("round")).unwrap();
    symlink(root.join("gone"), root.join("dangling.csv")).unwrap();
    let found = discover(&[root.to_path_buf()]);
    assert_eq!(names(&found), ["folder.csv/inside.csv"]);
    assert_eq!(
        told(&found),
        [
            "file-unreadable dangling.csv: could not be read: No such file or directory (os error 2)",
            "not-a-file pipe.csv: a pipe, not a file; not read",
            "not-a-file round: a link into a folder above it, not a file; not read",
        ]
    );
    // Named outright it is not waited for either.
    let opened = open(
        &root.join("pipe.csv"),
        &"pipe.csv".into(),
        &Options::default(),
    );
    assert!(opened.report().refused);
    assert_eq!(opened.report().findings[0].code, "not-a-file");
}

#[cfg(unix)]
#[test]
fn err_a_file_that_may_not_be_read_is_a_finding() {
    use std::os::unix::fs::PermissionsExt;
    let root = tempfile::tempdir().unwrap();
    let path = root.path().join("closed.csv");
    put(&path, "a,b\n");
    fs::set_permissions(&path, fs::Permissions::from_mode(0o000)).unwrap();
    if fs::File::open(&path).is_ok() {
        eprintln!("skipped: this user may read everything");
        return;
    }
    let opened = open(&path, &"closed.csv".into(), &Options::default());
    assert!(opened.report().refused);
    assert_eq!(
        opened.report().findings[0].message,
        "could not be read: Permission denied (os error 13)"
    );
}

#[test]
fn err_a_file_that_is_gone_is_a_finding() {
    let opened = open(
        &PathBuf::from("/no/such/file.csv"),
        &"file.csv".into(),
        &Options::default(),
    );
    assert!(opened.report().refused);
    assert_eq!(opened.report().findings[0].code, "file-unreadable");
}

#[test]
fn a_digest_at_hand_is_believed_while_the_file_is_the_same() {
    let root = tempfile::tempdir().unwrap();
    let path = root.path().join("a.csv");
    put(&path, "a,b\n1,2\n");
    let digest = Digest::of_file(&path).unwrap();
    let options = Options {
        digest: Some(digest.clone()),
        ..Options::default()
    };
    assert_eq!(
        open(&path, &"a.csv".into(), &options).report().sha256,
        digest.sha256
    );
    put(&path, "a,b\n1,2,3\n");
    let now = Digest::of_file(&path).unwrap().sha256;
    assert_ne!(now, digest.sha256);
    assert_eq!(open(&path, &"a.csv".into(), &options).report().sha256, now);
}

#[test]
fn the_same_bytes_again_are_told() {
    let finding = same_bytes_again(&"b.csv".into(), "a.csv");
    assert_eq!(finding.message, "the same bytes as 'a.csv'; read once");
    assert_eq!(finding.place.to_string(), "b.csv");
}

#[test]
fn err_a_folder_that_lies_too_deep_is_told() {
    let root = tempfile::tempdir().unwrap();
    let deep = |folders: usize| "d/".repeat(folders);
    put(&root.path().join(deep(63)).join("a.csv"), "a,b\n");
    put(&root.path().join(deep(64)).join("b.csv"), "a,b\n");
    let found = discover(&[root.path().to_path_buf()]);
    assert_eq!(names(&found), [deep(63) + "a.csv"]);
    let folder = deep(64);
    assert_eq!(
        told(&found),
        [format!(
            "folder-too-deep {}: more than 64 folders within each other; this one is not looked into",
            folder.trim_end_matches('/')
        )]
    );
}

#[cfg(unix)]
#[test]
fn a_pipe_in_place_of_the_sign_of_a_dataset_is_not_waited_for() {
    let root = tempfile::tempdir().unwrap();
    put(&root.path().join("sub/a.csv"), "a,b\n");
    let made = std::process::Command::new("mkfifo")
        .arg(root.path().join("sub/datapackage.json"))
        .status();
    assert!(made.unwrap().success());
    assert_eq!(
        names(&discover(&[root.path().to_path_buf()])),
        ["sub/a.csv"]
    );
}

#[cfg(unix)]
#[test]
fn names_that_are_no_unicode_are_told_apart() {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt;
    let root = tempfile::tempdir().unwrap();
    let alike = [b"a\xfc.csv", b"a\xfd.csv", b"a\xfe.csv", b"a\xff.csv"];
    for (i, name) in alike.into_iter().enumerate() {
        let path = root.path().join(OsStr::from_bytes(name));
        let text = format!("Sample,pH\nW{i},7\n");
        if fs::write(path, text).is_err() {
            eprintln!("skipped: this file system has no such names");
            return;
        }
    }
    let found = discover(&[root.path().to_path_buf()]);
    let mut names = names(&found);
    names.dedup();
    assert_eq!(names.len(), alike.len(), "{names:?}");
}

#[test]
fn err_a_terabyte_of_nothing_is_not_hashed_to_its_end() {
    let root = tempfile::tempdir().unwrap();
    let path = root.path().join("nothing.csv");
    put(&path, "Sample,pH\nW1,7\n");
    let file = fs::File::options().write(true).open(&path).unwrap();
    if file.set_len(1 << 40).is_err() {
        eprintln!("skipped: this file system has no such files");
        return;
    }
    let refused = Digest::of_file(&path).unwrap_err();
    assert_eq!(refused.to_string(), "neither a workbook nor lines of text");
    let opened = open(&path, &"nothing.csv".into(), &Options::default());
    assert!(opened.report().refused);
}

#[test]
fn what_a_report_can_hold_is_told_before_it_is_read() {
    let corpus = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/corpus");
    let weigh = |name: &str| cells_at_most(&corpus.join(name));
    assert!(weigh("plain.csv") < 1_000);
    assert!(weigh("plain.xlsx") < 10_000);
    assert!(weigh("plain.xls") < 10_000);
    // Repeats beyond the bound are refused when it is opened; so is a file that is gone.
    assert!(weigh("huge-repeats.ods") < 10_000);
    assert_eq!(weigh("gone.csv"), 0);
}
