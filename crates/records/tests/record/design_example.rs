//! The published example, the example files, and the published schema.
use records::{BarFile, LogEntry, schema_text};
use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// The example of the format's description, every key used.
const EXAMPLE: &str = include_str!("../full.bar.json");

fn validator() -> jsonschema::Validator {
    let schema: serde_json::Value = serde_json::from_str(&schema_text()).unwrap();
    jsonschema::validator_for(&schema).unwrap()
}

#[test]
fn the_example_with_every_key_is_read_and_written_back_byte_for_byte() {
    let file = BarFile::from_bytes(EXAMPLE.as_bytes()).unwrap();
    assert_eq!(file.text(), EXAMPLE);
    let keys: Vec<&str> = file.log().iter().map(LogEntry::key).collect();
    assert_eq!(keys, ["heard", "shaped", "cut", "caliper", "trim", "weighed"]);
    // Equal temperament: C3 lies 21 semitones below A4.
    assert!((file.note_hz().unwrap() - 440.0 * (-21.0f64 / 12.0).exp2()).abs() < 1e-9);
    assert!((file.outline().length_mm() - 466.0).abs() < 1e-9);
    assert!(validator().is_valid(&serde_json::from_str(EXAMPLE).unwrap()));
}

#[test]
fn the_example_files_are_sound() {
    let validator = validator();
    let mut seen = 0;
    for entry in std::fs::read_dir(root().join("examples")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|ending| ending == "json") {
            let file = BarFile::read(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
            assert!(file.note().is_some(), "{}", path.display());
            assert!(validator.is_valid(&serde_json::from_str(file.text()).unwrap()), "{}", path.display());
            seen += 1;
        }
    }
    assert!(seen >= 3, "three example files are published, found {seen}");
}

/// `BLESS=1 cargo test -p records` writes the schema anew.
#[test]
fn the_published_schema_is_current() {
    let path = root().join("docs/bar-file.schema.json");
    if std::env::var_os("BLESS").is_some() {
        std::fs::write(&path, schema_text()).unwrap();
    }
    let published = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(published == schema_text(), "docs/bar-file.schema.json is not current: run BLESS=1 cargo test -p records");
}
