//! A computer whose clock jumps back (an empty battery, summer time set by hand): order is by entering, never by the clock.
use crate::workshop::common::*;
use records::workshop::{ArchiveLimits, BarFilter, Workshop};

#[test]
fn entries_stand_in_the_order_in_which_they_were_made() {
    let folder = tempfile::tempdir().unwrap();
    let home = folder.path().join("shop");
    let mut shop = new_workshop(&home);
    let bar = enter(&mut shop, "117");
    // Heard at ten, cut "at" nine, heard "at" eight, years ago and back again.
    let minutes = [600, 540, 480, -3_000_000, 601];
    let names = [
        add(&mut shop, bar, heard(&[520.0]), minutes[0]),
        add(&mut shop, bar, cut(1.0), minutes[1]),
        add(&mut shop, bar, heard(&[480.0]), minutes[2]),
        add(&mut shop, bar, cut(0.5), minutes[3]),
        add(&mut shop, bar, heard(&[460.0]), minutes[4]),
    ];
    let order = |shop: &Workshop| -> Vec<_> {
        shop.history(bar).unwrap().events().iter().skip(1).map(|event| (event.uid, event.at)).collect()
    };
    let wanted: Vec<_> = names.iter().copied().zip(minutes.map(at)).collect();
    assert_eq!(order(&shop), wanted, "order of entering, each with the time its clock showed");
    // The state is that of the last entry, not of the latest time.
    let rows = shop.bars(&BarFilter::default()).unwrap();
    assert!(rows[0].heard_after_work && rows[0].stale().is_none(), "{:?}", rows[0]);
    shop.write(|step| step.undo(bar, None, at(-4_000_000))).unwrap();
    let rows = shop.bars(&BarFilter::default()).unwrap();
    assert!(!rows[0].heard_after_work, "the last entry is what undo takes back: {:?}", rows[0]);
    sound(&shop);

    // Another computer, whose clock is right, takes it over in the same order.
    let archive = folder.path().join("all.zip");
    shop.export(&archive, at(-5_000_000), |_, _| ()).unwrap();
    let mut other = Workshop::create(&folder.path().join("other"), "Other", at(900)).unwrap();
    other.import(&archive, false, ArchiveLimits::default()).unwrap();
    assert_eq!(order(&other)[..5], wanted);
    assert!(!other.bars(&BarFilter::default()).unwrap()[0].heard_after_work);
    sound(&other);
}
