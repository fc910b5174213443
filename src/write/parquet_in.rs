//! One Parquet file of a former run, read back row group by row group.

use super::parquet::{Refused, arrow_type};
use crate::guard::guard;
use crate::schema::{Column, Kind};
use polars_arrow::array::{Array, PrimitiveArray, StaticArray, Utf8ViewArray};
use polars_arrow::datatypes::{ArrowDataType, Field};
use polars_parquet::read::{
    BasicDecompressor, ColumnChunkMetadata, FileMetadata, PageReader, column_iter_to_arrays,
    infer_schema, read_metadata,
};
use rayon::prelude::*;
use std::fs::File;
use std::io::{Cursor, Read, Seek, SeekFrom};
use std::ops::Range;
use std::path::Path;

/// More than any page of ours: a bound on what a broken file can make us allocate.
const MAX_PAGE_BYTES: usize = 1 << 30;

#[derive(Debug)]
pub(super) struct ParquetTable {
    file: File,
    metadata: FileMetadata,
    kinds: Vec<Kind>,
    /// The row group read last.
    group: Option<(usize, Group)>,
}

/// A row group: the columns of the table, decoded.
#[derive(Debug)]
pub(super) struct Group {
    columns: Vec<Decoded>,
}

#[derive(Debug)]
enum Decoded {
    Texts(Utf8ViewArray),
    Numbers(PrimitiveArray<f64>),
    Days(PrimitiveArray<i32>),
    Counts(PrimitiveArray<i64>),
}

impl ParquetTable {
    /// Opens a file that must have exactly these columns.
    pub(super) fn open(path: &Path, columns: &[Column]) -> Result<Self, Refused> {
        let mut file = File::open(path).map_err(|e| e.to_string())?;
        let metadata = guard(|| read_metadata(&mut file))?.map_err(|e| e.to_string())?;
        let schema = guard(|| infer_schema(&metadata))?.map_err(|e| e.to_string())?;
        let as_expected = |(field, column): (&Field, &Column)| {
            field.name.as_str() == column.name && field.dtype == read_type(column.kind)
        };
        if schema.len() != columns.len() || !schema.iter_values().zip(columns).all(as_expected) {
            return Err("has other columns than the table should have".to_owned());
        }
        Ok(Self {
            file,
            metadata,
            kinds: columns.iter().map(|column| column.kind).collect(),
            group: None,
        })
    }

    pub(super) fn rows(&self) -> u64 {
        self.metadata.num_rows as u64
    }

    /// Calls `see` for each of these rows, in order. Reading on is cheap, going back reads anew.
    pub(super) fn each<E: From<Refused>>(
        &mut self,
        rows: Range<u64>,
        mut see: impl FnMut(&Group, usize) -> Result<(), E>,
    ) -> Result<(), E> {
        let mut first = 0;
        for index in 0..self.metadata.row_groups.len() {
            let after = first + self.metadata.row_groups[index].num_rows() as u64;
            let (from, to) = (rows.start.max(first), rows.end.min(after));
            if from < to {
                let group = self.load(index)?;
                for row in from..to {
                    see(group, (row - first) as usize)?;
                }
            }
            first = after;
        }
        Ok(())
    }

    fn load(&mut self, index: usize) -> Result<&Group, Refused> {
        let group = match self.group.take() {
            Some((held, group)) if held == index => group,
            _ => self.decode(index)?,
        };
        Ok(&self.group.insert((index, group)).1)
    }

    /// The texts of one column, each with how many rows in a row have it.
    pub(super) fn runs(&mut self, column: usize) -> Result<Vec<(String, u64)>, Refused> {
        let mut runs: Vec<(String, u64)> = Vec::new();
        for index in 0..self.metadata.row_groups.len() {
            let chunk = self.chunks(index, Some(column))?.pop();
            let (chunk, bytes) = chunk.ok_or("a table without columns")?;
            let Decoded::Texts(texts) = decode(chunk, bytes, Kind::Text)? else {
                return Err("a column that is no text".to_owned());
            };
            for text in &texts {
                let text = text.ok_or("a text that is null")?;
                match runs.last_mut() {
                    Some((held, rows)) if held == text => *rows += 1,
                    _ => runs.push((text.to_owned(), 1)),
                }
            }
        }
        Ok(runs)
    }

    /// The bytes of one column or of all.
    fn chunks(
        &self,
        index: usize,
        only: Option<usize>,
    ) -> Result<Vec<(&ColumnChunkMetadata, Vec<u8>)>, Refused> {
        let columns = self.metadata.row_groups[index].parquet_columns();
        let columns = match only {
            Some(column) => &columns[column..=column],
            None => columns,
        };
        let mut file = &self.file;
        let rows = self.metadata.row_groups[index].num_rows() as i64;
        let mut chunks = Vec::with_capacity(columns.len());
        for chunk in columns {
            if chunk.num_values() != rows {
                return Err("a column of more or fewer rows than the others".to_owned());
            }
            let range = chunk.byte_range();
            let mut bytes = Vec::new();
            file.seek(SeekFrom::Start(range.start))
                .and_then(|_| file.take(range.end - range.start).read_to_end(&mut bytes))
                .map_err(|e| e.to_string())?;
            chunks.push((chunk, bytes));
        }
        Ok(chunks)
    }

    fn decode(&self, index: usize) -> Result<Group, Refused> {
        let columns = self
            .chunks(index, None)?
            .into_par_iter()
            .zip(&self.kinds)
            .map(|((chunk, bytes), &kind)| decode(chunk, bytes, kind))
            .collect::<Result<_, _>>()?;
        Ok(Group { columns })
    }
}

fn decode(chunk: &ColumnChunkMetadata, bytes: Vec<u8>, kind: Kind) -> Result<Decoded, Refused> {
    guard(|| decode_pages(chunk, bytes, kind))?
}

fn decode_pages(
    chunk: &ColumnChunkMetadata,
    bytes: Vec<u8>,
    kind: Kind,
) -> Result<Decoded, Refused> {
    let bytes = Cursor::new(bytes.into());
    let pages = PageReader::new(bytes, chunk, Vec::new(), MAX_PAGE_BYTES);
    let pages = BasicDecompressor::new(pages, Vec::new());
    let of = &chunk.descriptor().descriptor.primitive_type;
    let field = Field::new(of.field_info.name.clone(), read_type(kind), true);
    let (mut arrays, _) =
        column_iter_to_arrays(vec![pages], vec![of], field, None).map_err(|e| e.to_string())?;
    match (arrays.pop(), arrays.is_empty()) {
        (Some(array), true) if array.len() as i64 == chunk.num_values() => decoded(kind, &*array),
        _ => Err("a column chunk that is not one array".to_owned()),
    }
}

/// What the reader makes of a column: texts as views into their pages.
const fn read_type(kind: Kind) -> ArrowDataType {
    match kind {
        Kind::Text => ArrowDataType::Utf8View,
        other => arrow_type(other),
    }
}

fn decoded(kind: Kind, array: &dyn Array) -> Result<Decoded, Refused> {
    fn cast<A: Clone + 'static>(array: &dyn Array) -> Result<A, Refused> {
        let array = array.as_any().downcast_ref::<A>().cloned();
        array.ok_or_else(|| "a column of another type than its schema says".to_owned())
    }
    Ok(match kind {
        Kind::Text => Decoded::Texts(cast(array)?),
        Kind::Number => Decoded::Numbers(cast(array)?),
        Kind::Date => Decoded::Days(cast(array)?),
        Kind::Count => Decoded::Counts(cast(array)?),
    })
}

const KIND: &str = "the kind of a column was checked when the file was opened";

/// `column` is the position in the schema; `None` is a null.
impl Group {
    pub(super) fn text(&self, column: usize, row: usize) -> Option<&str> {
        match &self.columns[column] {
            Decoded::Texts(texts) => texts.get(row),
            _ => unreachable!("{KIND}"),
        }
    }

    pub(super) fn number(&self, column: usize, row: usize) -> Option<f64> {
        match &self.columns[column] {
            Decoded::Numbers(numbers) => numbers.get(row),
            _ => unreachable!("{KIND}"),
        }
    }

    /// Days since 1970-01-01.
    pub(super) fn day(&self, column: usize, row: usize) -> Option<i32> {
        match &self.columns[column] {
            Decoded::Days(days) => days.get(row),
            _ => unreachable!("{KIND}"),
        }
    }

    /// `None` also where the number is negative.
    pub(super) fn count(&self, column: usize, row: usize) -> Option<u64> {
        match &self.columns[column] {
            Decoded::Counts(counts) => counts.get(row).and_then(|n| u64::try_from(n).ok()),
            _ => unreachable!("{KIND}"),
        }
    }
}
