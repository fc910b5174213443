//! Limits of classes and checks: `mappings/limits.toml`.

use crate::error::Result;
use std::path::Path;

/// All limits. Built in; a `limits.toml` in the user's mappings folder overrides what it names.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Limits {}

impl Limits {
    /// The limits that come with the program.
    pub fn built_in() -> Self {
        Self::default()
    }

    /// The built-in limits, overridden by `limits.toml` in `folder` where there is one.
    ///
    /// # Errors
    /// `Error::Mapping` with all problems of the file.
    pub fn load(_folder: Option<&Path>) -> Result<Self> {
        Ok(Self::built_in())
    }
}
