//! What is known of a column (or of the rows with one label): analyte, conversion and recipe, and the
//! units that single cells state instead, each resolved once.

use super::recipe::RecipeBook;
use crate::map::AnalyteTrack;
use crate::record::{Origin, Recipe, RecipeId};
use crate::vocabulary::{Conversion, Dimension, HeadingContext, Vocabulary};
use hashbrown::HashMap;
use std::sync::Arc;

/// How a number becomes canonical, and under which recipe it is kept.
#[derive(Clone, Copy, Debug)]
pub(super) struct Way {
    pub conversion: Conversion,
    pub recipe: RecipeId,
    /// The cell's own unit gives another value than the heading's would.
    pub differs: bool,
}

/// Why a unit in a cell cannot be used: a finding code.
pub(super) type NoWay = &'static str;

#[derive(Debug)]
pub(super) struct Known {
    pub track: AnalyteTrack,
    pub way: Way,
    /// What may be below zero (temperature, redox).
    pub may_be_negative: bool,
    /// What may be zero without a question (carbonate at pH 7, counts, temperature).
    pub may_be_zero: bool,
    /// Counts of bacteria: presence words mean something.
    pub is_count: bool,
    /// What is often met, in the canonical unit.
    pub soft_range: Option<(f64, f64)>,
    /// By the unit's text as written.
    units: HashMap<Box<str>, Result<Way, NoWay>>,
}

impl Known {
    pub(super) fn new(
        track: AnalyteTrack,
        vocabulary: &Vocabulary,
        recipes: &mut RecipeBook,
    ) -> Self {
        let analyte = vocabulary.analyte(track.analyte);
        let recipe = recipes.intern(Recipe {
            analyte: track.analyte,
            fraction: track.fraction,
            factor: track.conversion.plain_factor(),
            label_text: Some(track.label_text.clone()),
            unit_text: track.unit_text.clone(),
            basis_text: track.basis_text.clone(),
            unit_from: track.unit_from,
            assumption: track.assumption,
        });
        let range_is_signed = analyte.hard_range.is_some_and(|(least, _)| least < 0.0);
        let is_mass = analyte.unit == "mg/L";
        // Carbonate, hydroxide and the alkalinity to pH 8.3 are truly zero in most waters (common
        // practice, no source); non-carbonate hardness where alkalinity exceeds hardness.
        let is_often_zero = matches!(
            analyte.code.as_str(),
            "carbonate" | "hydroxide" | "alkalinity_p" | "hardness_noncarbonate"
        );
        Self {
            way: Way {
                conversion: track.conversion,
                recipe,
                differs: false,
            },
            may_be_negative: range_is_signed || matches!(analyte.unit.as_str(), "Cel" | "mV"),
            may_be_zero: !is_mass || is_often_zero,
            is_count: analyte.unit.starts_with("[CFU]"),
            soft_range: analyte.soft_range,
            units: HashMap::new(),
            track,
        }
    }

    pub(super) fn label(&self) -> &Arc<str> {
        &self.track.label_text
    }

    /// The way of a number whose cell or row states this unit. The basis stays the heading's where the
    /// unit text carries none.
    pub(super) fn way_of_unit(
        &mut self,
        text: &str,
        from: Origin,
        vocabulary: &Vocabulary,
        recipes: &mut RecipeBook,
    ) -> Result<Way, NoWay> {
        if let Some(way) = self.units.get(text) {
            return *way;
        }
        let way = self.resolve_unit(text, from, vocabulary, recipes);
        self.units.insert(text.into(), way);
        way
    }

    fn resolve_unit(
        &self,
        text: &str,
        from: Origin,
        vocabulary: &Vocabulary,
        recipes: &mut RecipeBook,
    ) -> Result<Way, NoWay> {
        let (unit, own_basis) = vocabulary.read_unit(text).ok_or("unit-unknown")?;
        let track = &self.track;
        let own = own_basis.is_some();
        // A basis that was assumed for a mass says nothing of moles and degrees, which may need none.
        let is_assumed = track.assumption == Some("basis-assumed");
        let needs_none = is_assumed
            && !own
            && (unit.dimension != Dimension::Mass)
            && vocabulary.convert(track.analyte, &unit, None, None).is_ok();
        let basis = own_basis
            .as_ref()
            .or(track.basis.as_ref().filter(|_| !needs_none));
        let own_temperature = vocabulary
            .read_heading_in(text, &HeadingContext::default())
            .reference_temperature;
        let mut conversion = vocabulary
            .convert(track.analyte, &unit, basis, own_temperature)
            .map_err(|_| "unit-unfit")?;
        if unit.dimension == Dimension::Conductivity
            && own_temperature.is_none()
            && let Some(share) = self.temperature_share(vocabulary)
        {
            conversion.factor *= share;
        }
        let weaker = if own || needs_none || track.basis.is_none() {
            from
        } else {
            // The unit is the cell's, the basis the heading's: the weaker of the two counts.
            from.max(track.unit_from)
        };
        let recipe = recipes.intern(Recipe {
            analyte: track.analyte,
            fraction: track.fraction,
            factor: conversion.plain_factor(),
            label_text: Some(track.label_text.clone()),
            unit_text: Some(text.into()),
            basis_text: if own || needs_none {
                None
            } else {
                track.basis_text.clone()
            },
            unit_from: weaker,
            assumption: track.assumption.filter(|_| weaker == Origin::Assumed),
        });
        Ok(Way {
            conversion,
            recipe,
            differs: conversion != track.conversion,
        })
    }
    /// The part of the heading's conversion that comes from its reference temperature: it holds for a
    /// cell's own unit as well. `None` where the heading states no unit to compare with.
    fn temperature_share(&self, vocabulary: &Vocabulary) -> Option<f64> {
        let (unit, _) = vocabulary.read_unit(self.track.unit_text.as_deref()?)?;
        let plain = vocabulary
            .convert(self.track.analyte, &unit, None, None)
            .ok()?;
        let share = self.track.conversion.factor / plain.factor;
        share.is_finite().then_some(share)
    }
}
