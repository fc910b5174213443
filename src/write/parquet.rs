//! One Parquet file: batches become row groups, columns carry their description and unit.
//!
//! Written column chunk by column chunk, without a data frame: a column of repeating texts arrives
//! as keys and distinct texts and leaves as a dictionary page and keys. The Arrow schema that the
//! file carries names text `large_string`, which every reader can filter on.

use super::pages;
use super::values::Batch;
use crate::schema::{Column, Kind};
use polars::prelude::{ParquetReader, SerReader};
use polars_arrow::datatypes::{ArrowDataType, ArrowSchema, Field};
use polars_parquet::write::{
    CompressedPage, CompressionOptions, DynIter, DynStreamingIterator, FileWriter, KeyValue,
    ParquetType, StatisticsOptions, Version, WriteOptions, fallible_streaming_iterator::convert,
    schema_to_metadata_key,
};
use rayon::prelude::*;
use std::fs::File;
use std::io::Write;
use std::path::Path;

/// What goes wrong while encoding, as text: the crate's own error stays in this module.
pub(super) type Refused = String;

/// Zstandard at its default level: the same compression as the engines this is compared with.
const OPTIONS: WriteOptions = WriteOptions {
    statistics: StatisticsOptions {
        min_value: true,
        max_value: true,
        distinct_count: false,
        null_count: true,
        // Long texts as bounds would only swell the footer.
        binary_statistics_truncate_length: Some(64),
    },
    version: Version::V1,
    compression: CompressionOptions::Zstd(None),
    data_page_size: None,
};

pub(super) struct ParquetFile<W: Write> {
    writer: FileWriter<W>,
    columns: Vec<(ParquetType, bool)>,
    metadata: Vec<(String, String)>,
    rows: u64,
}

impl<W: Write> ParquetFile<W> {
    /// `metadata` goes to the file's own entries and to those of its Arrow schema.
    pub(super) fn create(
        out: W,
        columns: &[Column],
        metadata: Vec<(String, String)>,
    ) -> Result<Self, Refused> {
        let mut schema: ArrowSchema = columns
            .iter()
            .map(|column| (column.name.as_ref().into(), field(column)))
            .collect();
        for (key, value) in &metadata {
            schema
                .metadata_mut()
                .insert(key.as_str().into(), value.as_str().into());
        }
        let writer = FileWriter::try_new(out, schema, OPTIONS).map_err(|e| e.to_string())?;
        let types = writer.parquet_schema().fields().iter().cloned();
        let columns = types
            .zip(columns)
            .map(|(of, column)| (of, column.required))
            .collect();
        Ok(Self {
            writer,
            columns,
            metadata,
            rows: 0,
        })
    }

    /// Writes a batch as one row group; an empty one writes nothing.
    pub(super) fn write(&mut self, batch: &Batch) -> Result<(), Refused> {
        if batch.rows == 0 {
            return Ok(());
        }
        let chunks: Vec<Vec<CompressedPage>> = batch
            .columns
            .par_iter()
            .zip(&self.columns)
            .map(|(values, (of, required))| pages::encode(values, of, *required, OPTIONS))
            .collect::<Result<_, _>>()?;
        let chunks = chunks.iter().map(|pages| {
            let pages = pages.iter().map(Ok);
            Ok(DynStreamingIterator::new(convert(pages)))
        });
        self.writer
            .write(batch.rows as u64, DynIter::new(chunks))
            .map_err(|e| e.to_string())?;
        self.rows += batch.rows as u64;
        Ok(())
    }

    /// Writes the footer; gives back the file and how many rows went into it.
    pub(super) fn finish(mut self) -> Result<(W, u64), Refused> {
        let mut entries = vec![schema_to_metadata_key(self.writer.schema())];
        entries.extend(
            self.metadata
                .into_iter()
                .map(|(key, value)| KeyValue::new(key, value)),
        );
        self.writer.end(Some(entries)).map_err(|e| e.to_string())?;
        Ok((self.writer.into_inner(), self.rows))
    }
}

fn field(column: &Column) -> Field {
    let mut metadata = polars_arrow::datatypes::Metadata::new();
    metadata.insert("description".into(), column.description.as_ref().into());
    if let Some(unit) = &column.unit {
        metadata.insert("unit".into(), unit.as_ref().into());
    }
    Field::new(
        column.name.as_ref().into(),
        arrow_type(column.kind),
        !column.required,
    )
    .with_metadata(metadata)
}

pub(super) const fn arrow_type(kind: Kind) -> ArrowDataType {
    match kind {
        Kind::Text => ArrowDataType::LargeUtf8,
        Kind::Number => ArrowDataType::Float64,
        Kind::Date => ArrowDataType::Date32,
        Kind::Count => ArrowDataType::Int64,
    }
}

/// Re-opens a finished file the way its users do, with the whole reader of data frames and not with
/// the half that wrote it, and counts its rows; the last of them is decoded in all its columns.
pub(super) fn count_rows(path: &Path) -> Result<u64, Refused> {
    let file = File::open(path).map_err(|e| e.to_string())?;
    let mut reader = ParquetReader::new(file);
    let rows = reader.num_rows().map_err(|e| e.to_string())?;
    if let Some(last) = rows.checked_sub(1) {
        let frame = reader
            .with_slice(Some((last, 1)))
            .finish()
            .map_err(|e| e.to_string())?;
        if frame.height() != 1 {
            return Err(format!("the last row of {rows} does not read back"));
        }
    }
    u64::try_from(rows).map_err(|e| e.to_string())
}
