//! The `results` table: measurements collect until a row group is full, then are written; to one
//! file, or to one for each partition.

use super::partition::{MAX_PARTITIONS, Partition};
use super::result_rows::ResultRows;
use super::staged_file::failed;
use super::table_files::{ClosedTable, TableFiles, Twins};
use crate::error::{Error, Result};
use crate::record::{Extract, Measurement, Sample};
use crate::schema::Table;
use crate::vocabulary::Vocabulary;
use std::collections::BTreeMap;
use std::fs;
use std::path::PathBuf;

/// Rows of a row group: what a reader skips or reads at once. Fixed, so that bytes do not depend on
/// how the rows came.
const GROUP_ROWS: usize = 1 << 18;

/// The same for each of many partitions that fill at once.
const GROUP_ROWS_OF_PARTITION: usize = 1 << 15;

pub(super) struct Results<'v> {
    vocabulary: &'v Vocabulary,
    /// Folder of the next generation.
    next: PathBuf,
    metadata: Vec<(String, String)>,
    /// All rows, in the twins that are not partitioned; `None` where there are none.
    whole: Option<Stream>,
    partition: Option<Partition>,
    parts: Vec<Stream>,
    /// By folder, the index in `parts`.
    folders: BTreeMap<String, usize>,
    rows: u64,
    extracts: u64,
}

/// One file, or two twins, with the rows that it has not got yet.
struct Stream {
    files: TableFiles,
    rows: ResultRows,
    group_rows: usize,
}

impl Stream {
    fn push(
        &mut self,
        vocabulary: &Vocabulary,
        extract: &Extract,
        number: u64,
        measurement: &Measurement,
    ) -> Result<()> {
        self.rows.push(extract, number, measurement)?;
        if self.rows.len() == self.group_rows {
            self.flush(vocabulary)?;
        }
        Ok(())
    }

    fn flush(&mut self, vocabulary: &Vocabulary) -> Result<()> {
        self.files.write(&self.rows.batch(vocabulary))?;
        self.rows.clear();
        Ok(())
    }

    fn finish(mut self, vocabulary: &Vocabulary) -> Result<ClosedTable> {
        self.flush(vocabulary)?;
        self.files.finish()
    }
}

impl<'v> Results<'v> {
    pub(super) fn new(
        vocabulary: &'v Vocabulary,
        next: PathBuf,
        metadata: Vec<(String, String)>,
        partition: Option<Partition>,
        csv: bool,
    ) -> Result<Self> {
        let mut results = Self {
            vocabulary,
            next,
            metadata,
            whole: None,
            partition,
            parts: Vec::new(),
            folders: BTreeMap::new(),
            rows: 0,
            extracts: 0,
        };
        let twins = Twins {
            parquet: partition.is_none(),
            csv,
        };
        if twins.parquet || twins.csv {
            let name = Table::Results.name();
            results.whole = Some(results.stream(name, twins, GROUP_ROWS)?);
        }
        Ok(results)
    }

    fn stream(&self, name: &str, twins: Twins, group_rows: usize) -> Result<Stream> {
        let columns = Table::Results.columns(self.vocabulary);
        let files = TableFiles::create(&self.next, name, &columns, self.metadata.clone(), twins)?;
        Ok(Stream {
            files,
            rows: ResultRows::default(),
            group_rows,
        })
    }

    /// Appends the measurements of an extract, which are in the order of sheet, row and column.
    pub(super) fn push(&mut self, extract: &Extract) -> Result<()> {
        self.extracts += 1;
        self.rows += extract.measurements.len() as u64;
        if let Some(whole) = &mut self.whole {
            for measurement in &extract.measurements {
                whole.push(self.vocabulary, extract, self.extracts, measurement)?;
            }
        }
        match self.partition {
            Some(by) => self.push_to_parts(by, extract),
            None => Ok(()),
        }
    }

    fn push_to_parts(&mut self, by: Partition, extract: &Extract) -> Result<()> {
        let mut part_of: Vec<Option<usize>> = vec![None; extract.samples.len()];
        for measurement in &extract.measurements {
            let sample = measurement.sample;
            let part = match part_of[sample.0 as usize] {
                Some(part) => part,
                None => self.part(by, by.folder(extract.sample(sample)))?,
            };
            part_of[sample.0 as usize] = Some(part);
            self.parts[part].push(self.vocabulary, extract, self.extracts, measurement)?;
        }
        Ok(())
    }

    /// The index of the partition with this folder, which is made where it is new.
    fn part(&mut self, by: Partition, folder: String) -> Result<usize> {
        if let Some(&part) = self.folders.get(&folder) {
            return Ok(part);
        }
        if self.parts.len() == MAX_PARTITIONS {
            return Err(Error::Usage(format!(
                "there are more than {MAX_PARTITIONS} values of {}: partition by something with \
                 fewer",
                by.name()
            )));
        }
        let name = format!("{}/{folder}", Table::Results.name());
        let path = self.next.join(&name);
        fs::create_dir_all(&path).map_err(|e| failed(&path, "cannot be made", e))?;
        let name = format!("{name}/{}", Table::Results.name());
        let twins = Twins {
            parquet: true,
            csv: false,
        };
        let part = self.stream(&name, twins, GROUP_ROWS_OF_PARTITION)?;
        self.parts.push(part);
        self.folders.insert(folder, self.parts.len() - 1);
        Ok(self.parts.len() - 1)
    }

    pub(super) fn finish(mut self) -> Result<ClosedTable> {
        if let Some(by) = self.partition
            && self.parts.is_empty()
        {
            // A table without rows is still a table.
            self.part(by, by.folder(&Sample::default()))?;
        }
        let mut all = ClosedTable::default();
        for part in self.parts {
            let closed = part.finish(self.vocabulary)?;
            all.rows += closed.rows;
            all.files.extend(closed.files);
        }
        all.files.sort_by(|a, b| a.name.cmp(&b.name));
        if let Some(whole) = self.whole {
            let closed = whole.finish(self.vocabulary)?;
            if self.partition.is_some() && closed.rows != all.rows {
                return Err(Error::Law(format!(
                    "results: {} rows in partitions of {}",
                    all.rows, closed.rows
                )));
            }
            all.rows = closed.rows;
            all.files.extend(closed.files);
        }
        if all.rows == self.rows {
            Ok(all)
        } else {
            Err(Error::Law(format!(
                "results: {} rows written of {}",
                all.rows, self.rows
            )))
        }
    }
}
