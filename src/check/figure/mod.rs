//! The figures derived for one water: each formula in a file of its own, with units and source.
//! Takes a [`super::Water`], gives numbers; knows nothing of findings and files.

pub(super) mod calcite;
pub(super) mod carbonate;
pub(super) mod charge;
pub(super) mod conductivity;
mod derive;
pub(super) mod hardness;
pub(super) mod sodium;
pub(super) mod solids;

pub(super) use derive::{figures, takes_sulfur};
