//! The `samples` table: what all reports say of one sample, on one row.

use super::table_files::{ClosedTable, TableFiles};
use super::values::{Batch, Keyed, Values};
use crate::check::{Rows, SampleRow, Told, Verdicts};
use crate::error::Result;
use crate::record::{FigureKind, FigureValue, Figures, Sample};
use crate::vocabulary::Vocabulary;
use jiff::civil::Date;
use rayon::prelude::*;
use std::sync::Arc;

/// Rows of a row group: fewer than of `results`, since a row has some 150 columns.
const GROUP_ROWS: usize = 1 << 15;

/// Rows that one thread makes before it looks for more work.
const AT_ONCE: usize = 256;

/// Writes all rows; gives the verdicts on them.
pub(super) fn write(
    rows: &Rows<'_>,
    mut files: TableFiles,
    vocabulary: &Vocabulary,
) -> Result<(ClosedTable, Verdicts)> {
    let make = |start: usize| -> (Batch, Verdicts) {
        let made: Vec<SampleRow<'_>> = (start..rows.len().min(start + GROUP_ROWS))
            .into_par_iter()
            .with_min_len(AT_ONCE)
            .map(|position| rows.row(position))
            .collect();
        let verdicts = made.iter().map(Verdicts::of).sum();
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

/// The columns, in the order of the schema.
fn batch(rows: &[SampleRow<'_>], vocabulary: &Vocabulary) -> Batch {
    let abouts = || rows.iter().map(|row| row.about);
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
        Values::Counts(rows.iter().map(|row| u64::from(row.files)).collect()),
    ];
    let analytes = vocabulary.analytes();
    // Most analytes are in no report at all.
    let mut values: Vec<Option<Vec<Option<f64>>>> = vec![None; analytes.len()];
    let mut censored = Vec::with_capacity(rows.len());
    for (position, row) in rows.iter().enumerate() {
        let mut codes = Vec::new();
        for (analyte, told) in &row.results {
            let analyte = usize::from(analyte.0);
            match told {
                Told::Plain(value) => {
                    let column = values[analyte].get_or_insert_with(|| vec![None; rows.len()]);
                    column[position] = Some(*value);
                }
                Told::Censored => codes.push(analytes[analyte].code.as_str()),
                Told::Disputed => {}
            }
        }
        censored.push((!codes.is_empty()).then(|| Arc::from(codes.join(";"))));
    }
    columns.extend(values.into_iter().map(|column| match column {
        Some(numbers) => Values::Numbers(numbers),
        None => Values::KeyedNumbers(Keyed::nothing(rows.len())),
    }));
    columns.push(words(censored.into_iter()));
    columns.extend(figure_columns(rows));
    Batch {
        rows: rows.len(),
        columns,
    }
}

fn figure_columns(rows: &[SampleRow<'_>]) -> Vec<Values> {
    (Figures::COLUMNS.par_iter().enumerate())
        .map(|(index, column)| {
            let values = rows.iter().map(|row| row.figures.value(index));
            match column.kind {
                FigureKind::Number => Values::Numbers(
                    values
                        .map(|value| match value {
                            Some(FigureValue::Number(number)) => number,
                            _ => None,
                        })
                        .collect(),
                ),
                FigureKind::Text => texts(values.map(|value| match value {
                    Some(FigureValue::Text(text)) => text,
                    _ => None,
                })),
            }
        })
        .collect()
}

pub(super) fn words(texts: impl Iterator<Item = Option<Arc<str>>>) -> Values {
    Values::Words(Keyed::of(texts, Arc::clone, |text| text))
}

/// As [`words`], of texts that nobody shares yet.
fn texts<'t>(texts: impl Iterator<Item = Option<&'t str>>) -> Values {
    Values::Words(Keyed::of(texts, |text| *text, Arc::from))
}

fn dates(days: impl Iterator<Item = Option<Date>>) -> Values {
    Values::Dates(Keyed::of(days, |day| *day, |day| day))
}
