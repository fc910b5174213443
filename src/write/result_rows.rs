//! Rows of `results` on their way to a batch: what is the same for many rows (sample, recipe, sheet)
//! is kept once and each row points at it; the columns are then gathered by key, and no text is copied
//! per row except the cell's own.

use super::values::{Batch, Distinct, Keyed, NULL, Texts, Values};
use crate::error::{Error, Result};
use crate::place::{Address, column_letters};
use crate::record::{Censored, Extract, Measurement, Recipe, Sample};
use crate::vocabulary::Vocabulary;
use jiff::civil::Date;
use rayon::prelude::*;
use std::fmt::Write;
use std::hash::Hash;
use std::sync::Arc;

/// Rows not yet written, and what they point at.
#[derive(Default)]
pub(super) struct ResultRows {
    rows: Vec<Row>,
    value_texts: Texts,
    samples: Vec<Sample>,
    recipes: Vec<Recipe>,
    sheets: Vec<Sheet>,
    slots: Slots,
}

#[derive(Clone, Copy)]
struct Row {
    sample: u32,
    recipe: u32,
    sheet: u32,
    at: Address,
    value: Option<f64>,
    censored: Option<Censored>,
}

struct Sheet {
    file: Arc<str>,
    sheet: Arc<str>,
    mapping: Arc<str>,
}

/// Where the samples, recipes and sheets of the extract at hand stand in the group; [`NULL`] where
/// they do not yet.
#[derive(Default)]
struct Slots {
    /// Which extract these are of.
    number: u64,
    samples: Vec<u32>,
    recipes: Vec<u32>,
    sheets: Vec<u32>,
}

impl Slots {
    fn start(&mut self, extract: &Extract, number: u64) {
        self.number = number;
        for (slots, len) in [
            (&mut self.samples, extract.samples.len()),
            (&mut self.recipes, extract.recipes.len()),
            (&mut self.sheets, extract.sheets.len()),
        ] {
            slots.clear();
            slots.resize(len, NULL);
        }
    }
}

impl ResultRows {
    pub(super) fn len(&self) -> usize {
        self.rows.len()
    }

    /// Appends a measurement of an extract. `number` tells extracts apart and is never 0.
    pub(super) fn push(&mut self, extract: &Extract, number: u64, of: &Measurement) -> Result<()> {
        if of.value.is_some_and(|value| !value.is_finite())
            || (of.value.is_none() && of.censored != Some(Censored::Absent))
        {
            let what = format!("{} {}: value {:?}", extract.file, of.at, of.value);
            return Err(Error::Law(what));
        }
        let slots = &mut self.slots;
        if slots.number != number {
            slots.start(extract, number);
        }
        let sheet = usize::from(of.sheet);
        let sample = slot(
            &mut slots.samples[of.sample.0 as usize],
            &mut self.samples,
            || extract.sample(of.sample).clone(),
        );
        let recipe = slot(
            &mut slots.recipes[of.recipe.0 as usize],
            &mut self.recipes,
            || extract.recipe(of.recipe).clone(),
        );
        let sheet = slot(&mut slots.sheets[sheet], &mut self.sheets, || Sheet {
            file: extract.file.clone(),
            sheet: extract.sheets[sheet].sheet.clone(),
            mapping: extract.sheets[sheet].mapping.clone(),
        });
        self.value_texts.push(&of.value_text);
        self.rows.push(Row {
            sample,
            recipe,
            sheet,
            at: of.at,
            value: of.value,
            censored: of.censored,
        });
        Ok(())
    }

    pub(super) fn clear(&mut self) {
        self.rows.clear();
        self.value_texts.clear();
        self.samples.clear();
        self.recipes.clear();
        self.sheets.clear();
        self.slots.number = 0;
    }

    /// The columns, in the order of the schema.
    pub(super) fn batch(&self, vocabulary: &Vocabulary) -> Batch {
        let unit = |recipe: &Recipe| vocabulary.analyte(recipe.analyte).unit.as_str().into();
        let code = |recipe: &Recipe| vocabulary.analyte(recipe.analyte).code.as_str().into();
        let of_sample = |get: fn(&Sample) -> &Option<Arc<str>>| {
            words(
                &self.rows,
                |row| row.sample,
                &self.samples,
                |s| get(s).clone(),
            )
        };
        let of_recipe = |get: &(dyn Fn(&Recipe) -> Option<Arc<str>> + Sync)| {
            words(&self.rows, |row| row.recipe, &self.recipes, get)
        };
        let of_sheet = |get: fn(&Sheet) -> &Arc<str>| {
            words(
                &self.rows,
                |row| row.sheet,
                &self.sheets,
                |s| Some(get(s).clone()),
            )
        };
        let dates = |get: fn(&Sample) -> Option<Date>| {
            Values::Dates(keyed(
                &self.rows,
                |row| row.sample,
                &self.samples,
                get,
                |&d| d,
            ))
        };
        let degrees = |get: fn(&Sample) -> Option<f64>| {
            let values = keyed(
                &self.rows,
                |row| row.sample,
                &self.samples,
                get,
                |n| n.to_bits(),
            );
            Values::KeyedNumbers(values)
        };
        let columns: Vec<Box<dyn Fn() -> Values + Sync + '_>> = vec![
            Box::new(|| {
                words(
                    &self.rows,
                    |row| row.sample,
                    &self.samples,
                    |s| Some(s.key.clone()),
                )
            }),
            Box::new(|| of_sample(|s| &s.client)),
            Box::new(|| of_sample(|s| &s.site)),
            Box::new(|| of_sample(|s| &s.source)),
            Box::new(|| of_sample(|s| &s.source_kind)),
            Box::new(|| of_sample(|s| &s.region)),
            Box::new(|| of_sample(|s| &s.sample_ref)),
            Box::new(|| of_sample(|s| &s.lab)),
            Box::new(|| of_sample(|s| &s.lab_ref)),
            Box::new(|| dates(|s| s.sampled_on)),
            Box::new(|| of_recipe(&|r| Some(code(r)))),
            Box::new(|| of_recipe(&|r| r.fraction.map(|f| f.name().into()))),
            Box::new(|| Values::Numbers(self.rows.iter().map(|row| row.value).collect())),
            Box::new(|| of_recipe(&|r| Some(unit(r)))),
            Box::new(|| self.censored()),
            Box::new(|| Values::Texts(self.value_texts.clone())),
            Box::new(|| of_recipe(&|r| r.label_text.clone())),
            Box::new(|| of_recipe(&|r| r.unit_text.clone())),
            Box::new(|| of_recipe(&|r| r.basis_text.clone())),
            Box::new(|| of_recipe(&|r| Some(r.unit_from.name().into()))),
            Box::new(|| {
                let values = keyed(
                    &self.rows,
                    |row| row.recipe,
                    &self.recipes,
                    |r| r.factor,
                    |n| n.to_bits(),
                );
                Values::KeyedNumbers(values)
            }),
            Box::new(|| of_sheet(|s| &s.file)),
            Box::new(|| of_sheet(|s| &s.sheet)),
            Box::new(|| Values::Texts(self.cells())),
            Box::new(|| of_sheet(|s| &s.mapping)),
            Box::new(|| dates(|s| s.reported_on)),
            Box::new(|| dates(|s| s.received_on)),
            Box::new(|| degrees(|s| s.latitude)),
            Box::new(|| degrees(|s| s.longitude)),
            Box::new(|| of_recipe(&|r| r.assumption.map(Into::into))),
        ];
        Batch {
            rows: self.rows.len(),
            columns: columns.par_iter().map(|column| column()).collect(),
        }
    }

    fn censored(&self) -> Values {
        let mut distinct = Distinct::new();
        let keys = (self.rows.iter())
            .map(|row| {
                row.censored
                    .map_or(NULL, |c| distinct.key(c, || Arc::from(c.name())))
            })
            .collect();
        Values::Words(Keyed {
            keys,
            distinct: distinct.into_values(),
        })
    }

    fn cells(&self) -> Texts {
        let mut texts = Texts::default();
        texts.bytes.reserve(self.rows.len() * BYTES_OF_A_CELL);
        texts.ends.reserve(self.rows.len());
        let mut number = itoa::Buffer::new();
        let mut letters = Vec::new();
        for row in &self.rows {
            let col = row.at.col as usize;
            if col >= MANY_COLUMNS {
                write!(texts.bytes, "{}", row.at).expect("writing to a String cannot fail");
            } else {
                while letters.len() <= col {
                    let next = u32::try_from(letters.len()).expect("fewer than MANY_COLUMNS");
                    letters.push(column_letters(next));
                }
                texts.bytes.push_str(&letters[col]);
                texts
                    .bytes
                    .push_str(number.format(u64::from(row.at.row) + 1));
            }
            texts.ends.push(texts.bytes.len());
        }
        texts
    }
}

/// About: a column letter and the row of a long text.
const BYTES_OF_A_CELL: usize = 8;

/// Letters are made once for a column up to here; wider than any spreadsheet.
const MANY_COLUMNS: usize = 1 << 15;

/// The place of a value in the group, which takes it on first use.
fn slot<T>(known: &mut u32, held: &mut Vec<T>, value: impl FnOnce() -> T) -> u32 {
    if *known == NULL {
        *known = u32::try_from(held.len()).expect("a group has fewer rows than a u32 counts");
        held.push(value());
    }
    *known
}

/// A column of what rows point at: `held` is made distinct by `by`, in the order of first use.
fn keyed<H, T, K: Eq + Hash>(
    rows: &[Row],
    index: impl Fn(&Row) -> u32,
    held: &[H],
    get: impl Fn(&H) -> Option<T>,
    by: impl Fn(&T) -> K,
) -> Keyed<T> {
    let mut distinct = Distinct::new();
    let key_of: Vec<u32> = held
        .iter()
        .map(|h| get(h).map_or(NULL, |value| distinct.key(by(&value), || value)))
        .collect();
    Keyed {
        keys: rows.iter().map(|row| key_of[index(row) as usize]).collect(),
        distinct: distinct.into_values(),
    }
}

fn words<H>(
    rows: &[Row],
    index: impl Fn(&Row) -> u32,
    held: &[H],
    get: impl Fn(&H) -> Option<Arc<str>>,
) -> Values {
    Values::Words(keyed(rows, index, held, get, Arc::clone))
}
