//! Stage 3, map: blocks and mapping files become a plan: for each column, row or cell what it means.
//!
//! With a mapping its words come first; what it leaves open is recognised from the vocabulary and
//! the shape of the data. Both give the same `Plan`, executed by one code path in `normalize`.

mod plan;

pub use plan::{
    AnalyteTrack, BlockPlan, DateOrder, Decimal, Fact, FormCell, Limit, LineRole, Locale, Plan,
    QualifierCode, SheetPlan, Source, Track, TrackRole, ValueRole,
};
