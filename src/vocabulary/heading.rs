//! A heading taken apart.

use super::{AnalyteId, Basis, Field, Fraction, Unit};

/// What the name in a heading means.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Meaning {
    /// None of our words.
    #[default]
    Unknown,
    Analyte(AnalyteId),
    /// Could be several; the evidence must decide, or it stays unplaced with these in the finding.
    Ambiguous(Vec<AnalyteId>),
    /// Identity or another column that is not chemistry.
    Field(Field),
}

/// `unit`, `basis`, … are `None` where the heading does not carry them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Heading {
    pub meaning: Meaning,
    pub fraction: Option<Fraction>,
    pub basis: Option<Basis>,
    /// The piece of the heading that named the basis, as it stood.
    pub basis_text: Option<String>,
    /// The basis is only what the name suggests ('Azoto ammoniacale' suggests N): a basis that the report
    /// states elsewhere ('mg/l NH4' in the unit cell) goes before it.
    pub basis_implied: bool,
    pub unit: Option<Unit>,
    pub unit_text: Option<String>,
    /// °C, for conductivity.
    pub reference_temperature: Option<f64>,
    /// Nearest known label when the meaning is unknown: a suggestion for a finding, never a match.
    pub nearest: Option<String>,
}
