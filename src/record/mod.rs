//! The records that pass between the later stages: what one report gave (`Extract`), and what the
//! checks made of a sample (`Figures`). A leaf: plain data that own themselves.

mod extract;
mod figures;

pub use extract::{
    Censored, Extract, Measurement, Origin, Recipe, RecipeId, Sample, SampleId, SheetAccount,
    Unplaced,
};
pub use figures::{FigureColumn, FigureKind, FigureValue, Figures};
