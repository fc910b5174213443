//! Odd reports as agencies, laboratories and universities write them, with invented figures (`tests/odd`), read
//! without any mapping: each result is what a person reads there, or is refused, or carries a warning.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use wellread::run::{self, Request};

type Row = BTreeMap<String, String>;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/odd")
}

/// The dataset of one report; gone when this goes.
struct Gathered(tempfile::TempDir);

impl Gathered {
    fn of(file: &str) -> Self {
        let into = tempfile::tempdir().unwrap();
        let request = Request {
            paths: vec![folder().join(file)],
            into: into.path().join("set"),
            csv: true,
            ..Request::default()
        };
        run::gather(&request, &|_| {}).unwrap();
        Self(into)
    }

    fn table(&self, name: &str) -> Vec<Row> {
        let path = self.0.path().join("set").join(name).with_extension("csv");
        let mut reader = csv::Reader::from_path(path).unwrap();
        reader.deserialize().map(Result::unwrap).collect()
    }

    /// What each sample says in these columns, sorted.
    fn samples(&self, columns: [&str; 3]) -> Vec<String> {
        let mut samples: Vec<String> = (self.table("samples").iter())
            .map(|row| columns.map(|column| row[column].as_str()).join(" "))
            .collect();
        samples.sort();
        samples
    }
}

/// One result as a person reads it.
struct Truth<'a> {
    cell: &'a str,
    analyte: &'a str,
    value: Option<f64>,
    censored: &'a str,
    outcome: &'a str,
}

fn truths(list: &str) -> BTreeMap<&str, Vec<Truth<'_>>> {
    let mut all: BTreeMap<&str, Vec<Truth<'_>>> = BTreeMap::new();
    for line in list.lines().filter(|line| !line.starts_with('#')) {
        let [file, cell, analyte, value, censored, outcome] =
            line.split('\t').collect::<Vec<_>>().try_into().unwrap();
        let of_file = all.entry(file).or_default();
        if !cell.is_empty() {
            let value = (!value.is_empty()).then(|| value.parse().unwrap());
            of_file.push(Truth {
                cell,
                analyte,
                value,
                censored,
                outcome,
            });
        }
    }
    all
}

/// Column letters and row digits of "AB12".
fn split(cell: &str) -> (&str, &str) {
    cell.split_at(
        cell.find(|c: char| c.is_ascii_digit())
            .map_or(cell.len(), |i| i),
    )
}

fn is_right(row: &Row, truth: &Truth<'_>) -> bool {
    let value = row["value"].parse::<f64>().ok();
    let alike = match (value, truth.value) {
        (Some(a), Some(b)) => (a - b).abs() <= 1e-3 * b.abs() + 1e-12,
        (a, b) => a.is_none() && b.is_none(),
    };
    row["analyte"] == truth.analyte && row["censored"] == truth.censored && alike
}

/// What is not as it should be with one report.
fn faults(file: &str, truths: &[Truth<'_>]) -> Vec<String> {
    let set = Gathered::of(file);
    let results = set.table("results");
    let warnings: BTreeSet<String> = set
        .table("findings")
        .into_iter()
        .filter(|row| row["severity"] != "note")
        .map(|row| row["cell"].clone())
        .collect();
    let is_warned = |cell: &str| {
        let (column, row) = split(cell);
        warnings.iter().any(|at| {
            let (c, r) = split(at);
            c == column || r == row
        })
    };
    let by_cell: BTreeMap<&str, &Row> = results.iter().map(|row| (&*row["cell"], row)).collect();
    let mut faults = Vec::new();
    for truth in truths {
        let outcome = match by_cell.get(truth.cell) {
            None => "missed",
            Some(row) if is_right(row, truth) => "right",
            Some(_) if is_warned(truth.cell) => "flagged",
            Some(_) => "silently wrong",
        };
        if outcome != truth.outcome {
            let cell = truth.cell;
            faults.push(format!("{file} {cell}: {outcome}, not {}", truth.outcome));
        }
    }
    let known: BTreeSet<&str> = truths.iter().map(|truth| truth.cell).collect();
    let extra = by_cell.keys().filter(|cell| !known.contains(*cell));
    faults.extend(extra.map(|cell| format!("{file} {cell}: no result stands there")));
    faults
}

#[test]
fn odd_reports_are_read_as_a_person_reads_them() {
    let list = std::fs::read_to_string(folder().join("cells.tsv")).unwrap();
    let truths = truths(&list);
    let reports = std::fs::read_dir(folder())
        .unwrap()
        .filter(|entry| entry.as_ref().unwrap().path().extension() != Some("tsv".as_ref()))
        .count();
    assert_eq!(truths.len(), reports, "every report stands in cells.tsv");
    let faults: Vec<String> = truths
        .iter()
        .flat_map(|(file, truths)| faults(file, truths))
        .collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// Names that stand over, above or beside the results, or once for several of them.
#[test]
fn odd_reports_say_whose_their_results_are() {
    let list = std::fs::read_to_string(folder().join("names.tsv")).unwrap();
    let mut wanted: BTreeMap<&str, Vec<[&str; 3]>> = BTreeMap::new();
    for line in list.lines().filter(|line| !line.starts_with('#')) {
        let [file, cell, names, day] = line.split('\t').collect::<Vec<_>>().try_into().unwrap();
        wanted.entry(file).or_default().push([cell, names, day]);
    }
    let mut faults = Vec::new();
    for (file, wanted) in wanted {
        let set = Gathered::of(file);
        let results = set.table("results");
        for [cell, names, day] in wanted {
            let row = results.iter().find(|row| row["cell"] == cell).unwrap();
            let found: Vec<&str> = ["site", "source", "sample_ref"]
                .iter()
                .map(|column| &*row[*column])
                .filter(|name| !name.is_empty())
                .collect();
            let found = (found.join("/"), &*row["sampled_on"]);
            if found != (names.to_owned(), day) {
                faults.push(format!("{file} {cell}: {found:?}, not {names:?} {day:?}"));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn samples_of_two_sites_with_one_name_stay_two() {
    let set = Gathered::of("same_names.csv");
    let expected = [
        "North Farm B1 7.2",
        "North Farm B2 7.3",
        "South Farm B1 6.9",
        "South Farm B2 7",
    ];
    assert_eq!(set.samples(["site", "sample_ref", "ph"]), expected);
}

#[test]
fn samples_of_one_name_in_two_districts_stay_two() {
    let set = Gathered::of("namesakes.csv");
    let expected = ["Ellmoor Ashby 7.1", "Ellmoor Kirkby 7.2", "Wyre Kirkby 6.9"];
    assert_eq!(set.samples(["region", "site", "ph"]), expected);
    let told: Vec<String> = set
        .table("findings")
        .iter()
        .filter(|row| row["code"] == "namesakes")
        .map(|row| row["message"].clone())
        .collect();
    let message = "several samples have one name, and differ in region, place or days: Kirkby";
    assert_eq!(told, [message]);
}

#[test]
fn samples_of_days_of_an_unknown_kind_stay_apart() {
    for (file, heading, expected) in [
        (
            "days_of_what.csv",
            "B1",
            ["R101  88", "R101  92.1", "R102  60.2", "R102  61.1"],
        ),
        (
            "days_of_what_list.csv",
            "B1",
            ["R101  88", "R101  92.1", "R102  60.2", "R102  61.1"],
        ),
    ] {
        let set = Gathered::of(file);
        let samples = set.samples(["site", "sampled_on", "calcium_mg_l"]);
        assert_eq!(samples, expected, "{file}");
        let told: Vec<Row> = (set.table("findings").into_iter())
            .filter(|row| row["code"] == "days-of-what")
            .collect();
        let [told] = told.as_slice() else {
            panic!("{file}: {told:?}");
        };
        assert_eq!(told["cell"], heading, "{file}");
        assert!(
            told["help"].contains("\"Timestamp UTC\" = { means = \"sampled_on\" }"),
            "{told:?}"
        );
    }
}

#[test]
fn rounds_tell_samples_apart() {
    let set = Gathered::of("rounds.csv");
    let expected = ["Bore 1  61", "Bore 1  66", "Bore 2  47", "Bore 2  48"];
    let samples = set.samples(["source", "sampled_on", "calcium_mg_l"]);
    assert_eq!(samples, expected);
    let told = set.table("findings");
    assert!(!told.iter().any(|row| row["code"] == "days-of-what"));
}

#[test]
fn names_under_unknown_headings_are_told_where_they_are_needed() {
    for (file, code) in [
        ("names_of_what.csv", Some("names-told-apart")),
        ("names_of_what_list.csv", Some("names-of-what")),
        ("names_of_what_at_site.csv", Some("names-told-apart")),
        ("names_not_needed.csv", None),
    ] {
        let told: Vec<String> = (Gathered::of(file).table("findings").into_iter())
            .map(|row| row["code"].clone())
            .filter(|code| code.starts_with("names-"))
            .collect();
        let code: Vec<&str> = code.into_iter().collect();
        assert_eq!(told, code, "{file}");
    }
}

#[test]
fn sections_of_a_list_say_the_fraction_of_their_results() {
    for (file, expected) in [
        (
            "fractions_of_sections.csv",
            "iron dissolved, manganese dissolved, iron total, manganese total, zinc dissolved, calcium ",
        ),
        (
            "stacked_fractions.csv",
            "manganese total, copper total, manganese dissolved, copper dissolved",
        ),
    ] {
        let set = Gathered::of(file);
        let results = set.table("results");
        let said: Vec<String> = (results.iter())
            .map(|row| format!("{} {}", row["analyte"], row["fraction"]))
            .collect();
        assert_eq!(said.join(", "), expected, "{file}");
        let told = set.table("findings");
        assert!(!told.iter().any(|row| row["code"] == "results-disagree"));
    }
}

#[test]
fn letterheads_say_whose_all_samples_are() {
    for (file, client) in [
        ("letterhead_far_right.csv", "Elm Growers"),
        ("letterhead_labels_over_values.csv", "Birch Vivai"),
        ("letterhead_one_cell.csv", "Fir Viveros"),
        ("letterhead_pairs_across.csv", "Alder Farm"),
        ("letterhead_title_of_report.csv", "Alder Farm"),
        ("lists_under_pairs.csv", "Nettle Bank"),
    ] {
        let set = Gathered::of(file);
        let samples = set.table("samples");
        assert!(samples.iter().all(|row| row["client"] == client), "{file}");
    }
}
