//! Units compiled from their table: every spelling with what it means.

use super::formula::Formula;
use super::raw::{RawUnits, basis_at, dimension_at, note_at};
use super::{Basis, Dimension, Note, Unit};
use crate::problem::Problems;
use std::collections::{BTreeMap, HashMap};
use toml::Spanned;

/// One spelling of a unit.
#[derive(Clone, Debug)]
pub(super) struct Spelling {
    pub(super) text: String,
    pub(super) unit: Unit,
    /// Believed only beside an analyte that is measured so.
    pub(super) weak: bool,
    /// The spelling names what is counted (`mg Pt/l`).
    pub(super) basis: Option<Basis>,
}

/// One side of a composed unit, kept for spellings with a species in between (`mg N/l`).
#[derive(Clone, Debug)]
pub(super) struct Part {
    pub(super) text: String,
    pub(super) code: String,
    pub(super) dimension: Option<Dimension>,
    pub(super) factor: f64,
    pub(super) joined: bool,
    pub(super) note: Option<Note>,
}

#[derive(Debug, Default)]
pub(super) struct Units {
    pub(super) spellings: Vec<Spelling>,
    by_code: HashMap<&'static str, Unit>,
    pub(super) numerators: Vec<Part>,
    pub(super) pers: Vec<Part>,
}

/// Products and quotients of decimals ("100/250"); `None` for anything else.
fn number(text: &str) -> Option<f64> {
    let mut parts = text.split('/').map(|p| p.trim().parse::<f64>());
    let first = parts.next()?.ok()?;
    parts
        .try_fold(first, |n, p| p.ok().filter(|p| *p != 0.0).map(|p| n / p))
        .filter(|n| n.is_finite())
}

fn number_at(at: Option<&Spanned<String>>, absent: f64, problems: &mut Problems<'_>) -> f64 {
    let Some(at) = at else { return absent };
    number(at.get_ref()).unwrap_or_else(|| {
        problems.push(at.span(), format!("not a number: '{}'", at.get_ref()));
        absent
    })
}

/// A code that lives as long as the program: vocabularies are loaded once a run.
fn keep(code: &str) -> &'static str {
    Box::leak(code.to_string().into_boxed_str())
}

impl Units {
    pub(super) fn find(&self, code: &str) -> Option<&Unit> {
        self.by_code.get(code)
    }
}

pub(super) fn compile_units(layers: &[RawUnits], problems: &mut Problems<'_>) -> Units {
    let mut units = Units::default();
    for raw in layers.iter().flat_map(|l| &l.numerator) {
        let known = units
            .numerators
            .iter()
            .find(|p| p.code == *raw.code.get_ref())
            .cloned();
        let base = match (&raw.dimension, known) {
            (Some(dimension), _) => Part {
                text: String::new(),
                code: raw.code.get_ref().clone(),
                dimension: Some(dimension_at(dimension, problems)),
                factor: number_at(raw.to_base.as_ref(), 1.0, problems),
                joined: raw.joined,
                note: None,
            },
            (None, Some(known)) => known,
            (None, None) => {
                problems.push(raw.code.span(), "a new numerator needs a dimension");
                continue;
            }
        };
        units
            .numerators
            .extend(raw.spellings.iter().map(|text| Part {
                text: text.clone(),
                ..base.clone()
            }));
    }
    for raw in layers.iter().flat_map(|l| &l.per) {
        let known = units
            .pers
            .iter()
            .find(|p| p.code == *raw.code.get_ref())
            .cloned();
        let base = match (&raw.divisor, known) {
            (Some(_), _) => Part {
                text: String::new(),
                code: raw.code.get_ref().clone(),
                dimension: None,
                factor: number_at(raw.divisor.as_ref(), 1.0, problems),
                joined: false,
                note: note_at(raw.note.as_ref(), problems),
            },
            (None, Some(known)) => known,
            (None, None) => {
                problems.push(raw.code.span(), "a new 'per' needs a divisor");
                continue;
            }
        };
        units.pers.extend(raw.spellings.iter().map(|text| Part {
            text: text.clone(),
            ..base.clone()
        }));
    }
    compose(&mut units);
    for raw in layers.iter().flat_map(|l| &l.unit) {
        let known = units
            .spellings
            .iter()
            .find(|s| s.unit.code == raw.code.get_ref())
            .cloned();
        let of = basis_at(raw.of.as_ref(), problems);
        let (unit, basis) = match (&raw.dimension, known) {
            (Some(dimension), _) => {
                let dimension = dimension_at(dimension, problems);
                let to_base = match (&raw.mg_per_l, &of) {
                    // Equivalents of a carbonate or an oxide of calcium: 2 a mole.
                    (Some(mass), Some(of)) => Formula::parse(&of.0).map_or(1.0, |f| {
                        number_at(Some(mass), 1.0, problems) * 2.0 / f.mass()
                    }),
                    _ => number_at(raw.to_base.as_ref(), 1.0, problems),
                };
                let unit = Unit {
                    code: keep(raw.code.get_ref()),
                    dimension,
                    to_base,
                    offset: number_at(raw.offset.as_ref(), 0.0, problems),
                    note: note_at(raw.note.as_ref(), problems),
                };
                (unit, of.filter(|_| raw.mg_per_l.is_none()))
            }
            (None, Some(known)) => (known.unit, known.basis),
            (None, None) => {
                problems.push(raw.code.span(), "a new unit needs a dimension");
                continue;
            }
        };
        let weak = raw.weak.iter().map(|t| (t, true));
        units
            .spellings
            .extend(
                raw.spellings
                    .iter()
                    .map(|t| (t, false))
                    .chain(weak)
                    .map(|(text, weak)| Spelling {
                        text: text.clone(),
                        unit: unit.clone(),
                        weak,
                        basis: basis.clone(),
                    }),
            );
    }
    for spelling in &units.spellings {
        units
            .by_code
            .entry(spelling.unit.code)
            .or_insert_with(|| spelling.unit.clone());
    }
    units
}

/// What one numerator per one volume is: `mg` and `L` give `mg/L`.
pub(super) fn composed(numerator: &Part, per: &Part) -> Unit {
    Unit {
        code: keep(&format!("{}/{}", numerator.code, per.code)),
        dimension: numerator.dimension.unwrap_or(Dimension::One),
        to_base: numerator.factor / per.factor,
        offset: 0.0,
        note: per.note,
    }
}

fn compose(units: &mut Units) {
    let mut known: BTreeMap<(String, String), Unit> = BTreeMap::new();
    for numerator in &units.numerators {
        for per in &units.pers {
            let unit = known
                .entry((numerator.code.clone(), per.code.clone()))
                .or_insert_with(|| composed(numerator, per))
                .clone();
            let (n, p) = (&numerator.text, &per.text);
            let mut texts = vec![
                format!("{n}/{p}"),
                format!("{n}per{p}"),
                format!("{n}{p}-1"),
            ];
            if p == "dm3" || p == "m3" {
                texts.push(format!("{n}{}-3", &p[..p.len() - 1]));
            }
            if numerator.joined && !p.contains(['3', ' ']) {
                texts.push(format!("{n}{p}"));
            }
            units
                .spellings
                .extend(texts.into_iter().map(|text| Spelling {
                    text,
                    unit: unit.clone(),
                    weak: false,
                    basis: None,
                }));
        }
    }
}
