//! From samples to figures and findings: causes in columns first, then each sample without them, then
//! files and sources; consequences are dropped, the like are told as one.
//!
//! Nothing is made of all samples at once: a sample's water is made when it is looked at, and what is
//! found goes into a [`Gather`].

use super::case::{FileCase, SampleCase, SourceCase, columns};
use super::cause::{
    ColumnFault, Fit, Leanings, Usual, Yardstick, column_faults, needs_explanation, sample_fault,
    slip, spread, tell_column, tell_sample, tell_slip,
};
use super::figure;
use super::figure::charge::{Charges, charges};
use super::found::Found;
use super::gather::Gather;
use super::limits::{CheckLimits, Limits};
use super::samples::{Judged, Samples};
use super::sources::Sources;
use super::table::{CHECKS, Scope};
use super::water::Water;
use crate::finding::Finding;
use crate::record::{Extract, Figures};
use crate::vocabulary::Vocabulary;
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::sync::Arc;

/// What the checks made of all samples.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Judgement {
    /// By sample key.
    pub figures: BTreeMap<Arc<str>, Figures>,
    /// By place, then sample and code.
    pub findings: Vec<Finding>,
}

/// Samples of one file for which a cause of their own is looked for. Where more are in need of one, those
/// are an even spread, and the others keep the plain finding: nobody reads more.
const EXPLAINED: usize = 2_000;

/// Samples that are held ready at once, some one and a half kilobytes each. What is said of the columns of a file
/// with more of them is heard from an even spread: a share that is true of so many is true of all to one
/// in a hundred. What is said of single samples is looked for in all, one such stretch of the report
/// after the other.
const STRETCH: usize = 10_000;

/// Samples that one thread judges before it looks for more work.
const AT_ONCE: usize = 256;

/// Judges the samples of all extracts at once. For reports too large to hold, add their parts to a
/// [`Samples`] and ask it for findings and figures.
pub fn judge(extracts: &[Extract], vocabulary: &Vocabulary, limits: &Limits) -> Judgement {
    let mut samples = Samples::new(vocabulary);
    for extract in extracts {
        samples.add(extract);
    }
    samples.judge(limits)
}

impl Samples<'_> {
    /// Figures and findings of all samples added. The same for any number of threads and any order
    /// of adding.
    pub fn judge(&self, limits: &Limits) -> Judgement {
        let figures = (self.by_key().into_par_iter())
            .map(|slot| {
                let sample = Judged::new(self, slot);
                let figures = figure::figures(self, &sample, limits);
                (sample.key.clone(), figures)
            })
            .collect();
        Judgement {
            figures,
            findings: self.findings(limits),
        }
    }

    /// What is found in all samples added, by place. The same for any number of threads and any order
    /// of adding.
    pub fn findings(&self, limits: &Limits) -> Vec<Finding> {
        let by_key = self.by_key();
        let (sources, of_sources) = Sources::of(self, &by_key, limits);
        let of_files = (self.by_file(&by_key).par_iter())
            .map(|members| self.judge_file(members, &sources, limits))
            .reduce(|| Gather::new(limits), Gather::merge);
        of_sources.merge(of_files).findings()
    }

    /// `members` in the order of their keys.
    fn judge_file<'l>(&self, members: &[u32], sources: &Sources, limits: &'l Limits) -> Gather<'l> {
        let mut gather = Gather::new(limits);
        let heard = self.stretch(&spread(members, STRETCH));
        let group: Vec<&Judged<'_>> = heard.iter().collect();
        let (mut waters, mut fits): (Vec<Water>, Vec<Fit>) = (group.par_iter())
            .with_min_len(AT_ONCE)
            .map(|sample| (sample.as_read.clone(), Fit::of(&sample.as_read)))
            .unzip();
        let home = members.first().and_then(|slot| self.home(*slot));
        let elsewhere: Vec<Option<&Usual>> = (group.iter())
            .map(|sample| sources.elsewhere(sample.slot, home))
            .collect();
        let (faults, leanings) = column_faults(self, &group, &mut waters, &mut fits, &elsewhere);
        let mut of_columns: Vec<Found> = (faults.iter())
            .filter_map(|fault| tell_column(self, &group, fault))
            .collect();
        if let Some(slip) = slip(self, &group, &waters, &fits) {
            of_columns.extend(tell_slip(self, &group, &slip));
            for (position, undone) in slip.samples.iter().zip(slip.undone) {
                fits[*position] = Fit::of(&undone);
                waters[*position] = undone;
            }
        }
        of_columns.extend(self.judge_group(&group, limits, |scope| match scope {
            Scope::File(find) => Some(find),
            _ => None,
        }));
        let file = File {
            samples: self,
            sources,
            limits,
            checks: sample_checks(limits),
            faults,
            leanings,
            of_file: Usual::of_file(&waters),
            yardstick: Yardstick::of(&fits),
        };
        if members.len() <= STRETCH {
            of_columns.into_iter().for_each(|found| gather.take(found));
            let waters: Vec<&Water> = waters.iter().collect();
            let (of_stretch, in_need) = file.judge_stretch(&group, &waters);
            let slots: Vec<u32> = in_need.iter().map(|i| group[*i].slot).collect();
            let in_need: Vec<_> = in_need.iter().map(|i| (group[*i], waters[*i])).collect();
            let of_those = file.judge_in_need(&in_need, &explained(&slots));
            return gather.merge(of_stretch).merge(of_those);
        }
        for mut found in of_columns
            .into_iter()
            .filter(|found| found.sample.is_none())
        {
            found.message.push_str(&format!(
                " (heard from {} of {} samples, evenly spread)",
                group.len(),
                members.len()
            ));
            gather.take(found);
        }
        drop((group, waters));
        drop(heard);
        gather.merge(file.judge_long(members))
    }

    /// The checks that `wanted` picks, of samples that stand in one file.
    fn judge_group(
        &self,
        group: &[&Judged<'_>],
        limits: &Limits,
        wanted: fn(Scope) -> Option<GroupCheck>,
    ) -> Vec<Found> {
        let columns = columns(group);
        // For a few samples more threads are no help.
        let at_once = if group.len() < AT_ONCE {
            CHECKS.len()
        } else {
            1
        };
        (CHECKS.par_iter().with_min_len(at_once))
            .filter_map(|check| Some((wanted(check.scope)?, limits.of_check(check.code))))
            .flat_map_iter(|(find, own)| {
                let case = FileCase {
                    samples: self,
                    group,
                    columns: &columns,
                    own,
                };
                let mut found = Vec::new();
                find(&case, &mut found);
                found
            })
            .collect()
    }

    fn stretch(&self, slots: &[u32]) -> Vec<Judged<'_>> {
        (slots.par_iter().with_min_len(AT_ONCE))
            .map(|slot| Judged::new(self, *slot))
            .collect()
    }
}

/// Those for which a cause is looked for, in order.
fn explained(in_need: &[u32]) -> Vec<u32> {
    let mut explained = spread(in_need, EXPLAINED);
    explained.sort_unstable();
    explained
}

/// What looks at samples of one file.
type GroupCheck = fn(&FileCase<'_>, &mut Vec<Found>);

/// What looks at one sample.
type SampleCheck = fn(&SampleCase<'_>, &mut Vec<Found>);

/// The checks of single samples in their order, each with its limits: to look those up for every sample
/// once more would take longer than most checks.
fn sample_checks(limits: &Limits) -> Vec<(SampleCheck, &CheckLimits)> {
    (CHECKS.iter())
        .filter_map(|check| match check.scope {
            Scope::Sample(find) => Some((find, limits.of_check(check.code))),
            _ => None,
        })
        .collect()
}

/// What is known of a file when its samples are judged one by one.
struct File<'f, 'l> {
    samples: &'f Samples<'f>,
    sources: &'f Sources,
    limits: &'l Limits,
    checks: Vec<(SampleCheck, &'l CheckLimits)>,
    faults: Vec<ColumnFault>,
    leanings: Leanings<'f>,
    of_file: Option<Usual>,
    yardstick: Yardstick,
}

impl<'l> File<'_, 'l> {
    /// Samples whose numbers stand beside this one's.
    fn usual(&self, sample: &Judged<'_>) -> Option<&Usual> {
        (self.sources.usual(sample.slot)).or(self.of_file.as_ref())
    }

    /// The water as it would be without the faults of whole columns.
    fn water(&self, sample: &Judged<'_>) -> Water {
        let mut water = sample.as_read.clone();
        for fault in &self.faults {
            fault.undo(sample, &mut water);
        }
        water
    }

    /// More samples than are held ready at once.
    fn judge_long(&self, members: &[u32]) -> Gather<'l> {
        let mut gather = Gather::new(self.limits);
        // Of a sample in need only its slot is kept.
        let mut in_need = Vec::new();
        for slots in self.samples.by_place(members).chunks(STRETCH) {
            let of_stretch = self.with_waters(slots, |group, waters| {
                let (of_stretch, positions) = self.judge_stretch(group, waters);
                in_need.extend(positions.iter().map(|i| group[*i].slot));
                of_stretch
            });
            gather = gather.merge(of_stretch);
        }
        let explained = explained(&in_need);
        for slots in in_need.chunks(STRETCH) {
            let of_those = self.with_waters(slots, |group, waters| {
                let in_need: Vec<_> = (group.iter().copied())
                    .zip(waters.iter().copied())
                    .collect();
                self.judge_in_need(&in_need, &explained)
            });
            gather = gather.merge(of_those);
        }
        gather
    }

    /// Samples made ready, with their waters without the faults of whole columns.
    fn with_waters<T>(
        &self,
        slots: &[u32],
        judge: impl FnOnce(&[&Judged<'_>], &[&Water]) -> T,
    ) -> T {
        let stretch = self.samples.stretch(slots);
        let group: Vec<&Judged<'_>> = stretch.iter().collect();
        if self.faults.is_empty() {
            let waters: Vec<&Water> = stretch.iter().map(|sample| &sample.as_read).collect();
            return judge(&group, &waters);
        }
        let waters: Vec<Water> = (group.par_iter().with_min_len(AT_ONCE))
            .map(|sample| self.water(sample))
            .collect();
        judge(&group, &waters.iter().collect::<Vec<_>>())
    }

    /// What is found in samples that stand together, but for those in need of an explanation, whose
    /// positions are given.
    fn judge_stretch(&self, group: &[&Judged<'_>], waters: &[&Water]) -> (Gather<'l>, Vec<usize>) {
        let mut gather = Gather::new(self.limits);
        let beside = self
            .samples
            .judge_group(group, self.limits, |scope| match scope {
                Scope::Beside(find) => Some(find),
                _ => None,
            });
        beside.into_iter().for_each(|found| gather.take(found));
        let none = || (Gather::new(self.limits), Vec::new());
        let (of_samples, in_need) = (group.par_chunks(AT_ONCE))
            .zip(waters.par_chunks(AT_ONCE))
            .enumerate()
            .map(|(chunk, (group, waters))| {
                let (mut gather, mut in_need) = none();
                let mut found = Vec::new();
                for (i, (sample, water)) in group.iter().zip(waters).enumerate() {
                    let looked = Looked::at(water);
                    if needs_explanation(water, &looked.fit, self.usual(sample), &self.yardstick) {
                        in_need.push(chunk * AT_ONCE + i);
                    } else {
                        self.judge_sample(sample, water, looked, &mut found);
                        found.drain(..).for_each(|found| gather.take(found));
                    }
                }
                (gather, in_need)
            })
            .reduce(none, |(gather, mut in_need), (other, more)| {
                in_need.extend(more);
                (gather.merge(other), in_need)
            });
        (gather.merge(of_samples), in_need)
    }

    /// What is found in samples in need of an explanation; it is looked for in those of `explained`.
    fn judge_in_need(&self, in_need: &[(&Judged<'_>, &Water)], explained: &[u32]) -> Gather<'l> {
        let none = || Gather::new(self.limits);
        (in_need.par_iter())
            .fold(none, |mut gather, (sample, water)| {
                let mut found = Vec::new();
                let looked = Looked::at(water);
                // An explanation may make possible what cannot be as it was read ...
                if explained.binary_search(&sample.slot).is_ok() {
                    found.extend(self.explain(sample, water, &looked.fit));
                }
                // ... everything else goes by what can be.
                self.judge_sample(sample, water, looked, &mut found);
                found.into_iter().for_each(|found| gather.take(found));
                gather
            })
            .reduce(none, Gather::merge)
    }

    fn explain(&self, sample: &Judged<'_>, water: &Water, before: &Fit) -> Option<Found> {
        let (yardstick, leanings) = (&self.yardstick, &self.leanings);
        let usual = self.usual(sample);
        let fault = sample_fault(
            self.samples,
            sample,
            water,
            before,
            usual,
            yardstick,
            leanings,
        );
        tell_sample(self.samples, sample, before, &fault)
    }

    /// Adds what the checks of single samples find, and drops what follows from something else found.
    fn judge_sample(
        &self,
        sample: &Judged<'_>,
        as_read: &Water,
        looked: Looked,
        found: &mut Vec<Found>,
    ) {
        let possible = self.samples.possible(as_read);
        let looked = match &possible {
            Some(water) => Looked::at(water),
            None => looked,
        };
        for (find, own) in &self.checks {
            let case = SampleCase {
                samples: self.samples,
                sample,
                water: possible.as_ref().unwrap_or(as_read),
                as_read,
                charges: &looked.charges,
                fit: &looked.fit,
                limits: self.limits,
                own,
                usual: self.usual(sample),
            };
            find(&case, found);
        }
        drop_consequences(found);
    }
}

/// A water's charges, and how well it agrees with itself.
struct Looked {
    charges: Charges,
    fit: Fit,
}

impl Looked {
    fn at(water: &Water) -> Self {
        let charges = charges(water, 0.5, 0.5);
        let fit = Fit::from(water, &charges);
        Self { charges, fit }
    }
}

/// The checks of a source's history, by date.
pub(super) fn judge_source(
    samples: &Samples<'_>,
    history: &[&Judged<'_>],
    limits: &Limits,
) -> Vec<Found> {
    let mut found = Vec::new();
    for check in CHECKS {
        if let Scope::Source(find) = check.scope {
            let case = SourceCase {
                samples,
                history,
                own: limits.of_check(check.code),
            };
            find(&case, &mut found);
        }
    }
    found
}

/// Checks of one number: what is found in another number of the sample does not explain it.
const ONE_ANALYTE: [&str; 4] = [
    "metal-unit-doubtful",
    "results-disagree",
    "value-impossible",
    "value-unusual",
];

/// Drops what is a mere consequence of something else found in the same sample.
fn drop_consequences(found: &mut Vec<Found>) {
    if found.len() < 2 {
        return;
    }
    let yields = |one: &Found| {
        let check = super::table::find(one.code);
        let yields_to = check.map_or(&[] as &[&str], |check| check.yields_to);
        let of_one_analyte = ONE_ANALYTE.contains(&one.code);
        (found.iter()).any(|other| {
            yields_to.contains(&other.code) && (!of_one_analyte || other.analyte == one.analyte)
        })
    };
    let stays: Vec<bool> = found.iter().map(|one| !yields(one)).collect();
    let mut stays = stays.into_iter();
    found.retain(|_| stays.next().unwrap_or(true));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::Address;
    use crate::record::{Measurement, Origin, Recipe, RecipeId, Sample, SampleId};

    /// One file of samples with two columns: the same chloride in all, and a calcium of their own.
    fn long(samples: u32, calcium: impl Fn(u32) -> f64) -> Extract {
        let vocabulary = Vocabulary::built_in();
        let recipe = |code: &str| Recipe {
            analyte: vocabulary.find(code).unwrap(),
            fraction: None,
            factor: Some(1.0),
            label_text: Some(code.into()),
            unit_text: None,
            basis_text: None,
            unit_from: Origin::Heading,
            assumption: None,
        };
        let result = |sample: u32, column: u32, value: f64| Measurement {
            sample: SampleId(sample),
            recipe: RecipeId(column),
            value: Some(value),
            censored: None,
            value_text: "".into(),
            sheet: 0,
            at: Address::new(sample + 1, column),
        };
        Extract {
            file: "long.csv".into(),
            sheets: vec![Default::default()],
            recipes: vec![recipe("chloride"), recipe("calcium")],
            samples: (0..samples)
                .map(|i| Sample {
                    key: format!("{i:016x}").into(),
                    sample_ref: Some(format!("S{i}").into()),
                    ..Sample::default()
                })
                .collect(),
            measurements: (0..samples)
                .flat_map(|i| [result(i, 0, 250.0), result(i, 1, calcium(i))])
                .collect(),
            ..Extract::default()
        }
    }

    fn said(samples: u32, code: &str) -> Vec<String> {
        // One sample in the middle cannot be right.
        let calcium = |i: u32| {
            if i == 5_001 {
                92_000.0
            } else {
                20.0 + f64::from(i) / 1000.0
            }
        };
        let extract = long(samples, calcium);
        let judgement = judge(&[extract], Vocabulary::built_in(), Limits::built_in());
        (judgement.findings.into_iter())
            .filter(|finding| finding.code == code)
            .map(|finding| finding.message)
            .collect()
    }

    #[test]
    fn a_file_longer_than_a_stretch_is_judged_whole() {
        let samples = STRETCH as u32 + 50;
        let constant = said(samples, "constant-column");
        assert_eq!(constant.len(), 1, "{constant:?}");
        let heard = " (heard from 10000 of 10050 samples, evenly spread)";
        assert!(constant[0].ends_with(heard), "{constant:?}");
        let impossible = said(samples, "value-impossible");
        assert_eq!(impossible.len(), 1, "{impossible:?}");
        assert!(impossible[0].starts_with("S5001: "), "{impossible:?}");
    }

    #[test]
    fn err_a_shorter_one_is_heard_whole() {
        let constant = said(6_000, "constant-column");
        assert!(!constant[0].contains("heard from"), "{constant:?}");
    }
}
