//! A dataset grows: what a former run wrote comes back as it was.

use super::*;

#[test]
fn the_same_reports_give_the_same_bytes() {
    let one = tempfile::tempdir().unwrap();
    let two = tempfile::tempdir().unwrap();
    let reports = [report("a.csv"), report("b/c.csv")];
    assert!(write(one.path(), &reports, true).unwrap().changed);
    assert!(!write(one.path(), &reports, true).unwrap().changed);
    write(two.path(), &reports, true).unwrap();
    assert_eq!(files(one.path()), files(two.path()));
}

#[test]
fn one_thread_and_many_give_the_same_bytes() {
    let reports: Vec<Extract> = (0..40).map(|i| report(&format!("{i:03}.csv"))).collect();
    let written = [1, 2, 7].map(|threads| {
        let dir = tempfile::tempdir().unwrap();
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        pool.install(|| write(dir.path(), &reports, true)).unwrap();
        files(dir.path())
    });
    assert_eq!(written[0], written[1]);
    assert_eq!(written[0], written[2]);
}
