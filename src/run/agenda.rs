//! What a run has to do: which files are read, which reports are kept as they were gathered.

use super::findings;
use crate::finding::Finding;
use crate::read::{self, Digest, Discovery, FoundFile};
use crate::write::{Former, FormerReport};
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// One report of the next dataset.
#[derive(Clone, Debug)]
pub(super) enum Item {
    /// To be read: new, changed, or the words have changed. No digest where nothing depended on it, or
    /// where the file could not be hashed; opening it will say why.
    Read(FoundFile, Option<Digest>),
    /// As it was gathered before.
    Keep(Arc<str>),
}

impl Item {
    pub(super) fn name(&self) -> &Arc<str> {
        match self {
            Self::Read(file, _) => &file.name,
            Self::Keep(name) => name,
        }
    }
}

/// All reports of the next dataset in the order of their names, and what was noticed on the way.
#[derive(Debug, Default)]
pub(super) struct Agenda {
    pub(super) items: Vec<Item>,
    /// Findings of the dataset that belong to no report: files with the bytes of another, files that
    /// were passed over.
    pub(super) findings: Vec<Finding>,
    /// Said at the end of this run only: they tell of the difference to the former run.
    pub(super) replaced: BTreeMap<Arc<str>, FormerReport>,
    pub(super) unchanged: usize,
    pub(super) gone: Vec<FormerReport>,
    pub(super) same_bytes: usize,
}

impl Agenda {
    /// `fresh`: the words have changed, so that what can be read is read again.
    pub(super) fn new(found: Discovery, former: Option<&Former<'_>>, fresh: bool) -> Self {
        let Discovery { files, findings } = found;
        let digests = digests(&files, former.is_some());
        let before: BTreeMap<Arc<str>, FormerReport> = former
            .map(|f| f.reports())
            .unwrap_or_default()
            .iter()
            .map(|report| (report.file.clone(), report.clone()))
            .collect();
        let mut agenda = Self {
            findings,
            ..Self::default()
        };
        let first = first_names(&files, &digests, &before);
        let found: BTreeSet<Arc<str>> = files.iter().map(|file| file.name.clone()).collect();
        // What was said about files that are no reports holds until they are looked at again.
        let other = former.map(|f| f.other_findings()).unwrap_or_default();
        let looked_at: BTreeSet<Arc<str>> = agenda
            .findings
            .iter()
            .map(|finding| finding.place.file.clone())
            .chain(found.iter().cloned())
            .collect();
        agenda.findings.extend(
            other
                .iter()
                .filter(|finding| !looked_at.contains(&finding.place.file))
                .cloned(),
        );
        for (file, digest) in files.into_iter().zip(digests) {
            agenda.add(file, digest, &first, &before, fresh);
        }
        for (name, report) in before {
            if !found.contains(&name) {
                agenda.items.push(Item::Keep(name));
                agenda.gone.push(report);
            }
        }
        agenda.items.sort_by(|a, b| a.name().cmp(b.name()));
        agenda
    }

    fn add(
        &mut self,
        file: FoundFile,
        digest: Option<Digest>,
        first: &BTreeMap<Arc<str>, Arc<str>>,
        before: &BTreeMap<Arc<str>, FormerReport>,
        fresh: bool,
    ) {
        if let Some(digest) = &digest {
            let first = &first[&digest.sha256];
            if *first != file.name {
                self.same_bytes += 1;
                self.findings
                    .push(read::same_bytes_again(&file.name, first));
                return;
            }
            if let Some(report) = before.get(&file.name) {
                if report.sha256 != digest.sha256 {
                    self.replaced.insert(file.name.clone(), report.clone());
                } else if !fresh {
                    self.unchanged += 1;
                    self.items.push(Item::Keep(file.name));
                    return;
                }
            }
        }
        self.items.push(Item::Read(file, digest));
    }

    /// What is said at the end of this run about reports of the former one.
    pub(super) fn told(&self) -> Vec<Finding> {
        self.gone
            .iter()
            .map(findings::report_gone)
            .chain(self.replaced.values().map(findings::report_changed))
            .collect()
    }
}

/// The digests that decide what is read: of all files where there are some from before, else of those
/// that can have the bytes of another, being as long. The others are hashed as they are read.
fn digests(files: &[FoundFile], has_former: bool) -> Vec<Option<Digest>> {
    let mut of_length: BTreeMap<u64, usize> = BTreeMap::new();
    for file in files {
        *of_length.entry(file.bytes).or_default() += 1;
    }
    files
        .par_iter()
        .map(|file| {
            let decides = has_former || of_length[&file.bytes] > 1;
            // Why it cannot be read is said when it is opened.
            decides.then(|| Digest::of_file(&file.path).ok()).flatten()
        })
        .collect()
}

/// For each content, the name under which it is read: the one it was gathered under before, else
/// the first by name.
fn first_names(
    files: &[FoundFile],
    digests: &[Option<Digest>],
    before: &BTreeMap<Arc<str>, FormerReport>,
) -> BTreeMap<Arc<str>, Arc<str>> {
    let mut first: BTreeMap<Arc<str>, Arc<str>> = before
        .values()
        .map(|report| (report.sha256.clone(), report.file.clone()))
        .collect();
    // A file that has other bytes now no longer stands for its former ones.
    for (file, digest) in files.iter().zip(digests) {
        if let (Some(report), Some(digest)) = (before.get(&file.name), digest)
            && report.sha256 != digest.sha256
            && first.get(&report.sha256) == Some(&file.name)
        {
            first.remove(&report.sha256);
        }
    }
    for (file, digest) in files.iter().zip(digests) {
        if let Some(digest) = digest {
            first
                .entry(digest.sha256.clone())
                .or_insert_with(|| file.name.clone());
        }
    }
    first
}
