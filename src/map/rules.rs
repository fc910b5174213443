//! What a mapping says, compiled: the words that recognition obeys before it looks for itself.
//!
//! `mapping` compiles its TOML into this; nothing here can be invalid. Recognition runs in the same
//! way with and without rules, so a mapping only has to say what the report leaves open. Here is no
//! decision: what wins over what is decided in `plan`.

use super::plan::{DateOrder, Decimal, QualifierCode};
use crate::locate::{Hints, Wording};
use crate::vocabulary::{AnalyteId, Basis, Field, Fraction, Unit};
use jiff::civil::Date;
use regex::Regex;
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::Arc;

#[derive(Clone, Debug, Default)]
pub struct Rules {
    /// Name of the mapping; what `results.mapping` shows.
    pub name: Arc<str>,
    /// Which sheets to read, and how. Empty: every sheet that is not hidden, recognised freely. A
    /// sheet that no rule names is then set aside with a note; the first rule that fits counts.
    pub sheets: Vec<SheetRule>,
    /// What labels mean here; the first rule that fits counts.
    pub labels: Vec<LabelRule>,
    /// The same for every sample of the file ("client = Thistle Nursery").
    pub constants: Vec<(Field, Arc<str>)>,
    /// Identity taken from the file's path.
    pub file_name: Vec<FileName>,
    /// `None`: decided from the file's cells.
    pub decimal: Option<Decimal>,
    pub dates: Option<DateOrder>,
    /// Qualifier texts of this laboratory, as written.
    pub codes: BTreeMap<String, QualifierCode>,
    /// Numbers that mean 'missing' (9999).
    pub missing_numbers: Vec<f64>,
    /// `None`: only strong evidence in the file says so.
    pub negative_is_below: Option<bool>,
    pub join_sheets: bool,
    /// Unit and basis of numbers for which neither the report nor a label rule says anything; a unit
    /// that does not fit the analyte is not applied.
    pub default_unit: Option<StatedUnit>,
    pub default_basis: Vec<(AnalyteId, Basis)>,
    pub expect: Expect,
}

/// A unit as the mapping wrote it.
#[derive(Clone, Debug, PartialEq)]
pub struct StatedUnit {
    pub unit: Unit,
    pub text: Arc<str>,
    /// The basis that the unit text carried ("mg/L as N").
    pub basis: Option<Basis>,
}

#[derive(Clone, Debug, Default)]
pub struct SheetRule {
    /// `None` fits every sheet, hidden ones not.
    pub name: Option<Wording>,
    /// The whole sheet is set aside, with this reason.
    pub set_aside: Option<Arc<str>>,
    /// Where its tables are.
    pub hints: Hints,
    /// Lines (rows, or columns of `samples-across`) that are no samples, by the text of any of their
    /// cells, with the reason.
    pub lines_set_aside: Vec<(Wording, Arc<str>)>,
    /// Areas that are not read, with the reason.
    pub areas_set_aside: Vec<(crate::place::Area, Arc<str>)>,
}

/// What a label (a heading, or the label of a row) means.
#[derive(Clone, Debug)]
pub struct LabelRule {
    pub label: Wording,
    /// The zero-based column (row of `samples-across`) instead of the label, for tables without
    /// headings. `label` then has to be a pattern that fits everything.
    pub at: Option<u32>,
    /// Only on sheets with this name.
    pub sheet: Option<Wording>,
    /// `None`: as recognised; the rule then only adds unit, basis or fraction.
    pub meaning: Option<RuleMeaning>,
    pub unit: Option<StatedUnit>,
    pub basis: Option<Basis>,
    pub fraction: Option<Fraction>,
    /// °C, for conductivity.
    pub reference_temperature: Option<f64>,
    /// Holds for samples taken from this day on, to this day inclusive.
    pub from: Option<Date>,
    pub to: Option<Date>,
    /// Why the mapping says so; shown in findings.
    pub reason: Option<Arc<str>>,
    /// The rule wins even where the report itself says something else.
    pub overrides: bool,
}

#[derive(Clone, Debug, PartialEq)]
pub enum RuleMeaning {
    Analyte(AnalyteId),
    Field(Field),
    SetAside(Arc<str>),
}

/// A pattern over the report's whole path (`Report.file`, folders included, so that a folder can name
/// the client), and what its named groups are.
#[derive(Clone, Debug)]
pub struct FileName {
    pub pattern: Regex,
    /// Name of the group, and the field it gives.
    pub groups: Vec<(String, Field)>,
}

/// What the report must have, or the layout has drifted.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Expect {
    /// Number of samples, least and most.
    pub samples: Option<(u32, u32)>,
    /// Analytes that must be there.
    pub analytes: Vec<AnalyteId>,
}

/// Why a line is set aside, by the texts of its cells; `None` where none of the wordings fits one.
pub(super) fn line_set_aside<'t>(
    lines_set_aside: &[(Wording, Arc<str>)],
    texts: impl Iterator<Item = Cow<'t, str>> + Clone,
) -> Option<Arc<str>> {
    (lines_set_aside.iter())
        .find(|(wording, _)| texts.clone().any(|text| wording.fits(&text)))
        .map(|(_, reason)| reason.clone())
}

impl Rules {
    /// Whether it says which sheets to read: then nothing is told of them by what they look like.
    pub fn names_sheets(&self) -> bool {
        !self.sheets.is_empty()
    }

    /// What the first rule that fits says that a label means, whatever the day; `None` where none says it.
    pub(super) fn meaning_of(&self, sheet: &str, label: &str) -> Option<&RuleMeaning> {
        self.meaning_where(sheet, |wording| wording.fits(label))
    }

    /// The same by rules that write the label out. Patterns are for headings: over prose they would fit too much.
    pub(super) fn meaning_of_words(&self, sheet: &str, label: &str) -> Option<&RuleMeaning> {
        self.meaning_where(sheet, |wording| {
            matches!(wording, Wording::Text(_)) && wording.fits(label)
        })
    }

    fn meaning_where(&self, sheet: &str, fits: impl Fn(&Wording) -> bool) -> Option<&RuleMeaning> {
        (self.labels.iter())
            .filter(|rule| rule.at.is_none() && rule.from.is_none() && rule.to.is_none())
            .filter(|rule| rule.sheet.as_ref().is_none_or(|wanted| wanted.fits(sheet)))
            .find(|rule| fits(&rule.label))?
            .meaning
            .as_ref()
    }

    /// The rule for a sheet; `None` when rules name sheets and this is none of them, or when no rule
    /// names any.
    pub fn sheet(&self, name: &str, hidden: bool) -> Option<&SheetRule> {
        self.sheets.iter().find(|rule| match &rule.name {
            Some(wording) => wording.fits(name),
            None => !hidden,
        })
    }
}
