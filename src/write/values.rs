//! The values of a table's columns on their way to the files: a batch of rows, column by column.
//!
//! A report's texts repeat endlessly, so a column of them is one key a row into the distinct ones,
//! in the order in which they first appear; and most rows repeat what the row above says, so the keys
//! are kept by runs. Both depend on the rows alone, which keeps the bytes the same however they came.

use hashbrown::HashMap;
use jiff::civil::Date;
use rayon::prelude::*;
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
            Self::Words(keyed) => keyed.keys.rows(),
            Self::KeyedNumbers(keyed) => keyed.keys.rows(),
            Self::Dates(keyed) => keyed.keys.rows(),
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

/// Numbers of one row each, such as keys, by runs of the same number.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Runs {
    /// The number of a run, and the row behind its last; two that follow each other differ. A batch has
    /// fewer rows than a `u32` counts.
    runs: Vec<(u32, u32)>,
}

impl Runs {
    /// So many rows of one number.
    pub(super) fn of_one(number: u32, rows: usize) -> Self {
        let mut runs = Self::default();
        runs.push(number, counted(rows));
        runs
    }

    /// Appends rows of one number.
    pub(super) fn push(&mut self, number: u32, rows: u32) {
        match self.runs.last_mut() {
            _ if rows == 0 => {}
            Some((last, end)) if *last == number => *end += rows,
            Some((_, end)) => {
                let end = *end + rows;
                self.runs.push((number, end));
            }
            None => self.runs.push((number, rows)),
        }
    }

    pub(super) fn rows(&self) -> usize {
        self.runs.last().map_or(0, |(_, end)| *end as usize)
    }

    pub(super) fn clear(&mut self) {
        self.runs.clear();
    }

    /// Each run: number, and how many rows it has.
    pub(super) fn each(&self) -> impl Iterator<Item = (u32, u32)> {
        let starts = std::iter::once(0).chain(self.runs.iter().map(|(_, end)| *end));
        (self.runs.iter().zip(starts)).map(|((number, end), start)| (*number, end - start))
    }

    /// The runs from that of a row on: number, and the row behind the last.
    pub(super) fn runs_from(&self, row: usize) -> &[(u32, u32)] {
        &self.runs[self.runs.partition_point(|(_, end)| *end as usize <= row)..]
    }

    /// The runs of what `make` makes of each number.
    pub(super) fn mapped(&self, make: impl Fn(u32) -> u32) -> Self {
        let mut runs: Vec<(u32, u32)> = Vec::with_capacity(self.runs.len());
        for (number, end) in &self.runs {
            let number = make(*number);
            match runs.last_mut() {
                Some((last, of_last)) if *last == number => *of_last = *end,
                _ => runs.push((number, *end)),
            }
        }
        Self { runs }
    }
}

impl FromIterator<u32> for Runs {
    fn from_iter<I: IntoIterator<Item = u32>>(numbers: I) -> Self {
        let mut runs: Vec<(u32, u32)> = Vec::new();
        for (number, end) in numbers.into_iter().zip(1..) {
            match runs.last_mut() {
                Some((last, of_last)) if *last == number => *of_last = end,
                _ => runs.push((number, end)),
            }
        }
        Self { runs }
    }
}

/// One key a row, [`NULL`] for none, into the distinct values in order of their first appearance.
#[derive(Clone, Debug)]
pub(super) struct Keyed<T> {
    pub(super) keys: Runs,
    pub(super) distinct: Vec<T>,
}

impl<T> Keyed<T> {
    /// Rows without any value.
    pub(super) fn nothing(rows: usize) -> Self {
        Self {
            keys: Runs::of_one(NULL, rows),
            distinct: Vec::new(),
        }
    }

    fn nulls(&self) -> usize {
        let of_nulls = self.keys.each().filter(|(key, _)| *key == NULL);
        of_nulls.map(|(_, rows)| rows as usize).sum()
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
                counted(distinct.len() - 1)
            })
        };
        let keys = values.map(|value| value.map_or(NULL, &mut key)).collect();
        Self { keys, distinct }
    }
}

fn counted(rows: usize) -> u32 {
    u32::try_from(rows).expect("a batch has fewer rows than a u32 counts")
}

/// The columns that each of these makes, in their order: made on all threads.
pub(super) fn columns(makers: &[&(dyn Fn() -> Values + Sync)]) -> Vec<Values> {
    makers.par_iter().map(|make| make()).collect()
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

    /// The first and the last in the order of their bytes; both empty where there is none.
    pub(super) fn bounds(&self) -> [&str; 2] {
        let mut texts = (0..self.ends.len()).map(|row| self.get(row));
        let first = texts.next().map_or("", |text| text);
        texts.fold([first; 2], |[least, greatest], text| {
            if text < least {
                [text, greatest]
            } else if text > greatest {
                [least, text]
            } else {
                [least, greatest]
            }
        })
    }

    /// Gives the texts away, and keeps room for as many.
    pub(super) fn take(&mut self) -> Self {
        let room = Self {
            bytes: String::with_capacity(self.bytes.capacity()),
            ends: Vec::with_capacity(self.ends.capacity()),
        };
        std::mem::replace(self, room)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn runs_say_what_was_put_row_by_row(numbers in proptest::collection::vec(0u32..3, 0..60), from in 0usize..60) {
            let runs: Runs = numbers.iter().copied().collect();
            let mut pushed = Runs::default();
            numbers.iter().for_each(|number| pushed.push(*number, 1));
            prop_assert_eq!(&pushed, &runs);
            prop_assert_eq!(runs.rows(), numbers.len());
            let each: Vec<u32> = (runs.each()).flat_map(|(number, rows)| vec![number; rows as usize]).collect();
            prop_assert_eq!(&each, &numbers);
            let of_row = runs.runs_from(from).first().map(|(number, _)| number);
            prop_assert_eq!(of_row, numbers.get(from));
        }
    }
}
