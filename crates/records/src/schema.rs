//! The published JSON Schema, generated from the types of [`crate::record`].
use crate::record::BarRecord;
use serde_json::Value;
use std::sync::LazyLock;

static SCHEMA: LazyLock<Value> = LazyLock::new(|| {
    let mut schema = schemars::schema_for!(BarRecord).to_value();
    if let Some(object) = schema.as_object_mut() {
        object.insert("title".to_owned(), "barwright bar file, version 1".into());
    }
    schema
});

/// The schema as a JSON value.
pub(crate) fn schema() -> &'static Value {
    &SCHEMA
}

/// The JSON Schema of a bar file as indented text with a final line end.
pub fn schema_text() -> String {
    // `{:#}` of a JSON value is its indented form and cannot fail.
    format!("{:#}\n", *SCHEMA)
}
