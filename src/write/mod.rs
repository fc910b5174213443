//! Stage 6, write: records become Parquet, CSV and a Data Package, all at once or not at all; and the
//! records of a former run are read back. The only module that knows `polars`.
//!
//! A run goes like this:
//!
//! ```text
//! let dataset = Dataset::open(dir, Wait::No)?;        // lock; finish or clear what a dead run left
//! let former  = Former::open(dir, &words)?;           // what was gathered before, report by report
//! let mut sink = dataset.begin(options, vocabulary)?; // a hidden folder inside the dataset
//! sink.push(&extract)?;                               // every report, in the order of its path
//! let staged = sink.finish(&rows, judge)?;            // tables closed, synced, verified
//! let written = staged.commit()?;                     // the visible files change together
//! ```

mod comma;
mod dataset;
mod former;
mod ledger;
mod lock;
mod number;
mod package;
mod pages;
mod parquet;
mod parquet_in;
mod partition;
mod parts;
mod recall;
mod result_rows;
mod results;
mod samples;
mod sink;
mod staged_file;
mod switch;
mod table_files;
mod values;

pub use dataset::{Dataset, Options, Staged, Written};
pub use former::{Former, FormerReport, PIECE_ROWS, Words};
pub use lock::Wait;
pub use partition::Partition;
pub use parts::{Parts, part_folder};
pub use sink::Sink;
