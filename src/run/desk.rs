//! Where the reports of a run come together, in the order of their names: each is written, added to
//! its samples and counted, and then let go, so that memory grows with samples and not with results.

use super::agenda::{Agenda, Item};
use super::memory::Memory;
use super::ordered::in_order;
use super::summary::{Groups, Summary};
use super::words::Words;
use super::{Request, Step, Watcher, report};
use crate::check::{Rows, Samples};
use crate::error::{Error, Result};
use crate::map::Plan;
use crate::normalize::TextRunner;
use crate::read::{Digest, FoundFile, Opened, Options, TextStream, cells_at_most};
use crate::record::Extract;
use crate::write::{self, Dataset, Former, PIECE_ROWS, Sink};
use std::sync::atomic::{AtomicUsize, Ordering};

/// Reports read before the one that is taken: so many that threads seldom wait for the longest
/// report, so few that they fit in memory.
const REPORTS_AHEAD: usize = 64;

/// Chunks of a long text that lie ready besides those that are being made: to take one takes less time than to
/// make one, but for the one that fills a row group.
const CHUNKS_READY: usize = 2;

/// Cells of the reports that were read before the one that is taken, or are being read. A report that can
/// have more than there is room for is read when it is its turn. About 250 bytes each.
const CELLS_AHEAD: usize = 1_000_000;

/// What reading a report gave.
enum Read {
    Whole(Box<Extract>, bool),
    Stream(Box<TextStream>, Box<Plan>),
    /// Nothing yet: there was no room.
    Later,
}

impl Read {
    /// Of a report that is held.
    fn cells(&self) -> usize {
        match self {
            Self::Whole(extract, _) => extract.sheets.iter().map(|s| s.cells as usize).sum(),
            Self::Stream(..) | Self::Later => 0,
        }
    }
}

/// The cells that there is room for, ahead of the report that is taken.
struct Room(AtomicUsize);

impl Room {
    /// What the report can have at most is taken first, and what it did not need given back.
    fn has(&self, cells: usize) -> bool {
        let take = |room: usize| room.checked_sub(cells);
        let order = Ordering::Relaxed;
        self.0.fetch_update(order, order, take).is_ok()
    }

    fn give_back(&self, cells: usize) {
        self.0.fetch_add(cells, Ordering::Relaxed);
    }
}

pub(super) struct Desk<'a> {
    words: &'a Words,
    /// `None` in a dry run.
    sink: Option<Sink<'a>>,
    samples: Samples<'a>,
    groups: Groups,
    memory: Memory,
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
            memory: Memory::new(request.much_memory),
            summary: Summary::default(),
        })
    }

    /// Reads and takes all reports; while one is taken in, the next are read.
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
        let room = Room(AtomicUsize::new(CELLS_AHEAD));
        let read_file = |file: &FoundFile, digest: &Option<Digest>| {
            watcher(Step::Begun { file: &file.name });
            let options = Options {
                digest: digest.clone(),
                ..Options::default()
            };
            let read = report::or_told(&file.name, || {
                let (opened, claim) = report::open(&file.path, &file.name, &options, words);
                match opened {
                    Opened::Whole(report) => {
                        let refused = report.refused;
                        Read::Whole(Box::new(report::extract(report, &claim, words)), refused)
                    }
                    Opened::Stream(stream) => {
                        let plan = report::plan(stream.report(), &claim, words);
                        Read::Stream(Box::new(stream), Box::new(plan))
                    }
                }
            });
            let read = read.unwrap_or_else(|told| Read::Whole(told, true));
            watcher(Step::Read {
                done: done.fetch_add(1, Ordering::Relaxed) + 1,
                of,
                file: &file.name,
            });
            read
        };
        let read_ahead = |index: usize| {
            let item = &agenda.items[index];
            let Item::Read(file, digest) = item else {
                return (item, None, 0);
            };
            let cells = usize::try_from(cells_at_most(&file.path)).unwrap_or(usize::MAX);
            if !room.has(cells) {
                return (item, Some(Read::Later), 0);
            }
            let read = read_file(file, digest);
            let held = read.cells().min(cells);
            room.give_back(cells - held);
            (item, Some(read), held)
        };
        let count = agenda.items.len();
        in_order(REPORTS_AHEAD, count, read_ahead, |(item, read, held)| {
            let read = match (read, item) {
                (Some(Read::Later), Item::Read(file, digest)) => Some(read_file(file, digest)),
                (read, _) => read,
            };
            self.take_read(item, read, former.as_deref_mut(), watcher)?;
            room.give_back(held);
            Ok(())
        })
    }

    /// Takes what reading an item gave; `None` where it is to be kept as it was gathered before.
    fn take_read(
        &mut self,
        item: &Item,
        read: Option<Read>,
        former: Option<&mut Former<'_>>,
        watcher: &Watcher<'_>,
    ) -> Result<()> {
        match read {
            Some(Read::Whole(extract, false)) => {
                self.summary.reports_read += 1;
                self.take(&extract, watcher)
            }
            Some(Read::Whole(refusal, true)) => {
                self.summary.files_refused += 1;
                let mut refusal = Some(*refusal);
                if let Some(former) = former {
                    former.each_piece(item.name(), PIECE_ROWS, |kept| {
                        let kept = match refusal.take() {
                            Some(refusal) => told_of(kept, &refusal),
                            None => kept,
                        };
                        self.take(&kept, watcher)
                    })?;
                }
                match refusal {
                    Some(refusal) => self.take(&refusal, watcher),
                    None => Ok(()),
                }
            }
            Some(Read::Later) => Err(Error::Law("a report was put off and not read".into())),
            Some(Read::Stream(stream, plan)) => {
                self.summary.reports_read += 1;
                self.take_stream(&stream, &plan, watcher)
            }
            None => {
                let former =
                    former.ok_or_else(|| Error::Law("a report is kept of no dataset".into()))?;
                let take = |kept| self.take(&kept, watcher);
                match former.each_piece(item.name(), PIECE_ROWS, take)? {
                    true => Ok(()),
                    false => Err(Error::Law(format!(
                        "{} is no longer in the dataset",
                        item.name()
                    ))),
                }
            }
        }
    }

    /// A long text, chunk by chunk: while one is taken, the next are normalized.
    fn take_stream(
        &mut self,
        stream: &TextStream,
        plan: &Plan,
        watcher: &Watcher<'_>,
    ) -> Result<()> {
        let runner = TextRunner::new(stream.report(), plan, self.words.vocabulary());
        let extract = |index, after_other_table| {
            report::extract_chunk(stream, index, &runner, after_other_table)
        };
        let mut other_table = false;
        in_order(
            rayon::current_num_threads() + CHUNKS_READY,
            stream.chunks(),
            |index| (index, extract(index, false)),
            |(index, mut part)| {
                // Made before it was known that its table had ended.
                if other_table {
                    part = extract(index, true);
                }
                other_table |= part.other_table;
                self.take(&part.extract, watcher)?;
                runner.give_back(part);
                Ok(())
            },
        )?;
        match report::told_at_the_end(stream, &runner) {
            Some(part) => self.take(&part.extract, watcher),
            None => Ok(()),
        }
    }

    pub(super) fn take(&mut self, extract: &Extract, watcher: &Watcher<'_>) -> Result<()> {
        self.samples.add(extract);
        if let Some(finding) = self.memory.count(&self.samples, extract) {
            watcher(Step::Told { finding });
        }
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
    pub(super) fn close(self, agenda: Agenda, watcher: &Watcher<'_>) -> Result<Summary> {
        let Self {
            words,
            sink,
            samples,
            mut groups,
            memory,
            mut summary,
        } = self;
        watcher(Step::Checking {
            samples: samples.len(),
        });
        for finding in agenda.told().iter().chain(memory.told()) {
            groups.add(finding);
        }
        summary.samples = samples.len();
        summary.reports_replaced = agenda.replaced.len();
        summary.reports_unchanged = agenda.unchanged;
        summary.reports_kept = agenda.gone.len();
        summary.files_same_bytes = agenda.same_bytes;
        let rows = Rows::of(&samples, &words.limits);
        let judge = || {
            let mut findings = agenda.findings;
            findings.extend(samples.findings(&words.limits));
            for finding in &findings {
                groups.add(finding);
            }
            findings
        };
        let verdicts = if let Some(sink) = sink {
            let judge = || {
                let findings = judge();
                watcher(Step::Writing);
                findings
            };
            let written = sink.finish(&rows, judge)?.commit()?;
            if written.results != summary.results {
                return Err(Error::Law(format!(
                    "{} results were placed, {} written",
                    summary.results, written.results
                )));
            }
            written.verdicts
        } else {
            judge();
            rows.verdicts()
        };
        summary.groups = groups.sorted();
        summary.balanced = verdicts.balanced;
        summary.unbalanced = verdicts.unbalanced;
        // Those without any result are not written, and are as incomplete as can be.
        summary.incomplete = summary.samples - summary.balanced - summary.unbalanced;
        Ok(summary)
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
