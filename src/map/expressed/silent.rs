//! The unit of a label that states none: what footnotes, groups, limits and titles say, then a default with a
//! finding; or nothing, where a text stands that is no unit we know.

use super::notes::{fits as fits_basis, footnote_of};
use super::stated;
use super::units::is_like_a_unit;
use crate::map::findings::{UNIT_ASSUMED, UNIT_MISSING, finding};
use crate::map::heads::head::GroupUnit;
use crate::map::heads::resolve::{ChosenUnit, Resolving, from_heading, from_mapping};
use crate::record::Origin;
use crate::vocabulary::{AnalyteId, Dimension, Refusal, Unit, in_words};
use std::sync::Arc;

impl Resolving<'_, '_> {
    /// The unit of a group, once for all its labels.
    fn tell_group(&mut self, group: &GroupUnit) {
        let place = self.context.place(group.at);
        let code = "unit-from-group";
        if (self.findings.iter()).any(|f| f.code == code && f.place == place) {
            return;
        }
        let message = format!(
            "'{}' stands over labels without a unit, first '{}': {} taken for them",
            group.text,
            self.label,
            in_words(group.unit.code)
        );
        let help = "state another unit in a mapping if the heading does not mean it";
        (self.findings).push(finding(code, place, message, help.to_owned()));
    }

    fn unknown_unit(&mut self, words: &str) -> Arc<str> {
        self.tell(
            "unit-unknown",
            format!(
                "'{}' is given in '{words}', which is no known unit",
                self.label
            ),
            "add the spelling to units.toml, or state the unit in a mapping".into(),
        );
        "unit-unknown".into()
    }

    /// Nobody states a unit at the label.
    pub(in crate::map) fn silent_unit(&mut self, id: AnalyteId) -> Result<ChosenUnit, Arc<str>> {
        let vocabulary = self.context.vocabulary;
        let analyte = vocabulary.analyte(id);
        // pH and ratios have no unit to state: silence is no gap.
        let none_to_state = |unit: &Unit| matches!(unit.dimension, Dimension::Ph | Dimension::One);
        if let Some(unit) = analyte.assumed_unit.as_ref().filter(|u| none_to_state(u)) {
            return Ok(from_heading(unit.clone(), None, None));
        }
        if let Some(words) = self.head.unit_words.clone() {
            return Err(self.unknown_unit(&words));
        }
        // A mark behind the label whose footnote states a unit goes before what holds for the others.
        let fits =
            |unit: &Unit| vocabulary.convert(id, unit, None, None) != Err(Refusal::UnitUnfit);
        let footnote = footnote_of(&self.context.footnotes, &self.label, |note| {
            note.unit.as_ref().is_some_and(fits)
        });
        if let Some((unit, note)) = footnote.and_then(|note| Some((note.unit.clone()?, note))) {
            return Ok(from_heading(
                unit,
                Some(note.text.clone()),
                note.basis.clone(),
            ));
        }
        if let Some(group) = &self.head.group_unit
            && fits(&group.unit)
        {
            self.tell_group(group);
            // What the label itself says it counts goes before what its group does.
            let basis = (group.basis.clone()).filter(|basis| {
                !self.says_basis() && fits_basis(vocabulary, id, &group.unit, basis)
            });
            let text = Some(group.text.clone());
            return Ok(from_heading(group.unit.clone(), text, basis));
        }
        if let Some((unit, text)) = &self.head.limit_unit
            && fits(unit)
        {
            let (unit, text) = (unit.clone(), text.clone());
            self.tell(
                "unit-from-limit",
                format!(
                    "'{}' has no unit but its limit is in '{text}': taken for the values too",
                    self.label
                ),
                "state the unit in a mapping".into(),
            );
            return Ok(from_heading(unit, Some(text), None));
        }
        let of_sheet = stated::unit_for(&self.context.sheet_units, vocabulary, id);
        if let Some(stated) = of_sheet.filter(|s| fits(&s.unit)) {
            let (unit, text) = (stated.unit.clone(), stated.text.clone());
            let basis = (stated.basis.clone())
                .filter(|basis| !self.says_basis() && fits_basis(vocabulary, id, &unit, basis));
            return Ok(from_heading(unit, Some(text), basis));
        }
        if let Some(told) = self
            .context
            .rules
            .and_then(|r| r.default_unit.as_ref())
            .filter(|s| fits(&s.unit))
        {
            return Ok(from_mapping(told));
        }
        // Words like those of a unit stand where one is expected: silence cannot be assumed.
        if let Some(words) = self.head.sub_words.clone().filter(|w| is_like_a_unit(w)) {
            return Err(self.unknown_unit(&words));
        }
        if self.head.unit_is_open {
            self.tell(
                UNIT_MISSING,
                format!("'{}' has no unit where others have one", self.label),
                "state it in the report, or in a mapping".into(),
            );
            return Err(UNIT_MISSING.into());
        }
        let Some(unit) = analyte.assumed_unit.clone() else {
            self.tell(
                UNIT_MISSING,
                format!(
                    "'{}' has no unit, and none can be taken for granted",
                    self.label
                ),
                format!(
                    "state it in a mapping, for example unit = \"{}\"",
                    analyte.unit
                ),
            );
            return Err(UNIT_MISSING.into());
        };
        self.tell(
            UNIT_ASSUMED,
            format!(
                "'{}' has no unit: {} assumed",
                self.label,
                in_words(unit.code)
            ),
            format!("state it in a mapping: unit = \"{}\"", unit.code),
        );
        Ok(ChosenUnit {
            unit,
            text: None,
            basis: None,
            from: Origin::Assumed,
            assumption: Some(UNIT_ASSUMED),
        })
    }
}
