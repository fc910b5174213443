//! `results` as a folder of partitions.

use super::*;
use wellread::write::{Former, Partition};

fn by(partition: Partition, csv: bool) -> Options {
    Options {
        partition: Some(partition),
        ..options(csv)
    }
}

fn reports() -> [Extract; 3] {
    ["a.csv", "b/c.csv", "d.csv"].map(report)
}

#[test]
fn each_year_has_its_folder_and_the_undated_have_one() {
    let dir = tempfile::tempdir().unwrap();
    let written = write_as(dir.path(), &reports(), by(Partition::Year, false)).unwrap();
    assert_eq!(written.results, 15);
    let names: Vec<String> = files(dir.path()).into_keys().collect();
    assert_eq!(
        names,
        [
            "account.parquet",
            "datapackage.json",
            "findings.parquet",
            "results/year=2025/results.parquet",
            "results/year=2026/results.parquet",
            "results/year=__HIVE_DEFAULT_PARTITION__/results.parquet",
            "samples.parquet",
            "unplaced.parquet",
        ]
    );
}

#[test]
fn the_csv_twin_is_the_same_with_and_without_partitions() {
    let whole = tempfile::tempdir().unwrap();
    let parted = tempfile::tempdir().unwrap();
    write(whole.path(), &reports(), true).unwrap();
    write_as(parted.path(), &reports(), by(Partition::Source, true)).unwrap();
    assert_eq!(
        csv_text(parted.path(), "results"),
        csv_text(whole.path(), "results")
    );
}

#[test]
fn a_report_comes_back_from_its_partitions_as_it_was_pushed() {
    for partition in Partition::ALL {
        let dir = tempfile::tempdir().unwrap();
        write_as(dir.path(), &reports(), by(partition, false)).unwrap();
        let mut former = Former::open(dir.path(), words()).unwrap().unwrap();
        for mut report in reports() {
            report
                .findings
                .sort_by_key(|finding| std::cmp::Reverse(finding.severity));
            let back = former.extract(&report.file).unwrap();
            assert_eq!(back, Some(report), "{}", partition.name());
        }
    }
}

#[test]
fn another_partitioning_leaves_nothing_of_the_one_before() {
    let [year, client] = [Partition::Year, Partition::Client].map(|partition| {
        let dir = tempfile::tempdir().unwrap();
        write_as(dir.path(), &reports(), by(partition, true)).unwrap();
        files(dir.path())
    });
    let whole = tempfile::tempdir().unwrap();
    write(whole.path(), &reports(), true).unwrap();
    let whole = files(whole.path());
    let dir = tempfile::tempdir().unwrap();
    for (how, expected) in [
        (by(Partition::Year, true), &year),
        (by(Partition::Client, true), &client),
        (options(true), &whole),
        (by(Partition::Year, true), &year),
        (by(Partition::Year, true), &year),
    ] {
        write_as(dir.path(), &reports(), how).unwrap();
        assert_eq!(&files(dir.path()), expected);
    }
}

#[test]
fn without_any_result_there_is_still_a_table() {
    let dir = tempfile::tempdir().unwrap();
    write_as(dir.path(), &[], by(Partition::Year, false)).unwrap();
    let name = "results/year=__HIVE_DEFAULT_PARTITION__/results.parquet";
    assert!(files(dir.path()).contains_key(name));
    let former = Former::open(dir.path(), words()).unwrap().unwrap();
    assert!(former.reports().is_empty());
}

#[test]
fn err_too_many_partitions_are_refused() {
    let dir = tempfile::tempdir().unwrap();
    let mut many = report("a.csv");
    let (sample, pattern) = (many.samples[0].clone(), many.measurements[0].clone());
    many.samples = (0..201)
        .map(|i| Sample {
            site: text(&format!("Site {i}")),
            key: format!("{i}").into(),
            ..sample.clone()
        })
        .collect();
    many.measurements = (0..201)
        .map(|i| Measurement {
            sample: SampleId(i),
            at: Address::new(i, 0),
            ..pattern.clone()
        })
        .collect();
    let error = write_as(dir.path(), &[many], by(Partition::Site, true)).unwrap_err();
    assert_eq!(
        error.to_string(),
        "there are more than 200 values of site: partition by something with fewer"
    );
}

#[test]
fn err_a_folder_of_others_is_not_replaced() {
    let dir = tempfile::tempdir().unwrap();
    lay_own_folder(dir.path());
    write(dir.path(), &reports(), true).unwrap();
    let error = write_as(dir.path(), &reports(), by(Partition::Year, true)).unwrap_err();
    let expected = format!(
        "{}: stands where the dataset would, and is not one of ours; choose another folder",
        dir.path().join("results").display()
    );
    assert_eq!(error.to_string(), expected);
    assert_eq!(files(dir.path())["results/mine.txt"], b"mine");
}

fn lay_own_folder(dir: &Path) {
    std::fs::create_dir_all(dir.join("results")).unwrap();
    std::fs::write(dir.join("results/mine.txt"), "mine").unwrap();
}

#[test]
fn a_switch_of_folders_that_a_crash_broke_off_is_finished() {
    let of = |how: Options| {
        let dir = tempfile::tempdir().unwrap();
        write_as(dir.path(), &reports(), how).unwrap();
        dir
    };
    let year = || of(by(Partition::Year, false));
    let client = || of(by(Partition::Client, false));
    let whole = || of(options(false));
    type Make<'a> = &'a dyn Fn() -> tempfile::TempDir;
    let cases: [(&str, Make<'_>, Make<'_>); 4] = [
        ("one file to folders", &whole, &year),
        ("folders to one file", &year, &whole),
        ("folders to other folders", &year, &client),
        ("the same folders", &year, &year),
    ];
    for (name, old, new) in cases {
        let new = new();
        let expected = files(new.path());
        let put = tops(new.path());
        let gone: Vec<String> = tops(old().path())
            .into_iter()
            .filter(|name| !put.contains(name))
            .collect();
        // One moment more than there are renames: between setting a folder aside and its rename.
        for (done, aside) in (0..=put.len()).flat_map(|done| [(done, false), (done, true)]) {
            let dir = old();
            let hidden = dir.path().join(".wellread");
            for folder in ["next", "former"] {
                std::fs::create_dir_all(hidden.join(folder)).unwrap();
            }
            let copy = new_copy(new.path());
            for (i, name) in put.iter().enumerate() {
                let (from, to) = (copy.path().join(name), dir.path().join(name));
                if to.is_dir() && (i < done || (i == done && aside)) {
                    std::fs::rename(&to, hidden.join("former").join(name)).unwrap();
                }
                let place = if i < done {
                    to
                } else {
                    hidden.join("next").join(name)
                };
                std::fs::rename(from, place).unwrap();
            }
            let journal = format!("{{\"put\":{put:?},\"remove\":{gone:?}}}");
            std::fs::write(hidden.join("switch"), journal).unwrap();
            let mut former = Former::open(dir.path(), words()).unwrap().unwrap();
            assert!(former.extract("d.csv").unwrap().is_some(), "{name} {done}");
            drop(Dataset::open(dir.path(), Wait::No).unwrap());
            assert_eq!(files(dir.path()), expected, "{name} {done}");
        }
    }
}

fn tops(dir: &Path) -> Vec<String> {
    let entries = std::fs::read_dir(dir).unwrap();
    let mut tops: Vec<String> = entries
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    tops.sort();
    tops
}

fn new_copy(of: &Path) -> tempfile::TempDir {
    let dir = tempfile::tempdir().unwrap();
    for (name, bytes) in files(of) {
        let path = dir.path().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, bytes).unwrap();
    }
    dir
}
