//! The hot parts on their own: reading numbers, resolving headings, normalizing rows.
//!
//! `cargo bench --bench parts` prints a time for each with its spread; a name behind `--` picks some.
#![allow(
    clippy::unwrap_used,
    missing_docs,
    reason = "a yardstick, not part of the program"
)]

use criterion::{BatchSize, Criterion, Throughput, criterion_group, criterion_main};
use std::collections::BTreeMap;
use std::hint::black_box;
use wellread::map::{self, Plan};
use wellread::normalize::{Standing, TextRunner};
use wellread::read::{Options, Report, open_text};
use wellread::reading::{Decimal, ValueReader, read_number};
use wellread::vocabulary::{HeadingContext, Vocabulary};

/// Cells as they stand in reports: mostly plain numbers, some below a limit, some with words.
const CELLS: [&str; 10] = [
    "7.25", "118", "0.05", "<0.05", "1 234.5", "412", "ND", "0.3 J", "12.50", "> 100",
];

const HEADINGS: [&str; 10] = [
    "Ca mg/L",
    "Nitrate as N (mg/L)",
    "Leitfähigkeit 25 °C [µS/cm]",
    "SO₄²⁻ mg/l",
    "Sample ID",
    "Iron, dissolved (ug/L)",
    "alkalinity as CaCO3",
    "Gesamthärte °dH",
    "Date sampled",
    "Frobnium ppm",
];

fn numbers(c: &mut Criterion) {
    let codes = BTreeMap::new();
    let reader = ValueReader {
        decimal: Decimal::Point,
        codes: &codes,
    };
    let mut group = c.benchmark_group("numbers");
    group.throughput(Throughput::Elements(CELLS.len() as u64));
    group.bench_function("plain numbers", |b| {
        b.iter(|| {
            for cell in CELLS {
                black_box(read_number(black_box(cell), Decimal::Point)).ok();
            }
        });
    });
    group.bench_function("result cells", |b| {
        b.iter(|| {
            for cell in CELLS {
                black_box(reader.read(black_box(cell)));
            }
        });
    });
    group.finish();
}

fn headings(c: &mut Criterion) {
    let vocabulary = Vocabulary::built_in();
    let context = HeadingContext::default();
    let mut group = c.benchmark_group("headings");
    group.throughput(Throughput::Elements(HEADINGS.len() as u64));
    group.bench_function("read", |b| {
        b.iter(|| {
            for heading in HEADINGS {
                black_box(vocabulary.read_heading_in(black_box(heading), &context));
            }
        });
    });
    group.finish();
}

/// Rows of the benchmarks below.
const ROWS: usize = 10_000;

fn results_down() -> String {
    let labels = ["Calcium", "Nitrate as N", "Iron", "Chloride", "pH"];
    let units = ["mg/L", "mg/L", "µg/L", "mg/L", ""];
    let mut text = String::from("Lab no.;Sampled;Parameter;Result;Unit\n");
    for i in 0..ROWS {
        let (sample, kind) = (i / 5, i % 5);
        text.push_str(&format!(
            "26-{sample:05};2026-05-{:02};{};{}{}.{};{}\n",
            sample % 28 + 1,
            labels[kind],
            if i % 20 == 0 { "<" } else { "" },
            i % 300,
            i % 10,
            units[kind]
        ));
    }
    text
}

fn samples_down() -> String {
    let mut text = String::from("Lab no.;Sampled;Ca mg/L;Mg mg/L;NO3-N mg/L;Cl mg/L;Fe µg/L;pH\n");
    for i in 0..ROWS {
        let day = i % 28 + 1;
        text.push_str(&format!(
            "26-{i:05};2026-05-{day:02};{}.5;{};<0.1;{}.25;{};7.{}\n",
            i % 90,
            i % 30,
            i % 200,
            i % 400,
            i % 10
        ));
    }
    text
}

fn planned(text: &str) -> (Report, Plan) {
    let report = open_text(text, &"rows.csv".into(), &Options::default());
    let plan = map::plan(&report, Vocabulary::built_in(), None);
    (report, plan)
}

fn rows(c: &mut Criterion) {
    let vocabulary = Vocabulary::built_in();
    let mut group = c.benchmark_group("rows");
    group.throughput(Throughput::Elements(ROWS as u64));
    for (name, text) in [
        ("results-down", results_down()),
        ("samples-down", samples_down()),
    ] {
        let (report, plan) = planned(&text);
        let runner = TextRunner::new(&report, &plan, vocabulary);
        let fields: Vec<Vec<&str>> = text.lines().map(|line| line.split(';').collect()).collect();
        group.bench_function(name, |b| {
            b.iter_batched(
                Standing::default,
                |standing| {
                    runner.run(standing, |take| {
                        for (row, fields) in (0..).zip(&fields).skip(1) {
                            take(row, fields);
                        }
                    })
                },
                BatchSize::PerIteration,
            );
        });
    }
    group.finish();
}

criterion_group! {
    name = parts;
    config = Criterion::default().sample_size(20);
    targets = numbers, headings, rows
}
criterion_main!(parts);
