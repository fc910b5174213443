//! One CSV twin: RFC 4180, `.` decimal, ISO 8601 dates, nulls empty, nothing that a spreadsheet runs.

use super::number::write_number;
use super::values::{Batch, Keyed, NULL, Runs, Values};
use crate::schema::Column;
use crate::text::neutralised;
use rayon::prelude::*;
use std::borrow::Cow;
use std::io::{self, Write};
use std::ops::Range;

/// Rows made into text at once by one thread.
const ROWS_AT_ONCE: usize = 2048;

/// Pieces of so many rows that are text at once: enough for every thread, and little memory.
const PIECES_AT_ONCE: usize = 32;

pub(super) struct CommaFile<W: Write> {
    out: W,
    rows: u64,
}

impl<W: Write> CommaFile<W> {
    pub(super) fn create(mut out: W, columns: &[Column]) -> io::Result<Self> {
        let mut heading = String::new();
        for (i, column) in columns.iter().enumerate() {
            if i > 0 {
                heading.push(',');
            }
            heading.push_str(&field(&column.name)?);
        }
        heading.push_str(END);
        out.write_all(heading.as_bytes())?;
        Ok(Self { out, rows: 0 })
    }

    pub(super) fn write(&mut self, batch: &Batch) -> io::Result<()> {
        let columns = batch
            .columns
            .par_iter()
            .map(Prepared::new)
            .collect::<io::Result<Vec<_>>>()?;
        let firsts: Vec<usize> = (0..batch.rows).step_by(ROWS_AT_ONCE).collect();
        for firsts in firsts.chunks(PIECES_AT_ONCE) {
            let pieces: Vec<String> = firsts
                .par_iter()
                .map(|&first| rows(&columns, first..(first + ROWS_AT_ONCE).min(batch.rows)))
                .collect::<io::Result<_>>()?;
            for piece in pieces {
                self.out.write_all(piece.as_bytes())?;
            }
        }
        self.rows += batch.rows as u64;
        Ok(())
    }

    pub(super) fn finish(self) -> (W, u64) {
        (self.out, self.rows)
    }
}

/// RFC 4180 ends a record so.
const END: &str = "\r\n";

/// A column whose distinct values are fields already.
enum Prepared<'a> {
    Fields(&'a Runs, Vec<Cow<'a, str>>),
    Plain(&'a Values),
}

impl<'a> Prepared<'a> {
    fn new(values: &'a Values) -> io::Result<Self> {
        fn fields<'v, T>(
            keyed: &'v Keyed<T>,
            text: impl Fn(&'v T) -> io::Result<Cow<'v, str>>,
        ) -> io::Result<Prepared<'v>> {
            let fields = keyed.distinct.iter().map(text).collect::<io::Result<_>>()?;
            Ok(Prepared::Fields(&keyed.keys, fields))
        }
        match values {
            Values::Words(keyed) => fields(keyed, |text| field(text)),
            Values::KeyedNumbers(keyed) => fields(keyed, |&number| {
                let mut text = String::new();
                write_number(&mut text, number);
                Ok(text.into())
            }),
            Values::Dates(keyed) => fields(keyed, |date| Ok(date.to_string().into())),
            Values::Texts(_) | Values::Numbers(_) | Values::Counts(_) => Ok(Self::Plain(values)),
        }
    }
}

/// A column being written row by row.
struct Reader<'a> {
    column: &'a Prepared<'a>,
    /// Of fields: the runs from that of the row at hand on.
    runs: &'a [(u32, u32)],
}

impl<'a> Reader<'a> {
    fn new(column: &'a Prepared<'a>, first: usize) -> Self {
        let runs = match column {
            Prepared::Fields(keys, _) => keys.runs_from(first),
            Prepared::Plain(_) => &[],
        };
        Self { column, runs }
    }

    /// Whether a row says what the row above it says, as far as that costs nothing to tell.
    fn repeats(&self, row: usize) -> bool {
        match self.column {
            Prepared::Fields(..) => self
                .runs
                .first()
                .is_some_and(|(_, end)| row < *end as usize),
            Prepared::Plain(Values::Numbers(numbers)) => {
                numbers[row].map(f64::to_bits) == numbers[row - 1].map(f64::to_bits)
            }
            Prepared::Plain(_) => false,
        }
    }

    /// Appends the field of a row; rows come in their order.
    fn write(&mut self, out: &mut String, row: usize) -> io::Result<()> {
        match self.column {
            Prepared::Fields(_, fields) => {
                while let [(_, end), rest @ ..] = self.runs
                    && *end as usize <= row
                {
                    self.runs = rest;
                }
                if let Some((key, _)) = self.runs.first()
                    && *key != NULL
                {
                    out.push_str(&fields[*key as usize]);
                }
            }
            Prepared::Plain(Values::Texts(texts)) => match texts.get(row) {
                text if text.bytes().all(is_harmless) => out.push_str(text),
                text => out.push_str(&field(text)?),
            },
            Prepared::Plain(Values::Numbers(numbers)) => {
                if let Some(number) = numbers[row] {
                    write_number(out, number);
                }
            }
            Prepared::Plain(Values::Counts(counts)) => {
                out.push_str(itoa::Buffer::new().format(counts[row]));
            }
            Prepared::Plain(_) => unreachable!("keyed columns are prepared as fields"),
        }
        Ok(())
    }
}

fn rows(columns: &[Prepared<'_>], rows: Range<usize>) -> io::Result<String> {
    let mut out = String::with_capacity(rows.len() * columns.len() * 8);
    let mut readers: Vec<Reader<'_>> = (columns.iter())
        .map(|column| Reader::new(column, rows.start))
        .collect();
    // Where the fields of the row above start, and where its last ends: each a byte in front of the next.
    let mut starts = vec![0; columns.len() + 1];
    for row in rows.clone() {
        let mut at = 0;
        while at < readers.len() {
            let open = &readers[at..];
            let alike = match row == rows.start {
                true => 0,
                false => open.iter().take_while(|reader| reader.repeats(row)).count(),
            };
            let behind = at + alike.max(1);
            let start = out.len();
            if alike == 0 {
                readers[at].write(&mut out, row)?;
                starts[at] = start;
            } else {
                out.extend_from_within(starts[at]..starts[behind] - 1);
                let moved = start - starts[at];
                starts[at..behind].iter_mut().for_each(|at| *at += moved);
            }
            if behind < readers.len() {
                out.push(',');
            }
            at = behind;
        }
        starts[at] = out.len() + 1;
        out.push_str(END);
    }
    Ok(out)
}

/// Needs neither quotes nor neutralising wherever it stands: most cells are of nothing else.
const fn is_harmless(byte: u8) -> bool {
    byte.is_ascii_alphanumeric() || byte == b'.'
}

/// A text as a field: quoted where RFC 4180 asks for it, and with a `'` wherever a spreadsheet would
/// run what follows as a formula.
fn field(text: &str) -> io::Result<Cow<'_, str>> {
    let text = neutralised(text);
    if !text.contains([',', '"', '\r', '\n']) {
        return Ok(text);
    }
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .buffer_capacity(text.len() + QUOTES)
        .from_writer(Vec::new());
    // The second field is empty, and so is written without quotes.
    writer.write_record([&*text, ""])?;
    let mut bytes = writer.into_inner().map_err(|e| e.into_error())?;
    bytes.truncate(bytes.len() - ",\r\n".len());
    String::from_utf8(bytes)
        .map(Cow::Owned)
        .map_err(io::Error::other)
}

/// Room for the quotes around a field and a few in it; where there are more, the writer writes twice.
const QUOTES: usize = 16;

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]
mod tests {
    use super::super::values::Texts;
    use super::*;

    #[test]
    fn fields_are_quoted_only_where_needed() {
        for (text, expected) in [
            ("", ""),
            ("Borehole 2", "Borehole 2"),
            ("a,b", "\"a,b\""),
            ("say \"x\"", "\"say \"\"x\"\"\""),
            ("two\nlines", "\"two\nlines\""),
            ("Brøndvej µg/l", "Brøndvej µg/l"),
        ] {
            assert_eq!(field(text).unwrap(), expected, "{text:?}");
        }
    }

    #[test]
    fn what_a_spreadsheet_would_run_is_neutralised() {
        for (text, expected) in [
            ("=1+1", "'=1+1"),
            ("+49 30", "'+49 30"),
            ("-0.5", "'-0.5"),
            ("@SUM(A1)", "'@SUM(A1)"),
            ("\t=1", "'\t'=1"),
            ("\r=1", "\"'\r'=1\""),
            ("\n+1", "\"'\n'+1\""),
            ("\"=1", "\"\"\"'=1\""),
            ("＝1+1", "'＝1+1"),
            ("＠SUM(A1)", "'＠SUM(A1)"),
            ("well;=1+1", "well;'=1+1"),
            ("well;\"=1+1", "\"well;\"\"'=1+1\""),
            ("two\n-lines", "\"two\n'-lines\""),
            ("5 - 7; 8-9", "5 - 7; 8-9"),
            ("T-1", "T-1"),
            ("<0.05", "<0.05"),
            (" =1", " =1"),
        ] {
            assert_eq!(field(text).unwrap(), expected, "{text:?}");
        }
    }

    #[test]
    fn a_batch_becomes_records_with_empty_nulls() {
        let mut texts = Texts::default();
        texts.push("12.3");
        texts.push("=cmd");
        let batch = Batch {
            rows: 2,
            columns: vec![
                Values::Texts(texts),
                Values::Numbers(vec![None, Some(-0.0)]),
                Values::Dates(Keyed {
                    keys: [0, NULL].into_iter().collect(),
                    distinct: vec![jiff::civil::date(2026, 2, 28)],
                }),
                Values::Counts(vec![7, 0]),
            ],
        };
        let mut file = CommaFile::create(Vec::new(), &[]).unwrap();
        file.write(&batch).unwrap();
        let (bytes, rows) = file.finish();
        assert_eq!(rows, 2);
        assert_eq!(
            String::from_utf8(bytes).unwrap(),
            "\r\n12.3,,2026-02-28,7\r\n'=cmd,0,,0\r\n"
        );
    }
}
