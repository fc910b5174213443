//! A column of a batch as the pages of a Parquet file.
//!
//! Dictionary, bounds and header of a column are made by `polars-parquet` from a model of it, an array of a
//! row or two. The rows are put into the page here, by runs: columns of a report mostly repeat what the row
//! above says, and a run of any length costs as much as one value.

use super::parquet::{Refused, arrow_type};
use super::values::{Keyed, NULL, Runs, Texts, Values};
use crate::schema::Kind;
use polars_arrow::array::{Array, DictionaryArray, Int64Array, PrimitiveArray, Utf8Array};
use polars_parquet::parquet::CowBuffer;
use polars_parquet::parquet::encoding::hybrid_rle::Encoder;
use polars_parquet::parquet::page::{DataPage, DataPageHeader};
use polars_parquet::write::{
    CompressedPage, Encoding, Page, ParquetType, WriteOptions, array_to_columns, compress,
};
use std::borrow::Cow;
use std::ops::Range;

/// Bytes of texts in one page, about: what a reader decodes at once.
const PAGE_BYTES: usize = 1 << 20;

/// Values that a run has at least: fewer take less room packed.
const RUN: usize = 8;

/// Fails where a `required` column has a row without a value, and where a number is not finite.
pub(super) fn encode(
    values: &Values,
    of: &ParquetType,
    required: bool,
    options: WriteOptions,
) -> Result<Vec<CompressedPage>, Refused> {
    let name = &of.get_field_info().name;
    let nulls = values.nulls();
    if required && nulls > 0 {
        return Err(format!("column {name} must have a value in every row"));
    }
    let (model, encoding) = model(values)?;
    let model = array_to_columns(model, of.clone(), options, &[encoding])
        .map_err(|e| e.to_string())?
        .pop()
        .ok_or("a column without pages")?;
    let mut pages = Vec::new();
    for page in model {
        match page.map_err(|e| e.to_string())? {
            Page::Data(page) => {
                for rows in pieces(values) {
                    let body = body(values, rows.clone(), nulls, required)?;
                    pages.push(Page::Data(filled(&page, nulls, rows.len(), body)?));
                }
            }
            dictionary => pages.push(dictionary),
        }
    }
    (pages.into_iter())
        .map(|page| compress(page, Vec::new(), options.compression).map_err(|e| e.to_string()))
        .collect()
}

/// An array with the distinct values, or the least and the greatest, of a column.
fn model(values: &Values) -> Result<(Box<dyn Array>, Encoding), Refused> {
    Ok(match values {
        Values::Words(keyed) => {
            let texts = keyed.distinct.iter().map(Some);
            let distinct = Utf8Array::<i64>::from_trusted_len_iter(texts);
            dictionary(keyed, Box::new(distinct))?
        }
        Values::KeyedNumbers(keyed) => {
            let distinct = PrimitiveArray::from_vec(keyed.distinct.clone());
            dictionary(keyed, Box::new(distinct))?
        }
        Values::Dates(keyed) => {
            let days = keyed.distinct.iter().copied().map(days_since_1970);
            let distinct = PrimitiveArray::from_vec(days.collect()).to(arrow_type(Kind::Date));
            dictionary(keyed, Box::new(distinct))?
        }
        Values::Texts(texts) => {
            let bounds = Utf8Array::<i64>::from_slice(texts.bounds());
            (Box::new(bounds), Encoding::Plain)
        }
        Values::Numbers(numbers) => {
            let present = || numbers.iter().flatten().copied();
            if !present().all(f64::is_finite) {
                return Err("a number that is not finite".to_owned());
            }
            let bounds = [present().reduce(f64::min), present().reduce(f64::max)];
            (
                Box::new(PrimitiveArray::<f64>::from(bounds)),
                Encoding::Plain,
            )
        }
        Values::Counts(counts) => {
            let bounds = [counts.iter().min(), counts.iter().max()];
            let bounds = bounds.map(|count| i64::try_from(*count?).ok());
            (Box::new(Int64Array::from(bounds)), Encoding::Plain)
        }
    })
}

fn dictionary<T>(
    keyed: &Keyed<T>,
    distinct: Box<dyn Array>,
) -> Result<(Box<dyn Array>, Encoding), Refused> {
    let first = (!keyed.distinct.is_empty()).then_some(0);
    let array =
        DictionaryArray::<u32>::try_from_keys(PrimitiveArray::from([first]), distinct, false)
            .map_err(|e| e.to_string())?;
    Ok((Box::new(array), Encoding::RleDictionary))
}

fn days_since_1970(date: jiff::civil::Date) -> i32 {
    const EPOCH: jiff::civil::Date = jiff::civil::date(1970, 1, 1);
    (date - EPOCH).get_days()
}

/// The rows of each page: all, except of texts that are long together.
fn pieces(values: &Values) -> Vec<Range<usize>> {
    let Values::Texts(texts) = values else {
        return std::iter::once(0..values.len()).collect();
    };
    let mut pieces = Vec::new();
    let (mut start, mut bytes) = (0, 0);
    for (row, end) in texts.ends.iter().enumerate() {
        if *end - bytes > PAGE_BYTES {
            pieces.push(start..row + 1);
            (start, bytes) = (row + 1, *end);
        }
    }
    pieces.push(start..texts.ends.len());
    pieces.retain(|rows| !rows.is_empty());
    pieces
}

/// The model's page with these rows instead of its own.
fn filled(model: &DataPage, nulls: usize, rows: usize, body: Vec<u8>) -> Result<DataPage, Refused> {
    let mut header = model.header().clone();
    if let DataPageHeader::V1(header) = &mut header {
        header.num_values = i32::try_from(rows).map_err(|e| e.to_string())?;
        if let Some(statistics) = &mut header.statistics {
            statistics.null_count = Some(i64::try_from(nulls).map_err(|e| e.to_string())?);
        }
    }
    let body = CowBuffer::Owned(body);
    Ok(DataPage::new(header, body, model.descriptor.clone(), rows))
}

/// Which rows have a value, then the values.
fn body(
    values: &Values,
    rows: Range<usize>,
    nulls: usize,
    required: bool,
) -> Result<Vec<u8>, Refused> {
    let mut body = Vec::new();
    let mut levels = |there: &dyn Fn() -> Runs| match required {
        true => Ok(()),
        false => levels(&mut body, rows.len(), nulls, there),
    };
    match values {
        Values::Words(Keyed { keys, .. })
        | Values::KeyedNumbers(Keyed { keys, .. })
        | Values::Dates(Keyed { keys, .. }) => {
            levels(&|| keys.mapped(|key| u32::from(key != NULL))).map_err(|e| e.to_string())?;
            let present = match nulls {
                0 => Cow::Borrowed(keys),
                _ => Cow::Owned(present(keys)),
            };
            let most = present.each().map(|(key, _)| key).max();
            let bits = u32::BITS - most.map_or(0, |most| most).leading_zeros();
            body.push(u8::try_from(bits).map_err(|e| e.to_string())?);
            by_runs(&mut body, &present, bits).map_err(|e| e.to_string())?;
        }
        Values::Texts(texts) => {
            levels(&|| Runs::of_one(1, rows.len())).map_err(|e| e.to_string())?;
            plain_texts(&mut body, texts, rows)?;
        }
        Values::Numbers(numbers) => {
            let there = || (numbers.iter().map(|number| u32::from(number.is_some()))).collect();
            levels(&there).map_err(|e| e.to_string())?;
            body.reserve(size_of::<f64>() * (numbers.len() - nulls));
            for number in numbers.iter().flatten() {
                body.extend_from_slice(&number.to_le_bytes());
            }
        }
        Values::Counts(counts) => {
            levels(&|| Runs::of_one(1, rows.len())).map_err(|e| e.to_string())?;
            for count in counts {
                let count = i64::try_from(*count).map_err(|e| e.to_string())?;
                body.extend(count.to_le_bytes());
            }
        }
    }
    Ok(body)
}

/// The keys of the rows that have a value.
fn present(keys: &Runs) -> Runs {
    let mut present = Runs::default();
    for (key, rows) in keys.each().filter(|(key, _)| *key != NULL) {
        present.push(key, rows);
    }
    present
}

fn plain_texts(body: &mut Vec<u8>, texts: &Texts, rows: Range<usize>) -> Result<(), Refused> {
    let bytes: usize = rows.clone().map(|row| texts.get(row).len()).sum();
    body.reserve(bytes + size_of::<u32>() * rows.len());
    for row in rows {
        let text = texts.get(row);
        let bytes = u32::try_from(text.len()).map_err(|e| e.to_string())?;
        body.extend_from_slice(&bytes.to_le_bytes());
        body.extend_from_slice(text.as_bytes());
    }
    Ok(())
}

/// One bit a row, by runs, behind how many bytes they take; `there` is asked where rows differ.
fn levels(
    body: &mut Vec<u8>,
    rows: usize,
    nulls: usize,
    there: &dyn Fn() -> Runs,
) -> std::io::Result<()> {
    body.extend_from_slice(&[0; 4]);
    if nulls == 0 || nulls == rows {
        u32::run_length_encode(body, rows, u32::from(nulls == 0), 1)?;
    } else {
        by_runs(body, &there(), 1)?;
    }
    let bytes = u32::try_from(body.len() - 4).expect("a group has fewer rows than a u32 counts");
    body[..4].copy_from_slice(&bytes.to_le_bytes());
    Ok(())
}

/// Runs of one value, and between them values packed in eights (Parquet's hybrid of run-length encoding
/// and bit-packing).
fn by_runs(out: &mut Vec<u8>, values: &Runs, bits: u32) -> std::io::Result<()> {
    let pack = |out: &mut Vec<u8>, values: &mut Vec<u32>| match values.as_slice() {
        [] => Ok(()),
        packed => u32::bitpacked_encode(out, packed.iter().copied(), bits as usize)
            .map(|()| values.clear()),
    };
    // The values that are not written yet.
    let mut open: Vec<u32> = Vec::new();
    for (value, run) in values.each() {
        let run = run as usize;
        // Of a run the first values make up the last eight before it.
        let fill = open.len().next_multiple_of(8) - open.len();
        if run >= fill + RUN {
            open.extend(std::iter::repeat_n(value, fill));
            pack(out, &mut open)?;
            u32::run_length_encode(out, run - fill, value, bits)?;
        } else {
            open.extend(std::iter::repeat_n(value, run));
        }
    }
    pack(out, &mut open)
}

#[cfg(test)]
mod tests {
    use super::*;
    use polars_parquet::parquet::encoding::hybrid_rle::{HybridRleChunk, HybridRleDecoder};
    use proptest::prelude::*;

    proptest! {
        /// The second route: the crate's own decoder.
        #[test]
        fn what_is_packed_by_runs_reads_back(runs in proptest::collection::vec((0u32..9, 1usize..40), 0..40)) {
            let values: Vec<u32> = (runs.iter()).flat_map(|(value, len)| vec![*value; *len]).collect();
            for bits in [4, 7, 18] {
                let mut out = Vec::new();
                by_runs(&mut out, &values.iter().copied().collect(), bits).unwrap();
                let mut decoder = HybridRleDecoder::new(&out, bits, values.len());
                let mut read = Vec::new();
                while let Some(chunk) = decoder.next_chunk().unwrap() {
                    match chunk {
                        HybridRleChunk::Rle(value, len) => read.extend(vec![value; len]),
                        HybridRleChunk::Bitpacked(packed) => packed.collect_into(&mut read),
                    }
                }
                prop_assert_eq!(&read, &values);
            }
        }
    }

    #[test]
    fn a_long_run_takes_no_more_room_than_a_short_one() {
        for rows in [8, 100_000] {
            let mut out = Vec::new();
            by_runs(&mut out, &Runs::of_one(3, rows), 2).unwrap();
            assert!(out.len() <= 4, "{rows}: {out:?}");
        }
    }

    #[test]
    fn long_texts_are_cut_into_pages() {
        let mut texts = Texts::default();
        (0..5).for_each(|_| texts.push(&"x".repeat(PAGE_BYTES / 2)));
        assert_eq!(pieces(&Values::Texts(texts)), [0..3, 3..5]);
    }
}
