//! A dataset grows by content: however it was gathered, the same reports give the same bytes.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use wellread::run::{Request, Step, Summary, gather, join};

fn samples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("samples")
}

fn mappings() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("mappings")
}

fn run(paths: &[PathBuf], into: &Path) -> Summary {
    let request = Request {
        paths: paths.to_vec(),
        into: into.to_owned(),
        mappings: Some(mappings()),
        dry_run: false,
        csv: true,
        wait: false,
        much_memory: None,
        partition: None,
    };
    gather(&request, &|_| ()).unwrap()
}

fn bytes(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap())
        .map(|e| {
            let name = e.file_name().to_string_lossy().into_owned();
            (name, fs::read(e.path()).unwrap())
        })
        .filter(|(name, _)| !name.starts_with('.'))
        .collect()
}

/// Names of the files that differ: shorter to read than the bytes.
fn differing(a: &BTreeMap<String, Vec<u8>>, b: &BTreeMap<String, Vec<u8>>) -> Vec<String> {
    a.keys()
        .chain(b.keys())
        .filter(|name| a.get(*name) != b.get(*name))
        .cloned()
        .collect()
}

/// The reports of the scenario, copied into a folder of their own, in two halves.
fn halves(folder: &Path) -> [Vec<PathBuf>; 2] {
    let mut halves = [Vec::new(), Vec::new()];
    let mut names: Vec<PathBuf> = fs::read_dir(samples())
        .unwrap()
        .map(|e| e.unwrap().path())
        .filter(|p| {
            !matches!(
                p.extension().and_then(|e| e.to_str()),
                Some("py" | "md") | None
            )
        })
        .filter(|p| p.is_file())
        .collect();
    names.sort();
    for (i, path) in names.iter().enumerate() {
        let copy = folder.join(path.file_name().unwrap());
        fs::copy(path, &copy).unwrap();
        halves[i % 2].push(copy);
    }
    halves
}

#[test]
fn the_same_reports_again_give_the_same_bytes_and_are_not_read_again() {
    let place = tempfile::tempdir().unwrap();
    let into = place.path().join("water");
    let first = run(&[samples()], &into);
    let before = bytes(&into);
    let second = run(&[samples()], &into);
    assert_eq!(differing(&before, &bytes(&into)), Vec::<String>::new());
    assert_eq!(second.reports_read, 0);
    assert_eq!(second.reports_unchanged, first.reports_read);
    assert_eq!(second.results, first.results);
}

#[test]
fn one_half_and_then_the_other_give_what_both_give_at_once() {
    let place = tempfile::tempdir().unwrap();
    let reports = place.path().join("reports");
    fs::create_dir(&reports).unwrap();
    let [one, other] = halves(&reports);
    let grown = place.path().join("grown");
    run(&one, &grown);
    run(&other, &grown);
    let whole = place.path().join("whole");
    let all: Vec<PathBuf> = one.into_iter().chain(other).collect();
    run(&all, &whole);
    assert_eq!(
        differing(&bytes(&grown), &bytes(&whole)),
        Vec::<String>::new()
    );
}

#[test]
fn samples_without_a_name_are_not_those_of_another_report_of_that_day() {
    let place = tempfile::tempdir().unwrap();
    let into = place.path().join("water");
    let report = |name: &str, source: &str, text: &str| {
        let path = place.path().join(name);
        fs::write(&path, format!("{source}{text}")).unwrap();
        path
    };
    let days = "Date,Ca mg/L,Na mg/L\n2025-05-01,60,30\n2025-06-01,61,31\n";
    let others = "Date,Ca mg/L,SO4 mg/L as SO4\n2025-05-01,20,11\n2025-06-01,21,12\n";
    let (one, other) = (report("a.csv", "", days), report("b.csv", "", others));
    let summary = run(&[one, other], &into);
    assert_eq!(summary.samples, 4);
    let unnamed = summary.groups.iter().find(|g| g.code == "samples-unnamed");
    assert_eq!(unnamed.map(|group| group.files), Some(2));
    // Where both name their water, they speak of the same samples.
    let named = "Source: Bore 1\n\n";
    let (one, other) = (report("c.csv", named, days), report("d.csv", named, others));
    let summary = run(&[one, other], &place.path().join("named"));
    assert_eq!(summary.samples, 2, "{:?}", summary.groups);
}

#[test]
fn two_waters_of_one_name_and_day_give_no_row_of_both() {
    let place = tempfile::tempdir().unwrap();
    let into = place.path().join("water");
    let report = |name: &str, text: &str| {
        let path = place.path().join(name);
        fs::write(&path, text).unwrap();
        path
    };
    let ones = "Bore,Date,pH,Ca mg/L,Mg mg/L,Na mg/L\nBore 1,2025-05-01,7.1,60,9,30\n";
    let others = "Bore,Date,pH,Ca mg/L,Mg mg/L,K mg/L\nBore 1,2025-05-01,6.4,20,4,11\n";
    run(&[report("a.csv", ones), report("b.csv", others)], &into);
    let mut samples = csv::Reader::from_path(into.join("samples.csv")).unwrap();
    let rows: Vec<BTreeMap<String, String>> = samples.deserialize().map(Result::unwrap).collect();
    let [row] = rows.as_slice() else {
        panic!("{rows:?}");
    };
    for column in ["ph", "calcium_mg_l", "sodium_mg_l", "potassium_mg_l"] {
        assert_eq!(row[column], "", "{column}");
    }
    let mut findings = csv::Reader::from_path(into.join("findings.csv")).unwrap();
    let codes: Vec<String> = (findings.records())
        .map(|record| record.unwrap()[1].to_owned())
        .collect();
    assert!(codes.contains(&"sample-mixed".to_owned()), "{codes:?}");
    assert!(!codes.contains(&"results-disagree".to_owned()), "{codes:?}");
}

#[test]
fn results_of_two_folders_in_one_sample_are_told() {
    let place = tempfile::tempdir().unwrap();
    let report = |name: &str, text: &str| {
        let path = place.path().join("reports").join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(&path, text).unwrap();
    };
    report(
        "alder/a.csv",
        "Bore,Date,Ca mg/L,Mg mg/L\nBore 1,2025-05-01,60,9\n",
    );
    let told = |other: &str| {
        report("birch/b.csv", other);
        let reports = place.path().join("reports");
        let summary = run(&[reports], &place.path().join("water"));
        (summary.groups.iter()).any(|group| group.code == "sample-of-folders")
    };
    assert!(told(
        "Bore,Date,Fe mg/L,Mn mg/L\nBore 1,2025-05-01,0.2,0.1\n"
    ));
    assert!(!told(
        "Bore,Date,Ca mg/L,Mn mg/L\nBore 1,2025-05-01,60,0.1\n"
    ));
    assert!(!told(
        "Client,Bore,Date,Fe mg/L\nBirch,Bore 1,2025-05-01,0.2\n"
    ));
}

#[test]
fn a_report_that_has_gone_keeps_what_it_brought() {
    let place = tempfile::tempdir().unwrap();
    let reports = place.path().join("reports");
    fs::create_dir(&reports).unwrap();
    let [one, _] = halves(&reports);
    let into = place.path().join("water");
    let first = run(&one, &into);
    let before = bytes(&into);
    fs::remove_file(&one[0]).unwrap();
    let second = run(&[reports], &into);
    assert_eq!(second.reports_kept, 1);
    assert!(second.results >= first.results);
    let now = bytes(&into);
    let name = one[0].file_name().unwrap().to_str().unwrap();
    let rows = |tables: &BTreeMap<String, Vec<u8>>| {
        String::from_utf8(tables["results.csv"].clone())
            .unwrap()
            .lines()
            .filter(|line| line.contains(name))
            .count()
    };
    assert_eq!(rows(&now), rows(&before));
}

#[test]
fn a_report_that_can_no_longer_be_read_keeps_what_it_brought() {
    let place = tempfile::tempdir().unwrap();
    let report = place.path().join("report.csv");
    let into = place.path().join("water");
    let text = "Lab no.;Sampled;Calcium mg/L;Chloride mg/L\n26-1;2026-02-03;118;38\n";
    fs::write(&report, text).unwrap();
    assert_eq!(run(std::slice::from_ref(&report), &into).results, 2);
    fs::write(&report, "%PDF-1.7 no longer a table").unwrap();
    let second = run(std::slice::from_ref(&report), &into);
    assert_eq!((second.results, second.files_refused), (2, 1));
    let before = bytes(&into);
    run(&[report], &into);
    assert_eq!(differing(&before, &bytes(&into)), Vec::<String>::new());
}

#[test]
fn a_report_that_has_changed_replaces_what_it_had_brought_and_says_so() {
    let place = tempfile::tempdir().unwrap();
    let report = place.path().join("report.csv");
    let into = place.path().join("water");
    let text = "Lab no.;Sampled;Calcium mg/L;Chloride mg/L\n26-1;2026-02-03;118;38\n26-2;2026-02-03;52;71\n";
    fs::write(&report, text).unwrap();
    let first = run(std::slice::from_ref(&report), &into);
    assert_eq!(first.results, 4);
    fs::write(&report, text.replace("118", "120")).unwrap();
    let second = run(&[report], &into);
    assert_eq!((second.results, second.reports_replaced), (4, 1));
    assert!(second.groups.iter().any(|g| g.code == "report-changed"));
    let rows = String::from_utf8(bytes(&into)["results.csv"].clone()).unwrap();
    assert!(rows.contains(",120,") && !rows.contains(",118,"), "{rows}");
}

/// What a run says at once, and what its summary says of the same.
fn told(
    request: &Request,
    run: fn(&Request, &wellread::run::Watcher<'_>) -> wellread::error::Result<Summary>,
) -> [Vec<String>; 2] {
    let told = Mutex::new(Vec::new());
    let summary = run(request, &|step| {
        if let Step::Told { finding } = step {
            let line = format!("{}: {}", finding.place, finding.message);
            told.lock().unwrap().push(line);
        }
    });
    let groups = summary.unwrap().groups;
    let much = groups.iter().filter(|g| g.code == "memory-much");
    let much = much
        .map(|g| format!("{}: {}", g.place, g.message))
        .collect();
    [told.into_inner().unwrap(), much]
}

#[test]
fn samples_that_take_much_memory_are_told_once() {
    let place = tempfile::tempdir().unwrap();
    let mut paths = Vec::new();
    for report in 0..3 {
        let mut text = "Sample,Sampled,Ca mg/L,Mg mg/L\n".to_owned();
        for row in 0..1_000 {
            text += &format!("W{report}-{row},2026-05-01,{row}.5,7\n");
        }
        let path = place.path().join(format!("{report}.csv"));
        fs::write(&path, text).unwrap();
        paths.push(path);
    }
    let request = |paths: &[PathBuf], into: &str, much: usize| Request {
        paths: paths.to_vec(),
        into: place.path().join(into),
        much_memory: Some(much),
        ..Request::default()
    };
    // A thousand samples of two results take half a megabyte.
    let much = 800_000;
    let expected = "1.csv: 2000 samples so far, for which the run takes up to 0.0 GiB of memory";
    let is_told = |lines: &[String]| matches!(lines, [one] if one.starts_with(expected));
    let [at_once, in_the_end] = told(&request(&paths, "water", much), gather);
    assert!(is_told(&at_once), "{at_once:?}");
    assert_eq!(at_once, in_the_end);
    // Kept as they were gathered, they take as much.
    let [at_once, _] = told(&request(&paths, "water", much), gather);
    assert!(is_told(&at_once), "{at_once:?}");
    for (i, path) in paths.iter().enumerate() {
        let part = format!("parted/parts/p{i}");
        let [at_once, in_the_end] = told(&request(std::slice::from_ref(path), &part, much), gather);
        assert_eq!((at_once.len(), in_the_end.len()), (0, 0));
    }
    let [at_once, in_the_end] = told(&request(&[], "parted", much), join);
    assert!(is_told(&at_once), "{at_once:?}");
    assert_eq!(at_once, in_the_end);
}

#[test]
fn a_long_text_read_in_pieces_gives_what_it_gives_whole() {
    // Longer than what is held whole; see the bounds of `read`.
    let place = tempfile::tempdir().unwrap();
    let mut text = String::from("Lab no.;Sampled;Parameter;Result;Unit\n");
    let mut row = 0u32;
    while text.len() < 18 << 20 {
        let line = match row % 3 {
            0 => format!("26-{};2026-02-03;Calcium;{}.5;mg/L\n", row / 3, row % 190),
            1 => format!(
                "26-{};2026-02-03;Nitrate as N;<0.{};mg/L\n",
                row / 3,
                row % 9 + 1
            ),
            _ => format!("26-{};2026-02-03;Iron, total;{};ug/L\n", row / 3, row % 900),
        };
        text.push_str(&line);
        row += 1;
    }
    let report = place.path().join("long.csv");
    fs::write(&report, &text).unwrap();
    let into = place.path().join("water");
    let summary = run(&[report], &into);
    assert_eq!(summary.results, u64::from(row));
    assert_eq!(summary.samples, row.div_ceil(3) as usize);
    assert_eq!(summary.cells, u64::from(row) * 5 + 5);
}
