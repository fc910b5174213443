//! The mapping format as it is written: what every key is called and which type it has. Nothing is
//! judged here; the doc comments become the descriptions of the JSON Schema.
//!
//! Flat on purpose: `flatten` and enums in the data would lose the places of the values.

use schemars::JsonSchema;
use serde::Deserialize;
use std::collections::BTreeMap;
use toml::Spanned;
use toml::value::Datetime;

/// A text and where it stands.
pub(super) type Text = Spanned<String>;

/// A mapping: how the reports of one laboratory are recognised, and what their labels mean. Whatever
/// a mapping leaves out is found out from the report itself.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
#[schemars(title = "wellread mapping", rename = "mapping")]
pub(super) struct RawMapping {
    /// What this mapping is for, in your own words.
    #[schemars(with = "Option<String>")]
    pub(super) title: Option<Text>,
    /// Sheets that speak of the same samples (one for metals, one for microbiology) are joined by the
    /// sample's reference; false where one reference on two sheets is two samples.
    #[schemars(with = "Option<bool>")]
    pub(super) join_sheets: Option<Spanned<bool>>,
    /// Which reports this mapping is for.
    pub(super) recognise: RawRecognise,
    /// Which sheets are read, and where their tables are. Without any, every visible sheet is read.
    pub(super) sheet: Vec<RawSheet>,
    /// What the labels of the report mean. A key is the label word for word (upper and lower case and
    /// spaces do not matter), or a pattern between slashes ('/Fe.*/'), or a place ("@F": column F;
    /// "@12": row 12).
    #[schemars(with = "BTreeMap<String, RawLabel>")]
    pub(super) labels: BTreeMap<Text, RawLabel>,
    /// What a label means for a time, or against what the report says. Comes before `labels`.
    pub(super) correction: Vec<RawCorrection>,
    /// Identity that is the same for every sample: client, site, source, lab, …
    #[schemars(with = "BTreeMap<String, String>")]
    pub(super) constants: BTreeMap<Text, Text>,
    /// How numbers and dates are written.
    pub(super) values: RawValues,
    /// What an analyte counts where neither the report nor a label says so: nitrate = "NO3".
    #[schemars(with = "BTreeMap<String, String>")]
    pub(super) basis: BTreeMap<Text, Text>,
    /// Codes of this laboratory beside or instead of a number: "U" = "below". One of: below, above,
    /// absent, keep, reject, missing.
    #[schemars(with = "BTreeMap<String, String>")]
    pub(super) codes: BTreeMap<Text, Text>,
    /// What a report must have; it is a finding when the laboratory changes its layout.
    pub(super) expect: RawExpect,
    /// A report and the results expected of it; `wellread mappings --check` tries it.
    pub(super) example: Option<RawExample>,
}

/// All that is stated must hold. Two mappings must not claim one report.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
#[schemars(rename = "recognise")]
pub(super) struct RawRecognise {
    /// Pattern (regular expression) of the whole file name. A named group gives identity:
    /// '(?<site>[A-Z]+)_[0-9]+[.]csv'.
    #[schemars(with = "Option<String>")]
    pub(super) file: Option<Text>,
    /// Pattern of the whole folder, as seen from the gathered folder: 'clients/(?<client>[^/]+)'.
    #[schemars(with = "Option<String>")]
    pub(super) folder: Option<Text>,
    /// Each of these stands in some cell, alone or within a longer text.
    #[schemars(with = "Vec<String>")]
    pub(super) texts: Vec<Text>,
    /// Each of these is the whole text of a cell, all on one sheet.
    #[schemars(with = "Vec<String>")]
    pub(super) headings: Vec<Text>,
    /// A sheet has this name; a pattern stands between slashes.
    #[schemars(with = "Option<String>")]
    pub(super) sheet: Option<Text>,
}

/// One sheet, or all whose name fits. The first that fits counts; a sheet that fits none is set aside.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
#[schemars(rename = "sheet")]
pub(super) struct RawSheet {
    /// Name of the sheet, or a pattern between slashes. Without it: every visible sheet.
    #[schemars(with = "Option<String>")]
    pub(super) name: Option<Text>,
    /// The whole sheet is not read; this is the reason.
    #[schemars(with = "Option<String>")]
    pub(super) set_aside: Option<Text>,
    /// samples-down (one sample a row), samples-across (one sample a column), results-down (one
    /// result a row) or form (labels beside their values).
    #[schemars(with = "Option<String>", extend("enum" = ["samples-down", "samples-across", "results-down", "form"]))]
    pub(super) layout: Option<Text>,
    /// The part of the sheet that holds the table: "A4:K60".
    #[schemars(with = "Option<String>")]
    pub(super) area: Option<Text>,
    /// Numbers of the heading rows: [4, 5].
    #[schemars(with = "Vec<u32>")]
    pub(super) heading_rows: Vec<Spanned<i64>>,
    /// Letters of the heading columns, for samples-across: ["A", "B"].
    #[schemars(with = "Vec<String>")]
    pub(super) heading_columns: Vec<Text>,
    /// How many heading rows (or columns) there are, where they may move.
    #[schemars(with = "Option<u32>")]
    pub(super) heading_count: Option<Spanned<i64>>,
    /// Text of a cell in the first heading row (or column).
    #[schemars(with = "Option<String>")]
    pub(super) anchor: Option<Text>,
    /// Blank heading cells take the text to their left, even where no cells are merged.
    #[schemars(with = "Option<bool>")]
    pub(super) header_fill: Option<Spanned<bool>>,
    /// Rows (or columns) that are no samples, by the text of one of their cells, with the reason:
    /// "Mean" = "statistics".
    #[schemars(with = "BTreeMap<String, String>")]
    pub(super) lines_set_aside: BTreeMap<Text, Text>,
    /// Areas that are not read, with the reason: "A40:K60" = "legend".
    #[schemars(with = "BTreeMap<String, String>")]
    pub(super) areas_set_aside: BTreeMap<Text, Text>,
}

/// What one label means.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
#[schemars(rename = "label")]
pub(super) struct RawLabel {
    /// An analyte ("nitrate"), a part of the identity ("sample_ref") or of the result ("unit"), or
    /// "set-aside". Without it: as recognised.
    #[schemars(with = "Option<String>")]
    pub(super) means: Option<Text>,
    /// Unit where the report states none, with the basis if you like: "mg/L as N".
    #[schemars(with = "Option<String>")]
    pub(super) unit: Option<Text>,
    /// What the number counts where the report does not say: "N", "NO3", "CaCO3".
    #[schemars(with = "Option<String>")]
    pub(super) basis: Option<Text>,
    /// dissolved or total.
    #[schemars(with = "Option<String>", extend("enum" = ["dissolved", "total"]))]
    pub(super) fraction: Option<Text>,
    /// °C to which a conductivity refers; 25 is usual.
    #[schemars(with = "Option<f64>")]
    pub(super) reference_temperature: Option<Spanned<f64>>,
    /// Only on the sheet with this name; a pattern stands between slashes.
    #[schemars(with = "Option<String>")]
    pub(super) sheet: Option<Text>,
    /// The mapping is right even where the report says something else.
    #[serde(rename = "override")]
    #[schemars(with = "Option<bool>")]
    pub(super) overrides: Option<Spanned<bool>>,
    /// How you know; shown in findings.
    #[schemars(with = "Option<String>")]
    pub(super) reason: Option<Text>,
}

/// What a label means for a time, or against what the report says.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
#[schemars(rename = "correction")]
pub(super) struct RawCorrection {
    /// The label, a pattern between slashes, or a place, as in `labels`.
    #[schemars(with = "Option<String>")]
    pub(super) label: Option<Text>,
    /// First day of sampling for which this holds: 2019-05-01.
    #[schemars(with = "Option<String>", extend("format" = "date"))]
    pub(super) from: Option<Spanned<Datetime>>,
    /// Last day of sampling for which this holds.
    #[schemars(with = "Option<String>", extend("format" = "date"))]
    pub(super) to: Option<Spanned<Datetime>>,
    /// As in `labels`.
    #[schemars(with = "Option<String>")]
    pub(super) means: Option<Text>,
    /// As in `labels`.
    #[schemars(with = "Option<String>")]
    pub(super) unit: Option<Text>,
    /// As in `labels`.
    #[schemars(with = "Option<String>")]
    pub(super) basis: Option<Text>,
    /// As in `labels`.
    #[schemars(with = "Option<String>")]
    pub(super) fraction: Option<Text>,
    /// As in `labels`.
    #[schemars(with = "Option<f64>")]
    pub(super) reference_temperature: Option<Spanned<f64>>,
    /// As in `labels`.
    #[schemars(with = "Option<String>")]
    pub(super) sheet: Option<Text>,
    /// As in `labels`.
    #[serde(rename = "override")]
    #[schemars(with = "Option<bool>")]
    pub(super) overrides: Option<Spanned<bool>>,
    /// How you know; a correction needs it.
    #[schemars(with = "Option<String>")]
    pub(super) reason: Option<Text>,
}

/// How numbers and dates are written.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
#[schemars(rename = "values")]
pub(super) struct RawValues {
    /// point or comma.
    #[schemars(with = "Option<String>", extend("enum" = ["point", "comma"]))]
    pub(super) decimal: Option<Text>,
    /// day-first, month-first or year-first.
    #[schemars(with = "Option<String>", extend("enum" = ["day-first", "month-first", "year-first"]))]
    pub(super) dates: Option<Text>,
    /// Encoding of delimited text that is not UTF-8: "windows-1252", "windows-1250", "cp850", "macintosh".
    #[schemars(with = "Option<String>")]
    pub(super) encoding: Option<Text>,
    /// What stands between the fields of delimited text: ",", ";", "|" or "tab".
    #[schemars(with = "Option<String>", extend("enum" = [",", ";", "|", "tab"]))]
    pub(super) delimiter: Option<Text>,
    /// Unit of every number for which neither the report nor a label says anything, where it fits.
    #[schemars(with = "Option<String>")]
    pub(super) unit: Option<Text>,
    /// Numbers that mean 'not measured': [9999].
    #[schemars(with = "Vec<f64>")]
    pub(super) missing: Vec<Spanned<f64>>,
    /// -0.05 means 'below 0.05'.
    #[schemars(with = "Option<bool>")]
    pub(super) negative_is_below: Option<Spanned<bool>>,
}

/// What a report must have.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
#[schemars(rename = "expect")]
pub(super) struct RawExpect {
    /// Exactly so many samples.
    #[schemars(with = "Option<u32>")]
    pub(super) samples: Option<Spanned<i64>>,
    #[schemars(with = "Option<u32>")]
    pub(super) samples_at_least: Option<Spanned<i64>>,
    #[schemars(with = "Option<u32>")]
    pub(super) samples_at_most: Option<Spanned<i64>>,
    /// Analytes that must be there.
    #[schemars(with = "Vec<String>")]
    pub(super) analytes: Vec<Text>,
}

/// A report and the results expected of it.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
#[schemars(rename = "example")]
pub(super) struct RawExample {
    /// The report, from the folder of this mapping. With `text`: the name that the text goes by.
    #[schemars(with = "Option<String>")]
    pub(super) file: Option<Text>,
    /// The report itself, when it is a short delimited text.
    #[schemars(with = "Option<String>")]
    pub(super) text: Option<Text>,
    /// The results as CSV: a heading line with names of columns of `results`, then one line a result.
    #[schemars(with = "Option<String>")]
    pub(super) rows: Option<Text>,
    /// A CSV file with the results, from the folder of this mapping.
    #[schemars(with = "Option<String>")]
    pub(super) rows_file: Option<Text>,
}
