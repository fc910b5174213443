//! What can go wrong while writing, and what is left then.

use super::*;

#[test]
fn err_the_second_run_is_told_who_holds_the_dataset() {
    let dir = tempfile::tempdir().unwrap();
    let first = Dataset::open(dir.path(), Wait::No).unwrap();
    let error = Dataset::open(dir.path(), Wait::No).unwrap_err();
    let expected = format!(
        "{}: another run is writing to it (process {})",
        dir.path().display(),
        std::process::id()
    );
    assert_eq!(error.to_string(), expected);
    drop(first);
    Dataset::open(dir.path(), Wait::No).unwrap();
    assert_eq!(files(dir.path()).len(), 0);
}

#[test]
fn the_second_run_waits_where_it_should() {
    let dir = tempfile::tempdir().unwrap();
    let first = Dataset::open(dir.path(), Wait::No).unwrap();
    std::thread::scope(|scope| {
        let second = scope.spawn(|| write_waiting(dir.path()));
        std::thread::sleep(std::time::Duration::from_millis(50));
        assert!(!second.is_finished());
        drop(first);
        second.join().unwrap();
    });
    assert_eq!(files(dir.path()).len(), 11);
}

fn write_waiting(dir: &Path) {
    let dataset = Dataset::open(dir, Wait::Yes).unwrap();
    let sink = dataset
        .begin(options(true), Vocabulary::built_in())
        .unwrap();
    sink.finish(&BTreeMap::new(), Vec::new())
        .unwrap()
        .commit()
        .unwrap();
}

#[test]
fn err_files_of_others_are_not_overwritten() {
    for name in ["results.csv", "datapackage.json"] {
        let dir = tempfile::tempdir().unwrap();
        std::fs::write(dir.path().join(name), "{}").unwrap();
        let error = Dataset::open(dir.path(), Wait::No).unwrap_err();
        let expected = format!(
            "{}: stands where the dataset would, and is not one of ours; choose another folder",
            dir.path().join(name).display()
        );
        assert_eq!(error.to_string(), expected);
        assert_eq!(files(dir.path()).len(), 1);
    }
}

#[test]
fn a_users_own_files_stay() {
    let dir = tempfile::tempdir().unwrap();
    std::fs::write(dir.path().join("notebook.txt"), "mine").unwrap();
    write(dir.path(), &[report("a.csv")], true).unwrap();
    write(dir.path(), &[report("b.csv")], false).unwrap();
    assert_eq!(files(dir.path())["notebook.txt"], b"mine");
}

#[test]
fn a_run_that_does_not_commit_leaves_nothing() {
    let parent = tempfile::tempdir().unwrap();
    let dir = parent.path().join("water");
    let dataset = Dataset::open(&dir, Wait::No).unwrap();
    let mut sink = dataset
        .begin(options(true), Vocabulary::built_in())
        .unwrap();
    sink.push(&report("a.csv")).unwrap();
    drop(sink);
    drop(dataset);
    assert!(!dir.exists());
}
