//! Recipes: what is the same for all numbers under one label, unit, basis and fraction, kept once.

use crate::record::{Origin, Recipe, RecipeId};
use hashbrown::HashMap;

/// The recipes of a report, in the order in which they were first needed.
#[derive(Debug, Default)]
pub(super) struct RecipeBook {
    recipes: Vec<Recipe>,
    index: HashMap<Key, RecipeId>,
}

/// Everything of a recipe that can be compared; the factor by its bits.
#[derive(Debug, PartialEq, Eq, Hash)]
struct Key {
    analyte: u16,
    fraction: Option<crate::vocabulary::Fraction>,
    factor: Option<u64>,
    texts: [Option<std::sync::Arc<str>>; 3],
    unit_from: Origin,
    assumption: Option<&'static str>,
}

impl RecipeBook {
    /// The id of this recipe; the same one for the same recipe.
    pub(super) fn intern(&mut self, recipe: Recipe) -> RecipeId {
        let key = Key {
            analyte: recipe.analyte.0,
            fraction: recipe.fraction,
            factor: recipe.factor.map(f64::to_bits),
            texts: [
                recipe.label_text.clone(),
                recipe.unit_text.clone(),
                recipe.basis_text.clone(),
            ],
            unit_from: recipe.unit_from,
            assumption: recipe.assumption,
        };
        if let Some(id) = self.index.get(&key) {
            return *id;
        }
        let id = RecipeId(
            u32::try_from(self.recipes.len())
                .expect("fewer recipes than cells, which are counted in 32 bits"),
        );
        self.recipes.push(recipe);
        self.index.insert(key, id);
        id
    }

    pub(super) fn into_recipes(self) -> Vec<Recipe> {
        self.recipes
    }
}
