//! Words of a mapping looked up: analytes, fields, units, bases, and the short lists of choices. What
//! is unknown becomes a problem with the nearest known word.

use super::super::raw::Text;
use crate::map::{DateOrder, Decimal, QualifierCode, RuleMeaning, StatedUnit};
use crate::problem::Problems;
use crate::vocabulary::{AnalyteId, Basis, Field, Fraction, Refusal, Unit, Vocabulary};
use std::ops::Range;
use std::sync::Arc;
use toml::Spanned;

/// The word for 'not read', beside analytes and fields.
pub(in super::super) const SET_ASIDE: &str = "set-aside";

pub(in super::super) const DECIMALS: [(&str, Decimal); 2] =
    [("point", Decimal::Point), ("comma", Decimal::Comma)];

pub(in super::super) const DATES: [(&str, DateOrder); 3] = [
    ("day-first", DateOrder::DayFirst),
    ("month-first", DateOrder::MonthFirst),
    ("year-first", DateOrder::YearFirst),
];

pub(in super::super) const CODES: [(&str, QualifierCode); 6] = [
    ("below", QualifierCode::Below),
    ("above", QualifierCode::Above),
    ("absent", QualifierCode::Absent),
    ("keep", QualifierCode::Keep),
    ("reject", QualifierCode::Reject),
    ("missing", QualifierCode::Missing),
];

pub(super) const DELIMITERS: [(&str, char); 4] =
    [(",", ','), (";", ';'), ("|", '|'), ("tab", '\t')];

pub(super) const FRACTIONS: [(&str, Fraction); 2] = [
    ("dissolved", Fraction::Dissolved),
    ("total", Fraction::Total),
];

/// Fields that say who, where, when: what a constant or a file name can give.
const IDENTITY: [Field; 14] = [
    Field::Client,
    Field::Site,
    Field::Source,
    Field::SourceKind,
    Field::Region,
    Field::SampleRef,
    Field::Lab,
    Field::LabRef,
    Field::SampledOn,
    Field::ReceivedOn,
    Field::ReportedOn,
    Field::Latitude,
    Field::Longitude,
    Field::ReportRef,
];

/// Looks words up and notes the problems. Every method gives `None` after it noted one.
pub(super) struct Words<'p, 't> {
    pub(super) vocabulary: &'p Vocabulary,
    pub(super) problems: &'p mut Problems<'t>,
    /// Nothing of the file was cut out for its form: only then can something be said to be missing.
    pub(super) whole: bool,
}

impl<'p, 't> Words<'p, 't> {
    pub(super) fn new(vocabulary: &'p Vocabulary, problems: &'p mut Problems<'t>) -> Self {
        Self {
            vocabulary,
            whole: problems.is_empty(),
            problems,
        }
    }

    /// An analyte by its code.
    pub(super) fn analyte(&mut self, text: &Text) -> Option<AnalyteId> {
        let found = self.vocabulary.find(text.get_ref());
        if found.is_none() {
            let codes = self.vocabulary.analytes().iter().map(|a| a.code.as_str());
            self.problems
                .push(text.span(), format!("unknown analyte '{}'", text.get_ref()))
                .nearest(text.get_ref(), codes)
                .help("`wellread terms` lists all analytes");
        }
        found
    }

    /// What a label means: an analyte, a field, or set aside for `reason`.
    pub(super) fn meaning(
        &mut self,
        text: &Text,
        reason: Option<&Arc<str>>,
    ) -> Option<RuleMeaning> {
        let word = text.get_ref().as_str();
        if word == SET_ASIDE {
            let reason = reason
                .cloned()
                .unwrap_or_else(|| "set aside by the mapping".into());
            return Some(RuleMeaning::SetAside(reason));
        }
        let analyte = self.vocabulary.find(word).map(RuleMeaning::Analyte);
        let found = analyte.or_else(|| Field::parse(word).map(RuleMeaning::Field));
        if found.is_none() {
            let codes = self.vocabulary.analytes().iter().map(|a| a.code.as_str());
            let known = codes
                .chain(Field::ALL.iter().map(|field| field.name()))
                .chain([SET_ASIDE]);
            self.problems
                .push(text.span(), format!("unknown meaning '{word}'"))
                .nearest(word, known)
                .help("an analyte (`wellread terms` lists them), a part of the identity, or set-aside");
        }
        found
    }

    /// A field that says who, where or when.
    pub(super) fn identity(&mut self, word: &str, span: Range<usize>, what: &str) -> Option<Field> {
        let found = IDENTITY.into_iter().find(|field| field.name() == word);
        if found.is_none() {
            self.problems
                .push(span, format!("unknown {what} '{word}'"))
                .nearest(word, IDENTITY.iter().map(|field| field.name()));
        }
        found
    }

    /// A unit, with a basis where the text carries one.
    pub(super) fn unit(&mut self, text: &Text) -> Option<StatedUnit> {
        let found = self.vocabulary.read_unit(text.get_ref());
        if found.is_none() {
            self.problems
                .push(text.span(), format!("unknown unit '{}'", text.get_ref()))
                .help("`wellread terms --unit TEXT` tells how a unit is read");
        }
        found.map(|(unit, basis)| StatedUnit {
            unit,
            text: Arc::from(text.get_ref().as_str()),
            basis,
        })
    }

    pub(super) fn basis(&mut self, text: &Text) -> Option<Basis> {
        let found = self.vocabulary.read_basis(text.get_ref());
        if found.is_none() {
            self.problems
                .push(text.span(), format!("unknown basis '{}'", text.get_ref()))
                .help("the formula that the number counts, such as N, NO3, P2O5 or CaCO3");
        }
        found
    }

    /// Notes a problem where a unit and basis cannot be those of the analyte.
    pub(super) fn check_unit(
        &mut self,
        analyte: AnalyteId,
        unit: &Unit,
        basis: Option<&Basis>,
        span: Range<usize>,
    ) {
        let code = &self.vocabulary.analyte(analyte).code;
        // A basis that is missing is no problem here: the report may state it.
        match self.vocabulary.convert(analyte, unit, basis, None) {
            Err(Refusal::UnitUnfit) => {
                self.problems
                    .push(span, format!("{} is no unit of {code}", unit.code));
            }
            Err(Refusal::BasisUnfit) => {
                let basis = basis.map_or_else(String::new, ToString::to_string);
                self.problems
                    .push(span, format!("{code} cannot be counted as {basis}"));
            }
            Err(Refusal::BasisMissing) | Ok(_) => {}
        }
    }

    /// Notes a problem where an analyte cannot be counted as `basis`.
    pub(super) fn check_basis(&mut self, analyte: AnalyteId, basis: &Basis, span: Range<usize>) {
        let unit = self.vocabulary.analyte(analyte).unit.clone();
        if let Some((unit, _)) = self.vocabulary.read_unit(&unit) {
            self.check_unit(analyte, &unit, Some(basis), span);
        }
    }

    /// One word of a short list.
    pub(super) fn one_of<T: Copy>(
        &mut self,
        text: &Text,
        what: &str,
        choices: &[(&'static str, T)],
    ) -> Option<T> {
        let word = text.get_ref();
        let found = choices.iter().find(|(name, _)| name == word);
        if found.is_none() {
            self.problems
                .push(text.span(), format!("unknown {what} '{word}'"))
                .nearest(word, choices.iter().map(|(name, _)| *name));
        }
        found.map(|(_, choice)| *choice)
    }

    /// As [`Self::one_of`]; `None` also where nothing is said.
    pub(super) fn one_of_option<T: Copy>(
        &mut self,
        text: Option<&Text>,
        what: &str,
        choices: &[(&'static str, T)],
    ) -> Option<T> {
        self.one_of(text?, what, choices)
    }

    /// A number of samples or lines, at least 1; `None` also where nothing is said.
    pub(super) fn count(&mut self, number: Option<&Spanned<i64>>) -> Option<u32> {
        let number = number?;
        let found = u32::try_from(*number.get_ref()).ok().filter(|n| *n > 0);
        // `ok` above: what does not fit is told here.
        if found.is_none() {
            self.problems
                .push(number.span(), "a number from 1 on is needed here");
        }
        found
    }
}
