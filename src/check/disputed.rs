//! Numbers of one sample that contradict each other.

use super::samples::{Entry, Ranked, Samples};
use crate::vocabulary::AnalyteId;

/// Percent of their mean by which two results of one water do not differ by chance: laboratory programmes allow
/// duplicates 20 to 30 %, read.
const FAR: f64 = 20.0;

/// Analytes with results far from each other, and their share of all, from which on a sample is more than one water.
/// A corrected issue differs in one or two. Judgement.
const MIXED_ANALYTES: usize = 3;
const MIXED_SHARE: f64 = 1.0 / 3.0;

impl Samples<'_> {
    /// Whether two results of one analyte count the same and differ: then neither is used, here and in
    /// the wide table.
    pub(super) fn is_disputed(&self, entries: &[Entry]) -> bool {
        let Some((first, others)) = entries.split_first() else {
            return false;
        };
        self.rivals(first, others)
            .any(|other| other.value != first.value)
    }

    /// Those of the other results of an analyte that count as much as the first.
    fn rivals<'e>(&self, first: &Entry, others: &'e [Entry]) -> impl Iterator<Item = &'e Entry> {
        let rank = self.rank(first);
        others
            .iter()
            .take_while(move |other| self.rank(other) == rank)
    }

    /// How far two results of an analyte are from each other, in percent of their mean.
    pub(super) fn percent_apart(&self, analyte: AnalyteId, one: f64, other: f64) -> f64 {
        match self.vocabulary.analyte(analyte).code.as_str() {
            // Half a unit of pH is as much as 20 % of anything else.
            "ph" => 40.0 * (one - other).abs(),
            _ => 200.0 * (one - other).abs() / (one + other).abs().max(f64::MIN_POSITIVE),
        }
    }

    /// Results that count the same as the first of their analyte and are far from it: what one water does not have
    /// twice. Empty where they are few, and the sample may be one all the same.
    pub(super) fn mixed<'e>(&self, ranked: Ranked<'e>) -> Vec<[&'e Entry; 2]> {
        let mut analytes = 0;
        let mut far = Vec::new();
        for (id, entries) in ranked.iter() {
            let Some((first, others)) = entries.split_first() else {
                continue;
            };
            if first.censored.is_some() {
                continue;
            }
            analytes += 1;
            let other = (self.rivals(first, others))
                .find(|other| self.percent_apart(*id, first.value, other.value) > FAR);
            far.extend(other.map(|other| [first, other]));
        }
        let are_many =
            far.len() >= MIXED_ANALYTES && far.len() as f64 >= MIXED_SHARE * f64::from(analytes);
        if are_many { far } else { Vec::new() }
    }
}
