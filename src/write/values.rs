//! The values of a table's columns on their way to the files: a batch of rows, column by column.
//!
//! A report's texts repeat endlessly, so a column of them is one key a row into the distinct ones,
//! in the order in which they first appear. That order depends on the rows alone, which keeps the
//! bytes the same however the rows came.

use hashbrown::HashMap;
use jiff::civil::Date;
use std::hash::Hash;
use std::sync::Arc;

/// Key of a row without a value.
pub(super) const NULL: u32 = u32::MAX;

/// One column of a batch.
#[derive(Clone, Debug)]
pub(super) enum Values {
    Words(Keyed<Arc<str>>),
    KeyedNumbers(Keyed<f64>),
    Dates(Keyed<Date>),
    /// Texts that hardly repeat; no nulls.
    Texts(Texts),
    Numbers(Vec<Option<f64>>),
    Counts(Vec<u64>),
}

impl Values {
    pub(super) fn len(&self) -> usize {
        match self {
            Self::Words(keyed) => keyed.keys.len(),
            Self::KeyedNumbers(keyed) => keyed.keys.len(),
            Self::Dates(keyed) => keyed.keys.len(),
            Self::Texts(texts) => texts.ends.len(),
            Self::Numbers(numbers) => numbers.len(),
            Self::Counts(counts) => counts.len(),
        }
    }

    /// How many rows have no value.
    pub(super) fn nulls(&self) -> usize {
        match self {
            Self::Words(keyed) => keyed.nulls(),
            Self::KeyedNumbers(keyed) => keyed.nulls(),
            Self::Dates(keyed) => keyed.nulls(),
            Self::Numbers(numbers) => numbers.iter().filter(|number| number.is_none()).count(),
            Self::Texts(_) | Self::Counts(_) => 0,
        }
    }
}

/// A batch of rows of one table: one `Values` for each of its columns, all of one length.
#[derive(Clone, Debug)]
pub(super) struct Batch {
    pub(super) rows: usize,
    pub(super) columns: Vec<Values>,
}

/// One key a row, [`NULL`] for none, into the distinct values in order of their first appearance.
#[derive(Clone, Debug)]
pub(super) struct Keyed<T> {
    pub(super) keys: Vec<u32>,
    pub(super) distinct: Vec<T>,
}

impl<T> Default for Keyed<T> {
    fn default() -> Self {
        Self {
            keys: Vec::new(),
            distinct: Vec::new(),
        }
    }
}

impl<T> Keyed<T> {
    /// Rows without any value.
    pub(super) fn nothing(rows: usize) -> Self {
        Self {
            keys: vec![NULL; rows],
            distinct: Vec::new(),
        }
    }

    fn nulls(&self) -> usize {
        self.keys.iter().filter(|key| **key == NULL).count()
    }

    /// A column of what `make` makes of each distinct value, once; `by` tells values apart.
    pub(super) fn of<V, K: Eq + Hash>(
        values: impl Iterator<Item = Option<V>>,
        by: impl Fn(&V) -> K,
        make: impl Fn(V) -> T,
    ) -> Self {
        let mut known: HashMap<K, u32> = HashMap::new();
        let mut distinct = Vec::new();
        let mut key = |value: V| {
            *known.entry(by(&value)).or_insert_with(|| {
                distinct.push(make(value));
                u32::try_from(distinct.len() - 1).expect("a batch has fewer rows than a u32 counts")
            })
        };
        let keys = values.map(|value| value.map_or(NULL, &mut key)).collect();
        Self { keys, distinct }
    }
}

/// Texts end to end.
#[derive(Clone, Debug, Default)]
pub(super) struct Texts {
    pub(super) bytes: String,
    /// Where each text ends in `bytes`.
    pub(super) ends: Vec<usize>,
}

impl Texts {
    pub(super) fn push(&mut self, text: &str) {
        self.bytes.push_str(text);
        self.ends.push(self.bytes.len());
    }

    pub(super) fn get(&self, row: usize) -> &str {
        let start = if row == 0 { 0 } else { self.ends[row - 1] };
        &self.bytes[start..self.ends[row]]
    }

    pub(super) fn clear(&mut self) {
        self.bytes.clear();
        self.ends.clear();
    }
}
