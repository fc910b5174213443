//! A delimited text too long to be held: looked through once when it is opened (digest, encoding,
//! record boundaries, a head and a spread of rows to decide from), then given in chunks that can be
//! read and parsed in any order and on any thread. Memory: one chunk a thread, whatever the length.

use super::delimiter::Lookout;
use super::encoding::Decoding;
use super::fields;
use crate::file::open_regular;
use crate::finding::Finding;
use crate::place::Place;
use crate::read::digest::Stamp;
use crate::read::findings::Flaw;
use crate::read::grid::Report;
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::io::{Read, Seek, SeekFrom};
use std::path::PathBuf;
use std::sync::Mutex;

/// A long delimited text, opened. Its chunks together are the whole text, each record once.
#[derive(Debug)]
pub struct TextStream {
    pub(super) path: PathBuf,
    pub(super) report: Report,
    pub(super) stamp: Stamp,
    pub(super) delimiter: u8,
    pub(super) decoding: Decoding,
    pub(super) chunks: Vec<Extent>,
    /// Line ends in the whole text.
    pub(super) lines: u64,
    /// Room for the bytes of a chunk, given back.
    pub(super) spare: Mutex<Vec<Vec<u8>>>,
    /// What was seen of chunks that were given back, by their first lines.
    pub(super) seen: Mutex<BTreeMap<u64, Lookout>>,
}

/// Where a chunk lies: bytes of the file, and the line it starts on (zero-based).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Extent {
    pub(super) start: u64,
    pub(super) bytes: usize,
    pub(super) first_line: u64,
}

impl TextStream {
    /// The rows from which decisions are made: the head of the file, and a few from each part of
    /// it, with their true row numbers. Not all rows: for those see [`TextStream::chunk`].
    pub const fn report(&self) -> &Report {
        &self.report
    }

    /// The same, with something more to tell of the file.
    pub(in crate::read) fn with(mut self, finding: Finding) -> Self {
        self.report.findings.push(finding);
        self
    }

    pub fn into_report(self) -> Report {
        self.report
    }

    /// How many chunks there are.
    pub const fn chunks(&self) -> usize {
        self.chunks.len()
    }

    /// Lines of the whole text, blank ones included.
    pub const fn lines(&self) -> u64 {
        self.lines
    }

    /// Reads one chunk. Fails with a finding when the file can no longer be read or has changed
    /// since it was opened; `index` is below [`TextStream::chunks`].
    pub fn chunk(&self, index: usize) -> Result<Chunk, Box<Finding>> {
        let extent = self.chunks[index];
        let refuse = |flaw: Flaw| Box::new(flaw.at(Place::file(&self.report.file)));
        let bytes = self.bytes_of(extent).map_err(|e| {
            if e.kind() == std::io::ErrorKind::UnexpectedEof {
                refuse(Flaw::FileChanged)
            } else {
                refuse(Flaw::unreadable(e))
            }
        })?;
        let unchanged = std::fs::metadata(&self.path).is_ok_and(|m| Stamp::of(&m) == self.stamp);
        if !unchanged {
            return Err(refuse(Flaw::FileChanged));
        }
        let text = if self.decoding.is_utf_8() {
            // It was UTF-8 throughout when it was opened.
            String::from_utf8(bytes).map_err(|_| refuse(Flaw::FileChanged))?
        } else {
            self.decoding.decode(&bytes).into_owned()
        };
        Ok(Chunk {
            text,
            delimiter: self.delimiter,
            first_line: extent.first_line,
            lookout: RefCell::default(),
        })
    }

    /// Takes back a chunk that nobody reads any more, for the room that it takes.
    pub fn give_back(&self, chunk: Chunk) {
        if let Ok(mut seen) = self.seen.lock() {
            seen.insert(chunk.first_line, chunk.lookout.into_inner());
        }
        if let Ok(mut spare) = self.spare.lock() {
            spare.push(chunk.text.into_bytes());
        }
    }

    /// What only the reading of all rows could tell, of the chunks that were given back.
    pub fn told(&self) -> Option<Finding> {
        let seen = std::mem::take(&mut *self.seen.lock().ok()?);
        let is_told = |f: &Finding| f.code == "delimiter-changes";
        if self.report.findings.iter().any(is_told) {
            return None;
        }
        let whole = seen.into_values().reduce(|mut whole, part| {
            whole.records += part.records;
            whole.first = whole.first.or(part.first);
            whole
        });
        whole?.finding(&self.report.file)
    }

    fn bytes_of(&self, extent: Extent) -> std::io::Result<Vec<u8>> {
        let mut file = open_regular(&self.path)?;
        file.seek(SeekFrom::Start(extent.start))?;
        let spare = self.spare.lock().ok().and_then(|mut spare| spare.pop());
        let mut bytes = spare.unwrap_or_default();
        bytes.clear();
        bytes.reserve(extent.bytes);
        let read = file.take(extent.bytes as u64).read_to_end(&mut bytes)?;
        match read == extent.bytes {
            true => Ok(bytes),
            false => Err(std::io::ErrorKind::UnexpectedEof.into()),
        }
    }
}

/// A part of a long text, cut between records.
#[derive(Debug)]
pub struct Chunk {
    text: String,
    delimiter: u8,
    first_line: u64,
    lookout: RefCell<Lookout>,
}

impl Chunk {
    /// Gives each record that is not blank, in order: its row (the line on which it starts,
    /// zero-based) and its fields, exactly as they stand.
    pub fn for_each_row(&self, mut take: impl FnMut(u32, &[&str])) {
        fields::for_each_record(
            &self.text,
            self.delimiter,
            self.first_line,
            |line, _, fields| {
                // Lines beyond the bound were refused when the stream was opened.
                if let Ok(row) = u32::try_from(line) {
                    self.lookout.borrow_mut().record(row, fields);
                    take(row, fields);
                }
            },
        );
    }

    /// The row of the chunk's first line, zero-based.
    pub const fn first_row(&self) -> u64 {
        self.first_line
    }
}
