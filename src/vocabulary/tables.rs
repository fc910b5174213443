//! Analytes, ambiguous labels and fields compiled from their tables: everything that can be wrong with
//! a table is found here, all of it at once. Look-up is in `words`, reading in `reader`.

use super::analyte::{Analyte, AnalyteId, Fraction, Name, Silent};
use super::raw::{
    LANGUAGES, RawAnalyte, RawAnalytes, RawFields, RawNames, basis_at, dimension_at, fraction_at,
};
use super::units::Units;
use super::{Basis, Dimension, Field};
use crate::problem::Problems;
use toml::Spanned;

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

pub(super) fn compile_analytes(
    layers: &[RawAnalytes],
    units: &Units,
    problems: &mut Problems<'_>,
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
    let find = |code: &Spanned<String>, problems: &mut Problems<'_>| {
        let at = analytes.iter().position(|a| a.code == *code.get_ref());
        if at.is_none() {
            let known = analytes.iter().map(|a| a.code.as_str());
            problems
                .push(code.span(), format!("unknown analyte '{}'", code.get_ref()))
                .nearest(code.get_ref(), known);
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

fn language_at(at: &Spanned<String>, problems: &mut Problems<'_>) -> Option<&'static str> {
    let language = LANGUAGES.into_iter().find(|l| l == at.get_ref());
    if language.is_none() {
        problems
            .push(at.span(), format!("unknown language '{}'", at.get_ref()))
            .nearest(at.get_ref(), LANGUAGES);
    }
    language
}

fn sheet_at(at: &Spanned<String>, problems: &mut Problems<'_>) -> Option<SheetKind> {
    match at.get_ref().as_str() {
        "elements" => Some(SheetKind::Elements),
        "ions" => Some(SheetKind::Ions),
        "hygiene" => Some(SheetKind::Hygiene),
        other => {
            problems.push(at.span(), format!("unknown kind of sheet '{other}'"));
            None
        }
    }
}

fn names_of(raw: &RawNames, problems: &mut Problems<'_>) -> Vec<Name> {
    let basis = basis_at(raw.basis.as_ref(), problems);
    let fraction = fraction_at(raw.fraction.as_ref(), problems);
    (raw.by_language().into_iter())
        .flat_map(|(language, list)| list.iter().map(move |text| (language, text.clone())))
        .map(|(language, text)| Name {
            language,
            text,
            basis: basis.clone(),
            fraction,
        })
        .collect()
}

fn new_analyte(raw: &RawAnalyte, units: &Units, problems: &mut Problems<'_>) -> Option<Analyte> {
    let Some(unit) = &raw.unit else {
        problems.push(
            raw.code.span(),
            format!(
                "unknown analyte '{}'; a new one needs a unit",
                raw.code.get_ref()
            ),
        );
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
    match units.find(unit.get_ref()).cloned() {
        Some(found) => analyte.assumed_unit = Some(found),
        None => {
            problems.push(unit.span(), format!("unknown unit '{}'", unit.get_ref()));
        }
    }
    extend(&mut analyte, raw, units, problems);
    Some(analyte)
}

/// What an entry says is taken; what it leaves out stays.
fn extend(analyte: &mut Analyte, raw: &RawAnalyte, units: &Units, problems: &mut Problems<'_>) {
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
            problems.push(given.span(), what);
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
        for code in given.iter().filter(|c| units.find(c.get_ref()).is_none()) {
            problems.push(code.span(), format!("unknown unit '{}'", code.get_ref()));
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
                problems.push(silent.span(), what);
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
        Some(true) => analyte.assumed_unit = units.find(&analyte.unit).cloned(),
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
                problems.push(raw.code.span(), format!("empty range [{low}, {high}]"));
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

/// (field, language, word)
pub(super) fn compile_fields(
    layers: &[RawFields],
    problems: &mut Problems<'_>,
) -> Vec<(Field, &'static str, String)> {
    let mut words = Vec::new();
    for (name, languages) in layers.iter().flatten() {
        let Some(field) = Field::parse(name.get_ref()) else {
            problems
                .push(name.span(), format!("unknown field '{}'", name.get_ref()))
                .nearest(name.get_ref(), Field::ALL.iter().map(|f| f.name()));
            continue;
        };
        for (language, list) in languages {
            match LANGUAGES.into_iter().find(|l| l == language) {
                Some(language) => {
                    words.extend(list.iter().map(|word| (field, language, word.clone())));
                }
                None => {
                    problems
                        .push(name.span(), format!("unknown language '{language}'"))
                        .nearest(language, LANGUAGES);
                }
            }
        }
    }
    words
}
