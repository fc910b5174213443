//! What is no result of a sample of water: limits, statistics, controls, other matter, tables of something else.

pub(super) mod controls;
pub(super) mod doubt;
pub(super) mod guides;
pub(super) mod lines;
pub(super) mod medium;
pub(super) mod overlong;
mod statistic_words;
pub(super) mod statistics;
pub(super) mod unseen;
pub(super) mod whole;
pub(super) mod withdrawn;
