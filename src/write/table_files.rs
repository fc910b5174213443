//! The twins of one table: a Parquet file and, unless left out, a CSV file with the same rows.

use super::comma::CommaFile;
use super::parquet::{self, ParquetFile};
use super::staged_file::{Closed, StagedFile, failed};
use super::values::Batch;
use crate::error::{Error, Result};
use crate::schema::Column;
use std::path::{Path, PathBuf};

pub(super) struct TableFiles {
    path: PathBuf,
    parquet: ParquetFile<StagedFile>,
    comma: Option<CommaFile<StagedFile>>,
}

/// The closed twins; the CSV file is the second, where there is one.
pub(super) struct ClosedTable {
    pub(super) rows: u64,
    pub(super) files: Vec<Closed>,
}

impl TableFiles {
    /// Makes `name.parquet`, and `name.csv` when `csv`, in `folder`.
    pub(super) fn create(
        folder: &Path,
        name: &str,
        columns: &[Column],
        metadata: Vec<(String, String)>,
        csv: bool,
    ) -> Result<Self> {
        let file = StagedFile::create(folder, &format!("{name}.parquet"))?;
        let path = file.path().to_owned();
        let parquet =
            ParquetFile::create(file, columns, metadata).map_err(|e| refused(&path, e))?;
        let comma = if csv {
            let file = StagedFile::create(folder, &format!("{name}.csv"))?;
            let path = file.path().to_owned();
            let comma = CommaFile::create(file, columns);
            Some(comma.map_err(|e| failed(&path, "cannot be written", e))?)
        } else {
            None
        };
        Ok(Self {
            path,
            parquet,
            comma,
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
            || parquet.write(batch),
            || comma.as_mut().map_or(Ok(()), |comma| comma.write(batch)),
        );
        parquet.map_err(|e| refused(&self.path, e))?;
        comma.map_err(|e| failed(&self.path.with_extension("csv"), "cannot be written", e))
    }

    /// Closes, syncs, re-opens and counts.
    pub(super) fn finish(self) -> Result<ClosedTable> {
        let (file, rows) = self.parquet.finish().map_err(|e| refused(&self.path, e))?;
        let mut files = vec![file.close()?];
        let counted = parquet::count_rows(&self.path).map_err(|e| refused(&self.path, e))?;
        if counted != rows {
            return Err(Error::Law(format!(
                "{}: {counted} rows re-opened, {rows} written",
                self.path.display()
            )));
        }
        if let Some(comma) = self.comma {
            let (file, in_csv) = comma.finish();
            files.push(file.close()?);
            if in_csv != rows {
                return Err(Error::Law(format!(
                    "{}: {rows} rows, but {in_csv} in its CSV twin",
                    self.path.display()
                )));
            }
        }
        Ok(ClosedTable { rows, files })
    }
}

fn refused(path: &Path, what: parquet::Refused) -> Error {
    Error::Dataset {
        path: path.to_owned(),
        what,
    }
}
