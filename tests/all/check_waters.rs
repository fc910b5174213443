//! Waters for the tests of the checks: published ones with small noise, and the real ones of
//! `../shared/real` where that folder is present. Each becomes an extract as if a report had been read.

use jiff::civil::Date;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::Arc;
use wellread::check::{Limits, judge};
use wellread::place::Address;
use wellread::record::{
    Censored, Extract, Measurement, Origin, Recipe, RecipeId, Sample, SampleId, SheetAccount,
};
use wellread::vocabulary::{Fraction, Vocabulary};

/// One number of a sample.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Value {
    pub value: f64,
    pub censored: Option<Censored>,
    pub fraction: Option<Fraction>,
}

/// One sample of a report: numbers by analyte code.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Row {
    pub name: String,
    pub source: Option<String>,
    pub lab: Option<String>,
    pub sampled_on: Option<Date>,
    pub received_on: Option<Date>,
    pub values: BTreeMap<String, Value>,
}

impl Row {
    pub(crate) fn plain(&self, code: &str) -> Option<f64> {
        let value = self.values.get(code)?;
        value.censored.is_none().then_some(value.value)
    }

    pub(crate) fn scale(&mut self, code: &str, factor: f64) -> bool {
        match self.values.get_mut(code) {
            Some(value) if value.value > 0.0 && value.censored.is_none() => {
                value.value *= factor;
                true
            }
            _ => false,
        }
    }
}

/// A report: rows under one file name. `factors` are what the report's own unit or basis multiplies by,
/// where not 1.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Report {
    pub file: String,
    pub rows: Vec<Row>,
    pub factors: BTreeMap<String, f64>,
}

impl Report {
    pub(crate) fn key(&self, position: usize) -> String {
        format!("{}#{position:04}", self.file)
    }

    pub(crate) fn extract(&self, vocabulary: &Vocabulary) -> Extract {
        let columns: BTreeSet<(&str, Option<Fraction>)> = (self.rows.iter())
            .flat_map(|row| {
                row.values
                    .iter()
                    .map(|(code, v)| (code.as_str(), v.fraction))
            })
            .collect();
        let columns: Vec<_> = (columns.into_iter())
            .filter_map(|(code, fraction)| Some((code, fraction, vocabulary.find(code)?)))
            .collect();
        let recipes = (columns.iter())
            .map(|(code, fraction, analyte)| Recipe {
                analyte: *analyte,
                fraction: *fraction,
                factor: Some(self.factors.get(*code).copied().unwrap_or(1.0)),
                label_text: Some(Arc::from(*code)),
                unit_text: Some("mg/L".into()),
                basis_text: None,
                unit_from: Origin::Heading,
                assumption: None,
            })
            .collect();
        let mut extract = Extract {
            file: self.file.as_str().into(),
            sheets: vec![SheetAccount::default()],
            recipes,
            ..Extract::default()
        };
        for (position, row) in self.rows.iter().enumerate() {
            extract.samples.push(Sample {
                key: self.key(position).into(),
                sample_ref: Some(row.name.as_str().into()),
                source: row.source.as_deref().map(Into::into),
                lab: row.lab.as_deref().map(Into::into),
                sampled_on: row.sampled_on,
                received_on: row.received_on,
                ..Sample::default()
            });
            for (column, (code, fraction, _)) in columns.iter().enumerate() {
                let Some(value) = row.values.get(*code).filter(|v| v.fraction == *fraction) else {
                    continue;
                };
                extract.measurements.push(Measurement {
                    sample: SampleId(position as u32),
                    recipe: RecipeId(column as u32),
                    value: Some(value.value),
                    censored: value.censored,
                    value_text: value.value.to_string().into(),
                    sheet: 0,
                    at: Address::new(position as u32 + 1, column as u32 + 1),
                });
            }
        }
        extract
    }
}

/// Ca, Mg, Na, K, HCO3, SO4, Cl, NO3, pH: published waters (sources beside them in `src/check/published.rs`).
const PUBLISHED: &[(&str, [f64; 9])] = &[
    ("W1", [92.0, 34.0, 8.2, 1.4, 325.0, 84.0, 9.6, 13.0, 7.4]),
    (
        "W2",
        [40.0, 15.0, 120.0, 20.0, 170.8, 234.0, 45.0, 1.0, 7.6],
    ),
    ("W3", [103.0, 5.5, 16.0, 1.5, 255.0, 49.0, 37.0, 2.0, 7.5]),
    ("W4", [81.0, 9.0, 62.0, 0.6, 183.0, 12.0, 160.0, 1.5, 7.6]),
    ("H1", [48.0, 3.6, 2.1, 0.4, 152.0, 3.2, 8.0, 0.8, 7.5]),
    ("H2", [144.0, 55.0, 29.0, 2.0, 622.0, 60.0, 53.0, 0.3, 7.2]),
    ("H4", [40.0, 22.0, 0.9, 1.2, 213.0, 4.9, 2.0, 4.8, 7.4]),
    ("H5", [140.0, 43.0, 21.0, 1.8, 241.0, 303.0, 38.0, 4.1, 7.4]),
    (
        "D-A",
        [121.0, 14.0, 18.0, 6.3, 297.0, 61.0, 29.0, 35.0, 7.37],
    ),
    (
        "D-B",
        [42.0, 29.0, 440.0, 14.0, 1083.0, 1.0, 201.0, 2.0, 7.8],
    ),
    (
        "F",
        [43.12, 15.22, 87.15, 3.22, 213.7, 13.22, 123.89, 3.23, 8.0],
    ),
    ("C", [90.0, 30.0, 72.0, 6.0, 165.0, 225.0, 110.0, 2.0, 7.5]),
    ("M", [95.0, 26.0, 15.0, 2.0, 160.0, 135.0, 73.0, 20.0, 7.0]),
    ("P", [20.0, 4.8, 4.6, 0.58, 35.4, 6.2, 24.0, 8.0, 7.5]),
];

/// The ions of [`PUBLISHED`], in its order.
pub(crate) const NAMES: [&str; 8] = [
    "calcium",
    "magnesium",
    "sodium",
    "potassium",
    "bicarbonate",
    "sulfate",
    "chloride",
    "nitrate",
];

/// Numbers without a clock: same every run.
#[derive(Clone, Debug)]
pub(crate) struct Noise(u64);

impl Noise {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    /// 0 to 1.
    pub(crate) fn uniform(&mut self) -> f64 {
        // xorshift64*: Vigna 2016.
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Mean 0, standard deviation 1, near enough.
    pub(crate) fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.uniform()).sum::<f64>() - 6.0
    }

    pub(crate) fn below(&mut self, n: usize) -> usize {
        ((self.uniform() * n as f64) as usize).min(n - 1)
    }
}

fn value(value: f64) -> Value {
    Value {
        value,
        censored: None,
        fraction: None,
    }
}

/// Reports of the published waters: each water a source sampled on several days, seasons of 8 % on all
/// ions, laboratory scatter of 2 % on each, conductivity from the ions with 3 %.
pub(crate) fn published_reports(vocabulary: &Vocabulary, seed: u64) -> Vec<Report> {
    let mut noise = Noise::new(seed);
    let mut reports = Vec::new();
    for (year, month) in [(2024, 3), (2024, 9), (2025, 3), (2025, 9), (2026, 3)] {
        let rows = (PUBLISHED.iter())
            .map(|(name, ions)| {
                let season = 1.0 + 0.08 * noise.normal();
                let mut values: BTreeMap<String, Value> = (NAMES.iter().zip(ions))
                    .map(|(code, v)| {
                        let scatter = 1.0 + 0.02 * noise.normal();
                        let digits = v * season * scatter;
                        ((*code).to_owned(), value(round(digits)))
                    })
                    .collect();
                values.insert("ph".into(), value(round(ions[8] + 0.1 * noise.normal())));
                Row {
                    name: format!("{name} {year}-{month:02}"),
                    source: Some((*name).to_owned()),
                    lab: None,
                    sampled_on: Some(Date::constant(year, month, 12)),
                    received_on: None,
                    values,
                }
            })
            .collect();
        let mut report = Report {
            file: format!("published-{year}-{month:02}.csv"),
            rows,
            factors: BTreeMap::new(),
        };
        add_measured(&mut report, vocabulary, &mut noise);
        reports.push(report);
    }
    reports
}

/// Reports of waters of all kinds, each from a source of its own: two published waters mixed and
/// diluted at random, with some calcium nitrate from above in half of them. Mixing and dilution keep
/// the balance. Laboratory scatter as in [`published_reports`].
pub(crate) fn blended_reports(vocabulary: &Vocabulary, seed: u64) -> Vec<Report> {
    let mut noise = Noise::new(seed);
    let mut reports = Vec::new();
    for number in 0..12 {
        let rows = (0..15)
            .map(|sample| {
                let one = PUBLISHED[noise.below(PUBLISHED.len())].1;
                let other = PUBLISHED[noise.below(PUBLISHED.len())].1;
                let (part, strength) = (noise.uniform(), (0.5 * noise.normal() - 0.2).exp());
                // meq/L.
                let leached = (noise.uniform() - 0.5).max(0.0) * 4.0;
                let mut values: BTreeMap<String, Value> = BTreeMap::new();
                for (i, code) in NAMES.iter().enumerate() {
                    let mut ion = strength * (part * one[i] + (1.0 - part) * other[i]);
                    ion += match *code {
                        "calcium" => 20.039 * leached,
                        "nitrate" => 62.004 * leached,
                        _ => 0.0,
                    };
                    let scatter = 1.0 + 0.02 * noise.normal();
                    values.insert((*code).to_owned(), value(round(ion * scatter)));
                }
                let ph = 7.4 + 0.3 * noise.normal();
                values.insert("ph".into(), value(round(ph)));
                Row {
                    name: format!("B{number}-{sample}"),
                    source: None,
                    lab: None,
                    sampled_on: Some(Date::constant(2026, 5, 12)),
                    received_on: None,
                    values,
                }
            })
            .collect();
        let mut report = Report {
            file: format!("blended-{number:02}.csv"),
            rows,
            factors: BTreeMap::new(),
        };
        add_measured(&mut report, vocabulary, &mut noise);
        reports.push(report);
    }
    reports
}

/// Adds conductivity (3 % scatter) and hardness (1 %) as the ions of each row give them.
fn add_measured(report: &mut Report, vocabulary: &Vocabulary, noise: &mut Noise) {
    let figures = judge(
        &[report.extract(vocabulary)],
        vocabulary,
        Limits::built_in(),
    )
    .figures;
    for position in 0..report.rows.len() {
        let figures = &figures[report.key(position).as_str()];
        if let Some(conductivity) = figures.conductivity_calculated_us_cm {
            let measured = conductivity * (1.0 + 0.03 * noise.normal());
            let row = &mut report.rows[position];
            row.values
                .insert("conductivity".into(), value(measured.round()));
        }
        if let Some(hardness) = figures.hardness_calculated_mg_l {
            let reported = hardness * (1.0 + 0.01 * noise.normal());
            let row = &mut report.rows[position];
            row.values.insert("hardness".into(), value(round(reported)));
        }
    }
}

/// Three significant digits, as laboratories print.
fn round(number: f64) -> f64 {
    if number == 0.0 {
        return number;
    }
    let unit = 10f64.powf(2.0 - number.abs().log10().floor());
    (number * unit).round() / unit
}

/// Folder of the real files; `None` where it is absent (it is not part of the project).
pub(crate) fn real_folder() -> Option<&'static Path> {
    let folder = Path::new("../shared/real");
    folder.join("truth.csv").is_file().then_some(folder)
}

/// The real samples as a person read them, one report a file and sheet group. `None` where the folder is
/// absent.
pub(crate) fn real_reports() -> Option<Vec<Report>> {
    let folder = real_folder()?;
    let mut reader = csv::Reader::from_path(folder.join("truth.csv")).unwrap();
    type Key = (String, String);
    let mut files: BTreeMap<String, BTreeMap<Key, Row>> = BTreeMap::new();
    for record in reader.records() {
        let record = record.unwrap();
        let field = |i: usize| record.get(i).unwrap_or("").to_owned();
        let Ok(number) = field(5).parse::<f64>() else {
            continue;
        };
        // Two files hold the same samples twice; one of each pair is enough.
        let file = field(0);
        if file.ends_with("water_samples.csv") || file.ends_with("balanceionico.xls") {
            continue;
        }
        let row = (files.entry(file).or_default())
            .entry((field(8), field(9)))
            .or_insert_with(|| Row {
                name: field(8),
                source: None,
                lab: None,
                sampled_on: field(9).parse().ok(),
                received_on: None,
                values: BTreeMap::new(),
            });
        row.values.entry(field(3)).or_insert_with(|| Value {
            value: number,
            censored: Censored::parse(&field(7)),
            fraction: match field(4).as_str() {
                "dissolved" => Some(Fraction::Dissolved),
                "total" => Some(Fraction::Total),
                _ => None,
            },
        });
    }
    let reports = (files.into_iter())
        .map(|(file, rows)| Report {
            file,
            rows: rows.into_values().collect(),
            factors: BTreeMap::new(),
        })
        .collect();
    Some(reports)
}
