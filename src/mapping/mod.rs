//! Mapping files: TOML that people write, made into rules that cannot be invalid.
//!
//! Raw structs are strict (unknown keys are errors); compiling collects *all* problems of a file,
//! each with its place, before it gives up. The only module that knows `toml` besides `vocabulary`.
