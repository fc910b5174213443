//! The `samples` table: what all reports say of one sample, on one row.
//!
//! Which of several results of one analyte stands in the row is decided in the order of
//! [`crate::check::Rank`], so that the row and the figures beside it rest on one number. Where
//! that order does not decide between different numbers, the cell stays empty.

use super::table_files::{ClosedTable, TableFiles};
use super::values::{Batch, Distinct, Keyed, NULL, Values};
use crate::check::Rank;
use crate::error::Result;
use crate::record::{Extract, FigureKind, FigureValue, Figures, Measurement, Sample};
use crate::vocabulary::Vocabulary;
use jiff::civil::Date;
use rayon::prelude::*;
use std::collections::HashMap;
use std::sync::Arc;

/// Rows of a row group: fewer than of `results`, since a row has some 150 columns.
const GROUP_ROWS: usize = 1 << 15;

/// Samples whose figures one thread makes before it looks for more work.
const AT_ONCE: usize = 256;

/// All samples met so far, a few dozen bytes and sixteen for each analyte reported.
#[derive(Default)]
pub(super) struct Samples {
    index: HashMap<Arc<str>, usize>,
    met: Vec<Met>,
    /// How many files have been met.
    files: u32,
}

struct Met {
    /// The first report to say something of it counts, in the order of paths.
    about: Sample,
    files: u64,
    last_file: u32,
    /// By analyte, the result that counts.
    readings: Vec<Reading>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
struct Reading {
    analyte: u16,
    /// Smaller counts first.
    rank: Rank,
    /// Another result of this rank has another value.
    disputed: bool,
    /// 0 where `absent`.
    value: f64,
}

impl Samples {
    /// Takes a report, or the next piece of the one before. A sample without any result is none.
    pub(super) fn push(&mut self, extract: &Extract, continued: bool) {
        if !continued {
            self.files += 1;
        }
        let mut slots = vec![None; extract.samples.len()];
        for measurement in &extract.measurements {
            let sample = extract.sample(measurement.sample);
            let slot = &mut slots[measurement.sample.0 as usize];
            let slot = *slot.get_or_insert_with(|| self.meet(sample));
            self.met[slot].read(extract, measurement);
        }
    }

    fn meet(&mut self, sample: &Sample) -> usize {
        let file = self.files;
        if let Some(&slot) = self.index.get(&sample.key) {
            let met = &mut self.met[slot];
            met.files += u64::from(met.last_file != file);
            met.last_file = file;
            fill(&mut met.about, sample);
            slot
        } else {
            let slot = self.met.len();
            self.index.insert(sample.key.clone(), slot);
            self.met.push(Met {
                about: sample.clone(),
                files: 1,
                last_file: file,
                readings: Vec::new(),
            });
            slot
        }
    }

    /// Writes all rows, by client, site, source, day and key.
    pub(super) fn write(
        mut self,
        mut files: TableFiles,
        vocabulary: &Vocabulary,
        figures: &(dyn Fn(&Arc<str>) -> Option<Figures> + Sync),
    ) -> Result<ClosedTable> {
        drop(self.index);
        self.met
            .sort_by(|a, b| order(&a.about).cmp(&order(&b.about)));
        for met in self.met.chunks(GROUP_ROWS) {
            files.write(&batch(met, vocabulary, figures))?;
        }
        files.finish()
    }
}

/// Nameless last; the key makes the order total.
fn order(sample: &Sample) -> impl Ord + '_ {
    fn last<T>(value: Option<T>) -> (bool, Option<T>) {
        (value.is_none(), value)
    }
    (
        last(sample.client.as_deref()),
        last(sample.site.as_deref()),
        last(sample.source.as_deref()),
        last(sample.sampled_on),
        &*sample.key,
    )
}

impl Met {
    fn read(&mut self, extract: &Extract, measurement: &Measurement) {
        let recipe = extract.recipe(measurement.recipe);
        let reported_on = extract.sample(measurement.sample).reported_on;
        let new = Reading {
            analyte: recipe.analyte.0,
            rank: Rank::new(recipe.fraction, measurement.censored, reported_on),
            disputed: false,
            // Never shown: only an absent result has no value, and censored ones are left out.
            value: measurement.value.map_or(0.0, |value| value),
        };
        let held = self.readings.iter_mut().find(|r| r.analyte == new.analyte);
        match held {
            None => {
                if self.readings.len() == self.readings.capacity() {
                    // Doubling would waste a third of the memory that grows with samples.
                    self.readings.reserve_exact(4);
                }
                self.readings.push(new);
            }
            Some(held) if new.rank < held.rank => *held = new,
            Some(held) if new.rank == held.rank => held.disputed |= new.value != held.value,
            Some(_) => {}
        }
    }
}

fn fill(held: &mut Sample, new: &Sample) {
    fn fill<T: Clone>(held: &mut Option<T>, new: &Option<T>) {
        if held.is_none() {
            held.clone_from(new);
        }
    }
    fill(&mut held.client, &new.client);
    fill(&mut held.site, &new.site);
    fill(&mut held.source, &new.source);
    fill(&mut held.source_kind, &new.source_kind);
    fill(&mut held.region, &new.region);
    fill(&mut held.sample_ref, &new.sample_ref);
    fill(&mut held.lab, &new.lab);
    fill(&mut held.lab_ref, &new.lab_ref);
    fill(&mut held.sampled_on, &new.sampled_on);
    fill(&mut held.latitude, &new.latitude);
    fill(&mut held.longitude, &new.longitude);
}

/// The columns, in the order of the schema.
fn batch(
    met: &[Met],
    vocabulary: &Vocabulary,
    figures: &(dyn Fn(&Arc<str>) -> Option<Figures> + Sync),
) -> Batch {
    let abouts = || met.iter().map(|met| &met.about);
    let of = |get: fn(&Sample) -> &Option<Arc<str>>| words(abouts().map(|s| get(s).clone()));
    let mut columns = vec![
        words(abouts().map(|s| Some(s.key.clone()))),
        of(|s| &s.client),
        of(|s| &s.site),
        of(|s| &s.source),
        of(|s| &s.source_kind),
        of(|s| &s.region),
        of(|s| &s.sample_ref),
        of(|s| &s.lab),
        of(|s| &s.lab_ref),
        dates(abouts().map(|s| s.sampled_on)),
        Values::Numbers(abouts().map(|s| s.latitude).collect()),
        Values::Numbers(abouts().map(|s| s.longitude).collect()),
        Values::Counts(met.iter().map(|met| met.files).collect()),
    ];
    let analytes = vocabulary.analytes();
    let mut values = vec![vec![None; met.len()]; analytes.len()];
    let mut censored = Vec::with_capacity(met.len());
    for (row, met) in met.iter().enumerate() {
        let mut readings: Vec<&Reading> = met.readings.iter().collect();
        readings.sort_by_key(|reading| reading.analyte);
        let mut codes = Vec::new();
        for reading in readings {
            let analyte = usize::from(reading.analyte);
            if reading.rank.is_censored() {
                codes.push(analytes[analyte].code.as_str());
            } else if !reading.disputed {
                values[analyte][row] = Some(reading.value);
            }
        }
        censored.push((!codes.is_empty()).then(|| Arc::from(codes.join(";"))));
    }
    columns.extend(values.into_iter().map(Values::Numbers));
    columns.push(words(censored.into_iter()));
    columns.extend(figure_columns(met, figures));
    Batch {
        rows: met.len(),
        columns,
    }
}

fn figure_columns(
    met: &[Met],
    figures: &(dyn Fn(&Arc<str>) -> Option<Figures> + Sync),
) -> Vec<Values> {
    let mut numbers: Vec<Vec<Option<f64>>> = vec![Vec::new(); Figures::COLUMNS.len()];
    let mut texts: Vec<Vec<Option<&str>>> = vec![Vec::new(); Figures::COLUMNS.len()];
    let made: Vec<Figures> = (met.par_iter().with_min_len(AT_ONCE))
        .map(|met| figures(&met.about.key).unwrap_or_default())
        .collect();
    for figures in &made {
        for (i, value) in figures.values().enumerate() {
            match value {
                FigureValue::Number(number) => numbers[i].push(number),
                FigureValue::Text(text) => texts[i].push(text),
            }
        }
    }
    let columns = Figures::COLUMNS.iter().zip(numbers.into_iter().zip(texts));
    columns
        .map(|(column, (numbers, texts))| match column.kind {
            FigureKind::Number => Values::Numbers(numbers),
            FigureKind::Text => texts_apart(&texts),
        })
        .collect()
}

pub(super) fn words(texts: impl Iterator<Item = Option<Arc<str>>>) -> Values {
    let mut distinct = Distinct::new();
    let keys = texts
        .map(|text| text.map_or(NULL, |text| distinct.key(text.clone(), || text)))
        .collect();
    Values::Words(Keyed {
        keys,
        distinct: distinct.into_values(),
    })
}

/// As [`words`], of texts that nobody shares yet.
fn texts_apart(texts: &[Option<&str>]) -> Values {
    let mut distinct = Distinct::new();
    let keys = (texts.iter())
        .map(|text| text.map_or(NULL, |text| distinct.key(text, || Arc::from(text))))
        .collect();
    Values::Words(Keyed {
        keys,
        distinct: distinct.into_values(),
    })
}

fn dates(days: impl Iterator<Item = Option<Date>>) -> Values {
    let mut distinct = Distinct::new();
    let keys = days
        .map(|day| day.map_or(NULL, |day| distinct.key(day, || day)))
        .collect();
    Values::Dates(Keyed {
        keys,
        distinct: distinct.into_values(),
    })
}
