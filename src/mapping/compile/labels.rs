//! `[labels]` and `[[correction]]`: what labels mean.

use super::super::label::{label, wording};
use super::super::raw::{RawCorrection, RawLabel, Text};
use super::words::{FRACTIONS, Words};
use crate::map::{LabelRule, RuleMeaning};
use jiff::civil::Date;
use std::collections::{BTreeMap, HashMap};
use std::ops::Range;
use std::sync::Arc;
use toml::Spanned;
use toml::value::Datetime;

/// In the order of the file, so that the first pattern that fits is the first that is written.
pub(super) fn labels(raw: &BTreeMap<Text, RawLabel>, words: &mut Words<'_, '_>) -> Vec<LabelRule> {
    let mut entries: Vec<_> = raw.iter().collect();
    entries.sort_by_key(|(key, _)| key.span().start);
    twice(&entries, words);
    entries
        .into_iter()
        .filter_map(|(key, raw)| {
            rule(
                &Said {
                    label: key,
                    means: raw.means.as_ref(),
                    unit: raw.unit.as_ref(),
                    basis: raw.basis.as_ref(),
                    fraction: raw.fraction.as_ref(),
                    reference_temperature: raw.reference_temperature.as_ref(),
                    sheet: raw.sheet.as_ref(),
                    overrides: raw.overrides.as_ref(),
                    reason: raw.reason.as_ref(),
                },
                None,
                None,
                words,
            )
        })
        .collect()
}

/// Keys that differ only in case or spaces are one label: the second would never be heard.
fn twice(entries: &[(&Text, &RawLabel)], words: &mut Words<'_, '_>) {
    let mut seen: HashMap<(String, Option<&str>), &Text> = HashMap::new();
    for (key, raw) in entries {
        let folded: Vec<String> = key
            .get_ref()
            .split_whitespace()
            .map(str::to_lowercase)
            .collect();
        let sheet = raw.sheet.as_ref().map(|text| text.get_ref().as_str());
        if let Some(first) = seen.get(&(folded.join(" "), sheet)) {
            let message = format!(
                "'{}' is the same label as '{}'",
                key.get_ref(),
                first.get_ref()
            );
            words
                .problems
                .push(key.span(), message)
                .help("upper and lower case and spaces do not matter; keep one of them");
        } else {
            seen.insert((folded.join(" "), sheet), key);
        }
    }
}

pub(super) fn corrections(raw: &[RawCorrection], words: &mut Words<'_, '_>) -> Vec<LabelRule> {
    let mut rules = Vec::new();
    for raw in raw {
        let from = day(raw.from.as_ref(), words);
        let to = day(raw.to.as_ref(), words);
        if let (Some(from), Some(to), Some(at)) = (from, to, &raw.to)
            && to < from
        {
            words
                .problems
                .push(at.span(), format!("{to} is before {from}"));
        }
        let Some(key) = &raw.label else {
            if words.whole {
                words
                    .problems
                    .push(correction_span(raw), "a correction without a label")
                    .help("label = \"…\": the label as it stands in the report");
            }
            continue;
        };
        let reasons = raw.reason.as_ref().map(|r| r.get_ref().trim());
        if words.whole && reasons.is_none_or(str::is_empty) {
            words
                .problems
                .push(key.span(), "a correction without a reason")
                .help("reason = \"…\": how you know; it is shown beside the numbers it changes");
        }
        rules.extend(rule(
            &Said {
                label: key,
                means: raw.means.as_ref(),
                unit: raw.unit.as_ref(),
                basis: raw.basis.as_ref(),
                fraction: raw.fraction.as_ref(),
                reference_temperature: raw.reference_temperature.as_ref(),
                sheet: raw.sheet.as_ref(),
                overrides: raw.overrides.as_ref(),
                reason: raw.reason.as_ref(),
            },
            from,
            to,
            words,
        ));
    }
    rules
}

/// Where a correction without a label stands: its first value.
fn correction_span(raw: &RawCorrection) -> Range<usize> {
    [
        &raw.means,
        &raw.unit,
        &raw.basis,
        &raw.fraction,
        &raw.sheet,
        &raw.reason,
    ]
    .into_iter()
    .flatten()
    .map(Spanned::span)
    .chain(raw.from.iter().map(Spanned::span))
    .chain(raw.to.iter().map(Spanned::span))
    .min_by_key(|span| span.start)
    .map_or(0..0, |span| span)
}

/// What `[labels]` and `[[correction]]` have in common.
struct Said<'a> {
    label: &'a Text,
    means: Option<&'a Text>,
    unit: Option<&'a Text>,
    basis: Option<&'a Text>,
    fraction: Option<&'a Text>,
    reference_temperature: Option<&'a Spanned<f64>>,
    sheet: Option<&'a Text>,
    overrides: Option<&'a Spanned<bool>>,
    reason: Option<&'a Text>,
}

/// `None` after a problem with the label itself; other problems are only noted.
fn rule(
    said: &Said<'_>,
    from: Option<Date>,
    to: Option<Date>,
    words: &mut Words<'_, '_>,
) -> Option<LabelRule> {
    let reason: Option<Arc<str>> = said.reason.map(|text| Arc::from(text.get_ref().trim()));
    let meaning = said
        .means
        .and_then(|text| words.meaning(text, reason.as_ref()));
    let unit = said.unit.and_then(|text| words.unit(text));
    let basis = said.basis.and_then(|text| words.basis(text));
    let fraction = words.one_of_option(said.fraction, "fraction", &FRACTIONS);
    let stated = said.means.or(said.unit).or(said.basis).or(said.fraction);
    if stated.is_none() && said.reference_temperature.is_none() && words.whole {
        words
            .problems
            .push(said.label.span(), "nothing is said of this label")
            .help("means = \"nitrate\", or unit, basis, fraction");
    }
    if let (Some(unit), Some(basis), Some(text)) = (&unit, &basis, said.basis)
        && let Some(other) = &unit.basis
        && other != basis
    {
        let message = format!("the unit says as {other}, the basis says {basis}");
        words.problems.push(text.span(), message);
    }
    let chemistry = said.unit.or(said.basis).or(said.fraction);
    match (&meaning, chemistry) {
        (Some(RuleMeaning::Analyte(analyte)), _) => {
            if let (Some(unit), Some(text)) = (&unit, said.unit) {
                let basis = basis.as_ref().or(unit.basis.as_ref());
                words.check_unit(*analyte, &unit.unit, basis, text.span());
            } else if let (Some(basis), Some(text)) = (&basis, said.basis) {
                words.check_basis(*analyte, basis, text.span());
            }
        }
        (Some(_), Some(text)) => {
            words.problems.push(
                text.span(),
                "only an analyte has a unit, a basis or a fraction",
            );
        }
        _ => {}
    }
    let reference_temperature = said.reference_temperature.and_then(|number| {
        let degrees = *number.get_ref();
        // Written so that NaN fails; the range is that of ISO 7888's correction table, 0 to 35 °C
        // (from memory).
        let fits = (0.0..=35.0).contains(&degrees);
        if !fits {
            words.problems.push(
                number.span(),
                "a temperature from 0 to 35 °C is needed here",
            );
        }
        fits.then_some(degrees)
    });
    let sheet = said.sheet.and_then(|text| wording(text, words.problems));
    let named = label(said.label, words.problems)?;
    Some(LabelRule {
        label: named.wording,
        at: named.at,
        sheet,
        meaning,
        unit,
        basis,
        fraction,
        reference_temperature,
        from,
        to,
        reason,
        overrides: said.overrides.is_some_and(|s| *s.get_ref()),
    })
}

/// A day without a time; `None` also where nothing is said.
fn day(raw: Option<&Spanned<Datetime>>, words: &mut Words<'_, '_>) -> Option<Date> {
    let raw = raw?;
    let value = raw.get_ref();
    let plain = (value.time.is_none() && value.offset.is_none())
        .then_some(value.date)
        .flatten();
    let found = plain.and_then(|date| {
        Date::new(
            i16::try_from(date.year).ok()?,
            i8::try_from(date.month).ok()?,
            i8::try_from(date.day).ok()?,
        )
        .ok()
    });
    // `ok` above: what is no day is told here.
    if found.is_none() {
        words
            .problems
            .push(raw.span(), format!("'{value}' is no day"))
            .help("a day is written 2026-05-31, without a time");
    }
    found
}
