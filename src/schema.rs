//! The canonical tables as data: which columns, in which order, of which type and unit, and what each
//! means. A leaf: the writer makes its files from it, the Data Package describes itself by it, readers
//! of a former dataset check themselves against it. It holds no rows.

use crate::record::{FigureKind, Figures};
use crate::vocabulary::Vocabulary;
use std::borrow::Cow;

/// Raised whenever a column is added; columns are never renamed or reordered.
pub const SCHEMA_VERSION: u32 = 1;

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    Text,
    /// A 64-bit float; never NaN or infinite.
    Number,
    /// A day of the proleptic Gregorian calendar, no time of day.
    Date,
    /// A whole number of things, 0 or more.
    Count,
}

/// One column of a canonical table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    pub name: Cow<'static, str>,
    pub kind: Kind,
    /// A required column has a value in every row.
    pub required: bool,
    /// UCUM code, or ours in brackets where UCUM has none; `None` where the column has no unit, or
    /// one of its own in each row.
    pub unit: Option<Cow<'static, str>>,
    pub description: Cow<'static, str>,
}

/// The five tables of a dataset.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Table {
    Results,
    Samples,
    Findings,
    Unplaced,
    Account,
}

impl Table {
    /// In the order in which a dataset describes them.
    pub const ALL: [Self; 5] = [
        Self::Results,
        Self::Samples,
        Self::Findings,
        Self::Unplaced,
        Self::Account,
    ];

    /// The name of the resource, and of its files without their ending.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Results => "results",
            Self::Samples => "samples",
            Self::Findings => "findings",
            Self::Unplaced => "unplaced",
            Self::Account => "account",
        }
    }

    pub const fn description(self) -> &'static str {
        match self {
            Self::Results => {
                "One row is one result: one analyte in one sample, with its provenance to the cell"
            }
            Self::Samples => {
                "One row is one sample: identity, every analyte, derived figures and verdicts. A \
                 censored result and one on which reports disagree stand here as null; results has \
                 them"
            }
            Self::Findings => "One row is one flaw found in the data, with its place",
            Self::Unplaced => {
                "One row is one non-blank cell that became neither a result, nor identity, nor \
                 heading, nor was set aside by a mapping, with the reason"
            }
            Self::Account => {
                "One row is one sheet of one file: cells = results + identity + headings + set \
                 aside + unplaced"
            }
        }
    }

    /// The columns of this table, in their order.
    pub fn columns(self, vocabulary: &Vocabulary) -> Vec<Column> {
        match self {
            Self::Results => results(),
            Self::Samples => samples(vocabulary),
            Self::Findings => findings(),
            Self::Unplaced => unplaced(),
            Self::Account => account(),
        }
    }
}

const fn column(name: &'static str, kind: Kind, description: &'static str) -> Column {
    Column {
        name: Cow::Borrowed(name),
        kind,
        required: false,
        unit: None,
        description: Cow::Borrowed(description),
    }
}

impl Column {
    const fn required(mut self) -> Self {
        self.required = true;
        self
    }

    fn in_unit(mut self, unit: impl Into<Cow<'static, str>>) -> Self {
        self.unit = Some(unit.into());
        self
    }
}

const LATITUDE: &str = "Latitude in degrees as the report states it, north positive";
const LONGITUDE: &str = "Longitude in degrees as the report states it, east positive";

/// Who, where and when: the columns that `results` and `samples` share.
fn identity() -> Vec<Column> {
    use Kind::{Date, Text};
    vec![
        column(
            "sample_key",
            Text,
            "Key of the sample; stable, made from its identity alone",
        )
        .required(),
        column("client", Text, "Client as the report names it"),
        column("site", Text, "Site as the report names it"),
        column("source", Text, "Water source as the report names it"),
        column("source_kind", Text, "Kind of source: borehole, rain, mains"),
        column("region", Text, "Region as the report names it"),
        column("sample_ref", Text, "The sample's own label"),
        column("lab", Text, "Laboratory"),
        column(
            "lab_ref",
            Text,
            "The laboratory's number of sample or report",
        ),
        column("sampled_on", Date, "Day of sampling"),
    ]
}

fn results() -> Vec<Column> {
    use Kind::{Date, Number, Text};
    let mut columns = identity();
    columns.extend([
        column("analyte", Text, "Code of the analyte").required(),
        column(
            "fraction",
            Text,
            "dissolved, total, or null where the report does not say",
        ),
        column(
            "value",
            Number,
            "The value in the unit of column unit. Of a censored result the limit itself; null only \
             where censored is absent",
        ),
        column(
            "unit",
            Text,
            "Canonical unit of the analyte, UCUM code, in brackets where UCUM has none",
        )
        .required(),
        column(
            "censored",
            Text,
            "null: a plain value; below (<0.05); above (>100); absent: reported as not detected, no \
             limit given",
        ),
        column("value_text", Text, "The cell's text, exactly as it stood"),
        column("label_text", Text, "The analyte's label, exactly as it stood"),
        column("unit_text", Text, "The unit, exactly as it stood"),
        column(
            "basis_text",
            Text,
            "What the mass counts ('as N'), exactly as it stood",
        ),
        column(
            "unit_from",
            Text,
            "Where unit and basis came from: cell, row, heading, mapping or assumed",
        )
        .required(),
        column(
            "factor",
            Number,
            "Canonical value / number read; null where the conversion is not a plain factor",
        ),
        column(
            "file",
            Text,
            "The report's path, relative to the folder that was gathered",
        )
        .required(),
        column("sheet", Text, "Sheet name; empty for delimited text").required(),
        column(
            "cell",
            Text,
            "The cell in A1 form; for delimited text the row is the line on which the record starts",
        )
        .required(),
        column(
            "mapping",
            Text,
            "Name of the mapping used, or 'recognised' where none was needed",
        )
        .required(),
        column("reported_on", Date, "Day of the report"),
        column("received_on", Date, "Day the laboratory received the sample"),
        column("latitude", Number, LATITUDE).in_unit("deg"),
        column("longitude", Number, LONGITUDE).in_unit("deg"),
        column(
            "assumption",
            Text,
            "Code of the finding that tells the assumption, where unit_from is assumed",
        ),
    ]);
    columns
}

fn samples(vocabulary: &Vocabulary) -> Vec<Column> {
    use Kind::{Count, Number, Text};
    let mut columns = identity();
    columns.extend([
        column("latitude", Number, LATITUDE).in_unit("deg"),
        column("longitude", Number, LONGITUDE).in_unit("deg"),
        column("files", Count, "How many files speak of the sample").required(),
    ]);
    columns.extend(vocabulary.analytes().iter().map(|analyte| {
        let counted = analyte
            .basis
            .as_ref()
            .map_or_else(String::new, |basis| format!(" as {basis}"));
        Column {
            name: Cow::Owned(analyte.column.clone()),
            kind: Number,
            required: false,
            unit: Some(Cow::Owned(analyte.unit.clone())),
            description: Cow::Owned(format!(
                "{}{counted}; null where not reported, censored, or in conflict",
                analyte.name
            )),
        }
    }));
    columns.push(column(
        "censored",
        Text,
        "Codes of the analytes that are censored, ;-separated",
    ));
    columns.extend(Figures::COLUMNS.iter().map(|figure| Column {
        name: Cow::Borrowed(figure.name),
        kind: match figure.kind {
            FigureKind::Number => Number,
            FigureKind::Text => Text,
        },
        required: false,
        unit: figure.unit.map(Cow::Borrowed),
        description: Cow::Borrowed(figure.description),
    }));
    columns
}

fn findings() -> Vec<Column> {
    use Kind::{Count, Text};
    vec![
        column("severity", Text, "error, warning or note").required(),
        column("code", Text, "Kebab-case, named for the problem").required(),
        column("message", Text, "What is wrong, with the text found").required(),
        column("help", Text, "What to do about it"),
        column("file", Text, "The report's path").required(),
        column(
            "sheet",
            Text,
            "Sheet name; empty for delimited text and whole files",
        )
        .required(),
        column(
            "cell",
            Text,
            "The cell in A1 form; null for a whole sheet or file",
        ),
        column(
            "sample_key",
            Text,
            "Key of the sample, where it is one sample's flaw",
        ),
        column(
            "analyte",
            Text,
            "Code of the analyte, where it is one analyte's flaw",
        ),
        column("cells", Count, "How many cells share this cause").required(),
    ]
}

fn unplaced() -> Vec<Column> {
    use Kind::Text;
    vec![
        column("file", Text, "The report's path").required(),
        column("sheet", Text, "Sheet name; empty for delimited text").required(),
        column("cell", Text, "The cell in A1 form").required(),
        column("text", Text, "The cell's text, exactly as it stood").required(),
        column("reason", Text, "Why it was not placed, kebab-case").required(),
    ]
}

fn account() -> Vec<Column> {
    use Kind::{Count, Text};
    vec![
        column("file", Text, "The report's path").required(),
        column("sheet", Text, "Sheet name; empty for delimited text").required(),
        column(
            "sha256",
            Text,
            "Of the file's bytes, lower-case hexadecimal; empty where not all could be read",
        )
        .required(),
        column("mapping", Text, "Name of the mapping used, or 'recognised'").required(),
        column("cells", Count, "Non-blank cells").required(),
        column("results", Count, "Cells that became a result").required(),
        column(
            "identity",
            Count,
            "Cells that name a sample or belong to a result: unit, qualifier, limit",
        )
        .required(),
        column("headings", Count, "Headings, titles, method and unit rows").required(),
        column("set_aside", Count, "Cells that a mapping set aside").required(),
        column("unplaced", Count, "Cells that were not understood").required(),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    fn names(table: Table) -> Vec<String> {
        table
            .columns(Vocabulary::built_in())
            .iter()
            .map(|c| c.name.to_string())
            .collect()
    }

    #[test]
    fn the_fixed_columns_stand_in_the_order_of_the_schema() {
        for (table, expected) in [
            (
                Table::Results,
                "sample_key client site source source_kind region sample_ref lab lab_ref sampled_on \
                 analyte fraction value unit censored value_text label_text unit_text basis_text \
                 unit_from factor file sheet cell mapping reported_on received_on latitude longitude \
                 assumption",
            ),
            (
                Table::Findings,
                "severity code message help file sheet cell sample_key analyte cells",
            ),
            (Table::Unplaced, "file sheet cell text reason"),
            (
                Table::Account,
                "file sheet sha256 mapping cells results identity headings set_aside unplaced",
            ),
        ] {
            assert_eq!(names(table).join(" "), expected, "{}", table.name());
        }
    }

    #[test]
    fn samples_run_identity_analytes_censored_figures() {
        let names = names(Table::Samples);
        let censored = names.iter().position(|n| n == "censored");
        let analytes = Vocabulary::built_in().analytes().len();
        assert_eq!(names[..13].last().map(String::as_str), Some("files"));
        assert_eq!(censored, Some(13 + analytes));
        assert_eq!(names[13 + analytes + 1], Figures::COLUMNS[0].name);
        assert_eq!(names.len(), 13 + analytes + 1 + Figures::COLUMNS.len());
    }

    #[test]
    fn column_names_are_unique_and_plain_and_every_column_is_described() {
        for table in Table::ALL {
            let columns = table.columns(Vocabulary::built_in());
            let unique: BTreeSet<_> = columns.iter().map(|c| &c.name).collect();
            assert_eq!(unique.len(), columns.len(), "{}", table.name());
            for column in &columns {
                let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_';
                assert!(column.name.chars().all(plain), "{}", column.name);
                assert!(!column.description.is_empty(), "{}", column.name);
            }
        }
    }
}
