//! The samples of each source over time: what is usual for it, and what its history shows.

use super::cause::{Usual, spread};
use super::gather::Gather;
use super::judge::judge_source;
use super::limits::Limits;
use super::samples::{Judged, Samples};
use crate::text::fold;
use crate::vocabulary::{Field, Meaning};
use hashbrown::HashMap;
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Samples of one source that are heard, evenly spread over its dates: a trend compares each with each.
const HISTORY: usize = 2_000;

/// What is usual for the source of each sample.
pub(super) struct Sources {
    /// Index into `usual` by the slot of a sample; `None` for samples of no source, or alone in theirs.
    of: Vec<Option<u32>>,
    /// `None` where a source has too few samples.
    usual: Vec<Option<Usual>>,
    /// What is usual without one of the files, for each file that holds much of a source.
    without: Vec<Vec<(Option<u32>, Option<Usual>)>>,
}

/// A file with more than this share of a source's samples has a say in what is usual for it, so that it
/// must be left out where the file itself is judged.
const MUCH: f64 = 0.3;

impl Sources {
    /// Learns what is usual for each source, and judges its history. `by_key`: all slots in the order of
    /// their keys.
    pub(super) fn of<'l>(
        samples: &Samples<'_>,
        by_key: &[u32],
        limits: &'l Limits,
    ) -> (Self, Gather<'l>) {
        let histories = histories(samples, by_key);
        let heard: Vec<_> = (histories.par_iter())
            .map(|slots| {
                let slots = spread(slots, HISTORY);
                let judged: Vec<Judged<'_>> = (slots.iter())
                    .map(|slot| Judged::new(samples, *slot))
                    .collect();
                let usual = is_history(&judged)
                    .then(|| Usual::of_source(judged.iter().map(|sample| sample.water())))
                    .flatten();
                let history: Vec<&Judged<'_>> = judged.iter().collect();
                let without = without(samples, &judged);
                (usual, without, judge_source(samples, &history, limits))
            })
            .collect();
        let mut of = vec![None; by_key.len()];
        let mut usual = Vec::with_capacity(histories.len());
        let mut without = Vec::with_capacity(histories.len());
        let mut gather = Gather::new(limits);
        for (slots, (of_source, of_others, found)) in histories.iter().zip(heard) {
            let source = u32::try_from(usual.len()).ok();
            for slot in slots {
                of[*slot as usize] = source;
            }
            usual.push(of_source);
            without.push(of_others);
            found.into_iter().for_each(|found| gather.take(found));
        }
        (Self { of, usual, without }, gather)
    }

    /// What is usual for the source of a sample; `None` without a history.
    pub(super) fn usual(&self, slot: u32) -> Option<&Usual> {
        let source = self.of[slot as usize]?;
        self.usual[source as usize].as_ref()
    }

    /// What is usual for the source of a sample in other files than `file`; `None` without a history
    /// there.
    pub(super) fn elsewhere(&self, slot: u32, file: Option<u32>) -> Option<&Usual> {
        let source = self.of[slot as usize]? as usize;
        let without = self.without[source].iter().find(|(home, _)| *home == file);
        match without {
            Some((_, usual)) => usual.as_ref(),
            None => self.usual[source].as_ref(),
        }
    }
}

/// Whether the samples are one water over time. Many samples of one day are many places that share a
/// name (a stream, a county), and what is usual for one of them is not for the next.
fn is_history(judged: &[Judged<'_>]) -> bool {
    let days: BTreeSet<_> = (judged.iter())
        .filter_map(|sample| sample.about.sampled_on)
        .collect();
    let undated = judged
        .iter()
        .filter(|s| s.about.sampled_on.is_none())
        .count();
    2 * (days.len() + undated) > judged.len()
}

/// What is usual for a source without each file that holds much of it.
fn without(samples: &Samples<'_>, judged: &[Judged<'_>]) -> Vec<(Option<u32>, Option<Usual>)> {
    let homes: Vec<Option<u32>> = judged.iter().map(|s| samples.home(s.slot)).collect();
    let mut counts: BTreeMap<Option<u32>, usize> = BTreeMap::new();
    for home in &homes {
        *counts.entry(*home).or_insert(0) += 1;
    }
    (counts.into_iter())
        .filter(|(_, count)| *count as f64 > MUCH * judged.len() as f64)
        .map(|(file, _)| {
            let others = (judged.iter().zip(&homes)).filter(|(_, home)| **home != file);
            let waters = others.map(|(sample, _)| sample.water());
            (file, Usual::of_other_files(waters))
        })
        .collect()
}

/// The samples of each source, by date; sources with one sample and samples without a source left out. A
/// sample that says neither site nor source is known by its name, where that is one ("Borehole 1").
fn histories(samples: &Samples<'_>, by_key: &[u32]) -> Vec<Vec<u32>> {
    let mut index: HashMap<[String; 3], usize> = HashMap::new();
    // Names are mostly written in one way: each way is folded once.
    let mut as_written: HashMap<[&str; 3], usize> = HashMap::new();
    let mut histories: Vec<Vec<u32>> = Vec::new();
    let of_one_client = is_of_one_client(samples, by_key);
    for slot in by_key {
        let about = samples.about(*slot);
        let (site, mut source) = (trimmed(&about.site), trimmed(&about.source));
        if site.is_empty() && source.is_empty() {
            source = trimmed(&about.sample_ref);
        }
        if site.is_empty() && source.is_empty() {
            continue;
        }
        let client = if of_one_client {
            ""
        } else {
            trimmed(&about.client)
        };
        let name = [client, site, source];
        let source = *as_written.entry(name).or_insert_with(|| {
            let next = histories.len();
            *index.entry(name.map(fold)).or_insert(next)
        });
        if source == histories.len() {
            histories.push(Vec::new());
        }
        histories[source].push(*slot);
    }
    let is_source = |slot: &u32| is_of_a_source(samples, *slot);
    histories.retain(|slots| slots.len() > 1 && slots.iter().any(is_source));
    histories.par_iter_mut().for_each(|slots| {
        slots.sort_by_key(|slot| {
            let about = samples.about(*slot);
            (about.sampled_on, &about.key)
        });
    });
    histories
}

/// Whether no second client is named: what does not say whose it is belongs to the one who is.
fn is_of_one_client(samples: &Samples<'_>, by_key: &[u32]) -> bool {
    let mut clients = (by_key.iter()).filter_map(|slot| samples.about(*slot).client.as_ref());
    clients
        .next()
        .is_none_or(|first| clients.all(|client| client == first))
}

/// Whether what a sample is known by is a place. "Borehole 1" is; "Sample 1", "S1" and "26-0411" are numbers
/// that every laboratory gives again.
fn is_of_a_source(samples: &Samples<'_>, slot: u32) -> bool {
    let about = samples.about(slot);
    if about.site.is_some() || about.source.is_some() {
        return true;
    }
    let name = about.sample_ref.as_deref().unwrap_or_default();
    let is_word = |word: &&str| {
        word.chars().count() > 3
            && !matches!(
                samples.vocabulary.read_heading(word).meaning,
                Meaning::Field(Field::SampleRef | Field::LabRef | Field::SampleRole)
            )
    };
    name.split(|c: char| !c.is_alphabetic())
        .any(|word| is_word(&word))
}

fn trimmed(text: &Option<Arc<str>>) -> &str {
    text.as_deref().map_or("", str::trim)
}
