//! Appending and saving: nothing else changes, nothing is half-written.
use records::{BarFile, HeardHz, HeardRecord, LogEntry, TrimRecord, WeighedRecord};
use std::fs;
use std::path::Path;

const TEXT: &str = include_str!("../full.bar.json");

fn heard() -> LogEntry {
    let hz = HeardHz { bending: Some(vec![Some(141.25), None]), torsion: None };
    LogEntry::Heard(HeardRecord { hz, sigma_cents: Some(0.5), temperature_c: None })
}

fn names(folder: &Path) -> Vec<String> {
    fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect()
}

#[test]
fn an_appended_entry_changes_no_other_byte_and_comes_off_again() {
    let mut file = BarFile::from_bytes(TEXT.as_bytes()).unwrap();
    file.append(&heard()).unwrap();
    let added = "{\"heard\":{\"hz\":{\"bending\":[141.25,null]},\"sigma_cents\":0.5}}";
    assert!(file.text().contains(added), "{}", file.text());
    // Number spellings such as 500.00, 1.2e1 and 4.0 survive: without the entry every byte is as before.
    assert_eq!(file.remove_last().unwrap(), Some(heard()));
    assert_eq!(file.text(), TEXT);
}

#[test]
fn an_entry_that_cannot_have_happened_is_refused_and_changes_nothing() {
    let mut file = BarFile::from_bytes(TEXT.as_bytes()).unwrap();
    let before = file.clone();
    let error = file.append(&LogEntry::Trim(TrimRecord { left_mm: Some(300.0), right_mm: Some(300.0) })).unwrap_err();
    assert_eq!((error.code, error.path.as_str()), ("contradictory_log", "log[6].trim"));
    let error = file.append(&LogEntry::Weighed(WeighedRecord { mass_g: f64::NAN })).unwrap_err();
    assert_eq!(error.code, "wrong_type", "JSON has no NaN: {error}");
    assert_eq!(file, before);
}

#[test]
fn saving_replaces_the_file_that_was_read_and_no_other() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.bar.json");
    fs::write(&path, TEXT).unwrap();
    let before = BarFile::read(&path).unwrap();
    let mut after = before.clone();
    after.append(&heard()).unwrap();
    after.save_over(&path, &before).unwrap();
    assert_eq!(fs::read_to_string(&path).unwrap(), after.text());
    let error = before.save_over(&path, &before).unwrap_err();
    assert_eq!(error.code, "changed_on_disk");
    assert_eq!(after.save_new(&path).unwrap_err().code, "exists");
    assert_eq!(fs::read_to_string(&path).unwrap(), after.text());
    fs::remove_file(&path).unwrap();
    assert_eq!(after.save_over(&path, &after).unwrap_err().code, "changed_on_disk");
    after.save_new(&path).unwrap();
    assert_eq!(names(folder.path()), ["a.bar.json"]);
}

#[test]
fn a_folder_that_cannot_be_written_is_a_clear_refusal() {
    let file = BarFile::from_bytes(TEXT.as_bytes()).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let error = file.save_new(&folder.path().join("missing").join("a.bar.json")).unwrap_err();
    assert_eq!(error.code, "not_saved");
    assert!(error.message.contains("missing") && !error.hint.is_empty(), "{error}");
}

/// Not even root may make files in this folder of the kernel's, so the test holds for root too.
#[cfg(target_os = "linux")]
#[test]
fn a_read_only_folder_is_a_clear_refusal() {
    let file = BarFile::from_bytes(TEXT.as_bytes()).unwrap();
    let error = file.save_new(Path::new("/proc/a.bar.json")).unwrap_err();
    assert_eq!(error.code, "not_saved");
}

#[test]
fn a_missing_file_is_named() {
    let error = BarFile::read(Path::new("no-such.bar.json")).unwrap_err();
    assert_eq!(error.code, "not_found");
    assert!(error.message.contains("no-such.bar.json"));
}
