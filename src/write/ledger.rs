//! The tables beside the numbers: `findings`, `unplaced` and `account`, and the law of the tally that
//! every run checks: each non-blank cell is somewhere.

use super::samples::words;
use super::table_files::{ClosedTable, TableFiles};
use super::values::{Batch, Texts, Values, columns};
use crate::error::{Error, Result};
use crate::finding::Finding;
use crate::record::{Extract, SheetAccount};
use std::borrow::Cow;
use std::collections::HashMap;
use std::collections::hash_map::Entry;
use std::sync::Arc;

/// Rows of a row group.
const GROUP_ROWS: usize = 1 << 16;

/// One cause: code of the finding, file, and what it is about.
type Cause = (Cow<'static, str>, Arc<str>, Arc<str>);

/// Findings, unplaced cells and accounts as they come in.
pub(super) struct Ledger {
    unplaced: UnplacedRows,
    reports: Vec<ReportAccount>,
    findings: Vec<Finding>,
    /// Findings of the report at hand that a later piece of it can add cells to, by code, sheet and
    /// cause.
    causes: HashMap<Cause, usize>,
}

struct ReportAccount {
    file: Arc<str>,
    sha256: Arc<str>,
    sheets: Vec<SheetAccount>,
}

struct UnplacedRows {
    files: TableFiles,
    rows: Vec<[Arc<str>; 3]>,
    texts: Texts,
    cells: Texts,
}

impl Ledger {
    pub(super) fn new(unplaced: TableFiles) -> Self {
        Self {
            unplaced: UnplacedRows {
                files: unplaced,
                rows: Vec::new(),
                texts: Texts::default(),
                cells: Texts::default(),
            },
            reports: Vec::new(),
            findings: Vec::new(),
            causes: HashMap::new(),
        }
    }

    /// Takes a report, or the next piece of the one before.
    pub(super) fn push(&mut self, extract: &Extract, continued: bool) -> Result<()> {
        if let Some(sheet) = extract.sheets.iter().find(|sheet| !sheet.holds()) {
            return Err(Error::Law(format!(
                "{} {}: {} cells, but {} results + {} identity + {} headings + {} set aside + {} \
                 unplaced",
                extract.file,
                sheet.sheet,
                sheet.cells,
                sheet.results,
                sheet.identity,
                sheet.headings,
                sheet.set_aside,
                sheet.unplaced
            )));
        }
        let of_sheets: u64 = extract.sheets.iter().map(|sheet| sheet.unplaced).sum();
        if of_sheets != extract.unplaced.len() as u64 {
            return Err(Error::Law(format!(
                "{}: {} cells unplaced, {of_sheets} in its account",
                extract.file,
                extract.unplaced.len()
            )));
        }
        self.unplaced.push(extract)?;
        if !continued {
            self.causes.clear();
        }
        for finding in &extract.findings {
            self.tell(finding);
        }
        match self.reports.last_mut() {
            Some(report) if continued => report.add(extract),
            _ => {
                self.reports.push(ReportAccount {
                    file: extract.file.clone(),
                    sha256: extract.sha256.clone(),
                    sheets: extract.sheets.clone(),
                });
                Ok(())
            }
        }
    }

    /// One cause is one finding, however many pieces of a long text have it.
    fn tell(&mut self, finding: &Finding) {
        if let Some(cause) = &finding.cause {
            let (code, sheet) = (finding.code.clone(), finding.place.sheet.clone());
            match self.causes.entry((code, sheet, cause.clone())) {
                Entry::Occupied(known) => {
                    self.findings[*known.get()].cells += finding.cells;
                    return;
                }
                Entry::Vacant(free) => {
                    free.insert(self.findings.len());
                }
            }
        }
        self.findings.push(finding.clone());
    }

    fn sum(&self, of: fn(&SheetAccount) -> u64) -> u64 {
        let sheets = self.reports.iter().flat_map(|report| &report.sheets);
        sheets.map(of).sum()
    }

    pub(super) fn cells(&self) -> u64 {
        self.sum(|sheet| sheet.cells)
    }

    /// The rows that `results` must have.
    pub(super) fn results(&self) -> u64 {
        self.sum(|sheet| sheet.results)
    }

    /// Writes what is left: `unplaced`, `findings` with `more` of them, `account`.
    pub(super) fn finish(
        mut self,
        more: Vec<Finding>,
        mut findings: TableFiles,
        mut account: TableFiles,
    ) -> Result<[ClosedTable; 3]> {
        self.findings.extend(more);
        self.findings.sort_by(|a, b| order(a).cmp(&order(b)));
        let expected = self.sum(|sheet| sheet.unplaced);
        let (told, reports, unplaced) = (self.findings, self.reports, self.unplaced);
        // The disk may take a while for each.
        let (findings, (unplaced, account)) = rayon::join(
            || {
                for rows in told.chunks(GROUP_ROWS) {
                    findings.write(&finding_columns(rows))?;
                }
                findings.finish()
            },
            || {
                rayon::join(
                    || unplaced.finish(),
                    || {
                        account.write(&account_columns(&reports))?;
                        account.finish()
                    },
                )
            },
        );
        let (findings, unplaced, account) = (findings?, unplaced?, account?);
        if unplaced.rows != expected {
            return Err(Error::Law(format!(
                "unplaced has {} rows, the account {expected} cells",
                unplaced.rows
            )));
        }
        Ok([findings, unplaced, account])
    }
}

impl ReportAccount {
    fn add(&mut self, extract: &Extract) -> Result<()> {
        if extract.sha256.is_empty() || self.sha256.is_empty() {
            // A piece is missing: what there is is not the file.
            self.sha256 = Arc::default();
        } else if self.sha256 != extract.sha256 {
            return Err(Error::Law(format!(
                "{}: pieces of different bytes",
                extract.file
            )));
        }
        for more in &extract.sheets {
            match self.sheets.iter_mut().find(|held| held.sheet == more.sheet) {
                Some(held) => {
                    held.cells += more.cells;
                    held.results += more.results;
                    held.identity += more.identity;
                    held.headings += more.headings;
                    held.set_aside += more.set_aside;
                    held.unplaced += more.unplaced;
                }
                None => self.sheets.push(more.clone()),
            }
        }
        Ok(())
    }
}

impl UnplacedRows {
    fn push(&mut self, extract: &Extract) -> Result<()> {
        let mut sorted: Vec<_> = extract.unplaced.iter().collect();
        sorted.sort_by_key(|cell| (cell.sheet, cell.at));
        for cell in sorted {
            let sheet = &extract.sheets[usize::from(cell.sheet)].sheet;
            self.rows
                .push([extract.file.clone(), sheet.clone(), cell.reason.clone()]);
            self.cells.push(&cell.at.to_string());
            self.texts.push(&cell.text);
            if self.rows.len() == GROUP_ROWS {
                self.flush()?;
            }
        }
        Ok(())
    }

    fn flush(&mut self) -> Result<()> {
        let column = |i: usize| words(self.rows.iter().map(|row| Some(row[i].clone())));
        let batch = Batch {
            rows: self.rows.len(),
            columns: vec![
                column(0),
                column(1),
                Values::Texts(std::mem::take(&mut self.cells)),
                Values::Texts(std::mem::take(&mut self.texts)),
                column(2),
            ],
        };
        self.rows.clear();
        self.files.write(&batch)
    }

    fn finish(mut self) -> Result<ClosedTable> {
        self.flush()?;
        self.files.finish()
    }
}

/// The most severe first, then by place; what remains makes the order total.
fn order(finding: &Finding) -> impl Ord + '_ {
    (
        std::cmp::Reverse(finding.severity),
        (&finding.place, &finding.code),
        (&finding.message, &finding.help),
        (&finding.sample_key, &finding.analyte, finding.cells),
    )
}

fn finding_columns(findings: &[Finding]) -> Batch {
    let text = |get: fn(&Finding) -> Option<Arc<str>>| words(findings.iter().map(get));
    Batch {
        rows: findings.len(),
        columns: columns(&[
            &|| text(|f| Some(f.severity.name().into())),
            &|| text(|f| Some(f.code.as_ref().into())),
            &|| text(|f| Some(f.message.as_str().into())),
            &|| text(|f| (!f.help.is_empty()).then(|| f.help.as_str().into())),
            &|| text(|f| Some(f.place.file.clone())),
            &|| text(|f| Some(f.place.sheet.clone())),
            &|| text(|f| f.place.cell.map(|at| at.to_string().into())),
            &|| text(|f| f.sample_key.clone()),
            &|| text(|f| f.analyte.as_deref().map(Arc::from)),
            &|| Values::Counts(findings.iter().map(|f| f.cells).collect()),
        ]),
    }
}

fn account_columns(reports: &[ReportAccount]) -> Batch {
    let rows: Vec<(&ReportAccount, &SheetAccount)> = (reports.iter())
        .flat_map(|report| report.sheets.iter().map(move |sheet| (report, sheet)))
        .collect();
    let text = |get: fn(&(&ReportAccount, &SheetAccount)) -> Arc<str>| {
        words(rows.iter().map(|row| Some(get(row))))
    };
    let count = |get: fn(&SheetAccount) -> u64| {
        Values::Counts(rows.iter().map(|(_, sheet)| get(sheet)).collect())
    };
    Batch {
        rows: rows.len(),
        columns: vec![
            text(|(report, _)| report.file.clone()),
            text(|(_, sheet)| sheet.sheet.clone()),
            text(|(report, _)| report.sha256.clone()),
            text(|(_, sheet)| sheet.mapping.clone()),
            count(|sheet| sheet.cells),
            count(|sheet| sheet.results),
            count(|sheet| sheet.identity),
            count(|sheet| sheet.headings),
            count(|sheet| sheet.set_aside),
            count(|sheet| sheet.unplaced),
        ],
    }
}
