//! Several runs beside each other, and all of them together.

use super::*;
use wellread::write::{Parts, part_folder};

fn gather_part(dataset: &Path, name: &str, reports: &[Extract]) {
    write(&part_folder(dataset, name).unwrap(), reports, false).unwrap();
}

/// Joins as a run does: every report, in order, into the dataset itself.
fn join(dir: &Path) -> wellread::error::Result<Written> {
    let dataset = Dataset::open(dir, Wait::No)?;
    let mut parts = Parts::open(dir, words(), Wait::No)?;
    let how = Options {
        fingerprint: parts.fingerprint().to_owned(),
        ..options(true)
    };
    let mut sink = dataset.begin(how, Vocabulary::built_in())?;
    let mut joined = Vec::new();
    parts.each(|extract| {
        sink.push(&extract)?;
        joined.push(extract);
        Ok(())
    })?;
    finish(sink, &joined, vec![imbalance()])?.commit()
}

fn tables(dir: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut files = files(dir);
    files.retain(|name, _| !name.starts_with("parts/"));
    files
}

#[test]
fn parts_joined_are_what_one_run_writes() {
    let [a, b, c, d] = ["a.csv", "b/c.csv", "m.csv", "z.csv"].map(report);
    let whole = tempfile::tempdir().unwrap();
    write(
        whole.path(),
        &[a.clone(), b.clone(), c.clone(), d.clone()],
        true,
    )
    .unwrap();
    let dir = tempfile::tempdir().unwrap();
    gather_part(dir.path(), "north", &[b.clone(), d]);
    gather_part(dir.path(), "south-2", &[a, c]);
    join(dir.path()).unwrap();
    assert_eq!(tables(dir.path()), files(whole.path()));
    // Again, and after a part has changed: the dataset is never counted twice.
    join(dir.path()).unwrap();
    assert_eq!(tables(dir.path()), files(whole.path()));
    let mut changed = b;
    changed.measurements[0].value = Some(99.0);
    gather_part(dir.path(), "north", &[changed, report("z.csv")]);
    assert_eq!(join(dir.path()).unwrap().results, 20);
    assert!(csv_text(dir.path(), "results").contains(",calcium,dissolved,99,"));
}

#[test]
fn what_was_gathered_without_a_part_is_kept() {
    let dir = tempfile::tempdir().unwrap();
    write(dir.path(), &[report("a.csv"), report("b.csv")], true).unwrap();
    gather_part(dir.path(), "more", &[report("b.csv"), report("c.csv")]);
    assert_eq!(join(dir.path()).unwrap().results, 15);
}

#[test]
fn err_parts_that_do_not_fit_together_are_not_joined() {
    type Prepare = fn(&Path);
    let cases: [(&str, Prepare, &str); 4] = [
        (
            "none",
            |_| {},
            "/parts: holds no part: 'wellread gather --part NAME' writes one",
        ),
        (
            "twice",
            |dir| {
                gather_part(dir, "north", &[report("a.csv")]);
                gather_part(dir, "south", &[report("a.csv")]);
            },
            ": 'a.csv' is in part 'north' and in part 'south': a report belongs to one",
        ),
        (
            "words",
            |dir| {
                gather_part(dir, "north", &[report("a.csv")]);
                let other = Options {
                    fingerprint: "words of 2027".into(),
                    ..options(false)
                };
                let folder = part_folder(dir, "south").unwrap();
                write_as(&folder, &[report("b.csv")], other).unwrap();
            },
            ": part 'north' and part 'south' were read with different mappings or versions of the \
             program; gather them anew with the same",
        ),
        (
            "kept words",
            |dir| {
                gather_part(dir, "north", &[report("a.csv")]);
                let other = Options {
                    fingerprint: "words of 2027".into(),
                    ..options(false)
                };
                write_as(dir, &[report("b.csv")], other).unwrap();
            },
            ": part 'north' and what was gathered before were read with different mappings or \
             versions of the program; gather them anew with the same",
        ),
    ];
    for (name, prepare, expected) in cases {
        let dir = tempfile::tempdir().unwrap();
        prepare(dir.path());
        let error = Parts::open(dir.path(), words(), Wait::No)
            .unwrap_err()
            .to_string();
        let start = dir.path().display().to_string();
        assert_eq!(error.strip_prefix(&start), Some(expected), "{name}");
    }
}

#[test]
fn err_a_part_that_is_being_written_is_not_joined() {
    let dir = tempfile::tempdir().unwrap();
    let folder = part_folder(dir.path(), "north").unwrap();
    gather_part(dir.path(), "north", &[report("a.csv")]);
    let held = Dataset::open(&folder, Wait::No).unwrap();
    let error = Parts::open(dir.path(), words(), Wait::No).unwrap_err();
    let expected = format!(
        "{}: another run is writing to it (process {})",
        folder.display(),
        std::process::id()
    );
    assert_eq!(error.to_string(), expected);
    drop(held);
    Parts::open(dir.path(), words(), Wait::No).unwrap();
}

#[test]
fn err_a_part_needs_a_plain_name() {
    for name in ["", "North", "a/b", "..", "ä", "a b", &"x".repeat(65)] {
        let error = part_folder(Path::new("water"), name).unwrap_err();
        let expected =
            format!("'{name}' cannot name a part: up to 64 small letters, digits and hyphens can");
        assert_eq!(error.to_string(), expected);
    }
    let folder = part_folder(Path::new("water"), "north-2").unwrap();
    assert_eq!(folder, Path::new("water/parts/north-2"));
}
