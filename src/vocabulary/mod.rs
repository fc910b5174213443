//! What the program knows of the trade's words: analytes, units, bases, identity fields, and the
//! arithmetic between units of one analyte. A leaf: every stage uses it, it knows none of them.
//!
//! The words are data (`mappings/analytes.toml`, `units.toml`, `fields.toml`), built in and
//! extended or overridden by copies beside the user's reports.

mod alone;
mod analyte;
mod arithmetic;
mod context;
mod convert;
mod field;
mod formula;
mod heading;
mod iso7888;
mod load;
mod marks;
mod memo;
mod nearest;
mod raw;
mod reader;
mod sense;
mod symbols;
mod tables;
mod tokens;
mod unit;
mod units;
mod words;

pub use analyte::{Analyte, AnalyteId, Fraction, Name, Silent};
pub use arithmetic::{Side, Worked, shown};
pub use context::HeadingContext;
pub use field::Field;
pub use heading::{Heading, Meaning};
pub use load::TABLES;
pub use unit::{Basis, Conversion, Dimension, Note, Refusal, Unit, in_words};

use alone::Alone;
use memo::Memo;
use reader::Reader;
use std::sync::{Arc, LazyLock};
use tables::Ambiguity;
use tokens::Tokens;
use units::{Part, Units};
use words::Words;

/// All words, indexed for look-up. Built once; shared by all threads.
#[derive(Debug, Default)]
pub struct Vocabulary {
    analytes: Vec<Analyte>,
    ambiguities: Vec<Ambiguity>,
    /// Every species that some analyte is counted as.
    bases: Vec<Basis>,
    units: Units,
    words: Words,
    memo: Memo,
}

impl Vocabulary {
    /// The words that come with the program.
    pub fn built_in() -> &'static Self {
        static BUILT_IN: LazyLock<Vocabulary> = LazyLock::new(|| {
            Vocabulary::load(None).expect("the built-in tables are compiled by a test")
        });
        &BUILT_IN
    }

    /// The analytes in the order of the canonical schema; `AnalyteId` is the index.
    pub fn analytes(&self) -> &[Analyte] {
        &self.analytes
    }

    pub fn analyte(&self, id: AnalyteId) -> &Analyte {
        &self.analytes[usize::from(id.0)]
    }

    /// By code (`nitrate`); `None` when no analyte has it.
    pub fn find(&self, code: &str) -> Option<AnalyteId> {
        self.analytes
            .iter()
            .position(|a| a.code == code)
            .and_then(|i| u16::try_from(i).ok())
            .map(AnalyteId)
    }

    /// What the headings of one sheet, taken together, say about each of them.
    pub fn heading_context<'a>(
        &self,
        headings: impl IntoIterator<Item = &'a str>,
    ) -> HeadingContext {
        HeadingContext::of(self, headings)
    }

    /// Takes a heading apart: name, basis, fraction, unit, footnote, wherever each stands.
    /// Never guesses: what could be two analytes comes back as `Meaning::Ambiguous`.
    pub fn read_heading(&self, text: &str) -> Heading {
        let mut heading = self.read_heading_in(text, &HeadingContext::default());
        if heading.meaning == Meaning::Unknown {
            heading.nearest = self.nearest(text);
        }
        heading
    }

    /// The same with the evidence of the sheet's other headings, and without the nearest label: whole
    /// sheets are read with this, and comparing each text with every label would take most of the time.
    pub fn read_heading_in(&self, text: &str, context: &HeadingContext) -> Heading {
        Arc::unwrap_or_clone(self.heading_in(text, context))
    }

    /// As [`Self::read_heading_in`], shared with whoever reads the same text.
    pub fn heading_in(&self, text: &str, context: &HeadingContext) -> Arc<Heading> {
        let alone = self.alone(text);
        if alone.is_certain || *context == HeadingContext::default() {
            return alone.heading.clone();
        }
        let read = || Reader::new(self, context).heading(&Tokens::of(text));
        self.memo.in_context(text, context, read)
    }

    fn alone(&self, text: &str) -> Arc<Alone> {
        self.memo.alone(text, || Alone::read(self, text))
    }

    /// Whether a text is a word of ours, or a unit. It is not remembered: for texts that come once.
    pub fn knows(&self, text: &str) -> bool {
        let alone = Alone::read(self, text);
        alone.is_unit || alone.heading.meaning != Meaning::Unknown
    }

    /// The pieces of a heading and what each says, in its order; empty where it cannot be explained.
    pub fn explain_heading(&self, text: &str, context: &HeadingContext) -> Vec<(String, String)> {
        Reader::new(self, context).explained(text)
    }

    /// Analytes with a name that holds the fragment, and the names that do.
    pub fn search(&self, fragment: &str) -> Vec<(AnalyteId, Vec<&Name>)> {
        let fragment = crate::text::fold(fragment);
        (0u16..)
            .map(AnalyteId)
            .zip(&self.analytes)
            .filter_map(|(id, analyte)| {
                let names: Vec<&Name> = analyte
                    .names
                    .iter()
                    .filter(|n| crate::text::fold(&n.text).contains(&fragment))
                    .collect();
                let coded = analyte.code.contains(&fragment)
                    || crate::text::fold(&analyte.name).contains(&fragment);
                (coded || !names.is_empty()).then_some((id, names))
            })
            .collect()
    }

    /// A unit by its code, as `Analyte::units` lists them.
    pub fn unit(&self, code: &str) -> Option<&Unit> {
        self.units.find(code)
    }

    /// Spellings of the table for a unit, as written there.
    pub fn spellings(&self, code: &str) -> Vec<&str> {
        self.units
            .spellings
            .iter()
            .filter(|s| s.unit.code == code)
            .map(|s| s.text.as_str())
            .collect()
    }

    /// The nearest spelling of a unit: a suggestion, never a match.
    pub fn nearest_unit(&self, text: &str) -> Option<&str> {
        let key = tokens::unit_key(text).to_lowercase();
        self.units
            .spellings
            .iter()
            .map(|s| {
                (
                    strsim::osa_distance(&key, &tokens::unit_key(&s.text).to_lowercase()),
                    s,
                )
            })
            .filter(|(distance, _)| *distance <= 2 && *distance < key.chars().count())
            .min_by_key(|(distance, _)| *distance)
            .map(|(_, s)| s.text.as_str())
    }

    /// Whether a text is a unit or a basis, and nothing else.
    pub fn is_unit(&self, text: &str) -> bool {
        self.alone(text).is_unit
    }

    /// A unit text alone ("mg/l", "°dH", "mg/l als N"): the unit and, where the text carries one,
    /// the basis. `None` when it is no unit we know.
    pub fn read_unit(&self, text: &str) -> Option<(Unit, Option<Basis>)> {
        let alone = self.alone(text);
        (alone.is_unit)
            .then(|| self.unit_of(text, &Tokens::of(text), &alone.heading))
            .flatten()
    }

    /// Whether some word of a text names a fraction ("Dissolved metals").
    pub fn speaks_of_fraction(&self, text: &str) -> bool {
        let mut words = text.split_whitespace().map(tokens::word_key);
        words.any(|key| self.words.is_of_fraction(&key))
    }

    /// The fraction that single words of a text name; `None` where they name none, or both.
    pub fn fraction_among(&self, text: &str) -> Option<Fraction> {
        let words =
            text.split(|c: char| c.is_whitespace() || matches!(c, ',' | '(' | ')' | ':' | '/'));
        let mut named = words.filter_map(|word| self.words.fraction_of(&tokens::word_key(word)));
        let first = named.next()?;
        named.all(|other| other == first).then_some(first)
    }

    /// The reference temperature in a unit cell ("µS/cm a 20 °C"), in °C; `None` where it says none.
    pub fn temperature_in_unit(&self, text: &str) -> Option<f64> {
        self.alone(text).heading.reference_temperature
    }

    /// A basis text alone ("as N", "als CaCO3", "NO3-N", "P2O5"); `None` when it is none.
    pub fn read_basis(&self, text: &str) -> Option<Basis> {
        let alone = self.alone(text);
        (alone.is_unit)
            .then(|| self.basis_of(&Tokens::of(text), &alone.heading))
            .flatten()
    }

    /// The nearest known label: a suggestion, never a match.
    pub fn nearest(&self, text: &str) -> Option<String> {
        self.words.labels.nearest(text).map(str::to_owned)
    }

    /// The unit of a numerator and a volume, as the table composed it.
    fn composed(&self, numerator: &Part, per: &Part) -> Option<Unit> {
        let code = format!("{}/{}", numerator.code, per.code);
        self.units.find(&code).cloned()
    }

    /// How a number in `unit`, counted as `basis`, becomes the canonical number of `analyte`.
    ///
    /// `basis = None` means that the report does not say; this succeeds only where the unit leaves
    /// no doubt (pH, a temperature, `mg/L` of an element that has no other usual basis, `mmol/L`
    /// of nitrate) and is `Refusal::BasisMissing` elsewhere. `reference_temperature` in °C is for
    /// conductivity only.
    pub fn convert(
        &self,
        analyte: AnalyteId,
        unit: &Unit,
        basis: Option<&Basis>,
        reference_temperature: Option<f64>,
    ) -> Result<Conversion, Refusal> {
        convert::convert(self.analyte(analyte), unit, basis, reference_temperature)
    }
}
