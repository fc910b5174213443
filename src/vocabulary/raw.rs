//! The vocabulary's TOML tables as they are written: strict, nothing decided yet.

use super::analyte::Fraction;
use super::formula::Formula;
use super::{Basis, Dimension, Note};
use crate::problem::Problems;
use serde::Deserialize;
use std::collections::BTreeMap;
use toml::Spanned;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawAnalytes {
    #[serde(default)]
    pub(super) analyte: Vec<RawAnalyte>,
    #[serde(default)]
    pub(super) ambiguous: Vec<RawAmbiguous>,
    pub(super) words: Option<RawWords>,
}

/// Words around a name that are not part of it.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawWords {
    #[serde(default)]
    pub(super) total: Vec<String>,
    #[serde(default)]
    pub(super) dissolved: Vec<String>,
    #[serde(default)]
    pub(super) aside: Vec<String>,
    #[serde(default, rename = "as")]
    pub(super) intro: Vec<String>,
    #[serde(default)]
    pub(super) at: Vec<String>,
    #[serde(default)]
    pub(super) species: BTreeMap<String, Vec<String>>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawAnalyte {
    pub(super) code: Spanned<String>,
    pub(super) name: Option<String>,
    pub(super) cas: Option<String>,
    pub(super) unit: Option<Spanned<String>>,
    pub(super) basis: Option<Spanned<String>>,
    pub(super) charge: Option<i8>,
    pub(super) units: Option<Vec<Spanned<String>>>,
    pub(super) bases: Option<Vec<Spanned<String>>>,
    pub(super) silent_basis: Option<Spanned<String>>,
    pub(super) assume_unit: Option<bool>,
    pub(super) fractions: Option<bool>,
    pub(super) hard: Option<[f64; 2]>,
    pub(super) soft: Option<[f64; 2]>,
    pub(super) instead: Option<Vec<RawInstead>>,
    pub(super) charged_symbols: Option<Vec<String>>,
    #[serde(default)]
    pub(super) names: Vec<RawNames>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawInstead {
    pub(super) dimension: Spanned<String>,
    pub(super) analyte: Spanned<String>,
}

/// The languages stand once: from here come the list of them and the fields of a table of names.
macro_rules! languages {
    ($($code:ident)*) => {
        /// Languages of the tables, in the order in which they are shown; `symbol` is none.
        pub(super) const LANGUAGES: [&str; [$(stringify!($code)),*].len()] =
            [$(stringify!($code)),*];

        #[derive(Debug, Deserialize)]
        #[serde(deny_unknown_fields)]
        pub(super) struct RawNames {
            pub(super) basis: Option<Spanned<String>>,
            pub(super) fraction: Option<Spanned<String>>,
            $(#[serde(default)] $code: Vec<String>,)*
        }

        impl RawNames {
            /// Each of [`LANGUAGES`] with its names.
            pub(super) fn by_language(&self) -> [(&'static str, &[String]); LANGUAGES.len()] {
                [$((stringify!($code), self.$code.as_slice())),*]
            }
        }
    };
}

languages! {
    en de nl fr es it pt da pl sv nb fi cs sk hu ro hr tr el ru uk id zh ja ko vi th ar he fa bg sl lt
    symbol
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawAmbiguous {
    pub(super) labels: Vec<String>,
    pub(super) candidates: Vec<RawCandidate>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawCandidate {
    pub(super) analyte: Spanned<String>,
    pub(super) basis: Option<String>,
    pub(super) fraction: Option<Spanned<String>>,
    #[serde(default)]
    pub(super) dimensions: Vec<Spanned<String>>,
    #[serde(default)]
    pub(super) languages: Vec<Spanned<String>>,
    pub(super) sheet: Option<Spanned<String>>,
    #[serde(default)]
    pub(super) stated: bool,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawUnits {
    #[serde(default)]
    pub(super) numerator: Vec<RawNumerator>,
    #[serde(default)]
    pub(super) per: Vec<RawPer>,
    #[serde(default)]
    pub(super) unit: Vec<RawUnit>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawNumerator {
    pub(super) code: Spanned<String>,
    pub(super) dimension: Option<Spanned<String>>,
    pub(super) to_base: Option<Spanned<String>>,
    #[serde(default)]
    pub(super) joined: bool,
    #[serde(default)]
    pub(super) spellings: Vec<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawPer {
    pub(super) code: Spanned<String>,
    pub(super) divisor: Option<Spanned<String>>,
    pub(super) note: Option<Spanned<String>>,
    #[serde(default)]
    pub(super) spellings: Vec<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawUnit {
    pub(super) code: Spanned<String>,
    pub(super) dimension: Option<Spanned<String>>,
    pub(super) to_base: Option<Spanned<String>>,
    pub(super) offset: Option<Spanned<String>>,
    pub(super) mg_per_l: Option<Spanned<String>>,
    pub(super) of: Option<Spanned<String>>,
    pub(super) note: Option<Spanned<String>>,
    #[serde(default)]
    pub(super) spellings: Vec<String>,
    #[serde(default)]
    pub(super) weak: Vec<String>,
}

pub(super) type RawFields = BTreeMap<Spanned<String>, BTreeMap<String, Vec<String>>>;

pub(super) fn dimension_at(at: &Spanned<String>, problems: &mut Problems<'_>) -> Dimension {
    Dimension::parse(at.get_ref()).unwrap_or_else(|| {
        problems
            .push(at.span(), format!("unknown dimension '{}'", at.get_ref()))
            .nearest(at.get_ref(), Dimension::ALL.iter().map(|d| d.name()));
        Dimension::One
    })
}

pub(super) fn fraction_at(
    at: Option<&Spanned<String>>,
    problems: &mut Problems<'_>,
) -> Option<Fraction> {
    let at = at?;
    let fraction = [Fraction::Dissolved, Fraction::Total]
        .into_iter()
        .find(|f| f.name() == at.get_ref());
    if fraction.is_none() {
        problems.push(at.span(), format!("unknown fraction '{}'", at.get_ref()));
    }
    fraction
}

pub(super) fn basis_at(at: Option<&Spanned<String>>, problems: &mut Problems<'_>) -> Option<Basis> {
    let at = at?;
    if Formula::parse(at.get_ref()).is_none() {
        problems.push(at.span(), format!("no formula: '{}'", at.get_ref()));
    }
    Some(Basis(at.get_ref().clone()))
}

pub(super) fn note_at(at: Option<&Spanned<String>>, problems: &mut Problems<'_>) -> Option<Note> {
    let at = at?;
    let note = [Note::WaterDensity, Note::MostProbableNumber, Note::Formazin]
        .into_iter()
        .find(|n| n.text() == at.get_ref());
    if note.is_none() {
        problems.push(at.span(), format!("unknown note '{}'", at.get_ref()));
    }
    note
}
