//! Stage 1, read: a path becomes sheets of cells, each with its true row and column.
//!
//! Knows file signatures, `calamine`, `csv`, encodings, size limits. Knows nothing of chemistry,
//! and decides nothing about what a cell means.
//!
//! `discover` lists the files of a run; `open` reads one. Neither fails: what cannot be read is a
//! finding, and the run goes on.

mod biff;
mod bounds;
mod bytes;
mod cell;
mod columns;
mod content;
mod delimiter;
mod digest;
mod discover;
mod displayed;
mod dos;
mod encoding;
mod fields;
mod findings;
mod grid;
mod hidden;
mod markup;
mod mend;
mod ods;
mod ods_prefixes;
mod ods_tables;
mod ole;
mod open;
mod options;
mod package;
mod record;
mod rich;
mod rows;
mod serial;
mod sheet_scan;
mod shown;
mod signature;
mod stream;
mod strings;
mod survey;
mod text;
mod weigh;
mod workbook;
mod xls;
mod xlsb;
mod xlsb_scan;
mod xlsx;
mod xml_2003;

pub use cell::{Cell, CellView, Shown, Value};
pub use digest::Digest;
pub use discover::{Discovery, FoundFile, discover, same_bytes_again};
pub use encoding::Encoding;
pub use findings::CODES;
pub use grid::{Grid, Report, Sheet};
pub use open::{Opened, open, open_text};
pub use options::Options;
pub use stream::{Chunk, TextStream};
pub use weigh::cells_at_most;
