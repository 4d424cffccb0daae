//! Damaged, foreign, newer, vanished and full.
use crate::workshop::common::*;
use records::workshop::{RECORD_FILE, Workshop};
use rusqlite::Connection;
use std::fs;
use std::path::Path;

#[test]
fn other_files_are_refused_and_left_as_they_are() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(RECORD_FILE);
    assert_eq!(Workshop::open(folder.path(), at(0)).unwrap_err().code, "no_workshop");
    fs::write(&path, "not a database, but long enough to be taken for one ".repeat(40)).unwrap();
    let before = fs::read(&path).unwrap();
    assert_eq!(Workshop::open(folder.path(), at(0)).unwrap_err().code, "damaged");
    assert_eq!(Workshop::create(folder.path(), "x", at(0)).unwrap_err().code, "exists");
    assert_eq!(fs::read(&path).unwrap(), before);
    fs::remove_file(&path).unwrap();
    Connection::open(&path).unwrap().execute_batch("CREATE TABLE other (x)").unwrap();
    assert_eq!(Workshop::open(folder.path(), at(0)).unwrap_err().code, "not_a_workshop");
}

#[test]
fn a_newer_record_is_refused_in_words() {
    let folder = tempfile::tempdir().unwrap();
    drop(new_workshop(folder.path()));
    let connection = Connection::open(folder.path().join(RECORD_FILE)).unwrap();
    connection.pragma_update(None, "user_version", 1000).unwrap();
    connection.close().unwrap();
    let error = Workshop::open(folder.path(), at(1)).unwrap_err();
    assert_eq!(error.code, "newer_file");
    assert!(error.to_string().contains("newer barwright (version 1000"), "{error}");
}

#[test]
fn the_check_finds_what_somebody_altered() {
    for (sql, word) in [
        ("UPDATE bar_now SET cents_1 = 3 WHERE 1", "present state"),
        ("DELETE FROM bar_now WHERE 1", "present state"),
        ("UPDATE thing SET kind = 'board' WHERE kind = 'bar'", "for a board"),
        ("INSERT INTO event (uid, thing, at_ms, kind, body) VALUES ('x', 2, 0, 'cut', '{}')", "event"),
        ("INSERT INTO take VALUES ('00ff', 1, 44100, 1.0)", "missing"),
    ] {
        let folder = tempfile::tempdir().unwrap();
        let mut shop = new_workshop(folder.path());
        let bar = enter(&mut shop, "117");
        add(&mut shop, bar, heard(&[500.0]), 5);
        sound(&shop);
        Connection::open(folder.path().join(RECORD_FILE)).unwrap().execute_batch(sql).unwrap();
        let report = shop.check(|_, _| ()).unwrap();
        assert!(report.problems.iter().any(|problem| problem.contains(word)), "{sql}: {:?}", report.problems);
    }
}

#[test]
fn events_cannot_be_altered_even_by_other_programs() {
    let folder = tempfile::tempdir().unwrap();
    drop(new_workshop(folder.path()));
    let other = Connection::open(folder.path().join(RECORD_FILE)).unwrap();
    for sql in ["DELETE FROM event", "UPDATE event SET body = '{}'"] {
        assert!(other.execute_batch(sql).unwrap_err().to_string().contains("never"), "{sql}");
    }
}

#[test]
fn a_full_disk_refuses_the_step_and_keeps_the_rest() {
    let folder = tempfile::tempdir().unwrap();
    let mut shop = new_workshop(folder.path());
    let bar = enter(&mut shop, "117");
    let mut kept = 0;
    // SQLite's own limit on pages stands for the disk's: it fails with the same "full" at the same places.
    shop.limit_pages(30).unwrap();
    let error = loop {
        match shop.write(|step| step.add(bar, heard(&[500.0]).into(), at(5))) {
            Ok(_) => kept += 1,
            Err(error) => break error,
        }
        assert!(kept < 10_000, "30 pages never filled");
    };
    assert_eq!(error.code, "disk_full");
    assert_eq!(shop.history(bar).unwrap().events().len(), 1 + kept);
    shop.limit_pages(1_000_000).unwrap();
    add(&mut shop, bar, cut(1.0), 6);
    sound(&shop);
}

#[cfg(unix)]
#[test]
fn nothing_is_acknowledged_once_the_file_is_gone() {
    let folder = tempfile::tempdir().unwrap();
    let home = folder.path().join("shop");
    let mut shop = new_workshop(&home);
    let bar = enter(&mut shop, "117");
    fs::rename(&home, folder.path().join("moved")).unwrap();
    assert_eq!(refused(&mut shop, bar, cut(1.0)), "vanished");
    fs::rename(folder.path().join("moved"), &home).unwrap();
    add(&mut shop, bar, cut(1.0), 6);
    sound(&shop);
}

/// Not even root may make files in this folder of the kernel's, so the test holds for root too.
#[cfg(target_os = "linux")]
#[test]
fn a_folder_that_cannot_be_written_is_a_clear_refusal() {
    let error = Workshop::create(Path::new("/sys/shop"), "Shop", at(0)).unwrap_err();
    assert_eq!(error.code, "not_writable");
    assert!(error.message.contains("/sys/shop") && !error.hint.is_empty(), "{error}");
}

/// A stick pulled out halfway, a disk the system has set to read-only: SQLite's own switch stands for it.
#[test]
fn a_record_that_became_read_only_refuses_the_step_and_still_shows_everything() {
    let folder = tempfile::tempdir().unwrap();
    let mut shop = new_workshop(folder.path());
    let bar = enter(&mut shop, "117");
    add(&mut shop, bar, heard(&[500.0]), 5);
    shop.read_only(true).unwrap();
    assert_eq!(refused(&mut shop, bar, cut(1.0)), "not_writable");
    assert_eq!(shop.history(bar).unwrap().events().len(), 2);
    shop.read_only(false).unwrap();
    add(&mut shop, bar, cut(1.0), 6);
    sound(&shop);
}
