//! Where extracts go, one after the other, and come out as tables.

use super::dataset::{Dataset, Options, Staged, Written};
use super::ledger::Ledger;
use super::package::{self, Described, PACKAGE};
use super::results::Results;
use super::samples;
use super::staged_file::{StagedFile, failed};
use super::table_files::{TableFiles, Twins};
use crate::check::Rows;
use crate::error::{Error, Result};
use crate::finding::Finding;
use crate::place::Address;
use crate::record::Extract;
use crate::schema::{Column, Table};
use crate::vocabulary::Vocabulary;
use std::io::Write;
use std::path::PathBuf;
use std::sync::Arc;

/// Takes extracts in the order of their paths and writes the tables as it goes: memory grows with
/// the number of samples and findings, not of results.
pub struct Sink<'a> {
    dataset: &'a Dataset,
    next: PathBuf,
    options: Options,
    vocabulary: &'a Vocabulary,
    results: Results<'a>,
    ledger: Ledger,
    reached: Option<Reached>,
}

/// How far the reports have come.
struct Reached {
    file: Arc<str>,
    /// Sheet and cell of its last result.
    result: Option<(u16, Address)>,
}

impl<'a> Sink<'a> {
    pub(super) fn new(
        dataset: &'a Dataset,
        next: PathBuf,
        options: Options,
        vocabulary: &'a Vocabulary,
    ) -> Result<Self> {
        let open = |table| open(&next, table, &options, vocabulary);
        let results = Results::new(
            vocabulary,
            next.clone(),
            metadata(Table::Results, &options),
            options.partition,
            options.csv,
        )?;
        let ledger = Ledger::new(open(Table::Unplaced)?);
        Ok(Self {
            dataset,
            next,
            options,
            vocabulary,
            results,
            ledger,
            reached: None,
        })
    }

    /// Takes the next report, or the next piece of the same report: pieces follow each other with
    /// the same `file`, and their accounts are added up sheet by sheet.
    ///
    /// Fails when a file or a result comes out of order, when a sheet's account breaks the law of
    /// the tally, when a value is NaN or infinite, or when the disk does.
    pub fn push(&mut self, extract: &Extract) -> Result<()> {
        let (continued, mut last) = match &self.reached {
            Some(reached) if reached.file == extract.file => (true, reached.result),
            Some(reached) if reached.file > extract.file => {
                let (file, before) = (&extract.file, &reached.file);
                return Err(Error::Law(format!("{file} comes after {before}")));
            }
            _ => (false, None),
        };
        for measurement in &extract.measurements {
            let place = Some((measurement.sheet, measurement.at));
            if place < last {
                let (file, at) = (&extract.file, measurement.at);
                return Err(Error::Law(format!("{file}: result {at} out of order")));
            }
            last = place;
        }
        self.ledger.push(extract, continued)?;
        self.results.push(extract)?;
        self.reached = Some(Reached {
            file: extract.file.clone(),
            result: last,
        });
        Ok(())
    }

    /// Closes the tables. `rows` of `samples` are those of all extracts pushed; `findings` gives those
    /// that no extract carries (of `check`, of the run), and is asked while other tables are written.
    pub fn finish(
        self,
        rows: &Rows<'_>,
        findings: impl FnOnce() -> Vec<Finding> + Send,
    ) -> Result<Staged<'a>> {
        let open = |table| open(&self.next, table, &self.options, self.vocabulary);
        let samples = open(Table::Samples)?;
        let expected = self.ledger.results();
        let cells = self.ledger.cells();
        let (of_findings, of_account) = (open(Table::Findings)?, open(Table::Account)?);
        let (ledger, vocabulary) = (self.ledger, self.vocabulary);
        // The disk may take a while for the results: the other tables do not wait for it.
        let (results, (samples, others)) = rayon::join(
            || self.results.finish(),
            || {
                rayon::join(
                    || samples::write(rows, samples, vocabulary),
                    || ledger.finish(findings(), of_findings, of_account),
                )
            },
        );
        let (results, (samples, verdicts)) = (results?, samples?);
        let [findings, unplaced, account] = others?;
        if results.rows != expected {
            return Err(Error::Law(format!(
                "results has {} rows, the account {expected} cells",
                results.rows
            )));
        }
        let written = Written {
            results: results.rows,
            samples: samples.rows,
            findings: findings.rows,
            unplaced: unplaced.rows,
            cells,
            verdicts,
            changed: true,
        };
        let closed = [results, samples, findings, unplaced, account];
        let columns: Vec<Vec<Column>> = Table::ALL
            .iter()
            .map(|table| table.columns(self.vocabulary))
            .collect();
        let described: Vec<Described<'_>> = (Table::ALL.into_iter().zip(&columns).zip(&closed))
            .map(|((table, columns), closed)| Described {
                table,
                columns,
                files: &closed.files,
            })
            .collect();
        let ours = package::Written::now(&self.options.fingerprint);
        let text = package::describe(&ours, &described)?;
        let mut file = StagedFile::create(&self.next, PACKAGE)?;
        file.write_all(text.as_bytes())
            .map_err(|e| failed(file.path(), "cannot be written", e))?;
        let mut files: Vec<_> = closed.into_iter().flat_map(|table| table.files).collect();
        files.push(file.close()?);
        Ok(Staged::new(self.dataset, files, &text, written))
    }
}

fn open(
    next: &std::path::Path,
    table: Table,
    options: &Options,
    vocabulary: &Vocabulary,
) -> Result<TableFiles> {
    let twins = Twins {
        parquet: true,
        csv: options.csv,
    };
    let columns = table.columns(vocabulary);
    TableFiles::create(
        next,
        table.name(),
        &columns,
        metadata(table, options),
        twins,
    )
}

/// What every Parquet file says of itself.
fn metadata(table: Table, options: &Options) -> Vec<(String, String)> {
    let written = package::Written::now(&options.fingerprint);
    vec![
        (
            "schema_version".to_owned(),
            written.schema_version.to_string(),
        ),
        ("wellread_version".to_owned(), written.version),
        ("table".to_owned(), table.name().to_owned()),
    ]
}
