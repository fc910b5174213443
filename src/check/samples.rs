//! All samples met so far, compactly: a few dozen bytes for each result that counts. A report, or a
//! part of a streamed one, is added and can be forgotten; memory grows with samples, not with rows.

use super::prefer::Preference;
use super::substance::Substance;
use super::water::{Reading, Water};
use crate::place::{Address, Place};
use crate::record::{Censored, Extract, Origin, Recipe, Sample};
use crate::vocabulary::{AnalyteId, Fraction, Vocabulary};
use jiff::civil::Date;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Different results of one analyte kept for one sample; further ones say nothing new.
const KEPT_RESULTS: usize = 8;

/// Index into [`Samples::columns`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) struct ColumnId(pub u32);

/// All numbers of one file under one label, unit, basis and fraction.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Column {
    /// Index into [`Samples::files`].
    pub file: u32,
    pub analyte: AnalyteId,
    pub substance: Option<Substance>,
    pub fraction: Option<Fraction>,
    pub factor: Option<f64>,
    pub label_text: Option<Arc<str>>,
    pub unit_text: Option<Arc<str>>,
    pub basis_text: Option<Arc<str>>,
    pub unit_from: Origin,
    pub assumption: Option<&'static str>,
}

impl Column {
    /// How the report names it, for messages.
    pub(super) fn label(&self) -> &str {
        self.label_text.as_deref().map_or("(no label)", str::trim)
    }

    fn is_of(&self, recipe: &Recipe) -> bool {
        self.analyte == recipe.analyte
            && self.fraction == recipe.fraction
            && self.factor == recipe.factor
            && self.label_text == recipe.label_text
            && self.unit_text == recipe.unit_text
            && self.basis_text == recipe.basis_text
            && self.unit_from == recipe.unit_from
    }
}

/// A file and its sheets, in the order of the file.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct FileSheets {
    pub file: Arc<str>,
    pub sheets: Vec<Arc<str>>,
    columns: Vec<ColumnId>,
}

/// One result of a sample.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Entry {
    /// In the canonical unit; the limit where censored; NaN never, 0 where absent.
    pub value: f64,
    pub column: ColumnId,
    pub at: Address,
    /// When the report that gave it was issued.
    pub reported_on: Option<Date>,
    pub sheet: u16,
    pub censored: Option<Censored>,
}

/// One sample: who and where, and one entry for each different result.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SampleChemistry {
    /// Identity as the reports have it, the first that says something counting.
    pub(super) about: Sample,
    pub(super) entries: Vec<Entry>,
}

/// The samples of all extracts added.
#[derive(Clone, Debug)]
pub struct Samples<'v> {
    pub(super) vocabulary: &'v Vocabulary,
    substances: Vec<Option<Substance>>,
    /// Hard range of each substance, by its position.
    ranges: Vec<Option<(f64, f64)>>,
    pub(super) files: Vec<FileSheets>,
    file_ids: BTreeMap<Arc<str>, u32>,
    pub(super) columns: Vec<Column>,
    pub(super) by_key: BTreeMap<Arc<str>, SampleChemistry>,
}

impl<'v> Samples<'v> {
    pub fn new(vocabulary: &'v Vocabulary) -> Self {
        Self {
            vocabulary,
            substances: Substance::of_vocabulary(vocabulary),
            ranges: (Substance::ALL.iter())
                .map(|substance| {
                    vocabulary
                        .analyte(substance.analyte(vocabulary)?)
                        .hard_range
                })
                .collect(),
            files: Vec::new(),
            file_ids: BTreeMap::new(),
            columns: Vec::new(),
            by_key: BTreeMap::new(),
        }
    }

    /// Adds what one report, or one part of a streamed report, gave. Parts of one file have the same
    /// `file` and may come in any number.
    pub fn add(&mut self, extract: &Extract) {
        let file = self.file_id(extract);
        let columns: Vec<ColumnId> = (extract.recipes.iter())
            .map(|recipe| self.column_id(file, recipe))
            .collect();
        for sample in &extract.samples {
            let held = self.by_key.entry(sample.key.clone()).or_default();
            merge_identity(&mut held.about, sample);
        }
        for measurement in &extract.measurements {
            let sample = extract.sample(measurement.sample);
            let column = columns[measurement.recipe.0 as usize];
            let value = match (measurement.value, measurement.censored) {
                (Some(value), _) => value,
                (None, Some(Censored::Absent)) => 0.0,
                // Without a value only `absent` makes sense; nothing to check.
                (None, _) => continue,
            };
            let entry = Entry {
                value,
                column,
                at: measurement.at,
                reported_on: sample.reported_on,
                sheet: measurement.sheet,
                censored: measurement.censored,
            };
            if let Some(held) = self.by_key.get_mut(&sample.key) {
                keep(held, entry, &self.columns);
            }
        }
    }

    /// How many samples there are.
    pub fn len(&self) -> usize {
        self.by_key.len()
    }

    pub fn is_empty(&self) -> bool {
        self.by_key.is_empty()
    }

    pub(super) fn column(&self, id: ColumnId) -> &Column {
        &self.columns[id.0 as usize]
    }

    /// Where an entry stood.
    pub(super) fn place(&self, entry: &Entry) -> Place {
        let file = &self.files[self.column(entry.column).file as usize];
        match file.sheets.get(usize::from(entry.sheet)) {
            Some(sheet) => Place::cell(&file.file, sheet, entry.at),
            None => Place::file(&file.file),
        }
    }

    /// The water without the numbers that cannot be.
    pub(super) fn possible(&self, water: &Water) -> Water {
        let mut possible = water.clone();
        for (substance, range) in Substance::ALL.iter().zip(&self.ranges) {
            let reading = water.reading(*substance);
            if reading.is_some_and(|r| is_impossible(*range, r.value, r.censored)) {
                possible.clear(*substance);
            }
        }
        possible
    }

    /// The file an entry stands in.
    pub(super) fn file_of(&self, entry: &Entry) -> &str {
        &self.files[self.column(entry.column).file as usize].file
    }

    fn file_id(&mut self, extract: &Extract) -> u32 {
        let next = self.files.len() as u32;
        let id = *(self.file_ids.entry(extract.file.clone())).or_insert(next);
        if id == next {
            self.files.push(FileSheets {
                file: extract.file.clone(),
                sheets: Vec::new(),
                columns: Vec::new(),
            });
        }
        let sheets = &mut self.files[id as usize].sheets;
        if sheets.len() < extract.sheets.len() {
            *sheets = extract.sheets.iter().map(|s| s.sheet.clone()).collect();
        }
        id
    }

    fn column_id(&mut self, file: u32, recipe: &Recipe) -> ColumnId {
        let known = &mut self.files[file as usize].columns;
        if let Some(id) = (known.iter()).find(|id| self.columns[id.0 as usize].is_of(recipe)) {
            return *id;
        }
        let id = ColumnId(self.columns.len() as u32);
        known.push(id);
        self.columns.push(Column {
            file,
            analyte: recipe.analyte,
            substance: (self.substances.get(usize::from(recipe.analyte.0)))
                .copied()
                .flatten(),
            fraction: recipe.fraction,
            factor: recipe.factor,
            label_text: recipe.label_text.clone(),
            unit_text: recipe.unit_text.clone(),
            basis_text: recipe.basis_text.clone(),
            unit_from: recipe.unit_from,
            assumption: recipe.assumption,
        });
        id
    }

    /// The entries of a sample by analyte, the one that counts first.
    pub(super) fn ranked<'s>(
        &'s self,
        sample: &'s SampleChemistry,
    ) -> BTreeMap<AnalyteId, Vec<&'s Entry>> {
        let mut ranked: BTreeMap<AnalyteId, Vec<&Entry>> = BTreeMap::new();
        for entry in &sample.entries {
            ranked
                .entry(self.column(entry.column).analyte)
                .or_default()
                .push(entry);
        }
        for entries in ranked.values_mut() {
            entries.sort_by(|a, b| self.preference(a).cmp(&self.preference(b)));
        }
        ranked
    }

    fn preference(&self, entry: &Entry) -> Preference<'_> {
        let column = self.column(entry.column);
        Preference::new(
            column.fraction,
            entry.censored,
            entry.reported_on,
            &self.files[column.file as usize].file,
            entry.sheet,
            entry.at,
        )
    }
}

/// One sample ready for the checks: the numbers that count, and where each stood.
#[derive(Clone, Debug)]
pub(super) struct Judged<'s> {
    pub key: &'s Arc<str>,
    pub about: &'s Sample,
    /// Without the numbers that cannot be: nothing may be computed from those.
    pub water: Water,
    /// With them: an explanation may make them possible.
    pub as_read: Water,
    /// All entries by analyte, the one that counts first.
    pub ranked: BTreeMap<AnalyteId, Vec<&'s Entry>>,
    chosen: [Option<&'s Entry>; Substance::COUNT],
}

impl<'s> Judged<'s> {
    pub(super) fn new(
        samples: &'s Samples<'_>,
        key: &'s Arc<str>,
        sample: &'s SampleChemistry,
    ) -> Self {
        let ranked = samples.ranked(sample);
        let mut water = Water::default();
        let mut chosen = [None; Substance::COUNT];
        for entries in ranked.values() {
            let Some(entry) = entries.first().copied() else {
                continue;
            };
            let column = samples.column(entry.column);
            let Some(substance) = column.substance else {
                continue;
            };
            chosen[substance as usize] = Some(entry);
            water.set(
                substance,
                Reading {
                    value: entry.value,
                    censored: entry.censored,
                },
            );
            if column.fraction == Some(Fraction::Total) {
                water.mark_total(substance);
            }
        }
        Self {
            key,
            about: &sample.about,
            water: samples.possible(&water),
            as_read: water,
            ranked,
            chosen,
        }
    }

    /// The entry that counts for a substance; also where its number is impossible.
    pub(super) fn entry(&self, substance: Substance) -> Option<&'s Entry> {
        self.chosen[substance as usize]
    }
}

/// The entries that count of each column, over the samples of a file.
pub(super) fn columns<'g, 's>(
    group: &'g [&'g Judged<'s>],
) -> BTreeMap<ColumnId, Vec<(&'g Judged<'s>, &'s Entry)>> {
    let mut columns: BTreeMap<ColumnId, Vec<_>> = BTreeMap::new();
    for sample in group {
        for entry in sample.ranked.values().filter_map(|entries| entries.first()) {
            (columns.entry(entry.column).or_default()).push((*sample, *entry));
        }
    }
    columns
}

/// Whether a number lies beyond what is physically possible. A limit may: it is only too high.
pub(super) fn is_impossible(
    range: Option<(f64, f64)>,
    value: f64,
    censored: Option<Censored>,
) -> bool {
    let Some((low, high)) = range else {
        return false;
    };
    match censored {
        None => value < low || value > high,
        Some(Censored::Below) => value < 0.0,
        Some(Censored::Above) => value > high,
        Some(Censored::Absent) => false,
    }
}

/// Keeps an entry unless the sample has the same result of the analyte already.
fn keep(sample: &mut SampleChemistry, entry: Entry, columns: &[Column]) {
    let column = &columns[entry.column.0 as usize];
    let mut alike = 0;
    for held in &sample.entries {
        let held_column = &columns[held.column.0 as usize];
        if held_column.analyte == column.analyte && held_column.fraction == column.fraction {
            if held.value == entry.value && held.censored == entry.censored {
                return;
            }
            alike += 1;
        }
    }
    if alike < KEPT_RESULTS {
        sample.entries.push(entry);
    }
}

/// Fills what the sample does not know yet.
fn merge_identity(held: &mut Sample, new: &Sample) {
    fn fill<T: Clone>(held: &mut Option<T>, new: &Option<T>) {
        if held.is_none() {
            held.clone_from(new);
        }
    }
    held.key = new.key.clone();
    fill(&mut held.client, &new.client);
    fill(&mut held.site, &new.site);
    fill(&mut held.source, &new.source);
    fill(&mut held.source_kind, &new.source_kind);
    fill(&mut held.region, &new.region);
    fill(&mut held.sample_ref, &new.sample_ref);
    fill(&mut held.lab, &new.lab);
    fill(&mut held.lab_ref, &new.lab_ref);
    fill(&mut held.sampled_on, &new.sampled_on);
    fill(&mut held.reported_on, &new.reported_on);
    fill(&mut held.received_on, &new.received_on);
    fill(&mut held.latitude, &new.latitude);
    fill(&mut held.longitude, &new.longitude);
}
