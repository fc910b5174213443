//! What the headings of one sheet, taken together, say about each of them.

use super::heading::Meaning;
use super::tokens::Tokens;
use super::{Field, Vocabulary};
use std::collections::BTreeMap;

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
}

impl HeadingContext {
    /// Whether words of this language, and of no other, were seen.
    pub fn speaks(&self, language: &str) -> bool {
        self.languages.contains(&language)
    }

    pub fn languages(&self) -> &[&'static str] {
        &self.languages
    }

    pub(super) fn of<'a>(
        vocabulary: &Vocabulary,
        headings: impl IntoIterator<Item = &'a str>,
    ) -> Self {
        let mut context = Self::default();
        let mut votes: BTreeMap<&'static str, u32> = BTreeMap::new();
        let headings: Vec<&str> = headings.into_iter().collect();
        let (capital, small, mixed) = letter_case(vocabulary, &headings);
        context.all_capitals = capital >= 2 && small == 0 && mixed == 0;
        context.all_small = small >= 2 && capital == 0 && mixed == 0;
        let (mut elements, mut ions, mut hygiene) = (0, 0, 0);
        for text in headings {
            // Read with what is known so far: 'AL' counts in a sheet of capitals.
            let heading = vocabulary.read_heading_in(text, &context);
            if let Meaning::Analyte(id) = heading.meaning {
                let analyte = vocabulary.analyte(id);
                match analyte.code.as_str() {
                    "ph" | "calcium" | "magnesium" | "sodium" | "potassium" | "chloride"
                    | "sulfate" | "bicarbonate" | "nitrate" | "alkalinity" => ions += 1,
                    _ if analyte.unit.starts_with("[CFU]") => hygiene += 1,
                    _ => {}
                }
                elements += u32::from(is_trace_metal(&analyte.code));
            }
            let tokens = Tokens::of(text);
            let languages = vocabulary
                .words
                .languages_of(&tokens.word_key(0, tokens.len()));
            // A word of several languages tells little; a field's word as much as an analyte's.
            if let [one] = languages {
                *votes.entry(one).or_default() += 2;
            } else if languages.len() <= 3 {
                for language in languages {
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
        context
    }
}

impl Vocabulary {
    /// Whether a text is the heading of a parameter column ('Parameter', 'Analyte').
    pub fn heads_labels(&self, text: &str) -> bool {
        let heading = self.read_heading_in(text, &HeadingContext::default());
        heading.meaning == Meaning::Field(Field::Label)
    }
}

/// 'no3', 'hco3', 'so4': letters and a number that are an ion but for their case.
fn is_small_formula(vocabulary: &Vocabulary, tokens: &Tokens) -> bool {
    let [letters, digits, ..] = tokens.list.as_slice() else {
        return false;
    };
    letters.text.chars().all(char::is_lowercase)
        && !digits.gap
        && digits.text.chars().all(|c| c.is_ascii_digit())
        && tokens
            .symbol_key(0, 2)
            .is_some_and(|key| vocabulary.words.find_caseless(&key).is_some())
}

/// How many symbols of two letters stand in capitals, in small letters, and as they should.
fn letter_case(vocabulary: &Vocabulary, headings: &[&str]) -> (u32, u32, u32) {
    let (mut capital, mut small, mut mixed) = (0, 0, 0);
    for text in headings {
        let tokens = Tokens::of(text);
        if is_small_formula(vocabulary, &tokens) {
            small += 1;
            continue;
        }
        let first = tokens.list.first().map(|t| t.text.as_str());
        let symbol = first
            .filter(|w| w.len() == 2 && w.chars().all(char::is_alphabetic))
            .filter(|w| vocabulary.words.find_caseless(w).is_some());
        match symbol.map(|w| w.chars().filter(|c| c.is_uppercase()).count()) {
            Some(2) => capital += 1,
            Some(0) => small += 1,
            Some(_) => mixed += 1,
            None => {}
        }
    }
    (capital, small, mixed)
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
