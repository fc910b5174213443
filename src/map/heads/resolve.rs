//! From a head to an analyte with a conversion: what the report says, then what the mapping says, then
//! what evidence in the file says, then a stated default with a finding; or a reason why not.

use super::head::Head;
use crate::finding::Finding;
use crate::map::expressed::notes::{BasisNote, Footnote, footnote_of, noted};
use crate::map::expressed::stated::Stated;
use crate::map::findings::{ANALYTE_UNKNOWN, finding};
use crate::map::plan::AnalyteTrack;
use crate::map::rules::{LabelRule, RuleMeaning, Rules, StatedUnit};
use crate::place::{Address, Place};
use crate::record::Origin;
use crate::vocabulary::{AnalyteId, Basis, Conversion, Meaning, Note, Refusal, Unit, Vocabulary};
use std::sync::Arc;

/// What resolving needs to know of the sheet around the head.
#[derive(Clone)]
pub(in crate::map) struct Context<'a> {
    pub(in crate::map) vocabulary: &'a Vocabulary,
    pub(in crate::map) rules: Option<&'a Rules>,
    pub(in crate::map) file: Arc<str>,
    pub(in crate::map) sheet: Arc<str>,
    /// "All results in mg/l unless stated": units that the sheet states once for all masses, or for a group of them.
    pub(in crate::map) sheet_units: Stated,
    /// What is said to the marks of labels ("* in µg/L").
    pub(in crate::map) footnotes: Vec<Footnote>,
    /// "All nitrogen species as N".
    pub(in crate::map) basis_notes: Vec<BasisNote>,
}

impl Context<'_> {
    pub(in crate::map) fn place(&self, at: Address) -> Place {
        Place::cell(&self.file, &self.sheet, at)
    }
}

/// What is known of a track besides its head.
#[derive(Clone, Copy, Debug, Default)]
pub(in crate::map) struct Beside<'a> {
    pub(in crate::map) rule: Option<&'a LabelRule>,
    /// A unit from a unit cell beside the values, the same for all lines.
    pub(in crate::map) unit: Option<&'a StatedUnit>,
}

/// The analyte track of a head whose label can be an analyte. `Err` is the reason for `unplaced`; a
/// finding then tells it.
pub(in crate::map) fn resolve(
    context: &Context<'_>,
    head: &Head,
    beside: Beside<'_>,
    findings: &mut Vec<Finding>,
) -> Result<AnalyteTrack, Arc<str>> {
    let label = head.label.clone().unwrap_or_default();
    let place = context.place(head.at.unwrap_or(Address::new(0, 0)));
    Resolving {
        context,
        head,
        beside,
        label,
        place,
        findings,
    }
    .run()
}

pub(in crate::map) struct Resolving<'a, 'f> {
    pub(in crate::map) context: &'a Context<'a>,
    pub(in crate::map) head: &'a Head,
    beside: Beside<'a>,
    pub(in crate::map) label: Arc<str>,
    place: Place,
    pub(in crate::map) findings: &'f mut Vec<Finding>,
}

/// A unit, where it comes from, and its text.
pub(in crate::map) struct ChosenUnit {
    pub(in crate::map) unit: Unit,
    pub(in crate::map) text: Option<Arc<str>>,
    /// The basis that the unit text carried.
    pub(in crate::map) basis: Option<Basis>,
    pub(in crate::map) from: Origin,
    pub(in crate::map) assumption: Option<&'static str>,
}

impl Resolving<'_, '_> {
    pub(in crate::map) fn tell(&mut self, code: &'static str, message: String, help: String) {
        self.findings
            .push(finding(code, self.place.clone(), message, help));
    }

    fn run(mut self) -> Result<AnalyteTrack, Arc<str>> {
        let analyte = self.analyte()?;
        self.one_basis()?;
        let chosen = self.unit(analyte)?;
        let (basis, basis_text, basis_from) = self.basis(analyte, &chosen);
        let temperature = self
            .head
            .reference_temperature
            .or(self.beside.rule.and_then(|r| r.reference_temperature))
            .or_else(|| {
                let unit = self.beside.unit?;
                self.context.vocabulary.temperature_in_unit(&unit.text)
            });
        let vocabulary = self.context.vocabulary;
        let mut from = chosen.from.max(basis_from);
        let mut assumption = chosen.assumption;
        let (conversion, basis) =
            match vocabulary.convert(analyte, &chosen.unit, basis.as_ref(), temperature) {
                Ok(conversion) => (conversion, basis),
                Err(Refusal::BasisMissing) => {
                    let (conversion, basis, origin) =
                        self.missing_basis(analyte, &chosen, temperature)?;
                    from = from.max(origin);
                    if origin == Origin::Assumed {
                        assumption = Some("basis-assumed");
                    }
                    (conversion, Some(basis))
                }
                Err(refusal) => {
                    return Err(self.refused(analyte, &chosen, basis.as_ref(), &refusal));
                }
            };
        self.tell_note(&conversion);
        Ok(AnalyteTrack {
            analyte,
            fraction: self
                .beside
                .rule
                .filter(|r| r.overrides || self.head.fraction.is_none())
                .and_then(|r| r.fraction)
                .or(self.head.fraction),
            conversion,
            label_text: self.label.clone(),
            unit_text: chosen.text,
            basis_text,
            unit_from: from,
            assumption,
            basis,
            limit: None,
            quantification_limit: None,
        })
    }

    /// What the conversion takes for granted. That conductivity is at 25 °C goes without saying where
    /// the report names no other temperature (Standard Methods 2510, ISO 7888).
    fn tell_note(&mut self, conversion: &Conversion) {
        if let Some(note) = conversion.note.filter(|note| *note != Note::TakenAt25) {
            let message = format!("'{}': {}", self.label, note.text());
            let help = "right for ordinary water; else state the unit in a mapping";
            self.tell("conversion-noted", message, help.to_owned());
        }
    }

    fn analyte(&mut self) -> Result<AnalyteId, Arc<str>> {
        let vocabulary = self.context.vocabulary;
        let told = self.beside.rule.and_then(|r| match r.meaning {
            Some(RuleMeaning::Analyte(id)) => Some((id, r.overrides)),
            _ => None,
        });
        match (&self.head.meaning, told) {
            (Meaning::Analyte(read), Some((id, overrides))) if *read != id => {
                let (read_code, code) = (
                    vocabulary.analyte(*read).code.clone(),
                    vocabulary.analyte(id).code.clone(),
                );
                let (code_of, winner, word) = if overrides {
                    ("mapping-overrides-report", id, "used")
                } else {
                    ("mapping-contradicts-report", *read, "not used")
                };
                self.tell(
                    code_of,
                    format!(
                        "'{}' reads as {read_code}; the mapping says {code}, which is {word}",
                        self.label
                    ),
                    "'override = true' in the mapping makes it win".into(),
                );
                Ok(winner)
            }
            (_, Some((id, _))) => Ok(id),
            (Meaning::Analyte(id), None) => Ok(*id),
            (Meaning::Ambiguous(ids), None) => self.settle(&ids.clone()),
            (Meaning::Unknown | Meaning::Field(_), None) => {
                let nearest = vocabulary.nearest(&self.label).map_or_else(
                    || "name the analyte, or set the column aside, in a mapping".to_owned(),
                    |near| format!("the nearest known label is '{near}'; if that is meant, say so in a mapping"),
                );
                self.tell(
                    ANALYTE_UNKNOWN,
                    format!("no analyte is called '{}'", self.label),
                    nearest,
                );
                Err(ANALYTE_UNKNOWN.into())
            }
        }
    }

    /// Several analytes have this label: the stated unit can leave one of them (EC in µS/cm is no count
    /// of bacteria). Nothing else decides here.
    fn settle(&mut self, ids: &[AnalyteId]) -> Result<AnalyteId, Arc<str>> {
        let vocabulary = self.context.vocabulary;
        let unit = self
            .head
            .unit
            .as_ref()
            .map(|(u, _)| u)
            .or(self.beside.unit.map(|s| &s.unit));
        if let Some(unit) = unit {
            let fit: Vec<AnalyteId> = ids
                .iter()
                .copied()
                .filter(|id| vocabulary.convert(*id, unit, None, None) != Err(Refusal::UnitUnfit))
                .collect();
            if let [only] = fit.as_slice() {
                return Ok(*only);
            }
        }
        let names = ids
            .iter()
            .map(|id| vocabulary.analyte(*id).code.as_str())
            .collect::<Vec<_>>()
            .join(", ");
        self.tell(
            "analyte-ambiguous",
            format!("'{}' can mean {names}", self.label),
            "say in a mapping which one it is".into(),
        );
        Err("analyte-ambiguous".into())
    }

    fn unit(&mut self, analyte: AnalyteId) -> Result<ChosenUnit, Arc<str>> {
        let rule = self
            .beside
            .rule
            .and_then(|r| r.unit.as_ref().map(|u| (u, r.overrides)));
        let stated = match (self.beside.unit, &self.head.unit) {
            (Some(stated), _) => Some((
                stated.unit.clone(),
                stated.text.clone(),
                stated.basis.clone(),
                Origin::Row,
            )),
            (None, Some((unit, text))) => Some((unit.clone(), text.clone(), None, Origin::Heading)),
            (None, None) => None,
        };
        if let (Some(against), Some((_, own)), None) =
            (&self.head.unit_against, &self.head.unit, rule)
        {
            let (own, against) = (own.clone(), against.clone());
            self.tell(
                "unit-contradicts",
                format!(
                    "'{}' is given in several units: {own}, {against}",
                    self.label
                ),
                "say in a mapping which of them is meant".into(),
            );
            return Err("unit-contradicts".into());
        }
        match (stated, rule) {
            (Some((unit, text, ..)), Some((told, overrides))) if told.unit.code != unit.code => {
                let said = format!(
                    "the unit of '{}' is '{text}'; the mapping says '{}'",
                    self.label, told.text
                );
                self.tell_of_mapping(overrides, &said);
                if overrides {
                    return Ok(from_mapping(told));
                }
                let basis = self.beside.unit.and_then(|s| s.basis.clone());
                let from = if self.beside.unit.is_some() {
                    Origin::Row
                } else {
                    Origin::Heading
                };
                Ok(ChosenUnit {
                    unit,
                    text: Some(text),
                    basis,
                    from,
                    assumption: None,
                })
            }
            (Some((unit, text, basis, from)), _) => Ok(ChosenUnit {
                unit,
                text: Some(text),
                basis,
                from,
                assumption: None,
            }),
            (None, Some((told, _))) => Ok(from_mapping(told)),
            (None, None) => self.silent_unit(analyte),
        }
    }

    /// Name and unit cell must not say different things ("Nitrate-N" in "mg/l NO3"): which of them is wrong,
    /// nobody can tell.
    fn one_basis(&mut self) -> Result<(), Arc<str>> {
        if (self.beside.rule).is_some_and(|rule| rule.overrides && rule.basis.is_some()) {
            return Ok(());
        }
        let own = self.head.basis.as_ref();
        let beside = self.beside.unit.and_then(|unit| unit.basis.as_ref());
        let against = self.head.basis_against.as_ref().or_else(|| {
            beside
                .filter(|stated| !self.head.basis_implied && own.is_some_and(|own| own != *stated))
        });
        let (Some(own), Some(against)) = (own, against) else {
            return Ok(());
        };
        self.tell(
            "basis-contradicts",
            format!(
                "'{}' is expressed in several ways: {against}, {own}",
                self.label
            ),
            "say in a mapping which of them is meant, with 'override = true'".into(),
        );
        Err("basis-contradicts".into())
    }

    /// Tells that report and mapping contradict each other, as `said`.
    fn tell_of_mapping(&mut self, overrides: bool, said: &str) {
        let (code, word) = if overrides {
            ("mapping-overrides-report", "used")
        } else {
            ("mapping-contradicts-report", "not used")
        };
        let help = "'override = true' in the mapping makes it win";
        self.tell(code, format!("{said}, which is {word}"), help.into());
    }

    /// What is said of the basis: the report's word, then the mapping's.
    fn basis(
        &mut self,
        analyte: AnalyteId,
        chosen: &ChosenUnit,
    ) -> (Option<Basis>, Option<Arc<str>>, Origin) {
        let rule = self
            .beside
            .rule
            .and_then(|r| r.basis.as_ref().map(|b| (b, r.overrides)));
        let stated = chosen
            .basis
            .clone()
            .map(|b| (b, chosen.text.clone(), chosen.from))
            .or_else(|| self.noted_basis(analyte))
            .or_else(|| {
                self.head
                    .basis
                    .clone()
                    .map(|b| (b, self.head.basis_text.clone(), Origin::Heading))
            });
        match (stated, rule) {
            (Some((basis, text, from)), Some((told, overrides))) if basis != *told => {
                let said = format!(
                    "'{}' is expressed as {basis}; the mapping says as {told}",
                    self.label
                );
                self.tell_of_mapping(overrides, &said);
                if overrides {
                    (Some(told.clone()), None, Origin::Mapping)
                } else {
                    (Some(basis), text, from)
                }
            }
            (Some((basis, text, from)), _) => (Some(basis), text, from),
            (None, Some((told, _))) => (Some(told.clone()), None, Origin::Mapping),
            (None, None) => {
                let default = self
                    .context
                    .rules
                    .and_then(|r| r.default_basis.iter().find(|(id, _)| *id == analyte))
                    .map(|(_, basis)| basis.clone());
                match default {
                    Some(basis) => (Some(basis), None, Origin::Mapping),
                    None => (None, None, Origin::Cell),
                }
            }
        }
    }

    /// Whether the heading states what is counted: a name only suggests it.
    pub(in crate::map) const fn says_basis(&self) -> bool {
        self.head.basis.is_some() && !self.head.basis_implied
    }

    /// What a footnote or a note says of the basis, where the heading itself does not.
    fn noted_basis(&mut self, id: AnalyteId) -> Option<(Basis, Option<Arc<str>>, Origin)> {
        if self.says_basis() {
            return None;
        }
        let of_mark = footnote_of(&self.context.footnotes, &self.label, |n| n.basis.is_some())
            .and_then(|note| Some((note.basis.as_ref()?, &note.text)));
        let (basis, text) =
            of_mark.or_else(|| noted(&self.context.basis_notes, self.context.vocabulary, id))?;
        let (basis, text) = (basis.clone(), text.clone());
        let what = format!("'{}' is expressed as {basis}: '{text}' says so", self.label);
        let help = "say in a mapping if it is not so".to_owned();
        self.tell("basis-from-evidence", what, help);
        Some((basis, Some(text), Origin::Heading))
    }

    /// The number depends on a basis that nobody stated: the default with a finding.
    fn missing_basis(
        &mut self,
        id: AnalyteId,
        chosen: &ChosenUnit,
        temperature: Option<f64>,
    ) -> Result<(Conversion, Basis, Origin), Arc<str>> {
        let vocabulary = self.context.vocabulary;
        let analyte = vocabulary.analyte(id);
        if let Some(basis) = analyte.assumed_basis.clone()
            && let Ok(conversion) = vocabulary.convert(id, &chosen.unit, Some(&basis), temperature)
        {
            self.tell(
                "basis-assumed",
                format!(
                    "'{}' does not say as what it is expressed: as {basis} assumed",
                    self.label
                ),
                format!("state it in a mapping: basis = \"{basis}\""),
            );
            return Ok((conversion, basis, Origin::Assumed));
        }
        self.tell(
            "basis-missing",
            format!(
                "'{}' does not say as what it is expressed, and no default is safe",
                self.label
            ),
            "state the basis in a mapping".into(),
        );
        Err("basis-missing".into())
    }

    fn refused(
        &mut self,
        id: AnalyteId,
        chosen: &ChosenUnit,
        basis: Option<&Basis>,
        refusal: &Refusal,
    ) -> Arc<str> {
        let analyte = self.context.vocabulary.analyte(id);
        let unit = chosen.text.as_deref().unwrap_or(chosen.unit.code);
        if *refusal == Refusal::BasisUnfit {
            let basis = basis.map(ToString::to_string).unwrap_or_default();
            self.tell(
                "basis-unfit",
                format!(
                    "'{}': {} cannot be expressed as {basis}",
                    self.label, analyte.name
                ),
                "correct the report, or say what is meant in a mapping with 'override = true'"
                    .into(),
            );
            return "basis-unfit".into();
        }
        self.tell(
            "unit-unfit",
            format!(
                "'{}': {} cannot be given in '{unit}'",
                self.label, analyte.name
            ),
            "correct the report, or say what is meant in a mapping with 'override = true'".into(),
        );
        "unit-unfit".into()
    }
}

/// A unit that the report itself states.
pub(in crate::map) const fn from_heading(
    unit: Unit,
    text: Option<Arc<str>>,
    basis: Option<Basis>,
) -> ChosenUnit {
    ChosenUnit {
        unit,
        text,
        basis,
        from: Origin::Heading,
        assumption: None,
    }
}

pub(in crate::map) fn from_mapping(told: &StatedUnit) -> ChosenUnit {
    ChosenUnit {
        unit: told.unit.clone(),
        text: None,
        basis: told.basis.clone(),
        from: Origin::Mapping,
        assumption: None,
    }
}
