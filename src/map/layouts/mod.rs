//! How each layout becomes a plan: tables, lists, cross-tables, forms; what stands side by side in them.

pub(super) mod cross;
pub(super) mod form;
pub(super) mod groups;
pub(super) mod long;
mod parted;
pub(super) mod row;
pub(super) mod table;
