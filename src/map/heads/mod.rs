//! What stands over the tracks of a table, and under it: analytes, companions, limits.

pub(super) mod columns;
pub(super) mod companion;
pub(super) mod days;
pub(super) mod flags;
pub(super) mod head;
pub(super) mod limits;
pub(super) mod marks;
mod numbers;
pub(super) mod resolve;
pub(super) mod tracks;
pub(super) mod twins;
