//! What a former run wrote, read back report by report.
//!
//! The account says how many rows of `results` and `unplaced` each report has, and all three stand in
//! the order of the reports; so the rows of one report are a range, and nothing else is read.

use super::dataset::read_package_text;
use super::package::{Hashed, PACKAGE, Package};
use super::parquet_in::{Group, ParquetTable};
use super::recall::{FILE_OF_RESULT, Recall};
use super::staged_file::{failed, hexadecimal};
use super::switch::whereabouts;
use crate::error::{Error, Result};
use crate::finding::{Finding, Severity};
use crate::place::{Address, Place};
use crate::record::{Extract, SheetAccount, Unplaced};
use crate::schema::{SCHEMA_VERSION, Table};
use crate::vocabulary::Vocabulary;
use sha2::{Digest, Sha256};
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::fs::File;
use std::io::Read;
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// What is needed to understand the tables.
#[derive(Clone, Copy, Debug)]
pub struct Words<'a> {
    pub vocabulary: &'a Vocabulary,
    /// Codes of the findings that `Recipe::assumption` may name.
    pub assumptions: &'a [&'static str],
    /// Codes of the findings that are made anew on every run (those of `check` and of the run
    /// itself): they are not read back.
    pub made_anew: &'a [&'static str],
}

/// A report of the former run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FormerReport {
    /// Path relative to the gathered root.
    pub file: Arc<str>,
    /// Of the bytes that were read.
    pub sha256: Arc<str>,
    pub results: u64,
    pub unplaced: u64,
}

/// Rows of `results` that are given back at once of a long report: 100 bytes each.
pub const PIECE_ROWS: u64 = 250_000;

/// The dataset as a former run left it.
#[derive(Debug)]
pub struct Former<'a> {
    words: Words<'a>,
    fingerprint: String,
    /// One file, or one for each partition.
    results: Vec<Results>,
    unplaced: Source,
    reports: Vec<FormerReport>,
    /// Of the report at the same index.
    sheets: Vec<Vec<SheetAccount>>,
    /// Of each report, the first row in `unplaced`.
    first_unplaced: Vec<u64>,
    findings: BTreeMap<Arc<str>, Vec<Finding>>,
    other_findings: Vec<Finding>,
}

/// A file of `results`, and which of its rows each report has.
#[derive(Debug)]
struct Results {
    source: Source,
    rows: HashMap<Arc<str>, Range<u64>>,
}

/// A table and where it stands, for messages.
#[derive(Debug)]
struct Source {
    path: PathBuf,
    table: ParquetTable,
}

impl Source {
    /// Opens the only file of a table.
    fn open(dir: &Path, table: Table, package: &Package, words: &Words<'_>) -> Result<Self> {
        let name = format!("{}.parquet", table.name());
        match package.files.iter().find(|file| file.name == name) {
            Some(file) => Self::open_file(dir, table, file, words),
            None => Err(broken(
                &dir.join(name),
                "is not described in datapackage.json",
            )),
        }
    }

    /// Opens a file whose bytes are those that the run wrote.
    fn open_file(dir: &Path, table: Table, file: &Hashed, words: &Words<'_>) -> Result<Self> {
        let path = whereabouts(dir, &file.name)?;
        if sha256(&path)? != file.sha256 {
            return Err(broken(&path, "has changed since it was written"));
        }
        let table = ParquetTable::open(&path, &table.columns(words.vocabulary))
            .map_err(|e| broken(&path, e))?;
        Ok(Self { path, table })
    }

    fn each(
        &mut self,
        rows: Range<u64>,
        mut see: impl FnMut(&Group, usize) -> Option<()>,
    ) -> Result<()> {
        let path = &self.path;
        let mut number = rows.start;
        let seen = self.table.each(rows, |group, row| {
            number += 1;
            see(group, row).ok_or_else(|| format!("row {number} cannot be understood"))
        });
        seen.map_err(|what| broken(path, what))
    }
}

fn broken(path: &Path, what: impl Into<String>) -> Error {
    Error::Dataset {
        path: path.to_owned(),
        what: format!(
            "{}; the dataset cannot grow: gather everything into a new folder",
            what.into()
        ),
    }
}

fn results(dir: &Path, package: &Package, words: &Words<'_>) -> Result<Vec<Results>> {
    let folder = format!("{}/", Table::Results.name());
    let parts = package
        .files
        .iter()
        .filter(|file| file.name.starts_with(&folder));
    let mut sources = parts
        .map(|file| Source::open_file(dir, Table::Results, file, words))
        .collect::<Result<Vec<_>>>()?;
    if !package.is_partitioned() {
        sources.push(Source::open(dir, Table::Results, package, words)?);
    }
    let with_rows = |mut source: Source| {
        let runs = source
            .table
            .runs(FILE_OF_RESULT)
            .map_err(|e| broken(&source.path, e))?;
        let mut rows = HashMap::new();
        let mut first = 0_u64;
        for (file, count) in runs {
            if rows.insert(Arc::from(file), first..first + count).is_some() {
                return Err(broken(
                    &source.path,
                    "does not stand in the order of its files",
                ));
            }
            first += count;
        }
        Ok(Results { source, rows })
    };
    sources.into_iter().map(with_rows).collect()
}

fn sha256(path: &Path) -> Result<String> {
    let cannot = |e| failed(path, "cannot be read", e);
    let mut file = File::open(path).map_err(cannot)?;
    let mut hash = Sha256::new();
    let mut piece = vec![0; 1 << 16];
    loop {
        match file.read(&mut piece).map_err(cannot)? {
            0 => return Ok(hexadecimal(&hash.finalize())),
            read => hash.update(&piece[..read]),
        }
    }
}

impl<'a> Former<'a> {
    /// `None` where the folder does not exist or holds no dataset. Fails when the dataset is broken
    /// or was written with a schema or with words that this program does not know.
    pub fn open(dir: &Path, words: Words<'a>) -> Result<Option<Self>> {
        let path = whereabouts(dir, PACKAGE)?;
        let Some(text) = read_package_text(&path)? else {
            return Ok(None);
        };
        let Some(package) = Package::parse(&path, &text)? else {
            return Ok(None);
        };
        if package.written.schema_version != SCHEMA_VERSION {
            return Err(broken(
                &path,
                format!(
                    "was written with version {} of the tables, and this program writes version \
                     {SCHEMA_VERSION}",
                    package.written.schema_version
                ),
            ));
        }
        let source = |table| Source::open(dir, table, &package, &words);
        let mut former = Self {
            words,
            fingerprint: package.written.fingerprint.clone(),
            results: results(dir, &package, &words)?,
            unplaced: source(Table::Unplaced)?,
            reports: Vec::new(),
            sheets: Vec::new(),
            first_unplaced: Vec::new(),
            findings: BTreeMap::new(),
            other_findings: Vec::new(),
        };
        former.read_account(source(Table::Account)?)?;
        former.read_findings(source(Table::Findings)?)?;
        Ok(Some(former))
    }

    fn read_account(&mut self, mut account: Source) -> Result<()> {
        let mut unplaced = 0;
        account.each(0..account.table.rows(), |group, row| {
            let file = group.text(0, row)?;
            let sheet = SheetAccount {
                sheet: group.text(1, row)?.into(),
                mapping: group.text(3, row)?.into(),
                cells: group.count(4, row)?,
                results: group.count(5, row)?,
                identity: group.count(6, row)?,
                headings: group.count(7, row)?,
                set_aside: group.count(8, row)?,
                unplaced: group.count(9, row)?,
            };
            if self
                .reports
                .last()
                .is_none_or(|report| &*report.file != file)
            {
                self.first_unplaced.push(unplaced);
                self.sheets.push(Vec::new());
                self.reports.push(FormerReport {
                    file: file.into(),
                    sha256: group.text(2, row)?.into(),
                    results: 0,
                    unplaced: 0,
                });
            }
            let report = self.reports.last_mut()?;
            report.results += sheet.results;
            report.unplaced += sheet.unplaced;
            unplaced += sheet.unplaced;
            self.sheets.last_mut()?.push(sheet);
            Some(())
        })?;
        if self.unplaced.table.rows() != unplaced {
            let rows = self.unplaced.table.rows();
            let what = format!("has {rows} rows, the account {unplaced} cells");
            return Err(broken(&self.unplaced.path, what));
        }
        for report in &self.reports {
            let rows = self
                .results
                .iter()
                .filter_map(|part| part.rows.get(&report.file));
            let rows: u64 = rows.map(|rows| rows.end - rows.start).sum();
            if rows != report.results {
                let results = report.results;
                let what = format!("has {rows} results in the tables and {results} in the account");
                return Err(broken(Path::new(&*report.file), what));
            }
        }
        Ok(())
    }

    fn read_findings(&mut self, mut findings: Source) -> Result<()> {
        let reports: BTreeSet<&str> = self.reports.iter().map(|report| &*report.file).collect();
        findings.each(0..findings.table.rows(), |group, row| {
            let code = group.text(1, row)?;
            if self.words.made_anew.contains(&code) {
                return Some(());
            }
            let finding = Finding {
                severity: Severity::parse(group.text(0, row)?)?,
                code: Cow::Owned(code.to_owned()),
                message: group.text(2, row)?.to_owned(),
                help: group.text(3, row).map_or_else(String::new, str::to_owned),
                place: Place {
                    file: group.text(4, row)?.into(),
                    sheet: group.text(5, row)?.into(),
                    cell: match group.text(6, row) {
                        Some(cell) => Some(Address::parse(cell)?),
                        None => None,
                    },
                },
                sample_key: group.text(7, row).map(Arc::from),
                analyte: group.text(8, row).map(|code| Cow::Owned(code.to_owned())),
                cells: group.count(9, row)?,
                cause: None,
            };
            if reports.contains(&*finding.place.file) {
                let file = finding.place.file.clone();
                self.findings.entry(file).or_default().push(finding);
            } else {
                self.other_findings.push(finding);
            }
            Some(())
        })
    }

    /// [`super::Options::fingerprint`] of the run that wrote it.
    pub fn fingerprint(&self) -> &str {
        &self.fingerprint
    }

    /// Every report, by path.
    pub fn reports(&self) -> &[FormerReport] {
        &self.reports
    }

    /// The report at this path, as it was gathered; `None` when the dataset has none. Exactly what
    /// was pushed, except that samples without any result are gone and that recipes, samples and
    /// findings stand in the order of the tables. Reading in the order of the paths is cheapest.
    pub fn extract(&mut self, file: &str) -> Result<Option<Extract>> {
        match self.index(file) {
            Some(index) => self.piece(index, 0..u64::MAX).map(Some),
            None => Ok(None),
        }
    }

    /// As [`Former::extract`], but in pieces of so many rows of `results`, in order, so that a long report
    /// is not held whole: the first has the account, the findings and what is unplaced. `false` where there
    /// is no such report. A partitioned dataset gives each report as one piece.
    pub fn each_piece(
        &mut self,
        file: &str,
        rows: u64,
        mut take: impl FnMut(Extract) -> Result<()>,
    ) -> Result<bool> {
        let Some(index) = self.index(file) else {
            return Ok(false);
        };
        let rows = match self.results.len() {
            1 => rows.max(1),
            // Its rows come in order only when they are together.
            _ => u64::MAX,
        };
        let mut first = 0_u64;
        loop {
            let after = first.saturating_add(rows);
            take(self.piece(index, first..after)?)?;
            if after >= self.reports[index].results {
                return Ok(true);
            }
            first = after;
        }
    }

    fn index(&self, file: &str) -> Option<usize> {
        let found = self
            .reports
            .binary_search_by(|report| (*report.file).cmp(file));
        found.ok()
    }

    /// The results of a report from one row of its own to another, with all else where that is the first.
    fn piece(&mut self, index: usize, of_rows: Range<u64>) -> Result<Extract> {
        let report = &self.reports[index];
        let is_first = of_rows.start == 0;
        let sheets: Vec<SheetAccount> = (self.sheets[index].iter())
            .map(|sheet| match is_first {
                true => sheet.clone(),
                false => SheetAccount {
                    sheet: sheet.sheet.clone(),
                    mapping: sheet.mapping.clone(),
                    ..SheetAccount::default()
                },
            })
            .collect();
        let mut recall = Recall::new(self.words, report, &sheets);
        for part in &mut self.results {
            if let Some(rows) = part.rows.get(&report.file) {
                let from = rows.start.saturating_add(of_rows.start).min(rows.end);
                let to = rows.start.saturating_add(of_rows.end).min(rows.end);
                (part.source).each(from..to, |group, row| recall.result(group, row))?;
            }
        }
        if !is_first {
            return Ok(recall.finish());
        }
        let first_unplaced = self.first_unplaced[index];
        let mut unplaced = Vec::new();
        let rows = first_unplaced..first_unplaced + report.unplaced;
        self.unplaced.each(rows, |group, row| {
            unplaced.push(Unplaced {
                sheet: recall.sheet(group.text(0, row)?, group.text(1, row)?)?,
                at: Address::parse(group.text(2, row)?)?,
                text: group.text(3, row)?.into(),
                reason: recall.shared(group.text(4, row)?),
            });
            Some(())
        })?;
        Ok(Extract {
            findings: (self.findings.get(&report.file).cloned()).unwrap_or_default(),
            unplaced,
            ..recall.finish()
        })
    }

    /// Findings about files that are no report of the dataset (refused, same bytes as another).
    pub fn other_findings(&self) -> &[Finding] {
        &self.other_findings
    }
}
