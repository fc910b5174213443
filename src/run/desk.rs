//! Where the reports of a run come together, in the order of their names: each is written, added to
//! its samples and counted, and then let go, so that memory grows with samples and not with results.

use super::agenda::{Agenda, Item};
use super::summary::{Groups, Summary};
use super::words::Words;
use super::{Request, Step, Watcher, report};
use crate::check::Samples;
use crate::error::{Error, Result};
use crate::normalize::PartOfText;
use crate::read::{Opened, Options, TextStream};
use crate::record::{Extract, Figures};
use crate::write::{self, Dataset, Former, Sink};
use rayon::prelude::*;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Reports read at once. While one batch is written the next is read; large enough that threads
/// seldom wait for the longest report, small enough that a batch fits in memory.
const BATCH: usize = 64;

/// What reading a report gave.
enum Read {
    Whole(Box<Extract>, bool),
    Stream(Box<TextStream>),
}

pub(super) struct Desk<'a> {
    words: &'a Words,
    /// `None` in a dry run.
    sink: Option<Sink<'a>>,
    samples: Samples<'a>,
    groups: Groups,
    summary: Summary,
}

impl<'a> Desk<'a> {
    pub(super) fn open(
        dataset: Option<&'a Dataset>,
        words: &'a Words,
        request: &Request,
    ) -> Result<Self> {
        let options = write::Options {
            csv: request.csv,
            partition: request.partition,
            fingerprint: words.fingerprint(),
        };
        Ok(Self {
            words,
            sink: dataset
                .map(|d| d.begin(options, words.vocabulary()))
                .transpose()?,
            samples: Samples::new(words.vocabulary()),
            groups: Groups::default(),
            summary: Summary::default(),
        })
    }

    /// Reads batch by batch; while one is taken in, the next is read.
    pub(super) fn take_all(
        &mut self,
        agenda: &Agenda,
        mut former: Option<&mut Former<'_>>,
        watcher: &Watcher<'_>,
    ) -> Result<()> {
        let words = self.words;
        let of = agenda
            .items
            .iter()
            .filter(|item| matches!(item, Item::Read(..)))
            .count();
        let done = AtomicUsize::new(0);
        let read = |items: &[Item]| -> Vec<Option<Read>> {
            items
                .par_iter()
                .map(|item| {
                    let Item::Read(file, digest) = item else {
                        return None;
                    };
                    let options = Options {
                        digest: digest.clone(),
                        ..Options::default()
                    };
                    let read = match report::open(&file.path, &file.name, &options, words) {
                        Opened::Whole(report) => {
                            Read::Whole(Box::new(report::extract(&report, words)), report.refused)
                        }
                        Opened::Stream(stream) => Read::Stream(Box::new(stream)),
                    };
                    watcher(Step::Read {
                        done: done.fetch_add(1, Ordering::Relaxed) + 1,
                        of,
                        file: &file.name,
                    });
                    Some(read)
                })
                .collect()
        };
        let mut batches = agenda.items.chunks(BATCH);
        let Some(mut items) = batches.next() else {
            return Ok(());
        };
        let mut batch = read(items);
        loop {
            let next = batches.next();
            let (following, taken) = rayon::join(
                || next.map(read),
                || self.take_batch(items, batch, former.as_deref_mut()),
            );
            taken?;
            match (next, following) {
                (Some(next), Some(following)) => (items, batch) = (next, following),
                _ => return Ok(()),
            }
        }
    }

    fn take_batch(
        &mut self,
        items: &[Item],
        batch: Vec<Option<Read>>,
        mut former: Option<&mut Former<'_>>,
    ) -> Result<()> {
        for (item, read) in items.iter().zip(batch) {
            match read {
                Some(Read::Whole(extract, false)) => {
                    self.summary.reports_read += 1;
                    self.take(&extract)?;
                }
                Some(Read::Whole(refusal, true)) => {
                    self.summary.files_refused += 1;
                    let kept = match former.as_deref_mut() {
                        Some(former) => former.extract(item.name())?,
                        None => None,
                    };
                    let extract = match kept {
                        Some(kept) => told_of(kept, &refusal),
                        None => *refusal,
                    };
                    self.take(&extract)?;
                }
                Some(Read::Stream(stream)) => {
                    self.summary.reports_read += 1;
                    self.take_stream(&stream)?;
                }
                None => {
                    let former = former
                        .as_deref_mut()
                        .ok_or_else(|| Error::Law("a report is kept of no dataset".into()))?;
                    let kept = former.extract(item.name())?.ok_or_else(|| {
                        Error::Law(format!("{} is no longer in the dataset", item.name()))
                    })?;
                    self.take(&kept)?;
                }
            }
        }
        Ok(())
    }

    /// A long text, wave by wave: the chunks of a wave are normalized in parallel, then taken in
    /// order while the next wave is at work.
    fn take_stream(&mut self, stream: &TextStream) -> Result<()> {
        let words = self.words;
        let plan = report::plan(stream.report(), words);
        let width = rayon::current_num_threads() * 2;
        let chunks: Vec<usize> = (0..stream.chunks()).collect();
        let run = |wave: &[usize]| -> Vec<(usize, PartOfText)> {
            wave.par_iter()
                .map(|&index| {
                    let part = report::extract_chunk(stream, index, &plan, words, false);
                    (index, part)
                })
                .collect()
        };
        let mut waves = chunks.chunks(width);
        let mut wave = waves.next().map(run);
        let mut other_table = false;
        while let Some(parts) = wave {
            let next = waves.next();
            let (following, taken) = rayon::join(
                || next.map(run),
                || {
                    parts.into_iter().try_for_each(|(index, mut part)| {
                        // Made before it was known that its table had ended.
                        if other_table {
                            part = report::extract_chunk(stream, index, &plan, words, true);
                        }
                        other_table |= part.other_table;
                        self.take(&part.extract)
                    })
                },
            );
            taken?;
            wave = following;
        }
        Ok(())
    }

    pub(super) fn take(&mut self, extract: &Extract) -> Result<()> {
        self.samples.add(extract);
        for finding in &extract.findings {
            self.groups.add(finding);
        }
        for sheet in &extract.sheets {
            self.summary.cells += sheet.cells;
            self.summary.cells_unplaced += sheet.unplaced;
            self.summary.results += sheet.results;
        }
        match &mut self.sink {
            Some(sink) => sink.push(extract),
            None => Ok(()),
        }
    }

    /// Judges the samples, closes the tables, and makes them visible.
    pub(super) fn close(mut self, agenda: Agenda, watcher: &Watcher<'_>) -> Result<Summary> {
        watcher(Step::Checking {
            samples: self.samples.len(),
        });
        let limits = &self.words.limits;
        let found = self.samples.findings(limits);
        for finding in agenda.told() {
            self.groups.add(&finding);
        }
        let mut findings = agenda.findings;
        findings.extend(found);
        for finding in &findings {
            self.groups.add(finding);
        }
        self.summary.samples = self.samples.len();
        self.summary.reports_replaced = agenda.replaced.len();
        self.summary.reports_unchanged = agenda.unchanged;
        self.summary.reports_kept = agenda.gone.len();
        self.summary.files_same_bytes = agenda.same_bytes;
        self.summary.groups = self.groups.sorted();
        let verdicts = Verdicts::default();
        let figures = |key: &Arc<str>| {
            let figures = self.samples.figures(key, limits)?;
            verdicts.count(&figures);
            Some(figures)
        };
        if let Some(sink) = self.sink {
            watcher(Step::Writing);
            let written = sink.finish_with(&figures, findings)?.commit()?;
            if written.results != self.summary.results {
                return Err(Error::Law(format!(
                    "{} results were placed, {} written",
                    self.summary.results, written.results
                )));
            }
        } else {
            self.samples.keys().par_bridge().for_each(|key| {
                figures(key);
            });
        }
        (self.summary.balanced, self.summary.unbalanced) = verdicts.told();
        // Those without any result are not written, and are as incomplete as can be.
        self.summary.incomplete =
            self.summary.samples - self.summary.balanced - self.summary.unbalanced;
        Ok(self.summary)
    }
}

/// Verdicts on the charge balance, counted as figures are made.
#[derive(Default)]
struct Verdicts {
    balanced: AtomicUsize,
    unbalanced: AtomicUsize,
}

impl Verdicts {
    fn count(&self, figures: &Figures) {
        let of = match figures.charge_balance_verdict.as_deref() {
            Some("balanced") => &self.balanced,
            Some("unbalanced") => &self.unbalanced,
            _ => return,
        };
        of.fetch_add(1, Ordering::Relaxed);
    }

    fn told(&self) -> (usize, usize) {
        let of = |count: &AtomicUsize| count.load(Ordering::Relaxed);
        (of(&self.balanced), of(&self.unbalanced))
    }
}

/// A report that can no longer be read takes nothing away: what it brought is kept, and why it could
/// not be read is said once.
fn told_of(mut kept: Extract, refusal: &Extract) -> Extract {
    kept.findings
        .retain(|finding| !refusal.findings.contains(finding));
    kept.findings.extend(refusal.findings.iter().cloned());
    kept
}
