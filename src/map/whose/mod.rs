//! Whose the results are, and of which day, where the lines of a table do not say it.

pub(super) mod apart;
pub(super) mod carried;
pub(super) mod days_untaken;
pub(super) mod facts;
pub(super) mod labelled;
pub(super) mod names;
pub(super) mod shared;
pub(super) mod sheets;
pub(super) mod title_days;
pub(super) mod titles;
pub(super) mod told_labels;
pub(super) mod unnamed;
pub(super) mod unread;
