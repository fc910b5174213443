//! `datapackage.json`: the dataset describes itself as a Frictionless Data Package, an open standard
//! (<https://datapackage.org>, profile 2.0). Units, the program's version and the fingerprint of the
//! words that read the reports stand in properties of our own, as the standard allows.

use super::staged_file::Closed;
use crate::error::{Error, Result};
use crate::schema::{Column, Kind, SCHEMA_VERSION, Table};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use std::path::Path;

/// The name of the file.
pub(super) const PACKAGE: &str = "datapackage.json";

/// The property under which our own facts stand.
const OURS: &str = "wellread";

/// What a later run must know of the one that wrote the dataset.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Written {
    pub(super) version: String,
    pub(super) schema_version: u32,
    pub(super) fingerprint: String,
}

impl Written {
    pub(super) fn now(fingerprint: &str) -> Self {
        Self {
            version: env!("CARGO_PKG_VERSION").to_owned(),
            schema_version: SCHEMA_VERSION,
            fingerprint: fingerprint.to_owned(),
        }
    }
}

/// A package read back: who wrote it, and the hashes of its files.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Package {
    pub(super) written: Written,
    pub(super) files: Vec<Hashed>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Hashed {
    /// Relative to the dataset.
    pub(super) name: String,
    /// Lower-case hexadecimal.
    pub(super) sha256: String,
}

/// A table with its files, for the description.
pub(super) struct Described<'a> {
    pub(super) table: Table,
    pub(super) columns: &'a [Column],
    pub(super) files: &'a [Closed],
}

/// The document, with a line end.
pub(super) fn describe(written: &Written, tables: &[Described<'_>]) -> Result<String> {
    let resources: Vec<Value> = tables
        .iter()
        .flat_map(|table| {
            let (csv, parquet): (Vec<&Closed>, Vec<&Closed>) =
                (table.files.iter()).partition(|file| file.name.ends_with(".csv"));
            let parquet = parquet_resource(table, &parquet);
            std::iter::once(parquet).chain(csv.into_iter().map(|file| csv_resource(table, file)))
        })
        .collect();
    let document = json!({
        "$schema": "https://datapackage.org/profiles/2.0/datapackage.json",
        "name": "water-reports",
        "title": "Laboratory reports of water, gathered into one dataset",
        OURS: written,
        "resources": resources,
    });
    serde_json::to_string_pretty(&document)
        .map(|text| text + "\n")
        .map_err(|e| Error::Law(format!("{PACKAGE}: {e}")))
}

fn csv_resource(table: &Described<'_>, file: &Closed) -> Value {
    json!({
        "name": resource_name(table.table, true),
        "path": file.name,
        "type": "table",
        "description": table.table.description(),
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "dialect": { "delimiter": ",", "lineTerminator": "\r\n", "quoteChar": "\"",
                     "doubleQuote": true, "header": true },
        "bytes": file.bytes,
        "hash": sha256(file),
        "schema": schema(table.table, table.columns, true),
    })
}

/// One file, or the files of all partitions. Without "bytes": the standard's own validator counts
/// none for Parquet and then objects.
fn parquet_resource(table: &Described<'_>, files: &[&Closed]) -> Value {
    let mut resource = json!({
        "name": resource_name(table.table, false),
        "path": null,
        "type": "table",
        "description": table.table.description(),
        "format": "parquet",
        "mediatype": "application/vnd.apache.parquet",
    });
    match files {
        [file] if !file.name.contains('/') => {
            resource["path"] = json!(file.name);
            resource["hash"] = json!(sha256(file));
        }
        files => {
            resource["path"] = files.iter().map(|file| json!(file.name)).collect();
            // The standard has one hash for one path; these are ours.
            resource["hashes"] = files.iter().map(|file| json!(sha256(file))).collect();
        }
    }
    resource["schema"] = schema(table.table, table.columns, false);
    resource
}

fn sha256(file: &Closed) -> String {
    format!("sha256:{}", file.sha256)
}

/// The CSV file has the table's own name, since every reader of the standard opens it.
fn resource_name(table: Table, csv: bool) -> String {
    let name = table.name();
    if csv {
        name.to_owned()
    } else {
        format!("{name}-parquet")
    }
}

fn schema(table: Table, columns: &[Column], csv: bool) -> Value {
    let fields: Vec<Value> = columns.iter().map(field).collect();
    let mut schema = json!({ "fields": fields, "missingValues": [""] });
    if let Some(object) = schema.as_object_mut() {
        match table {
            Table::Samples => {
                object.insert("primaryKey".into(), json!(["sample_key"]));
            }
            Table::Account => {
                object.insert("primaryKey".into(), json!(["file", "sheet"]));
            }
            Table::Results => {
                object.insert(
                    "foreignKeys".into(),
                    json!([{
                        "fields": ["sample_key"],
                        "reference": {
                            "resource": resource_name(Table::Samples, csv),
                            "fields": ["sample_key"],
                        },
                    }]),
                );
            }
            Table::Findings | Table::Unplaced => {}
        }
    }
    schema
}

fn field(column: &Column) -> Value {
    let mut field = json!({
        "name": column.name,
        "type": match column.kind {
            Kind::Text => "string",
            Kind::Number => "number",
            Kind::Date => "date",
            Kind::Count => "integer",
        },
        "description": column.description,
    });
    if let Some(object) = field.as_object_mut() {
        if let Some(unit) = &column.unit {
            object.insert("unit".into(), json!(unit));
        }
        // An empty sheet name is a value for us and missing for the standard: not 'required'.
        if column.required && column.name != "sheet" {
            object.insert("constraints".into(), json!({ "required": true }));
        }
    }
    field
}

impl Package {
    /// Whether `results` is a folder of partitions, of which an empty dataset has none.
    pub(super) fn is_partitioned(&self) -> bool {
        let whole = format!("{}.parquet", Table::Results.name());
        !self.files.iter().any(|file| file.name == whole)
    }

    /// `None` where the document is valid, but not a dataset of ours.
    pub(super) fn parse(path: &Path, text: &str) -> Result<Option<Self>> {
        let broken = |what: String| Error::Dataset {
            path: path.to_owned(),
            what,
        };
        let document: Value = serde_json::from_str(text)
            .map_err(|e| broken(format!("is no valid Data Package: {e}")))?;
        let Some(ours) = document.get(OURS) else {
            return Ok(None);
        };
        let written = Written::deserialize(ours)
            .map_err(|e| broken(format!("property '{OURS}' cannot be understood: {e}")))?;
        let files = document["resources"]
            .as_array()
            .into_iter()
            .flatten()
            .map(hashed)
            .collect::<Option<Vec<_>>>()
            .ok_or_else(|| broken("a resource lacks path or hash".to_owned()))?
            .concat();
        Ok(Some(Self { written, files }))
    }
}

fn hashed(resource: &Value) -> Option<Vec<Hashed>> {
    let one = |path: &Value, hash: &Value| {
        Some(Hashed {
            name: path.as_str()?.to_owned(),
            sha256: hash.as_str()?.strip_prefix("sha256:")?.to_owned(),
        })
    };
    match &resource["path"] {
        Value::Array(paths) => {
            let hashes = resource["hashes"].as_array()?;
            let pairs = paths.iter().zip(hashes).map(|(path, hash)| one(path, hash));
            (paths.len() == hashes.len()).then(|| pairs.collect())?
        }
        path => Some(vec![one(path, &resource["hash"])?]),
    }
}
