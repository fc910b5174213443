//! The twins of one table: a Parquet file and, unless left out, a CSV file with the same rows.

use super::comma::CommaFile;
use super::parquet::{self, ParquetFile};
use super::staged_file::{Closed, StagedFile, failed};
use super::values::Batch;
use crate::error::{Error, Result};
use crate::schema::Column;
use std::path::{Path, PathBuf};

pub(super) struct TableFiles {
    /// Without the ending.
    path: PathBuf,
    parquet: Option<ParquetFile<StagedFile>>,
    comma: Option<CommaFile<StagedFile>>,
    rows: u64,
}

/// Which of the twins are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Twins {
    pub(super) parquet: bool,
    pub(super) csv: bool,
}

/// A table, closed: its Parquet files, then its CSV file, where there is one.
#[derive(Debug, Default)]
pub(super) struct ClosedTable {
    pub(super) rows: u64,
    pub(super) files: Vec<Closed>,
}

impl TableFiles {
    /// Makes `name.parquet` and `name.csv`, or one of them, in `folder`; `name` may lead into a
    /// folder below it, which is there.
    pub(super) fn create(
        folder: &Path,
        name: &str,
        columns: &[Column],
        metadata: Vec<(String, String)>,
        twins: Twins,
    ) -> Result<Self> {
        let path = folder.join(name);
        let parquet = if twins.parquet {
            let file = StagedFile::create(folder, &format!("{name}.parquet"))?;
            let parquet = ParquetFile::create(file, columns, metadata);
            Some(parquet.map_err(|e| refused(&path, e))?)
        } else {
            None
        };
        let comma = if twins.csv {
            let file = StagedFile::create(folder, &format!("{name}.csv"))?;
            let comma = CommaFile::create(file, columns);
            Some(comma.map_err(|e| failed(&path, "cannot be written", e))?)
        } else {
            None
        };
        Ok(Self {
            path,
            parquet,
            comma,
            rows: 0,
        })
    }

    pub(super) fn write(&mut self, batch: &Batch) -> Result<()> {
        if let Some(column) = batch.columns.iter().find(|c| c.len() != batch.rows) {
            return Err(Error::Law(format!(
                "{}: a column of {} values in a batch of {} rows",
                self.path.display(),
                column.len(),
                batch.rows
            )));
        }
        let Self { parquet, comma, .. } = self;
        let (parquet, comma) = rayon::join(
            || parquet.as_mut().map_or(Ok(()), |twin| twin.write(batch)),
            || comma.as_mut().map_or(Ok(()), |twin| twin.write(batch)),
        );
        self.rows += batch.rows as u64;
        parquet.map_err(|e| refused(&self.path, e))?;
        comma.map_err(|e| failed(&self.path.with_extension("csv"), "cannot be written", e))
    }

    /// Closes, syncs, re-opens and counts.
    pub(super) fn finish(self) -> Result<ClosedTable> {
        let Self {
            path,
            parquet,
            comma,
            rows,
        } = self;
        // The disk may take a while for each of the twins.
        let (parquet, comma) = rayon::join(
            || {
                parquet
                    .map(|twin| finish_parquet(twin, &path, rows))
                    .transpose()
            },
            || {
                comma
                    .map(|twin| finish_comma(twin, &path, rows))
                    .transpose()
            },
        );
        let files = parquet?.into_iter().chain(comma?).collect();
        Ok(ClosedTable { rows, files })
    }
}

fn finish_parquet(twin: ParquetFile<StagedFile>, path: &Path, rows: u64) -> Result<Closed> {
    let (file, in_parquet) = twin.finish().map_err(|e| refused(path, e))?;
    let path = file.path().to_owned();
    let closed = file.close()?;
    let counted = parquet::count_rows(&path).map_err(|e| refused(&path, e))?;
    if counted == rows && in_parquet == rows {
        return Ok(closed);
    }
    Err(Error::Law(format!(
        "{}: {counted} rows re-opened, {in_parquet} written of {rows}",
        path.display()
    )))
}

fn finish_comma(twin: CommaFile<StagedFile>, path: &Path, rows: u64) -> Result<Closed> {
    let (file, in_csv) = twin.finish();
    let closed = file.close()?;
    if in_csv == rows {
        return Ok(closed);
    }
    Err(Error::Law(format!(
        "{}.csv: {in_csv} rows written of {rows}",
        path.display()
    )))
}

fn refused(path: &Path, what: parquet::Refused) -> Error {
    Error::Dataset {
        path: path.to_owned(),
        what,
    }
}
