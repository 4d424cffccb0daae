//! The published JSON Schemas of an archive, generated from its types.
use super::line::{EventLine, Manifest};
use schemars::Schema;

pub(super) const EVENTS_SCHEMA: &str = "events.schema.json";
pub(super) const MANIFEST_SCHEMA: &str = "manifest.schema.json";

/// The JSON Schema of a line of `events.jsonl`, as indented text with a final line end.
pub fn event_schema_text() -> String {
    text(schemars::schema_for!(EventLine), "barwright workshop archive, version 1: a line of events.jsonl")
}

/// The JSON Schema of `manifest.json`, as indented text with a final line end.
pub fn manifest_schema_text() -> String {
    text(schemars::schema_for!(Manifest), "barwright workshop archive, version 1: manifest.json")
}

fn text(mut schema: Schema, title: &str) -> String {
    schema.insert("title".to_owned(), title.into());
    // `{:#}` of a JSON value is its indented form and cannot fail.
    format!("{:#}\n", schema.as_value())
}
