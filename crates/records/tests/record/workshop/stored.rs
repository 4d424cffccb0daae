//! Stored files of earlier versions: how they are made. What becomes of them is tested beside `Workshop::open`.
use crate::workshop::common::sound;
use crate::workshop::everything::everything;
use records::workshop::RECORD_FILE;
use std::path::Path;

/// Writes the stored file of the present version, once: run it before the version of the record is raised, with
/// `cargo test -p records --test record -- --ignored stored`. A stored file is never written over.
#[test]
#[ignore = "writes a file into the sources"]
fn the_stored_file_of_this_version_is_written_once() {
    let folder = tempfile::tempdir().unwrap();
    let (shop, _) = everything(folder.path());
    sound(&shop);
    drop(shop);
    let connection = rusqlite::Connection::open(folder.path().join(RECORD_FILE)).unwrap();
    let version: i64 = connection.pragma_query_value(None, "user_version", |row| row.get(0)).unwrap();
    connection.close().unwrap();
    let files = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/files");
    let path = files.join(format!("workshop-version-{version}.db"));
    assert!(!path.exists(), "{} is there already and stays as it is", path.display());
    std::fs::copy(folder.path().join(RECORD_FILE), path).unwrap();
}
