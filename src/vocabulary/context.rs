//! What the headings of one sheet, taken together, say about each of them.

use super::alone::{Alone, LetterCase};
use super::heading::Meaning;
use super::tables::{Candidate, SheetKind};
use super::{AnalyteId, Field, Vocabulary};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Made once a sheet by [`Vocabulary::heading_context`]; the default knows nothing.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
pub struct HeadingContext {
    languages: Vec<&'static str>,
    /// Symbols stand in capitals: `CA` is calcium.
    pub all_capitals: bool,
    /// Symbols stand in small letters: `ca` is calcium.
    pub all_small: bool,
    /// A list of element symbols, as an emission spectrometer gives: `P` is phosphorus.
    pub elements: bool,
    /// Majors and pH: `EC` is conductivity.
    pub ions: bool,
    /// Bacteria.
    pub hygiene: bool,
    /// Analytes named in full that a short label beside them could mean too: 'E. coli' beside `EC`.
    named: Vec<AnalyteId>,
}

impl HeadingContext {
    /// Whether words of this language, and of no other, were seen.
    pub fn speaks(&self, language: &str) -> bool {
        self.languages.contains(&language)
    }

    pub fn languages(&self) -> &[&'static str] {
        &self.languages
    }

    pub(super) fn names(&self, id: AnalyteId) -> bool {
        self.named.contains(&id)
    }

    pub(super) fn of<'a>(
        vocabulary: &Vocabulary,
        headings: impl IntoIterator<Item = &'a str>,
    ) -> Self {
        let mut context = Self::default();
        let mut votes: BTreeMap<&'static str, u32> = BTreeMap::new();
        let headings: Vec<(&str, Arc<Alone>)> = (headings.into_iter())
            .map(|text| (text, vocabulary.alone(text)))
            .collect();
        let count = |case| {
            (headings
                .iter()
                .filter(|(_, alone)| alone.case == Some(case)))
            .count()
        };
        let [capital, small, mixed] =
            [LetterCase::Capital, LetterCase::Small, LetterCase::Mixed].map(count);
        context.all_capitals = capital >= 2 && small == 0 && mixed == 0;
        context.all_small = small >= 2 && capital == 0 && mixed == 0;
        let (mut elements, mut ions, mut hygiene) = (0, 0, 0);
        let mut named = BTreeSet::new();
        for (text, alone) in &headings {
            // Read with what is known so far: 'AL' counts in a sheet of capitals.
            let heading = vocabulary.heading_in(text, &context);
            if let Meaning::Analyte(id) = heading.meaning {
                let analyte = vocabulary.analyte(id);
                if vocabulary.shares_its_label(id) {
                    named.insert(id);
                }
                match analyte.code.as_str() {
                    "ph" | "calcium" | "magnesium" | "sodium" | "potassium" | "chloride"
                    | "sulfate" | "bicarbonate" | "nitrate" | "alkalinity" => ions += 1,
                    _ if analyte.unit.starts_with("[CFU]") => hygiene += 1,
                    _ => {}
                }
                elements += u32::from(is_trace_metal(&analyte.code));
            }
            // A word of several languages tells little; a field's word as much as an analyte's.
            if let [one] = *alone.languages {
                *votes.entry(one).or_default() += 2;
            } else if alone.languages.len() <= 3 {
                for language in &alone.languages {
                    *votes.entry(language).or_default() += 1;
                }
            }
        }
        let best = votes.values().copied().max().filter(|v| *v >= 2);
        context.languages = votes
            .iter()
            .filter(|(_, v)| best.is_some_and(|b| **v * 2 >= b))
            .map(|(l, _)| *l)
            .collect();
        context.elements = elements >= 3;
        context.ions = ions >= 2;
        context.hygiene = hygiene >= 1;
        context.named = named.into_iter().collect();
        context
    }
}

impl Vocabulary {
    /// Whether some label means this analyte on a sheet of bacteria, and another on a sheet of ions.
    fn shares_its_label(&self, id: AnalyteId) -> bool {
        self.ambiguities.iter().any(|label| {
            let mut candidates = label.candidates.iter().filter(|c| c.sheet.is_some());
            let of_bacteria = |c: &Candidate| c.sheet == Some(SheetKind::Hygiene);
            candidates.clone().any(|c| !of_bacteria(c))
                && candidates.any(|c| of_bacteria(c) && c.analyte == id)
        })
    }

    /// Whether a text is the heading of a parameter column ('Parameter', 'Analyte').
    pub fn heads_labels(&self, text: &str) -> bool {
        self.alone(text).heading.meaning == Meaning::Field(Field::Label)
    }
}

/// Metals that stand in a table only when a spectrometer listed them: ions and the metals that every
/// report has do not make a list of elements.
fn is_trace_metal(code: &str) -> bool {
    matches!(
        code,
        "aluminium"
            | "antimony"
            | "arsenic"
            | "barium"
            | "beryllium"
            | "boron"
            | "cadmium"
            | "chromium"
            | "cobalt"
            | "copper"
            | "lead"
            | "lithium"
            | "mercury"
            | "molybdenum"
            | "nickel"
            | "selenium"
            | "silver"
            | "strontium"
            | "thallium"
            | "tin"
            | "titanium"
            | "zinc"
    )
}
