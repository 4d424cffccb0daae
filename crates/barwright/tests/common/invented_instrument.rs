//! The invented instrument of the demonstration, small.
use barwright::certified::{Sealed, document::Given, give};
use barwright::invented_set::{InventedSet, NAME};
use barwright::whole_set::WholeSet;
use jiff::Timestamp;
use jiff::ToSpan;
use jiff::tz::TimeZone;
use making::fine::Class;
use tempfile::TempDir;

/// C4 to C5, done at the beginning of 2022.
pub fn tuned(sound: bool) -> (TempDir, InventedSet) {
    let folder = tempfile::tempdir().unwrap();
    let start: Timestamp = "2022-01-10T08:00:00Z".parse().unwrap();
    let set = InventedSet::new(folder.path(), [60, 72], 5, start, sound).unwrap();
    (folder, set)
}

/// Its certificate, given when it was done in the invented workshop.
pub fn certify(set: &mut InventedSet) -> Sealed {
    let date = set.now().to_zoned_datetime(TimeZone::UTC).date();
    let given = Given {
        workshop: "Invented workshop".to_owned(),
        date,
        next_visit: date.checked_add(2.years()).unwrap(),
        tuned_by: None,
        class: Class::Working,
    };
    let whole = WholeSet::of(&set.workshop, set.instrument, NAME).unwrap();
    let now = set.now();
    give(&mut set.workshop, &whole, &given, now).unwrap()
}
