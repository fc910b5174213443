//! Loading: the built-in tables, and what a user's copies beside the mappings add to them.

use super::memo::Memo;
use super::raw::{RawAnalytes, RawFields, RawUnits};
use super::tables::{compile_analytes, compile_fields};
use super::units::compile_units;
use super::words::Words;
use super::{Basis, Vocabulary};
use crate::error::{Error, Result};
use crate::file::{SETTINGS_BYTES, read_whole_text};
use crate::problem::{Problems, read_toml};
use serde::de::DeserializeOwned;
use std::path::Path;

const ANALYTES: &str = include_str!("../../mappings/analytes.toml");
const UNITS: &str = include_str!("../../mappings/units.toml");
const FIELDS: &str = include_str!("../../mappings/fields.toml");

/// Names of the tables; no mapping may have one of them.
pub const TABLES: [&str; 3] = ["analytes.toml", "units.toml", "fields.toml"];

/// A table file of the user and its text; empty text where there is none.
struct Own {
    path: String,
    text: String,
}

impl Own {
    fn read(folder: Option<&Path>, name: &str) -> Result<Self> {
        let Some(path) = folder.map(|f| f.join(name)).filter(|p| p.is_file()) else {
            return Ok(Self {
                path: name.into(),
                text: String::new(),
            });
        };
        let text = read_whole_text(&path, SETTINGS_BYTES).map_err(|source| Error::Io {
            path: path.clone(),
            what: "cannot read the vocabulary",
            source,
        })?;
        Ok(Self {
            path: path.display().to_string(),
            text,
        })
    }

    fn problems(&self) -> Problems<'_> {
        Problems::new(self.path.as_str(), &self.text)
    }
}

/// Built-in first, the user's on top. What the user's has wrong is left out and told.
fn layers<T: DeserializeOwned>(
    built_in: &str,
    own: &Own,
    problems: &mut Problems<'_>,
) -> Result<Vec<T>> {
    let first =
        toml::from_str(built_in).map_err(|e| Error::Law(format!("built-in {}: {e}", own.path)))?;
    let second = read_toml(&own.text, problems);
    Ok([first].into_iter().chain(second).collect())
}

impl Vocabulary {
    /// The built-in words, extended by files of the same names (`analytes.toml`, `units.toml`,
    /// `fields.toml`) in `folder`. Errors: a file that cannot be read, or problems in one, all at once.
    pub fn load(folder: Option<&Path>) -> Result<Self> {
        let [own_analytes, own_units, own_fields] = [
            Own::read(folder, TABLES[0])?,
            Own::read(folder, TABLES[1])?,
            Own::read(folder, TABLES[2])?,
        ];
        let mut of_analytes = own_analytes.problems();
        let mut of_units = own_units.problems();
        let mut of_fields = own_fields.problems();
        let analytes: Vec<RawAnalytes> = layers(ANALYTES, &own_analytes, &mut of_analytes)?;
        let units: Vec<RawUnits> = layers(UNITS, &own_units, &mut of_units)?;
        let fields: Vec<RawFields> = layers(FIELDS, &own_fields, &mut of_fields)?;
        let units = compile_units(&units, &mut of_units);
        let (list, ambiguities) = compile_analytes(&analytes, &units, &mut of_analytes);
        let fields = compile_fields(&fields, &mut of_fields);
        let told: Vec<String> = [of_analytes, of_units, of_fields]
            .iter()
            .filter(|problems| !problems.is_empty())
            .map(Problems::render)
            .collect();
        if !told.is_empty() {
            return Err(Error::Mapping(told.join("\n\n")));
        }
        let words: Vec<_> = analytes.iter().filter_map(|a| a.words.as_ref()).collect();
        let words = Words::index(&list, &ambiguities, &words, &units, &fields);
        let mut bases: Vec<Basis> = list.iter().flat_map(|a| a.bases.iter().cloned()).collect();
        bases.sort();
        bases.dedup();
        Ok(Self {
            analytes: list,
            ambiguities,
            bases,
            units,
            words,
            memo: Memo::default(),
        })
    }
}
