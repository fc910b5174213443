//! All checks, in one table.

use crate::finding::Severity;

/// A check: what it is called and how severe its findings are unless the user says otherwise.
#[derive(Clone, Copy, Debug)]
pub struct Check {
    /// Kebab-case, named for the problem.
    pub code: &'static str,
    pub severity: Severity,
    /// Names of its numbers in `limits.toml`.
    pub limits: &'static [&'static str],
    /// The explanation, as it stands at the head of the check's file.
    doc: &'static str,
}

/// All checks, sorted by code.
pub const CHECKS: &[Check] = &[];

/// By code.
pub(super) fn find(code: &str) -> Option<&'static Check> {
    CHECKS.iter().find(|check| check.code == code)
}

pub(super) fn codes() -> impl Iterator<Item = &'static str> + Clone {
    CHECKS.iter().map(|check| check.code)
}
