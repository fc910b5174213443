//! What the program knows of the trade's words: analytes, units, bases, identity fields, and the
//! arithmetic between units of one analyte. A leaf: every stage uses it, it knows none of them.
//!
//! The words are data (`mappings/analytes.toml`, `units.toml`, `fields.toml`), built in and
//! extended or overridden by copies beside the user's reports.

mod analyte;
mod field;
mod heading;
mod unit;

pub use analyte::{Analyte, AnalyteId, Fraction};
pub use field::Field;
pub use heading::{Heading, Meaning};
pub use unit::{Basis, Conversion, Dimension, Refusal, Unit};

use std::sync::LazyLock;

/// All words, indexed for look-up. Built once; shared by all threads.
#[derive(Debug, Default)]
pub struct Vocabulary {
    analytes: Vec<Analyte>,
}

impl Vocabulary {
    /// The words that come with the program.
    pub fn built_in() -> &'static Self {
        static BUILT_IN: LazyLock<Vocabulary> = LazyLock::new(Vocabulary::default);
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

    /// Takes a heading apart: name, basis, fraction, unit, footnote, wherever each stands.
    /// Never guesses: what could be two analytes comes back as `Meaning::Ambiguous`.
    pub fn read_heading(&self, text: &str) -> Heading {
        let _ = text;
        Heading::default()
    }

    /// A unit text alone ("mg/l", "°dH", "mg/l als N"): the unit and, where the text carries one,
    /// the basis. `None` when it is no unit we know.
    pub fn read_unit(&self, text: &str) -> Option<(Unit, Option<Basis>)> {
        let _ = text;
        None
    }

    /// A basis text alone ("as N", "als CaCO3", "NO3-N", "P2O5"); `None` when it is none.
    pub fn read_basis(&self, text: &str) -> Option<Basis> {
        let _ = text;
        None
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
        let _ = (analyte, unit, basis, reference_temperature);
        Err(Refusal::UnitUnfit)
    }
}
