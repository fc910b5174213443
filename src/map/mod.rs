//! Stage 3, map: blocks and mapping files become a plan: for each column, row or cell what it means.
//!
//! With a mapping its words come first; what it leaves open is recognised from the vocabulary and
//! the shape of the data. Both give the same `Plan`, executed by one code path in `normalize`.

mod expressed;
mod findings;
mod heads;
mod layouts;
mod left_out;
mod locale;
mod picture;
mod plan;
mod recognise;
mod rules;
mod sight;
mod told_heads;
mod whose;

pub use expressed::notes::BasisNote;
pub use expressed::small_conductivity::is_cell_too_small;
pub use expressed::units::is_like_a_unit;
pub use findings::{ANALYTE_UNKNOWN, CODES, VALUE_COLUMN_UNKNOWN};
pub use heads::columns::is_nines;
pub use layouts::row::{RowMeaning, RowReader, RowWords};
pub use left_out::lines::GUIDELINE;
pub use left_out::unseen::{LineMeaning, LineReader, OTHER_TABLE};
pub use picture::picture;
pub use plan::{
    AnalyteTrack, BlockPlan, DateOrder, Decimal, Fact, FormCell, Limit, LineRole, Locale, Plan,
    QualifierCode, SheetPlan, Source, Track, TrackGroup, TrackRole, Unseen, ValueRole,
};
pub use rules::{Expect, FileName, LabelRule, RuleMeaning, Rules, SheetRule, StatedUnit};
pub use whose::unread::{DAYS_OF_WHAT, NAMES_OF_WHAT};

use crate::read::Report;
use crate::vocabulary::Vocabulary;

/// What every cell of a report means. With `rules` the words of a mapping come first; what they leave
/// open is recognised in the same way as without them.
pub fn plan(report: &Report, vocabulary: &Vocabulary, rules: Option<&Rules>) -> Plan {
    recognise::plan(report, vocabulary, rules)
}
