//! The vocabulary's TOML tables, raw and strict, and their compilation: everything that can be wrong
//! with a table is found here, all of it at once. Look-up is in `words`, reading in `reader`.

use super::analyte::{Analyte, AnalyteId, Fraction, Name, Silent};
use super::formula::Formula;
use super::{Basis, Dimension, Field, Note, Unit};
use serde::Deserialize;
use std::collections::BTreeMap;
use toml::Spanned;

/// Languages of the tables, in the order in which they are shown; `symbol` is none.
pub(super) const LANGUAGES: [&str; 10] = [
    "en", "de", "nl", "fr", "es", "it", "pt", "da", "pl", "symbol",
];

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawAnalytes {
    #[serde(default)]
    analyte: Vec<RawAnalyte>,
    #[serde(default)]
    ambiguous: Vec<RawAmbiguous>,
    words: Option<RawWords>,
}

/// Words around a name that are not part of it.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawWords {
    #[serde(default)]
    pub(super) total: Vec<String>,
    #[serde(default)]
    pub(super) dissolved: Vec<String>,
    #[serde(default)]
    pub(super) aside: Vec<String>,
    #[serde(default, rename = "as")]
    pub(super) intro: Vec<String>,
    #[serde(default)]
    pub(super) at: Vec<String>,
    #[serde(default)]
    pub(super) species: BTreeMap<String, Vec<String>>,
}

impl RawAnalytes {
    pub(super) fn words(&self) -> Option<&RawWords> {
        self.words.as_ref()
    }
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawAnalyte {
    code: Spanned<String>,
    name: Option<String>,
    cas: Option<String>,
    unit: Option<Spanned<String>>,
    basis: Option<Spanned<String>>,
    charge: Option<i8>,
    units: Option<Vec<Spanned<String>>>,
    bases: Option<Vec<Spanned<String>>>,
    silent_basis: Option<Spanned<String>>,
    assume_unit: Option<bool>,
    fractions: Option<bool>,
    hard: Option<[f64; 2]>,
    soft: Option<[f64; 2]>,
    instead: Option<Vec<RawInstead>>,
    charged_symbols: Option<Vec<String>>,
    #[serde(default)]
    names: Vec<RawNames>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawInstead {
    dimension: Spanned<String>,
    analyte: Spanned<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawNames {
    basis: Option<Spanned<String>>,
    fraction: Option<Spanned<String>>,
    #[serde(default)]
    en: Vec<String>,
    #[serde(default)]
    de: Vec<String>,
    #[serde(default)]
    nl: Vec<String>,
    #[serde(default)]
    fr: Vec<String>,
    #[serde(default)]
    es: Vec<String>,
    #[serde(default)]
    it: Vec<String>,
    #[serde(default)]
    pt: Vec<String>,
    #[serde(default)]
    da: Vec<String>,
    #[serde(default)]
    pl: Vec<String>,
    #[serde(default)]
    symbol: Vec<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawAmbiguous {
    labels: Vec<String>,
    candidates: Vec<RawCandidate>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawCandidate {
    analyte: Spanned<String>,
    basis: Option<String>,
    fraction: Option<Spanned<String>>,
    #[serde(default)]
    dimensions: Vec<Spanned<String>>,
    #[serde(default)]
    languages: Vec<Spanned<String>>,
    sheet: Option<Spanned<String>>,
    #[serde(default)]
    stated: bool,
}

/// What kind of table the sheet is, as far as its headings tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum SheetKind {
    Elements,
    Ions,
    Hygiene,
}

/// A label with several meanings, and what would speak for each.
#[derive(Clone, Debug)]
pub(super) struct Ambiguity {
    pub(super) labels: Vec<String>,
    pub(super) candidates: Vec<Candidate>,
}

#[derive(Clone, Debug)]
pub(super) struct Candidate {
    pub(super) analyte: AnalyteId,
    pub(super) basis: Option<Basis>,
    pub(super) fraction: Option<Fraction>,
    pub(super) dimensions: Vec<Dimension>,
    pub(super) languages: Vec<&'static str>,
    pub(super) sheet: Option<SheetKind>,
    pub(super) stated: bool,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawUnits {
    #[serde(default)]
    numerator: Vec<RawNumerator>,
    #[serde(default)]
    per: Vec<RawPer>,
    #[serde(default)]
    unit: Vec<RawUnit>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawNumerator {
    code: Spanned<String>,
    dimension: Option<Spanned<String>>,
    to_base: Option<Spanned<String>>,
    #[serde(default)]
    joined: bool,
    #[serde(default)]
    spellings: Vec<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawPer {
    code: Spanned<String>,
    divisor: Option<Spanned<String>>,
    note: Option<Spanned<String>>,
    #[serde(default)]
    spellings: Vec<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawUnit {
    code: Spanned<String>,
    dimension: Option<Spanned<String>>,
    to_base: Option<Spanned<String>>,
    offset: Option<Spanned<String>>,
    mg_per_l: Option<Spanned<String>>,
    of: Option<Spanned<String>>,
    note: Option<Spanned<String>>,
    #[serde(default)]
    spellings: Vec<String>,
    #[serde(default)]
    weak: Vec<String>,
}

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
    pub(super) numerators: Vec<Part>,
    pub(super) pers: Vec<Part>,
}

/// A problem of a table file: the span in the text and what is wrong with it.
#[derive(Debug, PartialEq)]
pub(super) struct Problem {
    pub(super) span: std::ops::Range<usize>,
    pub(super) what: String,
}

fn problem<T>(at: &Spanned<T>, what: String) -> Problem {
    Problem {
        span: at.span(),
        what,
    }
}

/// Parses a TOML table strictly.
pub(super) fn parse<'a, T: Deserialize<'a>>(text: &'a str) -> Result<T, Problem> {
    toml::from_str(text).map_err(|e| Problem {
        span: e.span().unwrap_or(0..0),
        what: e.message().to_string(),
    })
}

/// Products and quotients of decimals ("100/250"); `None` for anything else.
fn number(text: &str) -> Option<f64> {
    let mut parts = text.split('/').map(|p| p.trim().parse::<f64>());
    let first = parts.next()?.ok()?;
    parts
        .try_fold(first, |n, p| p.ok().filter(|p| *p != 0.0).map(|p| n / p))
        .filter(|n| n.is_finite())
}

fn number_at(at: Option<&Spanned<String>>, absent: f64, problems: &mut Vec<Problem>) -> f64 {
    let Some(at) = at else { return absent };
    number(at.get_ref()).unwrap_or_else(|| {
        problems.push(problem(at, format!("not a number: '{}'", at.get_ref())));
        absent
    })
}

fn dimension_at(at: &Spanned<String>, problems: &mut Vec<Problem>) -> Dimension {
    Dimension::parse(at.get_ref()).unwrap_or_else(|| {
        problems.push(problem(at, format!("unknown dimension '{}'", at.get_ref())));
        Dimension::One
    })
}

fn fraction_at(at: Option<&Spanned<String>>, problems: &mut Vec<Problem>) -> Option<Fraction> {
    let at = at?;
    let fraction = [Fraction::Dissolved, Fraction::Total]
        .into_iter()
        .find(|f| f.name() == at.get_ref());
    if fraction.is_none() {
        problems.push(problem(at, format!("unknown fraction '{}'", at.get_ref())));
    }
    fraction
}

fn basis_at(at: Option<&Spanned<String>>, problems: &mut Vec<Problem>) -> Option<Basis> {
    let at = at?;
    if Formula::parse(at.get_ref()).is_none() {
        problems.push(problem(at, format!("no formula: '{}'", at.get_ref())));
    }
    Some(Basis(at.get_ref().clone()))
}

fn note_at(at: Option<&Spanned<String>>, problems: &mut Vec<Problem>) -> Option<Note> {
    let at = at?;
    let note = [Note::WaterDensity, Note::MostProbableNumber]
        .into_iter()
        .find(|n| n.text() == at.get_ref());
    if note.is_none() {
        problems.push(problem(at, format!("unknown note '{}'", at.get_ref())));
    }
    note
}

/// A code that lives as long as the program: vocabularies are loaded once a run.
fn keep(code: &str) -> &'static str {
    Box::leak(code.to_string().into_boxed_str())
}

pub(super) fn compile_units(layers: &[RawUnits], problems: &mut Vec<Problem>) -> Units {
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
                problems.push(problem(
                    &raw.code,
                    "a new numerator needs a dimension".into(),
                ));
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
                problems.push(problem(&raw.code, "a new 'per' needs a divisor".into()));
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
                problems.push(problem(&raw.code, "a new unit needs a dimension".into()));
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

pub(super) fn compile_analytes(
    layers: &[RawAnalytes],
    units: &Units,
    problems: &mut Vec<Problem>,
) -> (Vec<Analyte>, Vec<Ambiguity>) {
    let mut analytes: Vec<Analyte> = Vec::new();
    for raw in layers.iter().flat_map(|l| &l.analyte) {
        let at = analytes.iter().position(|a| a.code == *raw.code.get_ref());
        match at {
            Some(at) => extend(&mut analytes[at], raw, units, problems),
            None => {
                if let Some(analyte) = new_analyte(raw, units, problems) {
                    analytes.push(analyte);
                }
            }
        }
    }
    let find = |code: &Spanned<String>, problems: &mut Vec<Problem>| {
        let at = analytes.iter().position(|a| a.code == *code.get_ref());
        if at.is_none() {
            problems.push(problem(
                code,
                format!("unknown analyte '{}'", code.get_ref()),
            ));
        }
        at.and_then(|i| u16::try_from(i).ok()).map(AnalyteId)
    };
    let mut instead = Vec::new();
    for raw in layers.iter().flat_map(|l| &l.analyte) {
        for other in raw.instead.iter().flatten() {
            let dimension = dimension_at(&other.dimension, problems);
            if let (Some(from), Some(to)) =
                (find(&raw.code, problems), find(&other.analyte, problems))
            {
                instead.push((from, dimension, to));
            }
        }
    }
    let ambiguities = layers
        .iter()
        .flat_map(|l| &l.ambiguous)
        .map(|raw| Ambiguity {
            labels: raw.labels.clone(),
            candidates: raw
                .candidates
                .iter()
                .filter_map(|c| {
                    Some(Candidate {
                        analyte: find(&c.analyte, problems)?,
                        basis: c.basis.clone().map(Basis),
                        fraction: fraction_at(c.fraction.as_ref(), problems),
                        dimensions: c
                            .dimensions
                            .iter()
                            .map(|d| dimension_at(d, problems))
                            .collect(),
                        languages: c
                            .languages
                            .iter()
                            .filter_map(|l| language_at(l, problems))
                            .collect(),
                        sheet: c.sheet.as_ref().and_then(|s| sheet_at(s, problems)),
                        stated: c.stated,
                    })
                })
                .collect(),
        })
        .collect();
    for (from, dimension, to) in instead {
        analytes[usize::from(from.0)].instead.push((dimension, to));
    }
    (analytes, ambiguities)
}

fn language_at(at: &Spanned<String>, problems: &mut Vec<Problem>) -> Option<&'static str> {
    let language = LANGUAGES.into_iter().find(|l| l == at.get_ref());
    if language.is_none() {
        problems.push(problem(at, format!("unknown language '{}'", at.get_ref())));
    }
    language
}

fn sheet_at(at: &Spanned<String>, problems: &mut Vec<Problem>) -> Option<SheetKind> {
    match at.get_ref().as_str() {
        "elements" => Some(SheetKind::Elements),
        "ions" => Some(SheetKind::Ions),
        "hygiene" => Some(SheetKind::Hygiene),
        other => {
            problems.push(problem(at, format!("unknown kind of sheet '{other}'")));
            None
        }
    }
}

fn names_of(raw: &RawNames, problems: &mut Vec<Problem>) -> Vec<Name> {
    let basis = basis_at(raw.basis.as_ref(), problems);
    let fraction = fraction_at(raw.fraction.as_ref(), problems);
    let lists = [
        &raw.en,
        &raw.de,
        &raw.nl,
        &raw.fr,
        &raw.es,
        &raw.it,
        &raw.pt,
        &raw.da,
        &raw.pl,
        &raw.symbol,
    ];
    LANGUAGES
        .into_iter()
        .zip(lists)
        .flat_map(|(language, list)| list.iter().map(move |text| (language, text.clone())))
        .map(|(language, text)| Name {
            language,
            text,
            basis: basis.clone(),
            fraction,
        })
        .collect()
}

fn find_unit(units: &Units, code: &str) -> Option<Unit> {
    units
        .spellings
        .iter()
        .find(|s| s.unit.code == code)
        .map(|s| s.unit.clone())
}

fn new_analyte(raw: &RawAnalyte, units: &Units, problems: &mut Vec<Problem>) -> Option<Analyte> {
    let Some(unit) = &raw.unit else {
        problems.push(problem(
            &raw.code,
            format!(
                "unknown analyte '{}'; a new one needs a unit",
                raw.code.get_ref()
            ),
        ));
        return None;
    };
    let code = raw.code.get_ref();
    let suffix: String = match unit.get_ref().as_str() {
        "[pH]" | "1" => String::new(),
        "[CFU]/(100.mL)" => "_cfu_100ml".into(),
        "Cel" => "_c".into(),
        "%" => "_percent".into(),
        other => format!(
            "_{}",
            other
                .to_lowercase()
                .replace('/', "_")
                .replace(['[', ']'], "")
        ),
    };
    let mut analyte = Analyte {
        code: code.clone(),
        name: raw.name.clone().unwrap_or_else(|| code.replace('_', " ")),
        cas: None,
        unit: unit.get_ref().clone(),
        column: format!("{code}{suffix}"),
        basis: basis_at(raw.basis.as_ref(), problems),
        charge: 0,
        units: Vec::new(),
        bases: Vec::new(),
        silent: Silent::Understood,
        has_fractions: false,
        assumed_unit: None,
        assumed_basis: None,
        hard_range: None,
        soft_range: None,
        names: Vec::new(),
        instead: Vec::new(),
        charged_symbols: Vec::new(),
    };
    match find_unit(units, unit.get_ref()) {
        Some(found) => analyte.assumed_unit = Some(found),
        None => problems.push(problem(unit, format!("unknown unit '{}'", unit.get_ref()))),
    }
    extend(&mut analyte, raw, units, problems);
    Some(analyte)
}

/// What an entry says is taken; what it leaves out stays.
fn extend(analyte: &mut Analyte, raw: &RawAnalyte, units: &Units, problems: &mut Vec<Problem>) {
    for (key, given, same) in [
        ("unit", &raw.unit, Some(analyte.unit.as_str())),
        (
            "basis",
            &raw.basis,
            analyte.basis.as_ref().map(|b| b.0.as_str()),
        ),
    ] {
        if let Some(given) = given
            .as_ref()
            .filter(|g| Some(g.get_ref().as_str()) != same)
        {
            let what = format!("the {key} of '{}' is fixed", analyte.code);
            problems.push(problem(given, what));
        }
    }
    if let Some(name) = &raw.name {
        analyte.name.clone_from(name);
    }
    if raw.cas.is_some() {
        analyte.cas.clone_from(&raw.cas);
    }
    if let Some(charge) = raw.charge {
        analyte.charge = charge;
    }
    if let Some(given) = &raw.units {
        for code in given
            .iter()
            .filter(|c| find_unit(units, c.get_ref()).is_none())
        {
            problems.push(problem(code, format!("unknown unit '{}'", code.get_ref())));
        }
        analyte.units = given.iter().map(|u| u.get_ref().clone()).collect();
    }
    if let Some(given) = &raw.bases {
        analyte.bases = given
            .iter()
            .filter_map(|b| basis_at(Some(b), problems))
            .collect();
    }
    if let Some(silent) = &raw.silent_basis {
        analyte.silent = match silent.get_ref().as_str() {
            "understood" => Silent::Understood,
            "assumed" => Silent::Assumed,
            "none" => Silent::Refused,
            other => {
                let what = format!("'{other}' is none of 'understood', 'assumed', 'none'");
                problems.push(problem(silent, what));
                Silent::Refused
            }
        };
    }
    analyte.assumed_basis = analyte
        .basis
        .clone()
        .filter(|_| analyte.silent != Silent::Refused);
    match raw.assume_unit {
        Some(false) => analyte.assumed_unit = None,
        Some(true) => analyte.assumed_unit = find_unit(units, &analyte.unit),
        None => {}
    }
    if let Some(fractions) = raw.fractions {
        analyte.has_fractions = fractions;
    }
    for (given, range) in [
        (raw.hard, &mut analyte.hard_range),
        (raw.soft, &mut analyte.soft_range),
    ] {
        if let Some([low, high]) = given {
            if low <= high {
                *range = Some((low, high));
            } else {
                problems.push(problem(&raw.code, format!("empty range [{low}, {high}]")));
            }
        }
    }
    if let Some(symbols) = &raw.charged_symbols {
        analyte.charged_symbols.clone_from(symbols);
    }
    for group in &raw.names {
        analyte.names.extend(names_of(group, problems));
    }
}

pub(super) type RawFields = BTreeMap<Spanned<String>, BTreeMap<String, Vec<String>>>;

/// (field, language, word)
pub(super) fn compile_fields(
    layers: &[RawFields],
    problems: &mut Vec<Problem>,
) -> Vec<(Field, &'static str, String)> {
    let mut words = Vec::new();
    for (name, languages) in layers.iter().flatten() {
        let Some(field) = Field::parse(name.get_ref()) else {
            problems.push(problem(name, format!("unknown field '{}'", name.get_ref())));
            continue;
        };
        for (language, list) in languages {
            match LANGUAGES.into_iter().find(|l| l == language) {
                Some(language) => {
                    words.extend(list.iter().map(|word| (field, language, word.clone())));
                }
                None => problems.push(problem(name, format!("unknown language '{language}'"))),
            }
        }
    }
    words
}
