//! What a text says alone, whatever other headings its sheet has.

use super::context::HeadingContext;
use super::heading::{Heading, Meaning};
use super::reader::Reader;
use super::tokens::{self, Tokens};
use super::{Basis, Unit, Vocabulary};
use std::sync::Arc;

/// All of it from one cutting into tokens: most texts of a sheet are names that say nothing, and each
/// is asked for everything.
#[derive(Debug, Default)]
pub(super) struct Alone {
    /// What it says where nothing is known of the sheet.
    pub(super) heading: Arc<Heading>,
    /// No other context makes it say something else.
    pub(super) is_certain: bool,
    /// A unit or a basis, and nothing else.
    pub(super) is_unit: bool,
    /// Of the symbol it begins with; `None` where it begins with none.
    pub(super) case: Option<LetterCase>,
    /// Languages of which it is a word.
    pub(super) languages: Box<[&'static str]>,
}

/// How the letters of a symbol stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum LetterCase {
    Capital,
    Small,
    /// As they should.
    Mixed,
}

impl Alone {
    pub(super) fn read(vocabulary: &Vocabulary, text: &str) -> Self {
        let tokens = Tokens::of(text);
        let context = HeadingContext::default();
        let reader = Reader::new(vocabulary, &context);
        let heading = reader.heading(&tokens);
        let word_key = tokens.word_key(0, tokens.len());
        Self {
            is_certain: !reader.has_asked(),
            is_unit: vocabulary.unit_of(text, &tokens, &heading).is_some()
                || vocabulary.basis_of(&tokens, &heading).is_some(),
            case: letter_case(vocabulary, &tokens),
            languages: vocabulary.words.languages_of(&word_key).into(),
            heading: Arc::new(heading),
        }
    }
}

impl Vocabulary {
    /// The unit that a text is, of which `heading` is the heading.
    pub(super) fn unit_of(
        &self,
        text: &str,
        tokens: &Tokens,
        heading: &Heading,
    ) -> Option<(Unit, Option<Basis>)> {
        let whole = text.trim();
        let bare = whole
            .trim_start_matches(['(', '['])
            .trim_end_matches([')', ']']);
        let key = if bare.len() == whole.len() {
            tokens.unit_key(0, tokens.len())
        } else {
            tokens::unit_key(bare)
        };
        if let Some(found) = self.words.find_unit(&key) {
            return Some((found.unit.clone(), found.basis.clone()));
        }
        match (&heading.meaning, &heading.unit) {
            (Meaning::Unknown, Some(unit)) => Some((unit.clone(), heading.basis.clone())),
            _ => None,
        }
    }

    /// The basis that a text is, of which `heading` is the heading.
    pub(super) fn basis_of(&self, tokens: &Tokens, heading: &Heading) -> Option<Basis> {
        let key = tokens.symbol_key(0, tokens.len());
        let exact = key.and_then(|key| self.bases.iter().find(|basis| basis.0 == key));
        exact
            .or(heading.basis.as_ref().filter(|_| heading.unit.is_none()))
            .or_else(|| self.words.find_species(&tokens.word_key(0, tokens.len())))
            .cloned()
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

/// How the symbol of two letters at the beginning of a text is written.
fn letter_case(vocabulary: &Vocabulary, tokens: &Tokens) -> Option<LetterCase> {
    if is_small_formula(vocabulary, tokens) {
        return Some(LetterCase::Small);
    }
    let symbol = tokens
        .list
        .first()
        .map(|token| token.text.as_str())
        .filter(|word| word.len() == 2 && word.chars().all(char::is_alphabetic))
        .filter(|word| vocabulary.words.find_caseless(word).is_some())?;
    Some(match symbol.chars().filter(|c| c.is_uppercase()).count() {
        2 => LetterCase::Capital,
        0 => LetterCase::Small,
        _ => LetterCase::Mixed,
    })
}
