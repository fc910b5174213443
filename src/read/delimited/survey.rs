//! A long text is looked through once, block by block: digest, encoding, record boundaries, and the
//! rows from which decisions are made.

use super::delimiter;
use super::encoding::{Decoding, LineTally, Utf16};
use super::fields;
use super::record::{self, Quoting};
use super::stream::{Extent, TextStream};
use super::text::{self, Gather};
use crate::place::Place;
use crate::read::bounds::{FINDINGS_OF_A_KIND, LINES, RECORD_BYTES};
use crate::read::digest::{Digest, Stamp};
use crate::read::findings::Flaw;
use crate::read::grid::{Grid, Report, Sheet};
use crate::read::options::Options;
use std::collections::BTreeMap;
use std::fs::File;
use std::io::Read;
use std::path::Path;
use std::sync::Mutex;

/// Records of the head that decisions are made from: a preamble and enough rows to see every label
/// of a file in which they repeat.
const HEAD_RECORDS: usize = 2_000;

/// Records taken from each later block.
const SPREAD_RECORDS: usize = 40;

/// Later blocks from which records are taken; in a longer file every second, fourth, … block.
const SPREAD_BLOCKS: u64 = 512;

/// Bytes, and fields, of all records that decisions are made from: they are held and understood at once. So
/// much stands in 20,000 records of 150 fields.
const KEPT_BYTES: usize = 32 << 20;
const KEPT_FIELDS: usize = 3_000_000;

/// Bytes of the head in which the delimiter is looked for.
const HEAD_BYTES: usize = 64 << 10;

/// Opens a text as a stream.
pub(in crate::read) fn open(
    file: File,
    path: &Path,
    stamp: Stamp,
    options: &Options,
    report: &mut Report,
) -> Result<TextStream, Flaw> {
    let mut survey = Survey::new(options, stamp.bytes);
    // To hash takes as long as all else together, and needs nothing of it.
    let (looked, hashed) = rayon::join(|| survey.read(file), || digest(path, options));
    looked?;
    let digest = hashed?;
    let changed = std::fs::metadata(path).map_or(true, |m| Stamp::of(&m) != stamp);
    if changed || digest.stamp != stamp {
        return Err(Flaw::FileChanged);
    }
    report.sha256 = digest.sha256;
    Ok(survey.finish(path, stamp, report))
}

/// The digest that is known, or that of the file as it lies.
fn digest(path: &Path, options: &Options) -> Result<Digest, Flaw> {
    match &options.digest {
        Some(known) => Ok(known.clone()),
        None => Digest::of_file(path).map_err(Flaw::unreadable),
    }
}

struct Survey {
    /// The mapping's words.
    options: Options,
    delimiter: u8,
    mark: usize,
    /// Of a text in UTF-16: its blocks are of UTF-8 then.
    utf_16: Option<Utf16>,
    tally: LineTally,
    chunks: Vec<Extent>,
    /// Bytes of the file.
    bytes: u64,
    /// Those before the block in hand.
    before: u64,
    lines: u64,
    /// Of how many blocks one gives rows to decide from.
    stride: u64,
    /// Those rows: line, and the bytes of the record as they stand.
    kept: BTreeMap<u64, Vec<u8>>,
    /// Bytes and fields of those, of which there are not more than one record beyond the bounds.
    kept_bytes: usize,
    kept_fields: usize,
    lost: u64,
}

impl Survey {
    fn new(options: &Options, bytes: u64) -> Self {
        Self {
            options: options.clone(),
            delimiter: b',',
            mark: 0,
            utf_16: None,
            tally: LineTally::default(),
            chunks: Vec::new(),
            bytes,
            before: 0,
            lines: 0,
            stride: 1 + bytes / options.chunk_bytes.max(1) as u64 / SPREAD_BLOCKS,
            kept: BTreeMap::new(),
            kept_bytes: 0,
            kept_fields: 0,
            lost: 0,
        }
    }

    fn read(&mut self, mut file: File) -> Result<(), Flaw> {
        let wanted = self.options.chunk_bytes.max(1);
        let mut read_next = |bytes: &mut Vec<u8>| -> Result<(), Flaw> {
            bytes.clear();
            let read = (file.by_ref().take(wanted as u64)).read_to_end(bytes);
            read.map(drop).map_err(Flaw::unreadable)
        };
        let (mut block, mut fresh): (Vec<u8>, Vec<u8>) = (Vec::new(), Vec::new());
        read_next(&mut fresh)?;
        self.utf_16 = Utf16::of(&fresh[..fresh.len().min(HEAD_BYTES)], self.options.encoding);
        let mut skipped = self.utf_16.as_ref().map_or(0, |text| text.mark);
        self.before = skipped as u64;
        loop {
            let is_last = fresh.len() < wanted;
            // What is left of the last block is the beginning of a record.
            match &mut self.utf_16 {
                None => block.extend_from_slice(&fresh),
                Some(text) => {
                    text.decode(&fresh[std::mem::take(&mut skipped)..], is_last, &mut block)
                }
            }
            let taken = self.take(&block, is_last)?;
            self.before += self.in_file(&block[..taken]);
            block.drain(..taken);
            if is_last {
                return Ok(());
            }
            if block.len() > RECORD_BYTES {
                return Err(Flaw::RecordTooLong {
                    bound: RECORD_BYTES as u64,
                });
            }
            read_next(&mut fresh)?;
        }
    }

    /// Takes the whole records of a block as one chunk; gives how many bytes those are.
    fn take(&mut self, block: &[u8], is_last: bool) -> Result<usize, Flaw> {
        let mark = self.utf_16.as_ref().map_or(0, |text| text.mark);
        let start = if self.before == mark as u64 {
            self.begin(block)?
        } else {
            0
        };
        let (skipped, block) = block.split_at(start);
        let end = self.follow_quotes(block, is_last);
        let whole = &block[..end];
        self.keep(whole);
        self.tally.add(whole);
        if end > 0 {
            let start = self.before + self.in_file(skipped);
            // Of half a character at the end, a byte is missing.
            let bytes = self.in_file(whole).min(self.bytes.saturating_sub(start));
            self.chunks.push(Extent {
                start,
                bytes: bytes as usize,
                first_line: self.lines,
            });
        }
        self.lines += record::count_lines(whole);
        if self.lines > LINES {
            return Err(Flaw::CellBound {
                what: "lines",
                bound: LINES,
            });
        }
        Ok(start + end)
    }

    /// Looks at the head of the text; gives how many bytes are not data (a mark, a `sep=` line).
    fn begin(&mut self, block: &[u8]) -> Result<usize, Flaw> {
        // Blank lines tell nothing, but that the first line states no delimiter: one is left.
        let is_end = |b: &&u8| matches!(b, b'\r' | b'\n');
        let blank = block.iter().take_while(is_end).count();
        let head = &block[blank.saturating_sub(1)..];
        let head = &head[..head.len().min(HEAD_BYTES)];
        if self.utf_16.is_some() {
            return Ok(self.begin_text(&String::from_utf8_lossy(head), 0));
        }
        let decoding = Decoding::of(&head[..cut(head, false)], self.options.encoding);
        let Decoding::One { encoding, .. } = decoding else {
            return Ok(self.begin_text(&String::from_utf8_lossy(head), decoding.mark()));
        };
        if !encoding.keeps_ascii() {
            return Err(Flaw::EncodingUnstreamable {
                encoding: encoding.name(),
            });
        }
        // Delimiters are ASCII: how the rest decodes does not matter to them.
        Ok(self.begin_text(
            &String::from_utf8_lossy(&head[decoding.mark()..]),
            decoding.mark(),
        ))
    }

    /// Bytes that a part of a block takes in the file.
    fn in_file(&self, part: &[u8]) -> u64 {
        match self.utf_16 {
            None => part.len() as u64,
            Some(_) => Utf16::bytes_of(part) as u64,
        }
    }

    fn begin_text(&mut self, head: &str, mark: usize) -> usize {
        self.mark = mark;
        let (found, body) = match delimiter::stated_in_text(head) {
            Some((stated, body)) => (Some(stated), body),
            None => (delimiter::detect(head), 0),
        };
        let stated = self.options.delimiter.and_then(|c| u8::try_from(c).ok());
        // A text of one column is as well split at commas that it does not have.
        self.delimiter = stated.or(found).unwrap_or(b',');
        self.lines = u64::from(body > 0);
        mark + body
    }

    /// Walks the records of a block that have quotation marks; gives where the last whole record ends.
    fn follow_quotes(&mut self, block: &[u8], is_last: bool) -> usize {
        let (mut at, mut line, mut counted) = (0, self.lines, 0);
        while let Some(quote) = memchr::memchr(b'"', &block[at..]) {
            // Without a mark, a line is a record.
            at += cut(&block[at..at + quote], false);
            let Some(span) = record::find(block, at, self.delimiter, is_last) else {
                return at;
            };
            if span.quoting == Quoting::Lost {
                self.lost += 1;
                if self.lost <= FINDINGS_OF_A_KIND {
                    line += record::count_lines(&block[counted..span.start]);
                    counted = span.start;
                    self.kept.insert(line, block[span.start..span.end].to_vec());
                }
            }
            at = span.next;
        }
        at + cut(&block[at..], is_last)
    }

    /// Keeps some records of a chunk to decide from.
    fn keep(&mut self, chunk: &[u8]) {
        let index = self.chunks.len() as u64;
        let wanted = match index {
            0 => HEAD_RECORDS,
            _ if index.is_multiple_of(self.stride) => SPREAD_RECORDS,
            _ => return,
        };
        let (mut at, mut line, mut kept) = (0, self.lines, 0);
        while let Some(span) = record::find(chunk, at, self.delimiter, true) {
            if span.end > span.start {
                if self.kept_bytes > KEPT_BYTES || self.kept_fields > KEPT_FIELDS {
                    return;
                }
                let record = &chunk[span.start..span.end];
                self.kept_bytes += record.len();
                self.kept_fields += 1 + memchr::memchr_iter(self.delimiter, record).count();
                self.kept.insert(line, record.to_vec());
                kept += 1;
                if kept == wanted {
                    return;
                }
            }
            line += span.lines;
            at = span.next;
        }
    }

    fn finish(self, path: &Path, stamp: Stamp, report: &mut Report) -> TextStream {
        let decoding = self.tally.decide(self.mark, self.options.encoding);
        let mut grid = Grid::default();
        let mut gather = Gather::new(&report.file, &mut grid);
        let mut sample = String::new();
        for (line, bytes) in &self.kept {
            let record = decoding.decode(bytes);
            fields::for_each_record(&record, self.delimiter, *line, |line, span, fields| {
                gather.record(line, span, fields);
            });
            sample.push_str(&record);
            sample.push('\n');
        }
        let mut findings = text::findings_of_decoding(&report.file, decoding, &sample);
        findings.extend(gather.findings());
        if self.lost > FINDINGS_OF_A_KIND {
            let more = self.lost - FINDINGS_OF_A_KIND;
            findings.push(Flaw::QuotesLost { more }.at(Place::file(&report.file)));
        }
        report.findings.extend(findings);
        report.delimiter = Some(char::from(self.delimiter));
        report.partial = true;
        report.sheets.push(Sheet {
            grid,
            ..Sheet::default()
        });
        TextStream {
            path: path.to_path_buf(),
            report: std::mem::take(report),
            stamp,
            delimiter: self.delimiter,
            decoding: self.utf_16.map_or(decoding, |text| text.decoding()),
            chunks: self.chunks,
            lines: self.lines,
            spare: Mutex::default(),
            seen: Mutex::default(),
        }
    }
}

/// Where the last whole line of a block without quotation marks ends.
fn cut(block: &[u8], is_last: bool) -> usize {
    if is_last {
        return block.len();
    }
    // A carriage return at the very end may be half of a line end.
    let certain = block.strip_suffix(b"\r").unwrap_or(block);
    memchr::memrchr2(b'\n', b'\r', certain).map_or(0, |at| {
        let is_pair = block[at] == b'\r' && block.get(at + 1) == Some(&b'\n');
        at + 1 + usize::from(is_pair)
    })
}
