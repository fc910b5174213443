//! A mapping's own proof: a report and the results that the mapping must make of it.
//!
//! Here rows are made of an extract and compared; the report is read by whoever can read one.

use crate::record::{Extract, Measurement};
use crate::text::neutralised;
use crate::vocabulary::Vocabulary;
use std::collections::BTreeMap;
use std::path::PathBuf;

#[derive(Clone, Debug, PartialEq)]
pub struct Example {
    pub report: ExampleReport,
    /// Names of the columns of `results` that are compared, in the order of the example.
    pub columns: Vec<String>,
    /// One row a result, in no particular order.
    pub rows: Vec<Vec<String>>,
}

#[derive(Clone, Debug, PartialEq)]
pub enum ExampleReport {
    /// A file, as it was found from the mapping's folder.
    File(PathBuf),
    /// A delimited text that stands in the mapping itself, and the file name it goes by.
    Text { name: String, text: String },
}

/// What an example expects and does not get, or gets and does not expect.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Difference {
    pub missing: Vec<Vec<String>>,
    pub extra: Vec<Vec<String>>,
}

impl Difference {
    pub const fn is_empty(&self) -> bool {
        self.missing.is_empty() && self.extra.is_empty()
    }
}

impl Example {
    /// Compares all results of the extract with the rows, whatever their order. Numbers are equal
    /// when they agree to six digits: people round.
    pub fn compare(&self, extract: &Extract, vocabulary: &Vocabulary) -> Difference {
        // By the row with its numbers rounded: how many there are, and how they were written.
        let mut open: BTreeMap<Vec<String>, Vec<Vec<String>>> = BTreeMap::new();
        for row in rows(extract, vocabulary, &self.columns) {
            open.entry(self.rounded(&row)).or_default().push(row);
        }
        let mut missing = Vec::new();
        for row in &self.rows {
            if open
                .get_mut(&self.rounded(row))
                .and_then(Vec::pop)
                .is_none()
            {
                missing.push(row.clone());
            }
        }
        Difference {
            missing,
            extra: open.into_values().flatten().collect(),
        }
    }

    fn rounded(&self, row: &[String]) -> Vec<String> {
        self.columns
            .iter()
            .zip(row)
            .map(
                |(column, field)| match (column.as_str(), field.parse::<f64>()) {
                    ("value" | "factor", Ok(number)) => format!("{number:.5e}"),
                    _ => comparable(field),
                },
            )
            .collect()
    }
}

/// A text as a field of an example's row: a line end cannot stand there, and in a file nothing that a
/// spreadsheet runs.
pub(super) fn comparable(field: &str) -> String {
    let words: Vec<&str> = field.split_whitespace().collect();
    neutralised(&words.join(" ")).into_owned()
}

/// Columns of `results` that an example may compare: all but those that depend on where the file lies.
pub const COLUMNS: [&str; 25] = [
    "client",
    "site",
    "source",
    "source_kind",
    "region",
    "sample_ref",
    "lab",
    "lab_ref",
    "sampled_on",
    "analyte",
    "fraction",
    "value",
    "unit",
    "censored",
    "value_text",
    "label_text",
    "unit_text",
    "basis_text",
    "unit_from",
    "factor",
    "sheet",
    "cell",
    "mapping",
    "reported_on",
    "received_on",
];

/// The results of an extract as rows of text with the columns asked for, in the order of the cells.
/// What is null is empty; a column that is none of [`COLUMNS`] is empty too.
pub fn rows(extract: &Extract, vocabulary: &Vocabulary, columns: &[String]) -> Vec<Vec<String>> {
    extract
        .measurements
        .iter()
        .map(|measurement| {
            columns
                .iter()
                .map(|column| field(extract, vocabulary, measurement, column))
                .collect()
        })
        .collect()
}

fn field(
    extract: &Extract,
    vocabulary: &Vocabulary,
    measurement: &Measurement,
    column: &str,
) -> String {
    let sample = extract.sample(measurement.sample);
    let recipe = extract.recipe(measurement.recipe);
    let analyte = vocabulary.analyte(recipe.analyte);
    let sheet = &extract.sheets[usize::from(measurement.sheet)];
    let text = |text: &Option<std::sync::Arc<str>>| text.as_deref().unwrap_or("").to_string();
    let day = |day: Option<jiff::civil::Date>| day.map_or_else(String::new, |d| d.to_string());
    let number = |number: Option<f64>| number.map_or_else(String::new, |n| n.to_string());
    match column {
        "client" => text(&sample.client),
        "site" => text(&sample.site),
        "source" => text(&sample.source),
        "source_kind" => text(&sample.source_kind),
        "region" => text(&sample.region),
        "sample_ref" => text(&sample.sample_ref),
        "lab" => text(&sample.lab),
        "lab_ref" => text(&sample.lab_ref),
        "sampled_on" => day(sample.sampled_on),
        "reported_on" => day(sample.reported_on),
        "received_on" => day(sample.received_on),
        "analyte" => analyte.code.clone(),
        "fraction" => recipe.fraction.map_or_else(String::new, |f| f.to_string()),
        "value" => number(measurement.value),
        "unit" => analyte.unit.clone(),
        "censored" => measurement
            .censored
            .map_or_else(String::new, |c| c.name().to_string()),
        "value_text" => measurement.value_text.to_string(),
        "label_text" => text(&recipe.label_text),
        "unit_text" => text(&recipe.unit_text),
        "basis_text" => text(&recipe.basis_text),
        "unit_from" => recipe.unit_from.name().to_string(),
        "factor" => number(recipe.factor),
        "sheet" => sheet.sheet.to_string(),
        "cell" => measurement.at.to_string(),
        "mapping" => sheet.mapping.to_string(),
        _ => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::Address;
    use crate::record::{Origin, Recipe, RecipeId, Sample, SampleId, SheetAccount};
    use crate::vocabulary::AnalyteId;

    fn extract(values: &[f64]) -> Extract {
        Extract {
            sheets: vec![SheetAccount::default()],
            recipes: vec![Recipe {
                analyte: AnalyteId(0),
                fraction: None,
                factor: Some(1.0),
                label_text: Some("pH".into()),
                unit_text: None,
                basis_text: None,
                unit_from: Origin::Heading,
                assumption: None,
            }],
            samples: vec![Sample::default()],
            measurements: values
                .iter()
                .zip(1..)
                .map(|(value, row)| Measurement {
                    sample: SampleId(0),
                    recipe: RecipeId(0),
                    value: Some(*value),
                    censored: None,
                    value_text: value.to_string().into(),
                    sheet: 0,
                    at: Address::new(row, 1),
                })
                .collect(),
            ..Extract::default()
        }
    }

    fn example(rows: &[[&str; 2]]) -> Example {
        Example {
            report: ExampleReport::File("x.csv".into()),
            columns: vec!["cell".into(), "value".into()],
            rows: rows.iter().map(|r| r.map(String::from).into()).collect(),
        }
    }

    #[test]
    fn rounded_numbers_in_any_order_are_the_same() {
        let example = example(&[["B3", "0.333333"], ["B2", "7.20"]]);
        let difference = example.compare(&extract(&[7.2, 1.0 / 3.0]), Vocabulary::built_in());
        assert_eq!(difference, Difference::default());
    }

    #[test]
    fn err_what_is_missing_and_what_is_extra_is_told() {
        let example = example(&[["B2", "7.2"], ["B3", "7.3"]]);
        let difference = example.compare(&extract(&[7.2, 7.4, 7.5]), Vocabulary::built_in());
        assert_eq!(difference.missing, [["B3", "7.3"]]);
        assert_eq!(difference.extra, [["B3", "7.4"], ["B4", "7.5"]]);
    }
}
