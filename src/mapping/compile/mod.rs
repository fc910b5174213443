//! Raw mapping to rules: every word is looked up, every pattern built, and every problem noted.

mod example;
mod labels;
mod sheets;
mod words;

use super::label::{pattern_of, wording};
use super::raw::{RawExpect, RawMapping, RawRecognise, RawValues, Text};
use super::{Mapping, Recognise};
use crate::map::{Expect, FileName, Rules};
use crate::problem::{Problems, read_toml};
use crate::read::Encoding;
use crate::vocabulary::{Field, Vocabulary};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;
use toml::Spanned;
use words::{CODES, DATES, DECIMALS, DELIMITERS, Words};

/// Compiles the text of the mapping file at `path`. The error is the whole list of its problems,
/// rendered for a person, with `path` shown as it is given.
pub fn compile(path: &Path, text: &str, vocabulary: &Vocabulary) -> Result<Mapping, String> {
    let mut problems = Problems::new(path.to_string_lossy(), text);
    let raw = read_toml::<RawMapping>(text, &mut problems);
    let mapping = raw.map(|raw| {
        let name = path.file_stem().unwrap_or_default().to_string_lossy();
        let mut words = Words::new(vocabulary, &mut problems);
        mapping(&name, path, raw, &mut words)
    });
    match mapping {
        Some(mapping) if problems.is_empty() => Ok(mapping),
        _ => Err(problems.render()),
    }
}

/// What could be compiled; good for nothing when there are problems.
fn mapping(name: &str, path: &Path, raw: RawMapping, words: &mut Words<'_, '_>) -> Mapping {
    let (recognise, file_name) = recognise(&raw.recognise, words);
    let mut labels = labels::corrections(&raw.correction, words);
    labels.extend(labels::labels(&raw.labels, words));
    let values = &raw.values;
    let encoding = values
        .encoding
        .as_ref()
        .and_then(|text| encoding(text, words));
    let delimiter = words.one_of_option(values.delimiter.as_ref(), "delimiter", &DELIMITERS);
    let rules = Rules {
        name: Arc::from(name),
        sheets: sheets::sheets(&raw.sheet, words),
        labels,
        constants: constants(&raw.constants, words),
        file_name,
        decimal: words.one_of_option(values.decimal.as_ref(), "decimal sign", &DECIMALS),
        dates: words.one_of_option(values.dates.as_ref(), "order of dates", &DATES),
        codes: codes(&raw.codes, words),
        missing_numbers: missing_numbers(values, words),
        negative_is_below: values.negative_is_below.as_ref().map(|s| *s.get_ref()),
        // Silent: as without a mapping, where sheets are joined.
        join_sheets: raw.join_sheets.as_ref().is_none_or(|s| *s.get_ref()),
        default_unit: values.unit.as_ref().and_then(|text| words.unit(text)),
        default_basis: default_basis(&raw.basis, words),
        expect: expect(&raw.expect, words),
    };
    Mapping {
        name: rules.name.clone(),
        title: raw.title.map_or_else(String::new, Spanned::into_inner),
        path: path.to_path_buf(),
        recognise,
        rules,
        encoding,
        delimiter,
        example: raw
            .example
            .as_ref()
            .and_then(|raw| example::example(path, raw, words)),
    }
}

fn recognise(raw: &RawRecognise, words: &mut Words<'_, '_>) -> (Recognise, Vec<FileName>) {
    let mut told = Vec::new();
    let mut names = Vec::new();
    let mut pattern = |text: &Option<Text>, what: &str, before: &str, after: &str| {
        let text = text.as_ref()?;
        let inner = text.get_ref();
        told.push(format!("{what} {inner}"));
        let whole = format!("{before}(?:{inner}){after}");
        let pattern = pattern_of(&whole, inner, text.span(), words.problems)?;
        let groups = groups(&pattern, text, words);
        if !groups.is_empty() {
            names.push(FileName {
                pattern: pattern.clone(),
                groups,
            });
        }
        Some(pattern)
    };
    let file = pattern(&raw.file, "file", "^(?:.*/)?", "$");
    let folder = pattern(&raw.folder, "folder", "^", "/[^/]*$");
    let texts: Vec<String> = raw
        .texts
        .iter()
        .filter(|text| wording(text, words.problems).is_some())
        .map(|text| text.get_ref().trim().to_string())
        .collect();
    let headings: Vec<_> = raw
        .headings
        .iter()
        .filter_map(|text| wording(text, words.problems))
        .collect();
    let sheet = raw
        .sheet
        .as_ref()
        .and_then(|text| wording(text, words.problems));
    told.extend(
        raw.texts
            .iter()
            .map(|text| format!("text '{}'", text.get_ref())),
    );
    if !raw.headings.is_empty() {
        let list: Vec<&str> = raw.headings.iter().map(|t| t.get_ref().as_str()).collect();
        told.push(format!("headings {}", list.join(" | ")));
    }
    told.extend(
        raw.sheet
            .iter()
            .map(|text| format!("sheet '{}'", text.get_ref())),
    );
    if told.is_empty() && words.whole {
        words
            .problems
            .push(0..0, "this mapping does not say which reports it is for")
            .help("add [recognise] with file, texts or headings, such as headings = [\"Lab no.\", \"NO3\"]");
    }
    let recognise = Recognise {
        file,
        folder,
        texts,
        headings,
        sheet,
        words: told,
    };
    (recognise, names)
}

/// The named groups of a file pattern; each must be a word of identity.
fn groups(pattern: &regex::Regex, text: &Text, words: &mut Words<'_, '_>) -> Vec<(String, Field)> {
    pattern
        .capture_names()
        .flatten()
        .filter_map(|name| {
            let field = words.identity(name, text.span(), "group")?;
            Some((name.to_string(), field))
        })
        .collect()
}

fn constants(raw: &BTreeMap<Text, Text>, words: &mut Words<'_, '_>) -> Vec<(Field, Arc<str>)> {
    raw.iter()
        .filter_map(|(key, value)| {
            let field = words.identity(key.get_ref(), key.span(), "key")?;
            if value.get_ref().trim().is_empty() {
                words
                    .problems
                    .push(value.span(), "an empty text says nothing")
                    .help("leave the line out");
                return None;
            }
            Some((field, Arc::from(value.get_ref().trim())))
        })
        .collect()
}

fn codes(
    raw: &BTreeMap<Text, Text>,
    words: &mut Words<'_, '_>,
) -> BTreeMap<String, crate::map::QualifierCode> {
    raw.iter()
        .filter_map(|(code, meaning)| {
            let meaning = words.one_of(meaning, "meaning of a code", &CODES)?;
            Some((code.get_ref().clone(), meaning))
        })
        .collect()
}

fn default_basis(
    raw: &BTreeMap<Text, Text>,
    words: &mut Words<'_, '_>,
) -> Vec<(crate::vocabulary::AnalyteId, crate::vocabulary::Basis)> {
    raw.iter()
        .filter_map(|(code, text)| {
            let analyte = words.analyte(code);
            let basis = words.basis(text)?;
            let analyte = analyte?;
            words.check_basis(analyte, &basis, text.span());
            Some((analyte, basis))
        })
        .collect()
}

fn missing_numbers(raw: &RawValues, words: &mut Words<'_, '_>) -> Vec<f64> {
    raw.missing
        .iter()
        .filter_map(|number| {
            let finite = number.get_ref().is_finite();
            if !finite {
                words.problems.push(number.span(), "this is no number");
            }
            finite.then_some(*number.get_ref())
        })
        .collect()
}

/// `None` after a problem.
fn encoding(text: &Text, words: &mut Words<'_, '_>) -> Option<Encoding> {
    let found = Encoding::parse(text.get_ref());
    if found.is_none() {
        let known = [
            "utf-8",
            "utf-16le",
            "windows-1252",
            "windows-1250",
            "iso-8859-2",
            "cp437",
            "cp850",
            "macintosh",
        ];
        words
            .problems
            .push(
                text.span(),
                format!("unknown encoding '{}'", text.get_ref()),
            )
            .nearest(text.get_ref(), known);
    }
    found
}

fn expect(raw: &RawExpect, words: &mut Words<'_, '_>) -> Expect {
    let exactly = words.count(raw.samples.as_ref());
    let least = words.count(raw.samples_at_least.as_ref());
    let most = words.count(raw.samples_at_most.as_ref());
    if let (Some(exact), Some(_)) = (&raw.samples, least.or(most)) {
        words.problems.push(
            exact.span(),
            "'samples' is exact: it leaves no room for at_least or at_most",
        );
    }
    if let (Some(least), Some(most), Some(raw)) = (least, most, &raw.samples_at_most)
        && most < least
    {
        words.problems.push(
            raw.span(),
            format!("at most {most} is less than at least {least}"),
        );
    }
    let samples = match (exactly, least, most) {
        (Some(n), ..) => Some((n, n)),
        (None, None, None) => None,
        (None, least, most) => Some((least.map_or(1, |n| n), most.map_or(u32::MAX, |n| n))),
    };
    Expect {
        samples,
        analytes: raw
            .analytes
            .iter()
            .filter_map(|text| words.analyte(text))
            .collect(),
    }
}
