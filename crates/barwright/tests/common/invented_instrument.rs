//! The invented instrument of the demonstration, small.
use barwright::invented_set::InventedSet;
use jiff::Timestamp;
use tempfile::TempDir;

/// C4 to C5, done at the beginning of 2022.
pub fn tuned(sound: bool) -> (TempDir, InventedSet) {
    let folder = tempfile::tempdir().unwrap();
    let start: Timestamp = "2022-01-10T08:00:00Z".parse().unwrap();
    let set = InventedSet::new(folder.path(), [60, 72], 5, start, sound).unwrap();
    (folder, set)
}
