//! Stage 4, normalize: a plan and a sheet's cells become measurements in canonical units, or findings.
//!
//! Knows the grammar of numbers, dates and qualifiers, and how samples are told apart.
