//! Lists and searches.
use crate::workshop::common::*;
use records::workshop::{BarFilter, Body, QR_PREFIX, RemarkRecord, Stage};

#[test]
fn a_bar_is_found_by_note_label_code_and_name() {
    let folder = tempfile::tempdir().unwrap();
    let mut shop = new_workshop(folder.path());
    let (first, second) = (order(&mut shop, "First order"), order(&mut shop, "Second order"));
    let (one, two) = (enter(&mut shop, "117"), enter(&mut shop, "B-2"));
    add(&mut shop, one, give(first, "C#3"), 5);
    add(&mut shop, two, give(second, "Db3"), 5);
    let names =
        |text: &str, home| -> Vec<_> { shop.find_bars(text, home).unwrap().into_iter().map(|row| row.uid).collect() };
    assert_eq!(names("C♯3", None), [one, two], "both spellings are one note");
    assert_eq!(names("Db3", Some(second)), [two]);
    assert_eq!(names("#117", None), [one]);
    assert_eq!(names(" b-2 ", None), [two]);
    assert_eq!(names(&format!("{QR_PREFIX}{two}"), None), [two]);
    assert_eq!(names(&one.to_string(), None), [one]);
    assert!(names("D4", None).is_empty());
    assert!(names("%' OR 1=1 --", None).is_empty());
}

#[test]
fn views_show_what_is_next_stale_and_freshly_worked() {
    let folder = tempfile::tempdir().unwrap();
    let mut shop = new_workshop(folder.path());
    let home = order(&mut shop, "First order");
    let (fresh, stale, heard_bar) = (enter(&mut shop, "1"), enter(&mut shop, "2"), enter(&mut shop, "3"));
    for (bar, note) in [(fresh, "C3"), (stale, "D3"), (heard_bar, "E3")] {
        add(&mut shop, bar, give(home, note), 5);
    }
    add(&mut shop, stale, heard(&[300.0]), 6);
    add(&mut shop, stale, cut(1.0), 7);
    add(&mut shop, heard_bar, cut(1.0), 8);
    add(&mut shop, heard_bar, heard(&[300.0]), 9);
    let list =
        |filter: BarFilter| -> Vec<String> { shop.bars(&filter).unwrap().into_iter().map(|row| row.label).collect() };
    assert_eq!(list(BarFilter::default()), ["1", "2", "3"], "by pitch");
    assert_eq!(list(BarFilter { stale: true, ..BarFilter::default() }), ["2"]);
    assert_eq!(list(BarFilter { worked_after: Some(at(7)), ..BarFilter::default() }), ["3"]);
    assert_eq!(list(BarFilter { stage: Some(Stage::RoughTune), ..BarFilter::default() }), ["2", "3"]);
    assert_eq!(list(BarFilter { read_away_from_c: Some((24.0, 2.0)), ..BarFilter::default() }), ["2", "3"]);
    assert_eq!(shop.count_bars(&BarFilter { stale: true, limit: 1, ..BarFilter::default() }).unwrap(), 1);
    assert_eq!(shop.count_bars(&BarFilter::default()).unwrap(), 3);
    assert_eq!(list(BarFilter { limit: 1, ..BarFilter::default() }), ["1"]);
    assert_eq!(shop.count_by_stage(Some(home)).unwrap(), [(Stage::MeasureBlank, 1), (Stage::RoughTune, 2)]);
    add(&mut shop, stale, Body::Discarded(RemarkRecord { text: "split".to_owned() }), 10);
    assert!(shop.find_bars("D3", None).unwrap().is_empty(), "a bar given up serves no note");
    assert_eq!(shop.find_bars("#2", None).unwrap().len(), 1, "its label still finds it");
    let other = enter(&mut shop, "4");
    add(&mut shop, other, give(home, "D3"), 11);
    sound(&shop);
}
