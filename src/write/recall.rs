//! Rows of `results` become the extract that they came from: what was resolved once (samples,
//! recipes) is found again by what the rows say.

use super::former::{FormerReport, Words};
use super::parquet_in::Group;
use crate::place::Address;
use crate::record::{
    Censored, Extract, Measurement, Origin, Recipe, RecipeId, Sample, SampleId, SheetAccount,
};
use crate::vocabulary::Fraction;
use hashbrown::{DefaultHashBuilder, HashMap, HashSet};
use jiff::ToSpan;
use jiff::civil::{Date, date};
use std::hash::BuildHasher;
use std::sync::Arc;

pub(super) struct Recall<'a> {
    words: Words<'a>,
    extract: Extract,
    hasher: DefaultHashBuilder,
    /// Recipes and samples by a hash of what distinguishes most of them.
    recipes: HashMap<u64, Vec<RecipeId>>,
    samples: HashMap<u64, Vec<SampleId>>,
    texts: HashSet<Arc<str>>,
}

impl<'a> Recall<'a> {
    pub(super) fn new(words: Words<'a>, report: &FormerReport, sheets: &[SheetAccount]) -> Self {
        Self {
            words,
            extract: Extract {
                file: report.file.clone(),
                sha256: report.sha256.clone(),
                sheets: sheets.to_vec(),
                ..Extract::default()
            },
            hasher: DefaultHashBuilder::default(),
            recipes: HashMap::new(),
            samples: HashMap::new(),
            texts: HashSet::new(),
        }
    }

    /// The extract, in the order of the cells, wherever its rows came from.
    pub(super) fn finish(self) -> Extract {
        let mut extract = self.extract;
        if extract.measurements.is_sorted_by_key(|m| (m.sheet, m.at)) {
            return extract;
        }
        extract.measurements.sort_by_key(|m| (m.sheet, m.at));
        let mut samples = Renumbered::of(extract.samples);
        let mut recipes = Renumbered::of(extract.recipes);
        for measurement in &mut extract.measurements {
            measurement.sample.0 = samples.number(measurement.sample.0);
            measurement.recipe.0 = recipes.number(measurement.recipe.0);
        }
        extract.samples = samples.finish();
        extract.recipes = recipes.finish();
        extract
    }

    /// One copy of each text.
    pub(super) fn shared(&mut self, text: &str) -> Arc<str> {
        if let Some(held) = self.texts.get(text) {
            return held.clone();
        }
        let new: Arc<str> = text.into();
        self.texts.insert(new.clone());
        new
    }

    /// Index of a sheet; `None` where the row is of another file or the report has no such sheet.
    pub(super) fn sheet(&self, file: &str, sheet: &str) -> Option<u16> {
        if file != &*self.extract.file {
            return None;
        }
        let sheets = &self.extract.sheets;
        let index = sheets.iter().position(|held| &*held.sheet == sheet)?;
        u16::try_from(index).ok()
    }

    /// Takes a row of `results`; `None` where it cannot be understood.
    pub(super) fn result(&mut self, group: &Group, row: usize) -> Option<()> {
        let measurement = Measurement {
            sample: self.sample(group, row)?,
            recipe: self.recipe(group, row)?,
            value: group.number(column::VALUE, row),
            censored: match group.text(column::CENSORED, row) {
                Some(name) => Some(Censored::parse(name)?),
                None => None,
            },
            value_text: group.text(column::VALUE_TEXT, row)?.into(),
            sheet: self.sheet(
                group.text(column::FILE, row)?,
                group.text(column::SHEET, row)?,
            )?,
            at: Address::parse(group.text(column::CELL, row)?)?,
        };
        self.extract.measurements.push(measurement);
        Some(())
    }

    fn sample(&mut self, group: &Group, row: usize) -> Option<SampleId> {
        let key = group.text(column::SAMPLE_KEY, row)?;
        let hash = self.hasher.hash_one(key);
        let known = self.samples.get(&hash).into_iter().flatten();
        let known = known.copied().find(|&id| {
            let held = self.extract.sample(id);
            *held.key == *key && is_sample(held, group, row)
        });
        if known.is_some() {
            return known;
        }
        let mut sample = Sample {
            key: self.shared(key),
            latitude: group.number(column::LATITUDE, row),
            longitude: group.number(column::LONGITUDE, row),
            ..Sample::default()
        };
        for field in column::TEXTS_OF_SAMPLE {
            let text = group.text(field.at, row);
            *(field.get_mut)(&mut sample) = text.map(|text| self.shared(text));
        }
        for field in column::DATES_OF_SAMPLE {
            *(field.get_mut)(&mut sample) = match group.day(field.at, row) {
                Some(days) => Some(day(days)?),
                None => None,
            };
        }
        let id = SampleId(u32::try_from(self.extract.samples.len()).ok()?);
        self.extract.samples.push(sample);
        self.samples.entry(hash).or_default().push(id);
        Some(id)
    }

    fn recipe(&mut self, group: &Group, row: usize) -> Option<RecipeId> {
        let texts = column::OF_RECIPE.map(|at| group.text(at, row));
        let factor = group.number(column::FACTOR, row);
        let hash = self.hasher.hash_one(texts);
        let known = self.recipes.get(&hash).into_iter().flatten();
        let known = known.copied().find(|&id| {
            let held = self.extract.recipe(id);
            let analyte = self.words.vocabulary.analyte(held.analyte);
            texts
                == [
                    Some(analyte.code.as_str()),
                    held.fraction.map(Fraction::name),
                    held.label_text.as_deref(),
                    held.unit_text.as_deref(),
                    held.basis_text.as_deref(),
                    Some(held.unit_from.name()),
                    held.assumption,
                ]
                && held.factor.map(f64::to_bits) == factor.map(f64::to_bits)
        });
        if known.is_some() {
            return known;
        }
        let [code, fraction, label, unit, basis, unit_from, assumption] = texts;
        let recipe = Recipe {
            analyte: self.words.vocabulary.find(code?)?,
            fraction: match fraction {
                Some(name) => Some(self::fraction(name)?),
                None => None,
            },
            factor,
            label_text: label.map(|text| self.shared(text)),
            unit_text: unit.map(|text| self.shared(text)),
            basis_text: basis.map(|text| self.shared(text)),
            unit_from: Origin::parse(unit_from?)?,
            assumption: match assumption {
                Some(code) => Some(
                    *self
                        .words
                        .assumptions
                        .iter()
                        .find(|known| **known == code)?,
                ),
                None => None,
            },
        };
        let id = RecipeId(u32::try_from(self.extract.recipes.len()).ok()?);
        self.extract.recipes.push(recipe);
        self.recipes.entry(hash).or_default().push(id);
        Some(id)
    }
}

/// Puts things into the order in which they are asked for.
struct Renumbered<T> {
    old: Vec<Option<T>>,
    numbers: Vec<u32>,
    new: Vec<T>,
}

impl<T> Renumbered<T> {
    fn of(old: Vec<T>) -> Self {
        Self {
            numbers: vec![0; old.len()],
            new: Vec::with_capacity(old.len()),
            old: old.into_iter().map(Some).collect(),
        }
    }

    fn number(&mut self, old: u32) -> u32 {
        let old = old as usize;
        if let Some(first) = self.old[old].take() {
            self.numbers[old] = self.new.len() as u32;
            self.new.push(first);
        }
        self.numbers[old]
    }

    fn finish(self) -> Vec<T> {
        self.new
    }
}

fn is_sample(held: &Sample, group: &Group, row: usize) -> bool {
    let bits = |number: Option<f64>| number.map(f64::to_bits);
    column::TEXTS_OF_SAMPLE
        .iter()
        .all(|field| (field.get)(held).as_deref() == group.text(field.at, row))
        && column::DATES_OF_SAMPLE
            .iter()
            .all(|field| *(field.get)(held) == group.day(field.at, row).and_then(day))
        && bits(held.latitude) == bits(group.number(column::LATITUDE, row))
        && bits(held.longitude) == bits(group.number(column::LONGITUDE, row))
}

fn fraction(name: &str) -> Option<Fraction> {
    [Fraction::Dissolved, Fraction::Total]
        .into_iter()
        .find(|fraction| fraction.name() == name)
}

/// `None` beyond the calendar.
fn day(days_since_1970: i32) -> Option<Date> {
    date(1970, 1, 1).checked_add(days_since_1970.days()).ok()
}

/// Position of the file's path in a row of `results`.
pub(super) const FILE_OF_RESULT: usize = column::FILE;

/// Position of `value_text`.
pub(super) const TEXT_OF_RESULT: usize = column::VALUE_TEXT;

/// Positions in `schema::Table::Results`; a test holds them against it.
mod column {
    use super::{Arc, Date, Sample};

    pub(super) const SAMPLE_KEY: usize = 0;
    pub(super) const VALUE: usize = 12;
    pub(super) const CENSORED: usize = 14;
    pub(super) const VALUE_TEXT: usize = 15;
    pub(super) const FACTOR: usize = 20;
    pub(super) const FILE: usize = 21;
    pub(super) const SHEET: usize = 22;
    pub(super) const CELL: usize = 23;
    pub(super) const LATITUDE: usize = 27;
    pub(super) const LONGITUDE: usize = 28;

    /// Analyte, fraction, label, unit, basis, where from, assumption.
    pub(super) const OF_RECIPE: [usize; 7] = [10, 11, 16, 17, 18, 19, 29];

    /// Where a field of the sample stands, and how to get at it.
    pub(super) struct Field<T> {
        pub(super) at: usize,
        pub(super) get: fn(&Sample) -> &Option<T>,
        pub(super) get_mut: fn(&mut Sample) -> &mut Option<T>,
    }

    macro_rules! fields {
        ($($at:literal $name:ident),*) => {
            [$(Field { at: $at, get: |s| &s.$name, get_mut: |s| &mut s.$name }),*]
        };
    }

    pub(super) const TEXTS_OF_SAMPLE: [Field<Arc<str>>; 8] = fields![
        1 client, 2 site, 3 source, 4 source_kind, 5 region, 6 sample_ref, 7 lab, 8 lab_ref
    ];

    pub(super) const DATES_OF_SAMPLE: [Field<Date>; 3] =
        fields![9 sampled_on, 25 reported_on, 26 received_on];
}

#[cfg(test)]
mod tests {
    use super::column;
    use crate::schema::Table;
    use crate::vocabulary::Vocabulary;

    #[test]
    fn the_positions_are_those_of_the_schema() {
        let columns = Table::Results.columns(Vocabulary::built_in());
        let at = |name: &str| columns.iter().position(|c| c.name == name);
        for (name, position) in [
            ("sample_key", column::SAMPLE_KEY),
            ("value", column::VALUE),
            ("censored", column::CENSORED),
            ("value_text", column::VALUE_TEXT),
            ("factor", column::FACTOR),
            ("file", column::FILE),
            ("sheet", column::SHEET),
            ("cell", column::CELL),
            ("latitude", column::LATITUDE),
            ("longitude", column::LONGITUDE),
        ] {
            assert_eq!(at(name), Some(position), "{name}");
        }
        let names = |positions: &[usize]| -> Vec<String> {
            let names = positions.iter().map(|&at| columns[at].name.to_string());
            names.collect()
        };
        assert_eq!(
            names(&column::OF_RECIPE).join(" "),
            "analyte fraction label_text unit_text basis_text unit_from assumption"
        );
        assert_eq!(
            names(&column::TEXTS_OF_SAMPLE.map(|f| f.at)).join(" "),
            "client site source source_kind region sample_ref lab lab_ref"
        );
        assert_eq!(
            names(&column::DATES_OF_SAMPLE.map(|f| f.at)).join(" "),
            "sampled_on reported_on received_on"
        );
    }
}
