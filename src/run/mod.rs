//! The run: the only module that knows all six stages. [`gather`] reads as the summary of the program.

mod agenda;
mod desk;
mod encoding;
mod findings;
mod memory;
mod ordered;
mod report;
mod seen;
mod summary;
mod words;

pub use findings::CODES;
pub use seen::{Seen, mapped, see, see_example, see_with};
pub use summary::{Group, Groups, Summary};
pub use words::Words;

use crate::error::{Error, Result};
use crate::finding::Finding;
use crate::read;
use crate::write::{Dataset, Former, Partition, Parts, Wait};
use agenda::Agenda;
use desk::Desk;
use std::path::PathBuf;

/// What `gather` is asked to do.
#[derive(Clone, Debug, Default)]
pub struct Request {
    /// Files, folders and patterns.
    pub paths: Vec<PathBuf>,
    /// Folder of the dataset.
    pub into: PathBuf,
    /// Folder of mapping files; `None` looks beside the data.
    pub mappings: Option<PathBuf>,
    /// Read and check, write nothing.
    pub dry_run: bool,
    /// Write the CSV twins.
    pub csv: bool,
    /// Write `results` as a folder of partitions.
    pub partition: Option<Partition>,
    /// Wait for another run that writes to the dataset, instead of refusing.
    pub wait: bool,
    /// Bytes that the samples may take before the run says so; `None` for 1 GiB.
    pub much_memory: Option<usize>,
}

impl Request {
    const fn waits(&self) -> Wait {
        if self.wait { Wait::Yes } else { Wait::No }
    }
}

/// How far a run is; told to whoever watches. Called from several threads.
#[derive(Clone, Copy, Debug)]
pub enum Step<'a> {
    Found {
        files: usize,
    },
    /// A file is being read.
    Begun {
        file: &'a str,
    },
    Read {
        done: usize,
        of: usize,
        file: &'a str,
    },
    Checking {
        samples: usize,
    },
    Writing,
    /// To be said at once: the run may not come to its end.
    Told {
        finding: &'a Finding,
    },
}

impl Step<'_> {
    /// Whether nothing more of this kind follows, so that it must be shown.
    pub const fn is_last(&self) -> bool {
        match self {
            Self::Read { done, of, .. } => *done == *of,
            Self::Begun { .. } => false,
            _ => true,
        }
    }
}

/// Whoever watches a run.
pub type Watcher<'a> = dyn Fn(Step<'_>) + Sync + 'a;

/// Reads reports into a dataset: all of the next generation becomes visible at once, or the former
/// one stays. What is wrong with the data is in the findings; an error means that nothing changed.
pub fn gather(request: &Request, watcher: &Watcher<'_>) -> Result<Summary> {
    let words = Words::load(request)?;
    let found = read::discover(&request.paths);
    watcher(Step::Found {
        files: found.files.len(),
    });
    let dataset = match request.dry_run {
        true => None,
        false => Some(Dataset::open(&request.into, request.waits())?),
    };
    let assumptions = words.assumptions();
    let made_anew = words.made_anew();
    let mut former = Former::open(
        &request.into,
        crate::write::Words {
            vocabulary: words.vocabulary(),
            assumptions: &assumptions,
            made_anew: &made_anew,
        },
    )?;
    let fresh = former
        .as_ref()
        .is_some_and(|f| f.fingerprint() != words.fingerprint());
    let agenda = Agenda::new(found, former.as_ref(), fresh);
    let mut desk = Desk::open(dataset.as_ref(), &words, request)?;
    desk.take_all(&agenda, former.as_mut(), watcher)?;
    desk.close(agenda, watcher)
}

/// Brings the parts of a dataset together, as if one run had gathered all their reports: accounts
/// and findings in one place, samples that several parts speak of on one row, the law of the tally
/// over all of it. Nothing is read again; the parts stay.
pub fn join(request: &Request, watcher: &Watcher<'_>) -> Result<Summary> {
    let words = Words::load(request)?;
    let dataset = Dataset::open(&request.into, request.waits())?;
    let assumptions = words.assumptions();
    let made_anew = words.made_anew();
    let of_write = crate::write::Words {
        vocabulary: words.vocabulary(),
        assumptions: &assumptions,
        made_anew: &made_anew,
    };
    let mut parts = Parts::open(&request.into, of_write, request.waits())?;
    if parts.fingerprint() != words.fingerprint() {
        return Err(Error::Usage(
            "the parts were read with other mappings, or another version of the program, than this \
             run has: pass the folder of mappings that they were read with"
                .to_owned(),
        ));
    }
    let reports = parts.reports();
    watcher(Step::Found { files: reports });
    let mut desk = Desk::open(Some(&dataset), &words, request)?;
    let agenda = Agenda {
        unchanged: reports,
        findings: parts.other_findings().cloned().collect(),
        ..Agenda::default()
    };
    parts.each(|extract| desk.take(&extract, watcher))?;
    desk.close(agenda, watcher)
}
