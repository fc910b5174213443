//! Which lines are one sample, and the keys.
