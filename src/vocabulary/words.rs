//! The index: every word of the tables under the key by which headings look it up.

use super::analyte::{Analyte, AnalyteId, Fraction};
use super::nearest::Labels;
use super::raw::RawWords;
use super::tables::Ambiguity;
use super::tokens::{Tokens, unit_key, word_key};
use super::units::{Spelling, Units};
use super::{Basis, Field};
use hashbrown::HashMap;
use std::borrow::Cow;

/// What a name can be.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Named {
    Analyte(AnalyteId),
    /// Index into the ambiguities.
    Ambiguous(usize),
}

#[derive(Clone, Debug, PartialEq)]
pub(super) struct Hit {
    pub(super) named: Named,
    pub(super) basis: Option<Basis>,
    pub(super) fraction: Option<Fraction>,
    /// Matched as a symbol of an element, ion or oxide.
    pub(super) symbol: bool,
}

/// Words around a name.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Around {
    Fraction(Fraction),
    Aside,
    /// 'as', before a basis.
    Intro,
    /// 'at', before a temperature.
    At,
}

#[derive(Debug, Default)]
pub(super) struct Words {
    /// By `word_key`.
    names: HashMap<String, Hit>,
    /// By `symbol_key`, case kept.
    symbols: HashMap<String, Hit>,
    /// Symbols without case; `None` where two differ by case alone.
    caseless: HashMap<String, Option<Hit>>,
    pub(super) charged: HashMap<String, AnalyteId>,
    around: HashMap<String, Vec<Around>>,
    species: HashMap<String, Basis>,
    units: HashMap<String, Spelling>,
    caseless_units: HashMap<String, Option<Spelling>>,
    fields: HashMap<String, Field>,
    /// Languages of a folded name, for telling what languages a file speaks.
    languages: HashMap<String, Vec<&'static str>>,
    /// Known labels as they stand in the tables, for suggestions.
    pub(super) labels: Labels,
    pub(super) longest: usize,
}

/// An abbreviation: capitals and digits only, short. Matched with its case, or it would be found in
/// words of other languages (MES, suspended solids, and `mes`, month).
fn is_abbreviation(text: &str) -> bool {
    text.chars().count() <= 5
        && text.chars().any(char::is_uppercase)
        && !text.chars().any(char::is_lowercase)
}

/// Most keys are of digits and small letters already.
fn lower_case(key: &str) -> Cow<'_, str> {
    if key.bytes().all(|b| b.is_ascii() && !b.is_ascii_uppercase()) {
        Cow::Borrowed(key)
    } else {
        Cow::Owned(key.to_lowercase())
    }
}

impl Words {
    pub(super) fn index(
        analytes: &[Analyte],
        ambiguities: &[Ambiguity],
        words: &[&RawWords],
        units: &Units,
        fields: &[(Field, &'static str, String)],
    ) -> Self {
        let mut index = Self {
            longest: 14,
            ..Self::default()
        };
        for (i, ambiguity) in ambiguities.iter().enumerate() {
            for label in &ambiguity.labels {
                let hit = Hit {
                    named: Named::Ambiguous(i),
                    basis: None,
                    fraction: None,
                    symbol: label.len() <= 2 || is_abbreviation(label),
                };
                index.name(label, hit);
            }
        }
        for (i, analyte) in analytes.iter().enumerate() {
            let Ok(i) = u16::try_from(i) else { break };
            let id = AnalyteId(i);
            for name in &analyte.names {
                let symbol = name.language == "symbol" || is_abbreviation(&name.text);
                let hit = Hit {
                    named: Named::Analyte(id),
                    basis: name.basis.clone(),
                    fraction: name.fraction,
                    symbol,
                };
                let key = index.name(&name.text, hit);
                if name.language != "symbol" {
                    let seen = index.languages.entry(key).or_default();
                    if !seen.contains(&name.language) {
                        seen.push(name.language);
                    }
                }
            }
            // The codes and column names of our own tables read back as what they are.
            let own = Hit {
                named: Named::Analyte(id),
                basis: None,
                fraction: None,
                symbol: false,
            };
            // Short codes are also abbreviations of other things (cod).
            if analyte.code.len() > 4 {
                index.names.entry(word_key(&analyte.code)).or_insert(own);
            }
            for symbol in &analyte.charged_symbols {
                index.charged.insert(symbol.clone(), id);
            }
        }
        for raw in words {
            index.around(raw);
        }
        for spelling in &units.spellings {
            index.unit(spelling);
        }
        for (field, language, word) in fields {
            let key = word_key(word);
            index.labels.push(key.clone(), word);
            index.fields.entry(key.clone()).or_insert(*field);
            let seen = index.languages.entry(key).or_default();
            if !seen.contains(language) {
                seen.push(language);
            }
        }
        index
    }

    /// The first claim of a label stands; meta-tests see to it that there is no second. Gives its `word_key`.
    fn name(&mut self, label: &str, hit: Hit) -> String {
        let tokens = Tokens::of(label);
        let word = tokens.word_key(0, tokens.len());
        self.labels.push(word.clone(), label);
        let symbol = (hit.symbol).then(|| tokens.symbol_key(0, tokens.len()));
        let Some(key) = symbol.flatten() else {
            self.names.entry(word.clone()).or_insert(hit);
            return word;
        };
        let caseless = key.to_lowercase();
        match self.caseless.get_mut(&caseless) {
            Some(known) => {
                if known.as_ref().is_some_and(|k| k.named != hit.named) {
                    *known = None;
                }
            }
            None => {
                self.caseless.insert(caseless, Some(hit.clone()));
            }
        }
        self.symbols.entry(key).or_insert(hit);
        word
    }

    fn around(&mut self, raw: &RawWords) {
        let mut put = |list: &[String], around: &Around| {
            for word in list {
                let kinds = self.around.entry(word_key(word)).or_default();
                if !kinds.contains(around) {
                    kinds.push(around.clone());
                }
            }
        };
        put(&raw.total, &Around::Fraction(Fraction::Total));
        put(&raw.dissolved, &Around::Fraction(Fraction::Dissolved));
        put(&raw.aside, &Around::Aside);
        put(&raw.intro, &Around::Intro);
        put(&raw.at, &Around::At);
        for (species, list) in &raw.species {
            for word in list {
                self.species.insert(word_key(word), Basis(species.clone()));
            }
        }
    }

    fn unit(&mut self, spelling: &Spelling) {
        let key = unit_key(&spelling.text);
        let caseless = key.to_lowercase();
        match self.caseless_units.get_mut(&caseless) {
            Some(known) => {
                if known.as_ref().is_some_and(|k| k.unit != spelling.unit) {
                    *known = None;
                }
            }
            None => {
                self.caseless_units.insert(caseless, Some(spelling.clone()));
            }
        }
        self.units.entry(key).or_insert_with(|| spelling.clone());
    }

    pub(super) fn find_name(&self, key: &str) -> Option<&Hit> {
        self.names.get(key)
    }

    pub(super) fn find_symbol(&self, key: &str) -> Option<&Hit> {
        self.symbols.get(key)
    }

    pub(super) fn find_caseless(&self, key: &str) -> Option<&Hit> {
        self.caseless.get(&*lower_case(key))?.as_ref()
    }

    pub(super) fn find_around(&self, key: &str) -> &[Around] {
        self.around.get(key).map_or(&[], Vec::as_slice)
    }

    pub(super) fn find_species(&self, key: &str) -> Option<&Basis> {
        self.species.get(key)
    }

    pub(super) fn find_unit(&self, key: &str) -> Option<&Spelling> {
        match self.units.get(key) {
            Some(found) => Some(found),
            None => self
                .caseless_units
                .get(&*lower_case(key))?
                .as_ref()
                .filter(|s| !s.weak),
        }
    }

    pub(super) fn is_of_fraction(&self, key: &str) -> bool {
        self.fraction_of(key).is_some()
    }

    pub(super) fn fraction_of(&self, key: &str) -> Option<Fraction> {
        let around = self.around.get(key).map_or(&[][..], Vec::as_slice);
        around.iter().find_map(|around| match around {
            Around::Fraction(fraction) => Some(*fraction),
            _ => None,
        })
    }

    pub(super) fn find_field(&self, key: &str) -> Option<Field> {
        let of = |key: &str| self.fields.get(key).copied();
        // "Sample Date/Time", "Date & time".
        of(key).or_else(|| {
            let parted = key.contains(['/', '&']);
            parted.then(|| of(&key.replace(['/', '&'], ""))).flatten()
        })
    }

    pub(super) fn languages_of(&self, key: &str) -> &[&'static str] {
        self.languages.get(key).map_or(&[], Vec::as_slice)
    }
}
