//! Random reports: a known set of results is written in a random layout, language, convention and
//! set of units, with decoys, and read back. What comes out must equal what went in, or be refused;
//! never different. `WELLREAD_REPORTS=20000` tries more of them than the quick default.

mod book;
mod chance;
mod lay;
mod words;

use chance::Chance;
use lay::Written;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use wellread::record::{Censored, Extract, Origin};
use wellread::run::{self, Request, Words};
use wellread::vocabulary::Vocabulary;

/// Reports of the quick run.
const REPORTS: u64 = 400;

/// What a person would say of a result that differs from what was written; `None`: it is right.
fn difference(extract: &Extract, index: usize, written: &Written, words: &Words) -> Option<String> {
    let got = &extract.measurements[index];
    let recipe = extract.recipe(got.recipe);
    let sample = extract.sample(got.sample);
    let code = &words.vocabulary().analyte(recipe.analyte).code;
    let at = got.at;
    let Some(truth) = written.truth.get(&(got.sheet, at.row, at.col)) else {
        return Some(format!(
            "{at}: '{}' became {code} {:?}, but is no result",
            got.value_text, got.value
        ));
    };
    if recipe.unit_from == Origin::Assumed && !truth.unit_told {
        // Nothing in the report says it; the default comes with a warning.
        return None;
    }
    let censored = match got.censored {
        None => "",
        Some(Censored::Below) => "<",
        Some(Censored::Above) => ">",
        Some(Censored::Absent) => "absent",
    };
    let value = match (truth.value, got.value) {
        (Some(a), Some(b)) => (a - b).abs() <= 1e-9 * a.abs(),
        (a, b) => a == b,
    };
    let named = sample
        .sample_ref
        .as_deref()
        .is_none_or(|name| name == truth.sample);
    let dated = sample
        .sampled_on
        .is_none_or(|day| day.to_string() == truth.day);
    let right = value && named && dated && *code == truth.analyte && censored == truth.censored;
    (!right).then(|| {
        format!(
            "{at}: '{}' became {code} {censored} {:?} of {:?} {:?}, not {truth:?}",
            got.value_text, got.value, sample.sample_ref, sample.sampled_on
        )
    })
}

/// Samples that became one.
fn merged(extract: &Extract, written: &Written) -> Vec<String> {
    let mut names: BTreeMap<u32, BTreeSet<&str>> = BTreeMap::new();
    for got in &extract.measurements {
        if let Some(truth) = written.truth.get(&(got.sheet, got.at.row, got.at.col)) {
            names.entry(got.sample.0).or_default().insert(&truth.sample);
        }
    }
    let several = names.into_values().filter(|names| names.len() > 1);
    several
        .map(|names| format!("{names:?} became one sample"))
        .collect()
}

#[test]
fn what_comes_out_is_what_went_in_or_is_refused() {
    let request = Request {
        paths: Vec::new(),
        into: "nowhere".into(),
        mappings: None,
        dry_run: true,
        csv: false,
        wait: false,
        much_memory: None,
        partition: None,
    };
    let words = Words::load(&request).unwrap();
    let reports = std::env::var("WELLREAD_REPORTS").map_or(REPORTS, |n| n.parse().unwrap());
    let first = std::env::var("WELLREAD_FIRST").map_or(0, |n| n.parse().unwrap());
    let folder = tempfile::tempdir().unwrap();
    let mut read: BTreeMap<&str, (u64, u64)> = BTreeMap::new();
    let mut wrong = Vec::new();
    for seed in first..first + reports {
        let mut chance = Chance::new(seed);
        let ending = *chance.of(&["csv", "csv", "xlsx", "ods"]);
        let written = lay::write(&mut chance, ending == "csv");
        let name = format!("report.{ending}");
        let path = folder.path().join(&name);
        fs::write(&path, book::bytes(&written, ending, chance.one_in(2))).unwrap();
        let extract = run::see(&path, &name.as_str().into(), &words).extract;
        for sheet in &extract.sheets {
            assert!(sheet.holds(), "seed {seed}: {sheet:?}\n{}", written.text());
        }
        let differences: Vec<_> = (0..extract.measurements.len())
            .filter_map(|index| difference(&extract, index, &written, &words))
            .chain(merged(&extract, &written))
            .collect();
        if !differences.is_empty() {
            wrong.push(format!(
                "seed {seed} ({}, {ending}):\n  {}\n{}",
                written.layout,
                differences.join("\n  "),
                written.text()
            ));
        }
        let tally = read.entry(written.layout).or_default();
        tally.0 += extract.measurements.len() as u64;
        tally.1 += written.truth.len() as u64;
        if std::env::var_os("WELLREAD_SHOW").is_some() {
            println!(
                "seed {seed} {} {}/{}\n{}",
                written.layout,
                extract.measurements.len(),
                written.truth.len(),
                written.text()
            );
            for finding in &extract.findings {
                println!(
                    "  {} {} {} {}",
                    finding.severity, finding.code, finding.place, finding.message
                );
            }
        }
    }
    println!("read, of written: {read:?}");
    let shown = wrong.iter().take(5).cloned().collect::<Vec<_>>().join("\n");
    assert!(
        wrong.is_empty(),
        "{} of {reports} reports:\n{shown}",
        wrong.len()
    );
    for (layout, (read, written)) in read {
        assert!(
            read * 10 >= written * 8,
            "{layout}: only {read} of {written} results are read"
        );
    }
}

#[test]
fn the_words_of_the_generator_are_those_of_the_vocabulary() {
    for analyte in words::ANALYTES {
        assert!(
            Vocabulary::built_in().find(analyte.code).is_some(),
            "{}",
            analyte.code
        );
    }
}
