//! From samples to figures and findings: causes in columns first, then each sample without them, then
//! files and sources; consequences are dropped, the like are told as one.

use super::case::{FileCase, SampleCase, SourceCase};
use super::cause::{
    Fit, Usual, column_faults, needs_explanation, sample_fault, spread, tell_column, tell_sample,
};
use super::figure;
use super::figure::charge::charges;
use super::found::Found;
use super::gather::findings;
use super::limits::Limits;
use super::samples::{Judged, Samples};
use super::table::{CHECKS, Scope};
use super::water::Water;
use crate::finding::Finding;
use crate::record::{Extract, Figures};
use crate::vocabulary::Vocabulary;
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
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

/// Judges the samples of all extracts at once. For reports too large to hold, add their parts to a
/// [`Samples`] and call [`Samples::judge`].
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
        let judged: Vec<Judged<'_>> = (self.by_key.par_iter())
            .map(|(key, sample)| Judged::new(self, key, sample))
            .collect();
        let figures = (judged.par_iter())
            .map(|sample| (sample.key.clone(), figure::figures(self, sample, limits)))
            .collect();
        let sources = sources(&judged);
        let usual = usual_of_sources(&judged, &sources);
        let mut found: Vec<Found> = (files(self, &judged).par_iter())
            .flat_map_iter(|members| self.judge_file(&judged, members, &usual, limits))
            .collect();
        found.par_extend(sources.par_iter().flat_map_iter(|members| {
            let history: Vec<&Judged<'_>> = members.iter().map(|i| &judged[*i]).collect();
            let case = SourceCase {
                samples: self,
                history: &history,
                limits,
            };
            let mut found = Vec::new();
            for check in CHECKS {
                if let Scope::Source(find) = check.scope {
                    find(&case, &mut found);
                }
            }
            found
        }));
        Judgement {
            figures,
            findings: findings(found, limits),
        }
    }

    fn judge_file(
        &self,
        judged: &[Judged<'_>],
        members: &[usize],
        usual: &BTreeMap<usize, Arc<Usual>>,
        limits: &Limits,
    ) -> Vec<Found> {
        let group: Vec<&Judged<'_>> = members.iter().map(|i| &judged[*i]).collect();
        let mut waters: Vec<Water> = group.iter().map(|sample| sample.as_read.clone()).collect();
        let mut found: Vec<Found> = (column_faults(self, &group, &mut waters).iter())
            .filter_map(|fault| tell_column(self, &group, fault))
            .collect();
        let of_file = Usual::of_file(&waters);
        let usual_of = |i: usize| {
            let of_source = usual.get(&members[i]).map(Arc::as_ref);
            of_source.or(of_file.as_ref())
        };
        let in_need: Vec<usize> = (0..members.len())
            .into_par_iter()
            .filter(|i| needs_explanation(&Fit::of(&waters[*i]), &waters[*i], usual_of(*i)))
            .collect();
        let explained: BTreeSet<usize> = spread(&in_need, EXPLAINED).into_iter().collect();
        let per_sample: Vec<Vec<Found>> = (0..members.len())
            .into_par_iter()
            .map(|i| {
                let explain = explained.contains(&i);
                self.judge_sample(group[i], &waters[i], usual_of(i), limits, explain)
            })
            .collect();
        found.extend(per_sample.into_iter().flatten());
        let case = FileCase {
            samples: self,
            group: &group,
            limits,
        };
        for check in CHECKS {
            if let Scope::File(find) = check.scope {
                find(&case, &mut found);
            }
        }
        found
    }

    fn judge_sample(
        &self,
        sample: &Judged<'_>,
        water: &Water,
        usual: Option<&Usual>,
        limits: &Limits,
        explain: bool,
    ) -> Vec<Found> {
        let mut found = Vec::new();
        // An explanation may make possible what cannot be as it was read ...
        if explain {
            let before = Fit::of(water);
            let fault = sample_fault(self, sample, water, usual);
            found.extend(tell_sample(self, sample, &before, &fault));
        }
        // ... everything else goes by what can be.
        let as_read = water;
        let water = &self.possible(as_read);
        let charges = charges(water, 0.5, 0.5);
        let fit = Fit::from(water, &charges);
        let case = SampleCase {
            samples: self,
            sample,
            water,
            as_read,
            charges: &charges,
            fit: &fit,
            limits,
            usual,
        };
        for check in CHECKS {
            if let Scope::Sample(find) = check.scope {
                find(&case, &mut found);
            }
        }
        drop_consequences(&mut found);
        found
    }
}

/// Checks of one number: what is found in another number of the sample does not explain it.
const ONE_ANALYTE: [&str; 3] = ["value-impossible", "value-unusual", "metal-unit-doubtful"];

/// Drops what is a mere consequence of something else found in the same sample.
fn drop_consequences(found: &mut Vec<Found>) {
    let told: Vec<(&'static str, Option<String>)> = (found.iter())
        .map(|f| (f.code, f.analyte.as_deref().map(str::to_owned)))
        .collect();
    found.retain(|f| {
        let check = super::table::find(f.code);
        let yields = check.map_or(&[] as &[&str], |check| check.yields_to);
        let of_one_analyte = ONE_ANALYTE.contains(&f.code);
        !(told.iter()).any(|(code, analyte)| {
            yields.contains(code) && (!of_one_analyte || analyte.as_deref() == f.analyte.as_deref())
        })
    });
}

/// The samples of each file, each sample in the file that most of its numbers come from.
fn files(samples: &Samples<'_>, judged: &[Judged<'_>]) -> Vec<Vec<usize>> {
    let mut files: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (position, sample) in judged.iter().enumerate() {
        let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
        for entry in sample.ranked.values().filter_map(|entries| entries.first()) {
            *counts.entry(samples.file_of(entry)).or_insert(0) += 1;
        }
        // The first of those with most numbers.
        let home = counts
            .iter()
            .max_by(|a, b| a.1.cmp(b.1).then(b.0.cmp(a.0)))
            .map_or("", |(file, _)| *file);
        files.entry(home).or_default().push(position);
    }
    files.into_values().collect()
}

/// The samples of each source, by date; sources with one sample and samples without a source left out.
fn sources(judged: &[Judged<'_>]) -> Vec<Vec<usize>> {
    let mut sources: BTreeMap<[&str; 3], Vec<usize>> = BTreeMap::new();
    for (position, sample) in judged.iter().enumerate() {
        let about = sample.about;
        let trimmed = [&about.client, &about.site, &about.source]
            .map(|text| text.as_deref().map_or("", str::trim));
        if trimmed[1].is_empty() && trimmed[2].is_empty() {
            continue;
        }
        sources.entry(trimmed).or_default().push(position);
    }
    let mut sources: Vec<Vec<usize>> = sources.into_values().filter(|s| s.len() > 1).collect();
    for members in &mut sources {
        members.sort_by_key(|i| (judged[*i].about.sampled_on, judged[*i].key));
    }
    sources
}

/// What is usual for the source of each sample that has a history.
fn usual_of_sources(judged: &[Judged<'_>], sources: &[Vec<usize>]) -> BTreeMap<usize, Arc<Usual>> {
    let mut usual = BTreeMap::new();
    for members in sources {
        let waters = members.iter().map(|i| &judged[*i].water);
        if let Some(of_source) = Usual::of_source(waters) {
            let of_source = Arc::new(of_source);
            for member in members {
                usual.insert(*member, of_source.clone());
            }
        }
    }
    usual
}
