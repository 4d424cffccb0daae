//! Backups and restoring.
use crate::workshop::common::*;
use records::workshop::{BACKUP_FOLDER, PhotoFormat, RECORD_FILE, ReadingRecord, Workshop, check_copy, restore};
use records::{HeardHz, HeardRecord};
use std::fs;

#[test]
fn a_backup_made_in_use_is_sound_whole_and_comes_back() {
    let folder = tempfile::tempdir().unwrap();
    let (home, copy, back) = (folder.path().join("shop"), folder.path().join("copy"), folder.path().join("back"));
    let mut shop = new_workshop(&home);
    let bar = enter(&mut shop, "117");
    let take = shop.takes().keep(b"sound of an invented blow").unwrap();
    shop.write(|step| step.take_kept(&take, 25, 44_100, 1.0)).unwrap();
    let hz = HeardHz { bending: Some(vec![Some(500.0)]), torsion: None };
    let heard = HeardRecord { hz, sigma_cents: None, temperature_c: None };
    let reading = ReadingRecord { heard, takes: vec![take.clone()], struck: None, listener: None };
    add(&mut shop, bar, records::workshop::Body::Heard(reading), 5);
    let photo = photographed(&mut shop, bar, 105.0, 5);
    let report = shop.backup(&copy).unwrap();
    assert_eq!((report.takes.copied, report.takes.lost), (1, 0));
    assert_eq!((report.photos.copied, report.photos.lost), (1, 0));
    let again = shop.backup(&copy).unwrap();
    assert_eq!((again.takes.there, again.photos.there), (1, 1), "a file is copied once");
    assert_eq!(shop.backup(&home).unwrap_err().code, "same_folder");
    add(&mut shop, bar, cut(1.0), 6);
    assert_eq!(restore(&copy, &home).unwrap_err().code, "exists", "never over what is there");
    restore(&copy, &back).unwrap();
    let restored = Workshop::open(&back, at(7)).unwrap();
    assert_eq!(restored.history(bar).unwrap().events().len(), 3, "as it was when copied");
    assert_eq!(restored.takes().read(&take).unwrap(), b"sound of an invented blow");
    assert_eq!(restored.photos().read(&photo, PhotoFormat::Jpeg).unwrap(), PICTURE);
    sound(&restored);
    fs::write(restored.photos().path(&photo, PhotoFormat::Jpeg), b"altered").unwrap();
    let problems = restored.check(|_, _| ()).unwrap().problems;
    assert!(problems.len() == 1 && problems[0].contains("photo"), "{problems:?}");
    assert_eq!(restored.backup(&folder.path().join("third")).unwrap().photos.lost, 1);
    assert_eq!(restore(&folder.path().join("nothing"), &folder.path().join("x")).unwrap_err().code, "not_found");
    fs::write(folder.path().join("bad.db"), b"not a database at all").unwrap();
    let damaged = restore(&folder.path().join("bad.db"), &folder.path().join("y")).unwrap_err();
    assert_eq!(damaged.code, "damaged");
    assert!(!folder.path().join("y").join(RECORD_FILE).exists());
}

#[test]
fn the_days_copy_is_made_once_a_day_and_opens() {
    let folder = tempfile::tempdir().unwrap();
    let mut shop = new_workshop(folder.path());
    enter(&mut shop, "117");
    let take = shop.takes().keep(b"sound of an invented blow").unwrap();
    shop.write(|step| step.take_kept(&take, 25, 44_100, 1.0)).unwrap();
    let made = shop.automatic_backup(at(10)).unwrap().unwrap();
    assert_eq!(shop.automatic_backup(at(20)).unwrap(), None);
    assert!(shop.automatic_backup(at(24 * 60)).unwrap().is_some());
    assert_eq!(fs::read_dir(folder.path().join(BACKUP_FOLDER)).unwrap().count(), 2);
    let back = folder.path().join("back");
    restore(&made, &back).unwrap();
    let restored = Workshop::open(&back, at(30)).unwrap();
    assert!(restored.takes().read(&take).is_ok(), "its sound comes along");
    sound(&restored);
}

#[test]
fn a_copy_made_by_hand_is_named_checked_listed_and_never_thinned_out() {
    let folder = tempfile::tempdir().unwrap();
    let mut shop = new_workshop(folder.path());
    enter(&mut shop, "117");
    assert!(shop.copies().is_empty());
    let by_hand = shop.copy_now(at(5)).unwrap();
    // Forty daily copies thin each other out, not this one.
    for day in 1..40 {
        shop.automatic_backup(at(day * 24 * 60)).unwrap();
    }
    let copies = shop.copies();
    assert!(copies.windows(2).all(|pair| pair[0].made_at >= pair[1].made_at), "newest first");
    assert!(copies.len() < 40 && copies.contains(&by_hand), "{} copies", copies.len());
    assert!(by_hand.path.is_file() && by_hand.bytes > 0 && !by_hand.automatic);
    // The workshop's own event and the bar's.
    assert_eq!(check_copy(&by_hand.path).unwrap(), 2);
    let mut bytes = fs::read(&by_hand.path).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle..].fill(0x5a);
    fs::write(&by_hand.path, &bytes).unwrap();
    assert_eq!(check_copy(&by_hand.path).unwrap_err().code, "damaged");
    fs::write(&by_hand.path, b"not a database at all").unwrap();
    assert_eq!(check_copy(&by_hand.path).unwrap_err().code, "damaged");
    assert_eq!(check_copy(&folder.path().join("none.db")).unwrap_err().code, "not_found");
}
