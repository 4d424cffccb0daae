//! Two programs with the same workshop open.
use crate::workshop::common::*;
use records::workshop::{Uid, Workshop};

#[test]
fn two_programs_see_each_other_and_lose_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let mut first = new_workshop(folder.path());
    let bar = enter(&mut first, "117");
    let home = folder.path().to_owned();
    let write = move |start: i64| -> Vec<Uid> {
        let mut shop = Workshop::open(&home, at(0)).unwrap();
        (0..40).map(|i| add(&mut shop, bar, heard(&[500.0 + i as f64]), start + i)).collect()
    };
    let other = std::thread::spawn({
        let write = write.clone();
        move || write(100)
    });
    let mut names = write(200);
    names.extend(other.join().unwrap());
    let history = first.history(bar).unwrap();
    assert_eq!(history.events().len(), 81);
    assert!(names.iter().all(|name| history.events().iter().any(|event| event.uid == *name)));
    sound(&first);
}
