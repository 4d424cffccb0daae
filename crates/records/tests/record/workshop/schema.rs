//! The published schemas of an archive, checked by a general JSON Schema validator.
use crate::workshop::everything::everything;
use crate::workshop::exchange::{export, member};
use records::workshop::{event_schema_text, manifest_schema_text};
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::path::Path;

fn validator(schema: &str) -> jsonschema::Validator {
    jsonschema::validator_for(&serde_json::from_str(schema).unwrap()).unwrap()
}

/// The words for kinds of event in the schema: each is the one key that its alternative requires.
fn kinds_in_schema() -> BTreeSet<String> {
    let schema: Value = serde_json::from_str(&event_schema_text()).unwrap();
    let kinds = schema["$defs"]["Body"]["oneOf"].as_array().unwrap();
    kinds.iter().map(|kind| kind["required"][0].as_str().unwrap().to_owned()).collect()
}

#[test]
fn every_kind_of_event_leaves_as_its_schema_says() {
    let folder = tempfile::tempdir().unwrap();
    let (shop, _) = everything(&folder.path().join("a"));
    let archive = folder.path().join("a.zip");
    let lines = export(&shop, &archive);
    assert_eq!(member(&archive, "events.schema.json"), event_schema_text());
    assert_eq!(member(&archive, "manifest.schema.json"), manifest_schema_text());
    let by_schema = validator(&event_schema_text());
    let mut kinds = BTreeSet::new();
    for line in lines.lines() {
        let line: Value = serde_json::from_str(line).unwrap();
        let wrong: Vec<String> = by_schema.iter_errors(&line).map(|error| error.to_string()).collect();
        assert!(wrong.is_empty(), "{line}: {wrong:?}");
        kinds.extend(line["entry"]["what"].as_object().unwrap().keys().cloned());
    }
    assert_eq!(kinds, kinds_in_schema(), "the story leaves a kind of event out");
    let manifest: Value = serde_json::from_str(&member(&archive, "manifest.json")).unwrap();
    assert!(validator(&manifest_schema_text()).is_valid(&manifest), "{manifest}");
}

#[test]
fn what_no_export_writes_is_refused_by_the_schema() {
    let folder = tempfile::tempdir().unwrap();
    let (shop, _) = everything(&folder.path().join("a"));
    let archive = folder.path().join("a.zip");
    let lines = export(&shop, &archive);
    let good: Value = serde_json::from_str(lines.lines().last().unwrap()).unwrap();
    let by_schema = validator(&event_schema_text());
    assert!(by_schema.is_valid(&good));
    for (pointer, value) in [
        ("/thing", json!(3)),
        ("/kind", json!("violin")),
        ("/entry", json!({})),
        ("/entry/what", json!({ "painted": {} })),
        ("/entry/what", json!({ "weighed": { "mass_g": "heavy" } })),
        ("/entry/what", json!({ "weighed": { "mass_g": 560.0, "colour": "red" } })),
    ] {
        let mut bad = good.clone();
        *bad.pointer_mut(pointer).unwrap() = value;
        assert!(!by_schema.is_valid(&bad), "{bad}");
    }
    let mut manifest: Value = serde_json::from_str(&member(&archive, "manifest.json")).unwrap();
    manifest["format"] = json!("barwright-workshop/2");
    assert!(!validator(&manifest_schema_text()).is_valid(&manifest));
}

/// `BLESS=1 cargo test -p records` writes them anew.
#[test]
fn the_published_schemas_are_current() {
    let docs = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs");
    for (name, text) in
        [("workshop-event.schema.json", event_schema_text()), ("workshop-manifest.schema.json", manifest_schema_text())]
    {
        let path = docs.join(name);
        if std::env::var_os("BLESS").is_some() {
            std::fs::write(&path, &text).unwrap();
        }
        let published = std::fs::read_to_string(&path).unwrap_or_default();
        assert!(published == text, "docs/{name} is not current: run BLESS=1 cargo test -p records");
    }
}
