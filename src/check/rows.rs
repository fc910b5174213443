//! What all reports say of each sample, with its figures, as the `samples` table has it: in the order of
//! the table, each row made when it is written.
//!
//! Which of several results of one analyte stands in the row is decided in the order of
//! [`super::Rank`], so that the row and the figures beside it rest on one number. Where that order does
//! not decide between different numbers, the cell stays empty.

use super::figure;
use super::limits::Limits;
use super::samples::{Entry, Judged, Samples, start_of};
use crate::record::{Figures, Sample};
use crate::vocabulary::AnalyteId;
use hashbrown::HashMap;
use rayon::prelude::*;
use std::iter::Sum;
use std::sync::Arc;

/// One sample.
#[derive(Clone, Debug, PartialEq)]
pub struct SampleRow<'s> {
    pub about: &'s Sample,
    /// How many files have a result of it.
    pub files: u32,
    /// By analyte.
    pub results: Vec<(AnalyteId, Told)>,
    pub figures: Figures,
}

/// What the reports say of one analyte of a sample.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Told {
    /// In the canonical unit.
    Plain(f64),
    /// Below a limit, above one, or absent.
    Censored,
    /// Different numbers, and nothing says which counts.
    Disputed,
}

/// The samples that have a result, by client, site, source, day and key.
pub struct Rows<'s> {
    samples: &'s Samples<'s>,
    limits: &'s Limits,
    slots: Vec<u32>,
}

/// How many samples are balanced, and how many unbalanced; of the others nobody can say.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Verdicts {
    pub balanced: usize,
    pub unbalanced: usize,
}

impl Verdicts {
    /// Of one sample.
    pub fn of(row: &SampleRow<'_>) -> Self {
        let verdict = row.figures.charge_balance_verdict.as_deref();
        Self {
            balanced: usize::from(verdict == Some("balanced")),
            unbalanced: usize::from(verdict == Some("unbalanced")),
        }
    }
}

impl Sum for Verdicts {
    fn sum<I: Iterator<Item = Self>>(verdicts: I) -> Self {
        verdicts.fold(Self::default(), |sum, one| Self {
            balanced: sum.balanced + one.balanced,
            unbalanced: sum.unbalanced + one.unbalanced,
        })
    }
}

impl<'s> Rows<'s> {
    pub fn of(samples: &'s Samples<'s>, limits: &'s Limits) -> Self {
        let mut slots: Vec<u32> = samples.slots().collect();
        slots.retain(|slot| samples.files_of(*slot) > 0);
        // Names are compared once; then what is compared lies side by side.
        let of = |name: fn(&Sample) -> &Option<Arc<str>>| {
            ranks(
                slots
                    .iter()
                    .map(|slot| name(samples.about(*slot)).as_deref()),
            )
        };
        let (clients, sites, sources) = (of(|s| &s.client), of(|s| &s.site), of(|s| &s.source));
        let mut placed: Vec<_> = (slots.into_iter().enumerate())
            .map(|(i, slot)| {
                let about = samples.about(slot);
                let day = (about.sampled_on.is_none(), about.sampled_on);
                let key: &str = &about.key;
                (
                    clients[i],
                    sites[i],
                    sources[i],
                    day,
                    start_of(key),
                    key,
                    slot,
                )
            })
            .collect();
        placed.par_sort_unstable();
        Self {
            samples,
            limits,
            slots: placed.into_iter().map(|(.., slot)| slot).collect(),
        }
    }

    pub const fn len(&self) -> usize {
        self.slots.len()
    }

    pub const fn is_empty(&self) -> bool {
        self.slots.is_empty()
    }

    /// Makes the row at a position.
    ///
    /// # Panics
    /// Past the last row.
    pub fn row(&self, position: usize) -> SampleRow<'s> {
        let slot = self.slots[position];
        let sample = Judged::new(self.samples, slot);
        let figures = figure::figures(self.samples, &sample, self.limits);
        SampleRow {
            about: self.samples.about(slot),
            files: self.samples.files_of(slot),
            results: (self.samples.ranked(slot).iter())
                .map(|(analyte, entries)| match sample.is_mixed {
                    true => (*analyte, Told::Disputed),
                    false => (*analyte, self.told(entries)),
                })
                .collect(),
            figures,
        }
    }

    /// `entries` of one analyte, the one that counts first.
    fn told(&self, entries: &[Entry]) -> Told {
        let first = &entries[0];
        if first.censored.is_some() {
            Told::Censored
        } else if self.samples.is_disputed(entries) {
            Told::Disputed
        } else {
            Told::Plain(first.value)
        }
    }

    /// Of all rows, which are made for it and let go.
    pub fn verdicts(&self) -> Verdicts {
        (0..self.len())
            .into_par_iter()
            .map(|position| Verdicts::of(&self.row(position)))
            .sum()
    }
}

/// Where each name stands among all in order; nameless last.
fn ranks<'n>(names: impl Iterator<Item = Option<&'n str>> + Clone) -> Vec<u32> {
    let mut ranks: HashMap<&str, u32> = names.clone().flatten().map(|name| (name, 0)).collect();
    let mut sorted: Vec<&str> = ranks.keys().copied().collect();
    sorted.sort_unstable();
    ranks.extend(sorted.into_iter().zip(0..));
    names
        .map(|name| name.map_or(u32::MAX, |name| ranks[name]))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::Address;
    use crate::record::{Extract, Measurement, Origin, Recipe, RecipeId, SampleId};
    use crate::vocabulary::Vocabulary;
    use jiff::civil::{Date, date};

    /// One report with one sodium, issued on a day.
    fn report(file: &str, issued: Option<Date>, value: f64) -> Extract {
        Extract {
            file: file.into(),
            recipes: vec![Recipe {
                analyte: Vocabulary::built_in().find("sodium").unwrap(),
                fraction: None,
                factor: Some(1.0),
                label_text: Some("Na".into()),
                unit_text: None,
                basis_text: None,
                unit_from: Origin::Heading,
                assumption: None,
            }],
            samples: vec![Sample {
                key: "s".into(),
                reported_on: issued,
                ..Sample::default()
            }],
            measurements: vec![Measurement {
                sample: SampleId(0),
                recipe: RecipeId(0),
                value: Some(value),
                censored: None,
                value_text: "".into(),
                sheet: 0,
                at: Address::new(1, 1),
            }],
            ..Extract::default()
        }
    }

    fn told(reports: &[Extract]) -> (Told, u32) {
        let mut samples = Samples::new(Vocabulary::built_in());
        reports.iter().for_each(|report| samples.add(report));
        let rows = Rows::of(&samples, Limits::built_in());
        let row = rows.row(0);
        (row.results[0].1, row.files)
    }

    /// When each report was issued, and its number.
    type Issues<'a> = &'a [(Option<Date>, f64)];

    #[test]
    fn what_is_told_of_one_analyte_rests_on_no_order() {
        let may = Some(date(2026, 5, 1));
        let june = Some(date(2026, 6, 1));
        let cases: [(&str, Issues<'_>, Told); 5] = [
            ("same twice", &[(may, 5.0), (june, 5.0)], Told::Plain(5.0)),
            (
                "the later counts",
                &[(may, 5.0), (june, 6.0)],
                Told::Plain(6.0),
            ),
            ("nothing decides", &[(may, 5.0), (may, 6.0)], Told::Disputed),
            (
                "a number repeated beside another that differs",
                &[(may, 5.0), (june, 6.0), (june, 5.0)],
                Told::Disputed,
            ),
            (
                "the last of many issues",
                &[
                    (None, 1.0),
                    (None, 2.0),
                    (None, 3.0),
                    (None, 4.0),
                    (None, 5.0),
                    (None, 6.0),
                    (None, 7.0),
                    (None, 8.0),
                    (may, 9.0),
                    (june, 10.0),
                ],
                Told::Plain(10.0),
            ),
        ];
        for (name, issues, expected) in cases {
            let mut reports: Vec<Extract> = (issues.iter().enumerate())
                .map(|(i, (issued, value))| report(&format!("{i:02}.csv"), *issued, *value))
                .collect();
            let files = reports.len() as u32;
            assert_eq!(told(&reports), (expected, files), "{name}");
            reports.reverse();
            assert_eq!(told(&reports), (expected, files), "{name}, turned");
        }
    }
}
