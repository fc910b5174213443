//! A dataset grows: what a former run wrote comes back as it was.

use super::*;
use wellread::write::Former;

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

#[test]
fn a_report_comes_back_as_it_was_pushed() {
    let dir = tempfile::tempdir().unwrap();
    let reports = [report("a.csv"), report("b/c.csv"), report("d.csv")];
    write(dir.path(), &reports, true).unwrap();
    let mut former = Former::open(dir.path(), words()).unwrap().unwrap();
    assert_eq!(former.fingerprint(), "words of 2026");
    let files: Vec<_> = former
        .reports()
        .iter()
        .map(|r| (&*r.file, r.results))
        .collect();
    assert_eq!(files, [("a.csv", 5), ("b/c.csv", 5), ("d.csv", 5)]);
    assert!(former.other_findings().is_empty());
    for report in reports.iter().rev() {
        let mut expected = report.clone();
        expected
            .findings
            .sort_by_key(|finding| std::cmp::Reverse(finding.severity));
        assert_eq!(former.extract(&report.file).unwrap(), Some(expected));
    }
    assert_eq!(former.extract("e.csv").unwrap(), None);
}

/// A run over these reports into a dataset that may be there: what is new, and what is kept.
fn gather(dir: &Path, reports: &[Extract]) {
    let dataset = Dataset::open(dir, Wait::No).unwrap();
    let mut former = Former::open(dir, words()).unwrap();
    let mut all: BTreeMap<Arc<str>, Extract> = BTreeMap::new();
    if let Some(former) = &mut former {
        for file in former
            .reports()
            .iter()
            .map(|r| r.file.clone())
            .collect::<Vec<_>>()
        {
            let kept = former.extract(&file).unwrap().unwrap();
            all.insert(file, kept);
        }
    }
    for report in reports {
        all.insert(report.file.clone(), report.clone());
    }
    let mut sink = dataset
        .begin(options(true), Vocabulary::built_in())
        .unwrap();
    for report in all.values() {
        sink.push(report).unwrap();
    }
    let reports: Vec<Extract> = all.into_values().collect();
    let staged = finish(sink, &reports, vec![imbalance()]).unwrap();
    staged.commit().unwrap();
}

#[test]
fn a_then_b_is_a_and_b_at_once() {
    let [a, b, c] = ["a.csv", "m/b.csv", "z.csv"].map(report);
    let mut changed = b.clone();
    changed.measurements[0].value = Some(99.0);
    changed.sha256 = format!("{:0>64}", 9).into();
    let orders: [&[&[Extract]]; 5] = [
        &[&[a.clone(), changed.clone(), c.clone()]],
        &[std::slice::from_ref(&a), &[changed.clone(), c.clone()]],
        &[&[c.clone(), changed.clone()], std::slice::from_ref(&a)],
        &[
            std::slice::from_ref(&b),
            std::slice::from_ref(&a),
            std::slice::from_ref(&c),
            std::slice::from_ref(&changed),
        ],
        &[
            &[a.clone(), b.clone(), c.clone()],
            std::slice::from_ref(&changed),
            &[],
        ],
    ];
    let datasets = orders.map(|runs| {
        let dir = tempfile::tempdir().unwrap();
        runs.iter().for_each(|reports| gather(dir.path(), reports));
        files(dir.path())
    });
    for dataset in &datasets[1..] {
        assert_eq!(dataset, &datasets[0]);
    }
}

#[test]
fn rows_beyond_one_row_group_come_back() {
    let dir = tempfile::tempdir().unwrap();
    let long = |file: &str, rows: u32| {
        let mut long = report(file);
        let pattern = long.measurements[0].clone();
        long.measurements = (0..rows)
            .map(|row| Measurement {
                sample: SampleId(row % 3),
                recipe: RecipeId(row % 2),
                value: Some(f64::from(row) / 7.0),
                value_text: format!("{row}/7").into(),
                at: Address::new(row, 1),
                ..pattern.clone()
            })
            .collect();
        long.sheets.truncate(1);
        long.recipes.truncate(2);
        long.sheets[0].results = u64::from(rows);
        long.sheets[0].cells = u64::from(rows) + 13;
        long.findings
            .sort_by_key(|finding| std::cmp::Reverse(finding.severity));
        long
    };
    let reports = [long("a.csv", 5), long("b.csv", 300_000), long("c.csv", 5)];
    write(dir.path(), &reports, false).unwrap();
    let mut former = Former::open(dir.path(), words()).unwrap().unwrap();
    for report in &reports {
        assert_eq!(former.extract(&report.file).unwrap().as_ref(), Some(report));
    }
}

#[test]
fn findings_of_other_files_and_those_made_anew_are_told_apart() {
    let dir = tempfile::tempdir().unwrap();
    let dataset = Dataset::open(dir.path(), Wait::No).unwrap();
    let mut sink = dataset
        .begin(options(false), Vocabulary::built_in())
        .unwrap();
    let gathered = report("a.csv");
    sink.push(&gathered).unwrap();
    let refused = Finding::new(
        Severity::Error,
        "file-refused",
        Place::file(&"broken.xlsx".into()),
        "is no workbook",
        "",
    );
    let more = vec![refused.clone(), imbalance()];
    finish(sink, &[gathered], more).unwrap().commit().unwrap();
    let mut former = Former::open(dir.path(), words()).unwrap().unwrap();
    assert_eq!(former.other_findings(), [refused]);
    assert_eq!(former.extract("a.csv").unwrap().unwrap().findings.len(), 3);
}

#[test]
fn where_nothing_was_gathered_there_is_no_former() {
    let dir = tempfile::tempdir().unwrap();
    assert!(Former::open(dir.path(), words()).unwrap().is_none());
    let nowhere = dir.path().join("nowhere");
    assert!(Former::open(&nowhere, words()).unwrap().is_none());
}

#[test]
fn a_report_given_back_in_pieces_gives_the_same_bytes() {
    let whole = tempfile::tempdir().unwrap();
    let reports = [report("a.csv"), report("b.csv")];
    write(whole.path(), &reports, true).unwrap();
    let mut former = Former::open(whole.path(), words()).unwrap().unwrap();
    let results = reports[0].measurements.len() as u64;
    assert!(results > 2, "more than a piece");
    for rows in [1, 2, results - 1, results, results + 1] {
        let mut pieces = Vec::new();
        for report in &reports {
            let is_there = former.each_piece(&report.file, rows, |piece| {
                pieces.push(piece);
                Ok(())
            });
            assert!(is_there.unwrap());
        }
        assert_eq!(pieces.len() as u64, 2 * results.div_ceil(rows));
        let again = tempfile::tempdir().unwrap();
        write(again.path(), &pieces, true).unwrap();
        assert!(
            files(again.path()) == files(whole.path()),
            "pieces of {rows}"
        );
    }
    assert!(!former.each_piece("c.csv", 1, |_| Ok(())).unwrap());
}

/// Of a SHA-256, in lower-case hexadecimal.
fn digest(bytes: &[u8]) -> String {
    use sha2::Digest;
    let digest = sha2::Sha256::digest(bytes);
    digest.iter().map(|byte| format!("{byte:02x}")).collect()
}

#[test]
fn no_byte_of_a_former_table_that_was_changed_and_signed_anew_panics() {
    let dir = tempfile::tempdir().unwrap();
    write(dir.path(), &[report("a.csv")], false).unwrap();
    let package = std::fs::read_to_string(dir.path().join("datapackage.json")).unwrap();
    let path = dir.path().join("account.parquet");
    let whole = std::fs::read(&path).unwrap();
    let mut refused = 0;
    for at in (0..whole.len()).step_by(3) {
        let mut bytes = whole.clone();
        bytes[at] = !bytes[at];
        std::fs::write(&path, &bytes).unwrap();
        let signed = package.replace(&digest(&whole), &digest(&bytes));
        std::fs::write(dir.path().join("datapackage.json"), signed).unwrap();
        // What still says the same is taken up.
        refused += usize::from(Former::open(dir.path(), words()).is_err());
    }
    assert!(refused > whole.len() / 12, "{refused} of {}", whole.len());
}

#[test]
fn err_a_former_dataset_that_was_meddled_with_is_not_taken_up() {
    type Meddle = fn(&Path);
    let cases: [(&str, Meddle, &str); 5] = [
        (
            "bytes",
            |dir| {
                let path = dir.join("results.parquet");
                let mut bytes = std::fs::read(&path).unwrap();
                bytes[100] ^= 1;
                std::fs::write(path, bytes).unwrap();
            },
            "results.parquet: has changed since it was written; the dataset cannot grow: gather \
             everything into a new folder",
        ),
        (
            "version",
            |dir| replace(dir, "\"schema_version\": 1", "\"schema_version\": 99"),
            "datapackage.json: was written with version 99 of the tables, and this program writes \
             version 1; the dataset cannot grow: gather everything into a new folder",
        ),
        (
            "resource",
            |dir| {
                replace(
                    dir,
                    "\"path\": \"account.parquet\"",
                    "\"path\": \"count.parquet\"",
                )
            },
            "account.parquet: is not described in datapackage.json; the dataset cannot grow: \
             gather everything into a new folder",
        ),
        (
            "hash",
            |dir| replace(dir, "\"sha256:", "\"md5:"),
            "datapackage.json: a resource lacks path or hash",
        ),
        (
            "property",
            |dir| replace(dir, "\"fingerprint\"", "\"thumb\""),
            "datapackage.json: property 'wellread' cannot be understood: missing field \
             `fingerprint`",
        ),
    ];
    for (name, meddle, expected) in cases {
        let dir = tempfile::tempdir().unwrap();
        write(dir.path(), &[report("a.csv")], true).unwrap();
        meddle(dir.path());
        let error = Former::open(dir.path(), words()).unwrap_err().to_string();
        let start = format!("{}{}", dir.path().display(), std::path::MAIN_SEPARATOR);
        assert_eq!(error.strip_prefix(&start), Some(expected), "{name}");
    }
}

fn replace(dir: &Path, from: &str, to: &str) {
    let path = dir.join("datapackage.json");
    let text = std::fs::read_to_string(&path).unwrap();
    assert!(text.contains(from));
    std::fs::write(path, text.replace(from, to)).unwrap();
}
