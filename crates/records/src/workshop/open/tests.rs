//! Files of earlier versions, brought up; see `tests/files/README.md` for where they come from.
use super::*;
use crate::workshop::backup::BACKUP_FOLDER;
use std::fs;
use std::path::PathBuf;
use tempfile::TempDir;

const VERSION_1_FILE: &[u8] = include_bytes!("../../../tests/files/workshop-version-1.db");
/// Events in that file, counted when it was made.
const VERSION_1_EVENTS: usize = 35;
const VERSION_2_FILE: &[u8] = include_bytes!("../../../tests/files/workshop-version-2.db");
/// The sound its one take stands for.
const SOUND: &[u8] = b"sound of an invented blow";
/// A step that no version has taken yet.
const FURTHER: &str = "CREATE TABLE further (x INTEGER) STRICT; CREATE INDEX event_by_time ON event (at_ms);";

fn stored() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join(RECORD_FILE), VERSION_1_FILE).unwrap();
    Takes::in_folder(folder.path()).keep(SOUND).unwrap();
    folder
}

/// Every event as it lies in the file.
fn events(connection: &Connection) -> Vec<(i64, String, i64, String)> {
    let mut query = connection.prepare("SELECT id, uid, at_ms, body FROM event ORDER BY id").unwrap();
    let row = |row: &rusqlite::Row<'_>| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?));
    query.query_map([], row).unwrap().collect::<Result<_, _>>().unwrap()
}

fn sound(shop: &Workshop) {
    let report = shop.check(|_, _| ()).unwrap();
    assert!(report.sound(), "{:?}", report.problems);
}

fn copies(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder.join(BACKUP_FOLDER)).into_iter().flatten().flatten();
    entries.map(|entry| entry.path()).collect()
}

#[test]
fn a_stored_file_of_version_1_opens_with_all_its_events() {
    let folder = stored();
    let shop = Workshop::open(folder.path(), Timestamp::UNIX_EPOCH).unwrap();
    assert_eq!(version(&shop.connection).unwrap(), STEPS.len());
    assert_eq!(events(&shop.connection).len(), VERSION_1_EVENTS);
    sound(&shop);
    let bar = shop.find_bars("#=117", None).unwrap()[0].uid;
    assert_eq!(shop.bar(bar).unwrap().drilled.unwrap().holes.len(), 1);
}

#[test]
fn a_stored_file_of_version_2_opens_with_all_its_events() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join(RECORD_FILE), VERSION_2_FILE).unwrap();
    let before = events(&Connection::open(folder.path().join(RECORD_FILE)).unwrap());
    let shop = Workshop::open(folder.path(), Timestamp::UNIX_EPOCH).unwrap();
    assert_eq!(version(&shop.connection).unwrap(), STEPS.len());
    assert_eq!(events(&shop.connection), before);
    let bar = shop.find_bars("#=117", None).unwrap()[0].uid;
    assert_eq!(shop.bar(bar).unwrap().drilled.unwrap().holes.len(), 1);
}

#[test]
fn an_earlier_file_is_copied_then_brought_up_and_loses_no_event() {
    let folder = stored();
    let before = {
        let connection = Connection::open(folder.path().join(RECORD_FILE)).unwrap();
        events(&connection)
    };
    let steps: Vec<&'static str> = STEPS.iter().copied().chain([FURTHER]).collect();
    let shop = Workshop::open_with(folder.path(), Timestamp::UNIX_EPOCH, &steps).unwrap();
    assert_eq!(version(&shop.connection).unwrap(), STEPS.len() + 1);
    assert_eq!(events(&shop.connection), before);
    sound(&shop);
    let made = copies(folder.path());
    assert_eq!(made.len(), 1, "{made:?}");
    let copy = Connection::open(&made[0]).unwrap();
    assert_eq!(version(&copy).unwrap(), 1, "the copy is of before");
    assert_eq!(events(&copy), before);
    drop(shop);
    drop(Workshop::open_with(folder.path(), Timestamp::UNIX_EPOCH, &steps).unwrap());
    assert_eq!(copies(folder.path()).len(), 1, "a file that is up to date is not copied again");
    // The earlier program now meets a file that is newer than itself.
    assert_eq!(Workshop::open(folder.path(), Timestamp::UNIX_EPOCH).unwrap_err().code, "newer_file");
}

#[test]
fn a_step_that_fails_leaves_the_file_as_it_was() {
    let folder = stored();
    let broken = "CREATE TABLE half (x INTEGER) STRICT; INSERT INTO no_such_table VALUES (1);";
    let steps: Vec<&'static str> = STEPS.iter().copied().chain([broken]).collect();
    let error = Workshop::open_with(folder.path(), Timestamp::UNIX_EPOCH, &steps).unwrap_err();
    assert_eq!(error.code, "migration_failed");
    let shop = Workshop::open(folder.path(), Timestamp::UNIX_EPOCH).unwrap();
    assert_eq!(events(&shop.connection).len(), VERSION_1_EVENTS);
    let half = shop.connection.prepare("SELECT 1 FROM half");
    assert!(half.is_err(), "half a step stayed");
    sound(&shop);
    assert_eq!(copies(folder.path()).len(), 1);
}
