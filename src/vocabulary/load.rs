//! Loading: the built-in tables, and what a user's copies beside the mappings add to them.

use super::tables::{self, RawAnalytes, RawFields, RawUnits};
use super::words::Words;
use super::{Basis, Vocabulary};
use crate::error::{Error, Result};
use std::path::Path;

const ANALYTES: &str = include_str!("../../mappings/analytes.toml");
const UNITS: &str = include_str!("../../mappings/units.toml");
const FIELDS: &str = include_str!("../../mappings/fields.toml");

/// A table file of the user and its text; empty text where there is none.
struct Layer {
    path: String,
    text: String,
}

fn layer(folder: Option<&Path>, name: &str) -> Result<Layer> {
    let Some(path) = folder.map(|f| f.join(name)).filter(|p| p.is_file()) else {
        return Ok(Layer {
            path: name.into(),
            text: String::new(),
        });
    };
    let text = std::fs::read_to_string(&path).map_err(|source| Error::Io {
        path: path.clone(),
        what: "cannot read the vocabulary",
        source,
    })?;
    Ok(Layer {
        path: path.display().to_string(),
        text,
    })
}

/// Problems as `path:line:column: what`.
fn told(layer: &Layer, problems: &[tables::Problem]) -> Vec<String> {
    problems
        .iter()
        .map(|p| {
            let before = layer.text.get(..p.span.start).unwrap_or("");
            let line = before.matches('\n').count() + 1;
            let column = before.rsplit('\n').next().map_or(0, |l| l.chars().count()) + 1;
            format!("{}:{line}:{column}: {}", layer.path, p.what)
        })
        .collect()
}

impl Vocabulary {
    /// The built-in words, extended by files of the same names (`analytes.toml`, `units.toml`,
    /// `fields.toml`) in `folder`. Errors: a file that cannot be read, or problems in one, all at once.
    pub fn load(folder: Option<&Path>) -> Result<Self> {
        let own = [
            layer(folder, "analytes.toml")?,
            layer(folder, "units.toml")?,
            layer(folder, "fields.toml")?,
        ];
        let mut all = Vec::new();
        let analytes = parsed::<RawAnalytes>(ANALYTES, &own[0], &mut all);
        let units = parsed::<RawUnits>(UNITS, &own[1], &mut all);
        let fields = parsed::<RawFields>(FIELDS, &own[2], &mut all);
        let (Some(analytes), Some(units), Some(fields)) = (analytes, units, fields) else {
            return Err(Error::Mapping(all.join("\n")));
        };
        let mut problems = Vec::new();
        let units = tables::compile_units(&units, &mut problems);
        all.extend(told(&own[1], &problems));
        problems.clear();
        let (list, ambiguities) = tables::compile_analytes(&analytes, &units, &mut problems);
        all.extend(told(&own[0], &problems));
        problems.clear();
        let fields = tables::compile_fields(&fields, &mut problems);
        all.extend(told(&own[2], &problems));
        if !all.is_empty() {
            return Err(Error::Mapping(all.join("\n")));
        }
        let raw_words: Vec<_> = analytes.iter().filter_map(RawAnalytes::words).collect();
        let words = Words::index(&list, &ambiguities, &raw_words, &units, &fields);
        let mut bases: Vec<Basis> = list.iter().flat_map(|a| a.bases.iter().cloned()).collect();
        bases.sort();
        bases.dedup();
        Ok(Self {
            analytes: list,
            ambiguities,
            bases,
            units,
            words,
        })
    }
}

/// Built-in first, the user's on top. `None` when the user's cannot be parsed.
fn parsed<T: for<'a> serde::Deserialize<'a>>(
    built_in: &str,
    own: &Layer,
    all: &mut Vec<String>,
) -> Option<[T; 2]> {
    let built_in =
        tables::parse(built_in).map_err(|p| format!("built-in {}: {}", own.path, p.what));
    let own_table = tables::parse(&own.text).map_err(|p| told(own, &[p]).join("\n"));
    match (built_in, own_table) {
        (Ok(a), Ok(b)) => Some([a, b]),
        (a, b) => {
            all.extend([a.err(), b.err()].into_iter().flatten());
            None
        }
    }
}
