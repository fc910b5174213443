//! What the headings of one sheet, taken together, say about each of them.

use super::heading::Meaning;
use super::tokens::Tokens;
use super::{Field, Vocabulary};
use std::collections::BTreeMap;

/// Made once a sheet by [`Vocabulary::heading_context`]; the default knows nothing.
#[derive(Clone, Debug, Default, PartialEq)]
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
        let (mut elements, mut ions, mut hygiene) = (0, 0, 0);
        let (mut capital, mut small, mut mixed) = (0, 0, 0);
        for text in headings {
            let heading = vocabulary.read_heading_in(text, &Self::default());
            if let Meaning::Analyte(id) = heading.meaning {
                let analyte = vocabulary.analyte(id);
                match analyte.code.as_str() {
                    "ph" | "calcium" | "magnesium" | "sodium" | "potassium" | "chloride"
                    | "sulfate" | "bicarbonate" | "nitrate" | "alkalinity" => ions += 1,
                    _ if analyte.unit.starts_with("[CFU]") => hygiene += 1,
                    _ => {}
                }
                let own = analyte.basis.as_ref().is_some_and(|b| b.0.len() <= 2);
                elements += u32::from(own && heading.basis_text.is_none());
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
            // Case of what could be a symbol: one or two letters, perhaps digits.
            let first = tokens.list.first().map(|t| t.text.as_str());
            if let Some(word) = first.filter(|w| w.len() == 2 && w.chars().all(char::is_alphabetic))
            {
                let known = vocabulary.words.find_caseless(word).is_some();
                if known {
                    let upper = word.chars().filter(|c| c.is_uppercase()).count();
                    match upper {
                        2 => capital += 1,
                        0 => small += 1,
                        _ => mixed += 1,
                    }
                }
            }
        }
        let best = votes.values().copied().max().filter(|v| *v >= 2);
        context.languages = votes
            .iter()
            .filter(|(_, v)| best.is_some_and(|b| **v * 2 >= b))
            .map(|(l, _)| *l)
            .collect();
        context.all_capitals = capital >= 2 && small == 0 && mixed == 0;
        context.all_small = small >= 2 && capital == 0 && mixed == 0;
        context.elements = elements >= 6;
        context.ions =
            ions >= 2 || context.all_small && small >= 3 || context.all_capitals && capital >= 3;
        context.hygiene = hygiene >= 1;
        context
    }
}

impl Vocabulary {
    /// Whether a text is the heading of a parameter column ('Parameter', 'Analyte').
    pub fn heads_labels(&self, text: &str) -> bool {
        self.read_heading(text).meaning == Meaning::Field(Field::Label)
    }
}
