//! Rows of `results` on their way to a batch: what is the same for many rows (sample, recipe, sheet)
//! is kept once and each row points at it; the columns are then gathered by key, and no text is copied
//! per row except the cell's own.

use super::recall;
use super::values::{Batch, Keyed, NULL, Runs, Texts, Values, columns};
use crate::error::{Error, Result};
use crate::place::{Address, column_letters};
use crate::record::{Censored, Extract, Measurement, Recipe, Sample};
use crate::vocabulary::Vocabulary;
use jiff::civil::Date;
use std::fmt::Write;
use std::hash::Hash;
use std::sync::Arc;

/// Rows not yet written: each column on its own, so that the columns made of one are gathered from
/// what fits in a processor's cache.
#[derive(Default)]
pub(super) struct ResultRows {
    samples: Pointed<Sample>,
    recipes: Pointed<Recipe>,
    sheets: Pointed<Sheet>,
    cells: Vec<Address>,
    values: Vec<Option<f64>>,
    censored: Vec<Option<Censored>>,
    value_texts: Texts,
    slots: Slots,
}

/// What rows point at: each thing once, and which of them for each row.
struct Pointed<T> {
    held: Vec<T>,
    rows: Runs,
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
        self.cells.len()
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
        (self.samples).push(&mut slots.samples[of.sample.0 as usize], || {
            extract.sample(of.sample).clone()
        });
        (self.recipes).push(&mut slots.recipes[of.recipe.0 as usize], || {
            extract.recipe(of.recipe).clone()
        });
        (self.sheets).push(&mut slots.sheets[sheet], || Sheet {
            file: extract.file.clone(),
            sheet: extract.sheets[sheet].sheet.clone(),
            mapping: extract.sheets[sheet].mapping.clone(),
        });
        self.cells.push(of.at);
        self.values.push(of.value);
        self.censored.push(of.censored);
        self.value_texts.push(&of.value_text);
        Ok(())
    }

    pub(super) fn clear(&mut self) {
        self.samples.clear();
        self.recipes.clear();
        self.sheets.clear();
        self.cells.clear();
        self.values.clear();
        self.censored.clear();
        self.slots.number = 0;
    }

    /// The columns, in the order of the schema; what remains here is to be cleared.
    pub(super) fn batch(&mut self, vocabulary: &Vocabulary) -> Batch {
        let value_texts = Values::Texts(self.value_texts.take());
        let rows = &*self;
        let unit = |recipe: &Recipe| vocabulary.analyte(recipe.analyte).unit.as_str().into();
        let code = |recipe: &Recipe| vocabulary.analyte(recipe.analyte).code.as_str().into();
        let of_sample =
            |get: fn(&Sample) -> &Option<Arc<str>>| rows.samples.words(|s| get(s).clone());
        let of_recipe =
            |get: &(dyn Fn(&Recipe) -> Option<Arc<str>> + Sync)| rows.recipes.words(get);
        let of_sheet = |get: fn(&Sheet) -> &Arc<str>| rows.sheets.words(|s| Some(get(s).clone()));
        let dates =
            |get: fn(&Sample) -> Option<Date>| Values::Dates(rows.samples.keyed(get, |&d| d));
        let degrees = |get: fn(&Sample) -> Option<f64>| {
            Values::KeyedNumbers(rows.samples.keyed(get, |n| n.to_bits()))
        };
        let mut columns = columns(&[
            &|| rows.samples.words(|s| Some(s.key.clone())),
            &|| of_sample(|s| &s.client),
            &|| of_sample(|s| &s.site),
            &|| of_sample(|s| &s.source),
            &|| of_sample(|s| &s.source_kind),
            &|| of_sample(|s| &s.region),
            &|| of_sample(|s| &s.sample_ref),
            &|| of_sample(|s| &s.lab),
            &|| of_sample(|s| &s.lab_ref),
            &|| dates(|s| s.sampled_on),
            &|| of_recipe(&|r| Some(code(r))),
            &|| of_recipe(&|r| r.fraction.map(|f| f.name().into())),
            &|| rows.numbers(),
            &|| of_recipe(&|r| Some(unit(r))),
            &|| rows.words_of_censored(),
            &|| of_recipe(&|r| r.label_text.clone()),
            &|| of_recipe(&|r| r.unit_text.clone()),
            &|| of_recipe(&|r| r.basis_text.clone()),
            &|| of_recipe(&|r| Some(r.unit_from.name().into())),
            &|| Values::KeyedNumbers(rows.recipes.keyed(|r| r.factor, |n| n.to_bits())),
            &|| of_sheet(|s| &s.file),
            &|| of_sheet(|s| &s.sheet),
            &|| Values::Texts(rows.cell_texts()),
            &|| of_sheet(|s| &s.mapping),
            &|| dates(|s| s.reported_on),
            &|| dates(|s| s.received_on),
            &|| degrees(|s| s.latitude),
            &|| degrees(|s| s.longitude),
            &|| of_recipe(&|r| r.assumption.map(Into::into)),
        ]);
        columns.insert(recall::TEXT_OF_RESULT, value_texts);
        Batch {
            rows: rows.len(),
            columns,
        }
    }

    /// Numbers of few digits repeat, and take a third less room by key then.
    fn numbers(&self) -> Values {
        let numbers = self.values.iter().copied();
        let keyed = Keyed::of(numbers, |number| number.to_bits(), |number| number);
        if keyed.distinct.len() * 2 <= self.len() {
            Values::KeyedNumbers(keyed)
        } else {
            Values::Numbers(self.values.clone())
        }
    }

    fn words_of_censored(&self) -> Values {
        let censored = self.censored.iter().copied();
        Values::Words(Keyed::of(censored, |c| *c, |c| Arc::from(c.name())))
    }

    fn cell_texts(&self) -> Texts {
        let mut texts = Texts::default();
        texts.bytes.reserve(self.len() * BYTES_OF_A_CELL);
        texts.ends.reserve(self.len());
        let mut number = itoa::Buffer::new();
        let mut letters = Vec::new();
        for at in &self.cells {
            let col = at.col as usize;
            if col >= MANY_COLUMNS {
                write!(texts.bytes, "{at}").expect("writing to a String cannot fail");
            } else {
                while letters.len() <= col {
                    let next = u32::try_from(letters.len()).expect("fewer than MANY_COLUMNS");
                    letters.push(column_letters(next));
                }
                texts.bytes.push_str(&letters[col]);
                texts.bytes.push_str(number.format(u64::from(at.row) + 1));
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

impl<T> Pointed<T> {
    /// Lets the next row point at a thing, which is taken up on first use: `known` is where it stands,
    /// [`NULL`] where it does not yet.
    fn push(&mut self, known: &mut u32, thing: impl FnOnce() -> T) {
        if *known == NULL {
            let next = self.held.len();
            *known = u32::try_from(next).expect("a group has fewer rows than a u32 counts");
            self.held.push(thing());
        }
        self.rows.push(*known, 1);
    }

    fn clear(&mut self) {
        self.held.clear();
        self.rows.clear();
    }

    /// A column of what the things say, made distinct by `by`, in the order of first use.
    fn keyed<V, K: Eq + Hash>(
        &self,
        get: impl Fn(&T) -> Option<V>,
        by: impl Fn(&V) -> K,
    ) -> Keyed<V> {
        let of_things = Keyed::of(self.held.iter().map(get), by, |value| value);
        // Of most columns every thing says the same.
        let keys = match of_things.keys.each().next() {
            Some((only, things)) if things as usize == self.held.len() => {
                Runs::of_one(only, self.rows.rows())
            }
            _ => {
                let key_of: Vec<u32> = (of_things.keys.each())
                    .flat_map(|(key, things)| std::iter::repeat_n(key, things as usize))
                    .collect();
                self.rows.mapped(|thing| key_of[thing as usize])
            }
        };
        Keyed {
            keys,
            distinct: of_things.distinct,
        }
    }

    fn words(&self, get: impl Fn(&T) -> Option<Arc<str>>) -> Values {
        Values::Words(self.keyed(get, Arc::clone))
    }
}

impl<T> Default for Pointed<T> {
    fn default() -> Self {
        Self {
            held: Vec::new(),
            rows: Runs::default(),
        }
    }
}
