//! The `samples` table: what all reports say of one sample, on one row.

use super::table_files::{ClosedTable, TableFiles};
use super::values::{Batch, Keyed, NULL, Values, columns};
use crate::check::{Rows, Told, Verdicts};
use crate::error::Result;
use crate::record::{FigureKind, FigureValue, Figures, Sample};
use crate::vocabulary::Vocabulary;
use hashbrown::HashMap;
use jiff::civil::Date;
use rayon::prelude::*;
use std::ops::Range;
use std::sync::Arc;

/// Rows of a row group: fewer than of `results`, since a row has some 150 columns.
const GROUP_ROWS: usize = 1 << 15;

/// Rows that one thread makes before it looks for more work: few enough for their columns to stay in its
/// cache.
const AT_ONCE: usize = 256;

/// Writes all rows; gives the verdicts on them.
pub(super) fn write(
    rows: &Rows<'_>,
    mut files: TableFiles,
    vocabulary: &Vocabulary,
) -> Result<(ClosedTable, Verdicts)> {
    let make = |start: usize| -> (Batch, Verdicts) {
        let end = rows.len().min(start + GROUP_ROWS);
        let starts: Vec<usize> = (start..end).step_by(AT_ONCE).collect();
        let made: Vec<Stretch<'_>> = (starts.into_par_iter())
            .map(|start| Stretch::of(rows, start..end.min(start + AT_ONCE), vocabulary))
            .collect();
        let verdicts = made.iter().map(|stretch| stretch.verdicts).sum();
        (batch(&made, vocabulary), verdicts)
    };
    let mut verdicts = Vec::new();
    let mut starts = (0..rows.len()).step_by(GROUP_ROWS);
    let mut group = starts.next().map(make);
    while let Some((batch, of_group)) = group {
        verdicts.push(of_group);
        let next = starts.next();
        // While one group is written, the next is made.
        let (written, made) = rayon::join(|| files.write(&batch), || next.map(make));
        written?;
        group = made;
    }
    Ok((files.finish()?, verdicts.into_iter().sum()))
}

/// Rows that follow each other, as columns: a row is gone again before the next is made.
#[derive(Default)]
struct Stretch<'s> {
    abouts: Vec<&'s Sample>,
    /// How many files have a result of each sample.
    files: Vec<u64>,
    /// By analyte; empty where no row has a number of it, as most analytes are in no report at all.
    results: Vec<Vec<Option<f64>>>,
    /// Codes of the censored analytes.
    censored: Names,
    figures: Vec<FigureValues>,
    verdicts: Verdicts,
}

/// A figure of each row.
enum FigureValues {
    Numbers(Vec<Option<f64>>),
    Texts(Names),
}

/// A text of each row out of a few.
#[derive(Default)]
struct Names {
    distinct: Vec<Arc<str>>,
    /// Index into `distinct` for each row, [`NULL`] for none.
    keys: Vec<u32>,
}

impl Names {
    fn push(&mut self, text: Option<&str>) {
        let key = text.map_or(NULL, |text| {
            let known = self.distinct.iter().position(|name| **name == *text);
            let position = known.unwrap_or_else(|| {
                self.distinct.push(text.into());
                self.distinct.len() - 1
            });
            u32::try_from(position).expect("a stretch has few rows")
        });
        self.keys.push(key);
    }
}

impl<'s> Stretch<'s> {
    fn of(rows: &Rows<'s>, positions: Range<usize>, vocabulary: &Vocabulary) -> Self {
        let analytes = vocabulary.analytes();
        let all = positions.len();
        let mut stretch = Self {
            results: vec![Vec::new(); analytes.len()],
            figures: (Figures::COLUMNS.iter())
                .map(|column| match column.kind {
                    FigureKind::Number => FigureValues::Numbers(Vec::with_capacity(all)),
                    FigureKind::Text => FigureValues::Texts(Names::default()),
                })
                .collect(),
            ..Self::default()
        };
        let mut verdicts = Vec::with_capacity(all);
        let mut codes = String::new();
        for (i, position) in positions.enumerate() {
            let row = rows.row(position);
            stretch.abouts.push(row.about);
            stretch.files.push(u64::from(row.files));
            codes.clear();
            for (analyte, told) in &row.results {
                let analyte = usize::from(analyte.0);
                match told {
                    Told::Plain(value) => {
                        let column = &mut stretch.results[analyte];
                        if column.is_empty() {
                            column.resize(all, None);
                        }
                        column[i] = Some(*value);
                    }
                    Told::Censored => {
                        if !codes.is_empty() {
                            codes.push(';');
                        }
                        codes.push_str(&analytes[analyte].code);
                    }
                    Told::Disputed => {}
                }
            }
            let censored = (!codes.is_empty()).then_some(codes.as_str());
            stretch.censored.push(censored);
            for (column, value) in stretch.figures.iter_mut().zip(row.figures.values()) {
                match (column, value) {
                    (FigureValues::Numbers(numbers), FigureValue::Number(number)) => {
                        numbers.push(number);
                    }
                    (FigureValues::Texts(names), FigureValue::Text(text)) => names.push(text),
                    // A column shorter than its batch stops the run.
                    _ => {}
                }
            }
            verdicts.push(Verdicts::of(&row));
        }
        stretch.verdicts = verdicts.into_iter().sum();
        stretch
    }
}

/// The columns of all stretches, in the order of the schema.
fn batch(stretches: &[Stretch<'_>], vocabulary: &Vocabulary) -> Batch {
    let rows = stretches.iter().map(|stretch| stretch.abouts.len()).sum();
    let (mut columns, (results, figures)) = rayon::join(
        || about_columns(stretches),
        || {
            rayon::join(
                || {
                    (0..vocabulary.analytes().len())
                        .into_par_iter()
                        .map(|analyte| result_column(stretches, analyte, rows))
                        .collect::<Vec<Values>>()
                },
                || {
                    (0..Figures::COLUMNS.len())
                        .into_par_iter()
                        .map(|index| figure_column(stretches, index, rows))
                        .collect::<Vec<Values>>()
                },
            )
        },
    );
    columns.extend(results);
    columns.push(names(stretches.iter().map(|stretch| &stretch.censored)));
    columns.extend(figures);
    Batch { rows, columns }
}

/// What the reports say of the samples themselves.
fn about_columns(stretches: &[Stretch<'_>]) -> Vec<Values> {
    let abouts = || (stretches.iter()).flat_map(|stretch| stretch.abouts.iter().copied());
    let of = |get: fn(&Sample) -> &Option<Arc<str>>| words(abouts().map(|s| get(s).clone()));
    let degrees = |get: fn(&Sample) -> Option<f64>| Values::Numbers(abouts().map(get).collect());
    let files = || stretches.iter().flat_map(|stretch| &stretch.files).copied();
    columns(&[
        &|| words(abouts().map(|s| Some(s.key.clone()))),
        &|| of(|s| &s.client),
        &|| of(|s| &s.site),
        &|| of(|s| &s.source),
        &|| of(|s| &s.source_kind),
        &|| of(|s| &s.region),
        &|| of(|s| &s.sample_ref),
        &|| of(|s| &s.lab),
        &|| of(|s| &s.lab_ref),
        &|| dates(abouts().map(|s| s.sampled_on)),
        &|| degrees(|s| s.latitude),
        &|| degrees(|s| s.longitude),
        &|| Values::Counts(files().collect()),
    ])
}

fn result_column(stretches: &[Stretch<'_>], analyte: usize, rows: usize) -> Values {
    let of = |stretch: &Stretch<'_>| stretch.results[analyte].is_empty();
    if stretches.iter().all(of) {
        return Values::KeyedNumbers(Keyed::nothing(rows));
    }
    let mut numbers = Vec::with_capacity(rows);
    for stretch in stretches {
        numbers.extend_from_slice(&stretch.results[analyte]);
        let end = numbers.len() + stretch.abouts.len() - stretch.results[analyte].len();
        numbers.resize(end, None);
    }
    Values::Numbers(numbers)
}

fn figure_column(stretches: &[Stretch<'_>], index: usize, rows: usize) -> Values {
    let parts = || stretches.iter().map(|stretch| &stretch.figures[index]);
    match Figures::COLUMNS[index].kind {
        FigureKind::Number => {
            let mut all = Vec::with_capacity(rows);
            for part in parts() {
                if let FigureValues::Numbers(numbers) = part {
                    all.extend_from_slice(numbers);
                }
            }
            Values::Numbers(all)
        }
        FigureKind::Text => names(parts().filter_map(|part| match part {
            FigureValues::Texts(names) => Some(names),
            FigureValues::Numbers(_) => None,
        })),
    }
}

/// The names of all stretches, one stretch after the other.
fn names<'n>(stretches: impl Iterator<Item = &'n Names>) -> Values {
    // Each name is looked up once a stretch.
    let mut known: HashMap<&str, u32> = HashMap::new();
    let mut distinct = Vec::new();
    let mut keys: Vec<u32> = Vec::new();
    for names in stretches {
        let of_stretch: Vec<u32> = (names.distinct.iter())
            .map(|name| {
                *known.entry(name).or_insert_with(|| {
                    distinct.push(name.clone());
                    u32::try_from(distinct.len() - 1).expect("a batch has few rows")
                })
            })
            .collect();
        let of_rows = names.keys.iter();
        keys.extend(of_rows.map(|key| of_stretch.get(*key as usize).map_or(NULL, |key| *key)));
    }
    let keys = keys.into_iter().collect();
    Values::Words(Keyed { keys, distinct })
}

pub(super) fn words(texts: impl Iterator<Item = Option<Arc<str>>>) -> Values {
    Values::Words(Keyed::of(texts, Arc::clone, |text| text))
}

fn dates(days: impl Iterator<Item = Option<Date>>) -> Values {
    Values::Dates(Keyed::of(days, |day| *day, |day| day))
}
