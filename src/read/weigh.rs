//! How many cells a report can have, told before any is read: so many large ones must not be read side by
//! side that memory does not hold them.

use super::bounds::WHOLE_TEXT_BYTES;
use super::signature::{self, Kind};
use super::workbooks::ods;
use crate::file::open_regular;
use std::fs::File;
use std::io::{BufReader, Read, Seek, SeekFrom};
use std::path::Path;
use zip::ZipArchive;

/// Bytes of a cell, at the least that programs write: `<c r="A1"><v>1</v></c>` unfolded, a number in an
/// `.xls`, a short text and its separator.
const ZIPPED_CELL: u64 = 20;
const XLS_CELL: u64 = 6;
const TEXT_CELL: u64 = 4;

/// A length that makes no report a large one, whatever its kind, is not looked into; but a few bytes of a
/// zip can be anything.
const SMALL: u64 = 256 << 10;

/// About how many cells the report can have. 0 for a text that is read as a stream, and for what cannot be
/// read: opening it says why.
pub fn cells_at_most(path: &Path) -> u64 {
    open_regular(path).map_or(0, |file| weigh(file).unwrap_or(0))
}

fn weigh(mut file: File) -> std::io::Result<u64> {
    let bytes = file.metadata()?.len();
    let mut head = Vec::with_capacity(signature::HEAD);
    (file.by_ref().take(signature::HEAD as u64)).read_to_end(&mut head)?;
    Ok(match signature::kind(&head) {
        Kind::Zip => {
            file.seek(SeekFrom::Start(0))?;
            weigh_zip(file).unwrap_or(0)
        }
        Kind::FlatOds => {
            file.seek(SeekFrom::Start(0))?;
            ods::cells_repeated(file)
        }
        _ if bytes <= SMALL => bytes / TEXT_CELL,
        Kind::Ole => bytes / XLS_CELL,
        Kind::Xml2003 => bytes / ZIPPED_CELL,
        Kind::Text if bytes <= WHOLE_TEXT_BYTES => bytes / TEXT_CELL,
        Kind::Text | Kind::Foreign(_) | Kind::Unknown => 0,
    })
}

/// By the sizes that the package states; of an `.ods` also by its repeats.
fn weigh_zip(file: File) -> zip::result::ZipResult<u64> {
    let mut archive = ZipArchive::new(BufReader::new(file))?;
    let mut unfolded = 0_u64;
    for index in 0..archive.len() {
        unfolded = unfolded.saturating_add(archive.by_index_raw(index)?.size());
    }
    let repeated = match archive.by_name("content.xml") {
        Ok(content) => ods::cells_repeated(content),
        Err(_) => 0,
    };
    Ok(repeated.max(unfolded / ZIPPED_CELL))
}
