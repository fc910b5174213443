//! The samples of each source over time: what is usual for it, and what its history shows.

use super::cause::{Usual, spread};
use super::gather::Gather;
use super::judge::judge_source;
use super::limits::Limits;
use super::samples::{Judged, Samples};
use rayon::prelude::*;
use std::collections::HashMap;

/// Samples of one source that are heard, evenly spread over its dates: a trend compares each with each.
const HISTORY: usize = 2_000;

/// What is usual for the source of each sample.
pub(super) struct Sources {
    /// Index into `usual` by the slot of a sample; `None` for samples of no source, or alone in theirs.
    of: Vec<Option<u32>>,
    /// `None` where a source has too few samples.
    usual: Vec<Option<Usual>>,
}

impl Sources {
    /// Learns what is usual for each source, and judges its history. `by_key`: all slots in the order of
    /// their keys.
    pub(super) fn of<'l>(
        samples: &Samples<'_>,
        by_key: &[u32],
        limits: &'l Limits,
    ) -> (Self, Gather<'l>) {
        let histories = histories(samples, by_key);
        let heard: Vec<(Option<Usual>, Vec<_>)> = (histories.par_iter())
            .map(|slots| {
                let slots = spread(slots, HISTORY);
                let judged: Vec<Judged<'_>> = (slots.iter())
                    .map(|slot| Judged::new(samples, *slot))
                    .collect();
                let usual = Usual::of_source(judged.iter().map(|sample| &sample.water));
                let history: Vec<&Judged<'_>> = judged.iter().collect();
                (usual, judge_source(samples, &history, limits))
            })
            .collect();
        let mut of = vec![None; by_key.len()];
        let mut usual = Vec::with_capacity(histories.len());
        let mut gather = Gather::new(limits);
        for (slots, (of_source, found)) in histories.iter().zip(heard) {
            let source = u32::try_from(usual.len()).ok();
            for slot in slots {
                of[*slot as usize] = source;
            }
            usual.push(of_source);
            found.into_iter().for_each(|found| gather.take(found));
        }
        (Self { of, usual }, gather)
    }

    /// What is usual for the source of a sample; `None` without a history.
    pub(super) fn usual(&self, slot: u32) -> Option<&Usual> {
        let source = self.of[slot as usize]?;
        self.usual[source as usize].as_ref()
    }
}

/// The samples of each source, by date; sources with one sample and samples without a source left out.
fn histories(samples: &Samples<'_>, by_key: &[u32]) -> Vec<Vec<u32>> {
    let mut index: HashMap<[&str; 3], usize> = HashMap::new();
    let mut histories: Vec<Vec<u32>> = Vec::new();
    for slot in by_key {
        let about = samples.about(*slot);
        let name = [&about.client, &about.site, &about.source]
            .map(|text| text.as_deref().map_or("", str::trim));
        if name[1].is_empty() && name[2].is_empty() {
            continue;
        }
        let source = *index.entry(name).or_insert(histories.len());
        if source == histories.len() {
            histories.push(Vec::new());
        }
        histories[source].push(*slot);
    }
    histories.retain(|slots| slots.len() > 1);
    histories.par_iter_mut().for_each(|slots| {
        slots.sort_by_key(|slot| {
            let about = samples.about(*slot);
            (about.sampled_on, &about.key)
        });
    });
    histories
}
