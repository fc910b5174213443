//! Stage 3, map: blocks and mapping files become a plan: for each column, row or cell what it means.
//!
//! With a mapping its words come first; what it leaves open is recognised from the vocabulary and
//! the shape of the data. Both give the same `Plan`, executed by one code path in `normalize`.

mod apart;
mod balance;
mod carried;
mod columns;
mod companion;
mod controls;
mod cross;
mod days;
mod days_untaken;
mod doubt;
mod evidence;
mod facts;
mod findings;
mod flags;
mod form;
mod groups;
mod guides;
mod head;
mod ion_units;
mod labelled;
mod limits;
mod lines;
mod locale;
mod long;
mod marks;
mod medium;
mod names;
mod notes;
mod numbers;
mod overlong;
mod parted;
mod picture;
mod plan;
mod recognise;
mod resolve;
mod row;
mod rules;
mod shared;
mod sheets;
mod sight;
mod silent;
mod small_conductivity;
mod stated;
mod statistic_words;
mod statistics;
mod sums;
mod table;
mod title_days;
mod titles;
mod told_heads;
mod told_labels;
mod trace_units;
mod tracks;
mod twins;
mod units;
mod unnamed;
mod unread;
mod unseen;
mod whole;

pub use columns::is_nines;
pub use findings::{ANALYTE_UNKNOWN, CODES, VALUE_COLUMN_UNKNOWN};
pub use lines::GUIDELINE;
pub use notes::BasisNote;
pub use picture::picture;
pub use plan::{
    AnalyteTrack, BlockPlan, DateOrder, Decimal, Fact, FormCell, Limit, LineRole, Locale, Plan,
    QualifierCode, SheetPlan, Source, Track, TrackGroup, TrackRole, Unseen, ValueRole,
};
pub use row::{RowMeaning, RowReader, RowWords};
pub use rules::{Expect, FileName, LabelRule, RuleMeaning, Rules, SheetRule, StatedUnit};
pub use small_conductivity::is_text_too_small;
pub use units::is_like_a_unit;
pub use unread::{DAYS_OF_WHAT, NAMES_OF_WHAT};
pub use unseen::{LineMeaning, LineReader, OTHER_TABLE};

use crate::read::Report;
use crate::vocabulary::Vocabulary;

/// What every cell of a report means. With `rules` the words of a mapping come first; what they leave
/// open is recognised in the same way as without them.
pub fn plan(report: &Report, vocabulary: &Vocabulary, rules: Option<&Rules>) -> Plan {
    recognise::plan(report, vocabulary, rules)
}
