//! Stage 6, write: records become Parquet, CSV and a Data Package, all at once or not at all; and the
//! records of a former run are read back. The only module that knows `polars`.
