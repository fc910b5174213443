//! Stage 1, read: a path becomes sheets of cells, each with its true row and column.
//!
//! Knows file signatures, `calamine`, `csv`, encodings, size limits. Knows nothing of chemistry,
//! and decides nothing about what a cell means.
//!
//! `discover` lists the files of a run; `open` reads one. Neither fails: what cannot be read is a
//! finding, and the run goes on.

mod bounds;
mod cell;
mod delimited;
mod digest;
mod discover;
mod findings;
mod grid;
mod open;
mod options;
mod rows;
mod signature;
mod weigh;
mod workbooks;

pub use cell::{Cell, CellView, Shown, Value};
pub use delimited::encoding::Encoding;
pub use delimited::stream::{Chunk, TextStream};
pub use digest::Digest;
pub use discover::{Discovery, FoundFile, discover, same_bytes_again};
pub use findings::CODES;
pub use grid::{Grid, Report, Sheet};
pub use open::{Opened, open, open_text};
pub use options::Options;
pub use weigh::cells_at_most;
