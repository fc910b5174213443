//! The JSON Schema of the mapping format, for editors that complete and check TOML.

use super::raw::RawMapping;
use serde_json::Value;

/// The schema as indented JSON with a line end; generated from the raw structs.
pub fn schema() -> String {
    let mut schema = schemars::schema_for!(RawMapping).to_value();
    plain(&mut schema);
    let mut text =
        serde_json::to_string_pretty(&schema).expect("a schema has only strings as keys");
    text.push('\n');
    text
}

/// TOML has no null, and what a key is when it is left out is not for an editor to write: both go.
/// Line ends in descriptions are ours, not the reader's.
fn plain(node: &mut Value) {
    match node {
        Value::Object(object) => {
            object.shift_remove("default");
            if let Some(Value::Array(types)) = object.get_mut("type") {
                types.retain(|kind| kind != "null");
                if let [only] = &types[..] {
                    let only = only.clone();
                    object.insert("type".into(), only);
                }
            }
            if let Some(Value::Array(choices)) = object.get_mut("anyOf") {
                choices.retain(|choice| choice["type"] != "null");
                if let [Value::Object(only)] = &choices[..] {
                    let only = only.clone();
                    object.shift_remove("anyOf");
                    object.extend(only);
                }
            }
            if let Some(Value::String(text)) = object.get_mut("description") {
                *text = text.replace('\n', " ");
            }
            object.values_mut().for_each(plain);
        }
        Value::Array(items) => items.iter_mut().for_each(plain),
        _ => {}
    }
}
