//! The JSON Schema of the mapping format, for editors that complete and check TOML.

use super::raw::RawMapping;

/// The schema as indented JSON with a line end; generated from the raw structs.
pub fn schema() -> String {
    let schema = schemars::schema_for!(RawMapping);
    let mut text =
        serde_json::to_string_pretty(&schema).expect("a schema has only strings as keys");
    text.push('\n');
    text
}
