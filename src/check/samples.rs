//! All samples met so far, compactly: a few dozen bytes for each result that counts. A report, or a
//! part of a streamed one, is added and can be forgotten; memory grows with samples, not with rows.

use super::prefer::{Preference, Rank};
use super::substance::Substance;
use super::water::{Reading, Water};
use crate::place::{Address, Place};
use crate::record::{Censored, Extract, Origin, Recipe, Sample};
use crate::vocabulary::{AnalyteId, Fraction, Vocabulary};
use hashbrown::HashMap;
use jiff::civil::Date;
use rayon::prelude::*;
use smallvec::SmallVec;
use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;

/// Different results of one analyte kept for one sample; further ones say nothing new.
const KEPT_RESULTS: usize = 8;

/// Bytes of a sample's key and names and of its place among the slots, about: a name and a key of 16
/// characters, with what the allocator adds.
const NAMES_BYTES: usize = 150;

const FEW_SAMPLES: &str = "memory ends before four billion samples";

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
    /// The column's.
    pub analyte: AnalyteId,
    pub at: Address,
    /// When the report that gave it was issued.
    pub reported_on: Option<Date>,
    pub sheet: u16,
    pub censored: Option<Censored>,
}

/// One sample: who and where, and one entry for each different result.
#[derive(Clone, Debug, Default, PartialEq)]
struct Held {
    /// Identity as the reports have it, the first that says something counting.
    about: Sample,
    /// By analyte, the one that counts first, without what says nothing new.
    entries: Vec<Entry>,
    /// How many files have a result of it.
    files: u32,
    /// The last of these.
    last_file: u32,
    /// Two of them give one of its results alike.
    is_confirmed: bool,
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
    held: Vec<Held>,
    /// Entries that there is room for, of all samples.
    room: usize,
    /// Index into `held`, the sample's slot, by key.
    slots: HashMap<Arc<str>, u32>,
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
            held: Vec::new(),
            room: 0,
            slots: HashMap::new(),
        }
    }

    /// Adds what one report, or one part of a streamed report, gave. Parts of one file have the same
    /// `file` and may come in any number.
    pub fn add(&mut self, extract: &Extract) {
        let file = self.file_id(extract);
        let columns: Vec<ColumnId> = (extract.recipes.iter())
            .map(|recipe| self.column_id(file, recipe))
            .collect();
        let slots: Vec<u32> = (extract.samples.iter())
            .map(|sample| self.meet(sample))
            .collect();
        self.make_room(extract, &slots);
        for measurement in &extract.measurements {
            let value = match (measurement.value, measurement.censored) {
                (Some(value), _) => value,
                (None, Some(Censored::Absent)) => 0.0,
                // Without a value only `absent` makes sense; nothing to check.
                (None, _) => continue,
            };
            let column = columns[measurement.recipe.0 as usize];
            let entry = Entry {
                value,
                column,
                analyte: self.column(column).analyte,
                at: measurement.at,
                reported_on: extract.sample(measurement.sample).reported_on,
                sheet: measurement.sheet,
                censored: measurement.censored,
            };
            self.keep(slots[measurement.sample.0 as usize], entry);
        }
    }

    /// Room for all results of samples that are new.
    fn make_room(&mut self, extract: &Extract, slots: &[u32]) {
        let mut counts = vec![0; slots.len()];
        for measurement in &extract.measurements {
            counts[measurement.sample.0 as usize] += 1;
        }
        for (slot, count) in slots.iter().zip(counts) {
            let entries = &mut self.held[*slot as usize].entries;
            if entries.capacity() == 0 {
                entries.reserve_exact(count);
                self.room += entries.capacity();
            }
        }
    }

    /// Keeps an entry. Of equal results of one analyte and fraction the one that counts most stays; of
    /// different ones the [`KEPT_RESULTS`] that count most. So no order of adding changes anything.
    fn keep(&mut self, slot: u32, entry: Entry) {
        let (columns, files) = (&self.columns, &self.files);
        let fraction = |entry: &Entry| columns[entry.column.0 as usize].fraction;
        let preference = |entry: &Entry| preference(entry, columns, files);
        let held = &mut self.held[slot as usize];
        let file = columns[entry.column.0 as usize].file;
        if held.files == 0 || held.last_file != file {
            held.files += 1;
            held.last_file = file;
        }
        let start = (held.entries).partition_point(|held| held.analyte < entry.analyte);
        let mut end = start;
        let mut alike = 0;
        let mut least = None;
        while let Some(other) = held.entries.get(end).filter(|e| e.analyte == entry.analyte) {
            if fraction(other) == fraction(&entry) {
                if other.value == entry.value && other.censored == entry.censored {
                    held.is_confirmed |= columns[other.column.0 as usize].file != file;
                    if preference(other) <= preference(&entry) {
                        return;
                    }
                    held.entries.remove(end);
                    continue;
                }
                alike += 1;
                least = Some(end);
            }
            end += 1;
        }
        let before = (held.entries[start..end].iter())
            .take_while(|other| preference(other) <= preference(&entry))
            .count();
        if alike == KEPT_RESULTS
            && let Some(least) = least
        {
            if least < start + before {
                return;
            }
            held.entries.remove(least);
        }
        if held.entries.len() == held.entries.capacity() {
            // Doubling would waste a third of the memory that grows with samples.
            held.entries.reserve_exact(4);
            self.room += 4;
        }
        held.entries.insert(start + before, entry);
    }

    /// The slot of a sample, new or known; what it says of itself is taken.
    fn meet(&mut self, sample: &Sample) -> u32 {
        let next = u32::try_from(self.held.len()).expect(FEW_SAMPLES);
        let slot = match self.slots.get(&sample.key) {
            Some(slot) => *slot,
            None => {
                self.slots.insert(sample.key.clone(), next);
                self.held.push(Held::default());
                next
            }
        };
        merge_identity(&mut self.held[slot as usize].about, sample);
        slot
    }

    /// How many samples there are.
    pub fn len(&self) -> usize {
        self.held.len()
    }

    pub fn is_empty(&self) -> bool {
        self.held.is_empty()
    }

    /// Bytes of memory that the samples take, about: all that grows with their number.
    pub fn bytes(&self) -> usize {
        self.held.len() * (size_of::<Held>() + NAMES_BYTES) + self.room * size_of::<Entry>()
    }

    /// How many files have a result of a sample.
    pub(super) fn files_of(&self, slot: u32) -> u32 {
        self.held[slot as usize].files
    }

    /// The entries of a sample.
    pub(super) fn ranked(&self, slot: u32) -> Ranked<'_> {
        self.held[slot as usize].ranked()
    }

    /// How much an entry counts, whatever its place.
    pub(super) fn rank(&self, entry: &Entry) -> Rank {
        let fraction = self.column(entry.column).fraction;
        Rank::new(fraction, entry.censored, entry.reported_on)
    }

    pub(super) fn about(&self, slot: u32) -> &Sample {
        &self.held[slot as usize].about
    }

    /// All slots, in no order that means anything.
    pub(super) fn slots(&self) -> Range<u32> {
        0..u32::try_from(self.held.len()).expect(FEW_SAMPLES)
    }

    /// All slots in the order of their keys, which no order of adding changes.
    pub(super) fn by_key(&self) -> Vec<u32> {
        let mut slots: Vec<(u64, &str, u32)> = (self.held.iter().zip(self.slots()))
            .map(|(sample, slot)| (start_of(&sample.about.key), &*sample.about.key, slot))
            .collect();
        slots.par_sort_unstable();
        slots.into_iter().map(|(.., slot)| slot).collect()
    }

    /// The slots of each file, each sample in the file that most of its numbers come from; those without
    /// any number come together. `by_key`: all slots in the order of their keys.
    pub(super) fn by_file(&self, by_key: &[u32]) -> Vec<Vec<u32>> {
        let homes: Vec<Option<u32>> = (self.slots().into_par_iter())
            .map(|slot| self.home(slot))
            .collect();
        let mut files = vec![Vec::new(); self.files.len() + 1];
        for slot in by_key {
            let home = homes[*slot as usize];
            files[home.map_or(self.files.len(), |file| file as usize)].push(*slot);
        }
        files.retain(|slots| !slots.is_empty());
        files
    }

    /// Samples of one file in the order in which they stand in it.
    pub(super) fn by_place(&self, slots: &[u32]) -> Vec<u32> {
        let mut placed: Vec<_> = (slots.par_iter())
            .map(|slot| {
                let home = self.home(*slot);
                let entries = self.held[*slot as usize].entries.iter();
                let first = entries
                    .filter(|entry| Some(self.column(entry.column).file) == home)
                    .map(|entry| (entry.sheet, entry.at))
                    .min();
                (first, *slot)
            })
            .collect();
        placed.par_sort_unstable();
        placed.into_iter().map(|(_, slot)| slot).collect()
    }

    /// The file that most of a sample's numbers come from, the first by name of those with most; `None`
    /// for a sample without numbers.
    pub(super) fn home(&self, slot: u32) -> Option<u32> {
        let sample = &self.held[slot as usize];
        let file = |entry: &Entry| self.column(entry.column).file;
        if sample.files == 1 {
            return Some(sample.last_file);
        }
        let mut counts: BTreeMap<&str, (usize, u32)> = BTreeMap::new();
        for entry in sample.ranked().chosen() {
            let count = counts.entry(self.file_of(entry));
            count.or_insert((0, file(entry))).0 += 1;
        }
        let most = (counts.iter()).max_by(|a, b| a.1.0.cmp(&b.1.0).then(b.0.cmp(a.0)));
        most.map(|(_, (_, file))| *file)
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

    /// The water without the numbers that cannot be; `None` where all can.
    pub(super) fn possible(&self, water: &Water) -> Option<Water> {
        let mut possible = None;
        for (substance, range) in Substance::ALL.iter().zip(&self.ranges) {
            let reading = water.reading(*substance);
            if reading.is_some_and(|r| is_impossible(*range, r.value, r.censored)) {
                possible
                    .get_or_insert_with(|| water.clone())
                    .clear(*substance);
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
}

/// The first half of a key: it nearly always decides between two, and stands at hand.
pub(super) fn start_of(key: &str) -> u64 {
    let mut bytes = [0; 8];
    (bytes.iter_mut().zip(key.bytes())).for_each(|(to, from)| *to = from);
    u64::from_be_bytes(bytes)
}

fn preference<'f>(entry: &Entry, columns: &[Column], files: &'f [FileSheets]) -> Preference<'f> {
    let column = &columns[entry.column.0 as usize];
    Preference::new(
        column.fraction,
        entry.censored,
        entry.reported_on,
        &files[column.file as usize].file,
        entry.sheet,
        entry.at,
    )
}

impl Held {
    fn ranked(&self) -> Ranked<'_> {
        Ranked(&self.entries)
    }
}

/// The entries of one sample by analyte, the one that counts first.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ranked<'s>(&'s [Entry]);

impl<'s> Ranked<'s> {
    /// Each analyte with its entries, of which there is at least one.
    pub(super) fn iter(self) -> impl Iterator<Item = (&'s AnalyteId, &'s [Entry])> {
        (self.0.chunk_by(|a, b| a.analyte == b.analyte))
            .map(|entries| (&entries[0].analyte, entries))
    }

    /// The entry that counts of each analyte.
    pub(super) fn chosen(self) -> impl Iterator<Item = &'s Entry> {
        self.iter().map(|(_, entries)| &entries[0])
    }
}

/// One sample ready for the checks: the numbers that count, and where each stood.
#[derive(Clone, Debug)]
pub(super) struct Judged<'s> {
    /// The sample's position among all samples, in no order that means anything.
    pub slot: u32,
    pub key: &'s Arc<str>,
    pub about: &'s Sample,
    /// With the numbers that cannot be: an explanation may make them possible.
    pub as_read: Water,
    /// Without them, where there are any.
    usable: Option<Box<Water>>,
    /// All entries by analyte, the one that counts first.
    pub ranked: Ranked<'s>,
    /// More than one water under one name: no number of it is used.
    pub is_mixed: bool,
    /// Two reports give one of its results alike.
    pub is_confirmed: bool,
    /// Position of the entry that counts for each substance, or [`NO_ENTRY`].
    chosen: [u16; Substance::COUNT],
}

const NO_ENTRY: u16 = u16::MAX;
const FEW_ENTRIES: &str =
    "a sample has no more analytes than a vocabulary, and few entries of each";

impl<'s> Judged<'s> {
    pub(super) fn new(samples: &'s Samples<'_>, slot: u32) -> Self {
        let sample = &samples.held[slot as usize];
        let ranked = sample.ranked();
        let mut as_read = Water::default();
        let mut chosen = [NO_ENTRY; Substance::COUNT];
        let mut unusable: SmallVec<[Substance; 4]> = SmallVec::new();
        let (mut next, mut has_repeats) = (0, false);
        for (_, entries) in ranked.iter() {
            let position = next;
            next += entries.len();
            has_repeats |= entries.len() > 1;
            let entry = &entries[0];
            let column = samples.column(entry.column);
            let Some(substance) = column.substance else {
                continue;
            };
            chosen[substance as usize] = u16::try_from(position).expect(FEW_ENTRIES);
            as_read.set(
                substance,
                Reading {
                    value: entry.value,
                    censored: entry.censored,
                },
            );
            if column.fraction == Some(Fraction::Total) {
                as_read.mark_total(substance);
            }
            let range = samples.ranges[substance as usize];
            let is_disputed = entries.len() > 1 && samples.is_disputed(entries);
            if is_disputed || is_impossible(range, entry.value, entry.censored) {
                unusable.push(substance);
            }
        }
        let is_mixed = has_repeats && !samples.mixed(ranked).is_empty();
        if is_mixed {
            as_read = Water::default();
            unusable.clear();
        }
        let usable = (!unusable.is_empty()).then(|| {
            let mut usable = Box::new(as_read.clone());
            unusable.into_iter().for_each(|s| usable.clear(s));
            usable
        });
        Self {
            slot,
            key: &sample.about.key,
            about: &sample.about,
            as_read,
            usable,
            ranked,
            is_mixed,
            is_confirmed: sample.is_confirmed,
            chosen,
        }
    }

    /// Without the numbers that cannot be: nothing may be computed from those.
    pub(super) fn water(&self) -> &Water {
        self.usable.as_deref().unwrap_or(&self.as_read)
    }

    /// The entry that counts for a substance; also where its number is impossible.
    pub(super) fn entry(&self, substance: Substance) -> Option<&'s Entry> {
        self.ranked
            .0
            .get(usize::from(self.chosen[substance as usize]))
    }
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
