//! From an empty workshop to a delivered instrument, and back for retuning.
use crate::workshop::common::*;
use records::workshop::{
    BarFilter, Body, Climate, DeliveredRecord, DoneStage, DrilledRecord, Face, FinishRecord, HoleRecord, Kind,
    NodeLine, PersonRecord, RemarkRecord, SaltRecord, Stage, StageRecord, TopFaceRecord, Workshop,
};
use records::{LimitsRecord, TrimRecord};

fn salt(left_mm: f64) -> Body {
    let line = |mm: f64| NodeLine { near_mm: mm - 4.0, centre_mm: Some(mm), far_mm: mm + 4.0 };
    Body::Salt(SaltRecord { face_up: Face::B, left: line(left_mm), right: line(470.0 - left_mm), photo: None })
}

fn holes() -> Body {
    let hole = |mm: f64| HoleRecord { near_mm: mm - 3.0, far_mm: mm + 3.0, below_top_mm: 11.0 };
    Body::Drilled(DrilledRecord { diameter_mm: 6.0, holes: vec![hole(87.0), hole(383.0)], why: None })
}

#[test]
fn from_an_empty_workshop_to_a_delivered_instrument() {
    let folder = tempfile::tempdir().unwrap();
    let mut shop = new_workshop(folder.path());
    let person = Body::Person(PersonRecord { name: "Invented maker".to_owned() });
    shop.write(|step| step.begin(Kind::Person, person.into(), at(0))).unwrap();
    let instrument = order(&mut shop, "First order");
    let bar = enter(&mut shop, "117");
    let stage = |shop: &Workshop| state(shop, bar).stage;
    assert_eq!(stage(&shop), Stage::MeasureBlank);
    add(&mut shop, bar, heard(&[505.0, 1330.0]), 10);
    assert_eq!(stage(&shop), Stage::GiveNote);
    add(&mut shop, bar, salt(105.0), 11);
    add(&mut shop, bar, Body::TopFace(TopFaceRecord { top: Face::B, why: None }), 12);
    add(&mut shop, bar, give(instrument, "C3"), 13);
    add(&mut shop, bar, Body::Limits(LimitsRecord { min_thickness_mm: Some(6.5) }), 13);
    assert_eq!(stage(&shop), Stage::Saw);
    add(&mut shop, bar, cut(12.0), 20);
    assert_eq!(stage(&shop), Stage::RoughTune);
    assert!(!state(&shop, bar).heard_after_work);
    // 131.4125 Hz is C3 at 442 Hz: a semitone above it is 139.23 Hz.
    add(&mut shop, bar, heard(&[139.23, 557.0, 1392.0]), 30);
    let reading = state(&shop, bar).reading.unwrap();
    // Equal temperament to the printed figures: 0.01 Hz at 139 Hz is 0.12 cents.
    assert!((reading.cents[0].unwrap() - 100.0).abs() < 0.2, "{:?}", reading.cents);
    add(&mut shop, bar, Body::Stage(StageRecord { done: DoneStage::RoughTuned }), 31);
    assert_eq!(stage(&shop), Stage::SecondSalt, "the first salt test was before the arch");
    add(&mut shop, bar, salt(86.0), 40);
    assert_eq!(stage(&shop), Stage::Drill);
    let early = shop.write(|step| step.add(bar, holes().into(), at(50))).unwrap_err();
    assert_eq!(early.code, "frame_not_built", "{early}");
    assert_eq!(stage(&shop), Stage::Drill, "what is refused leaves no trace");
    add(&mut shop, instrument, standing_frame(0.0), 50);
    add(&mut shop, bar, holes(), 50);
    add(&mut shop, bar, Body::Finish(FinishRecord { what: "oil".to_owned(), coats: Some(2) }), 60);
    assert_eq!(stage(&shop), Stage::FineTune);
    add(&mut shop, bar, cut(0.3), 70);
    add(&mut shop, bar, heard(&[131.45, 525.9, 1315.0]), 80);
    add(&mut shop, bar, Body::Stage(StageRecord { done: DoneStage::FineTuned }), 81);
    assert_eq!(stage(&shop), Stage::Done);
    add(&mut shop, instrument, Body::Delivered(DeliveredRecord { to: None }), 90);
    assert!(shop.list(Kind::Instrument).unwrap()[0].gone);
    sound(&shop);

    // Five years on, from the file alone.
    drop(shop);
    let mut shop = Workshop::open(folder.path(), at(2_629_800)).unwrap();
    add(&mut shop, instrument, Body::Returned(RemarkRecord { text: "retuning".to_owned() }), 2_629_800);
    let found = shop.find_bars("C3", None).unwrap();
    assert_eq!(found[0].uid, bar);
    let old = state(&shop, bar);
    assert_eq!(old.file.log().len(), 5, "three readings and two cuts");
    assert_eq!(old.top, Some(Face::B));
    assert_eq!(old.drilled.unwrap().holes.len(), 2);
    assert_eq!(old.file.record().limits.unwrap().min_thickness_mm, Some(6.5));
    assert_eq!(shop.bars(&BarFilter { instrument: Some(instrument), ..BarFilter::default() }).unwrap().len(), 1);
    sound(&shop);
}

#[test]
fn what_cannot_have_happened_is_refused_and_leaves_no_trace() {
    let folder = tempfile::tempdir().unwrap();
    let mut shop = new_workshop(folder.path());
    let instrument = order(&mut shop, "First order");
    let (bar, other) = (enter(&mut shop, "117"), enter(&mut shop, "118"));
    add(&mut shop, bar, give(instrument, "C3"), 5);
    let before = shop.history(bar).unwrap().events().len();
    assert_eq!(refused(&mut shop, bar, cut(24.0)), "contradictory_log", "a cut through the bar");
    assert_eq!(refused(&mut shop, other, give(instrument, "C3")), "note_taken");
    assert_eq!(refused(&mut shop, other, give(bar, "D3")), "wrong_kind", "a bar is no instrument");
    assert_eq!(refused(&mut shop, other, give(instrument, "H3")), "wrong_note");
    assert_eq!(
        refused(&mut shop, bar, Body::Climate(Climate { temperature_c: None, humidity_pct: None })),
        "wrong_kind"
    );
    assert_eq!(
        refused(&mut shop, bar, Body::Trim(TrimRecord { left_mm: Some(460.0), right_mm: None })),
        "contradictory_log"
    );
    let taken = shop.write(|step| step.begin(Kind::Bar, blank("117").into(), at(9))).unwrap_err();
    assert_eq!(taken.code, "label_taken");
    add(&mut shop, bar, cut(3.0), 6);
    let top = |why: Option<&str>| Body::TopFace(TopFaceRecord { top: Face::A, why: why.map(str::to_owned) });
    assert_eq!(refused(&mut shop, bar, top(None)), "too_late");
    add(&mut shop, bar, top(Some("it was decided on paper before")), 7);
    assert_eq!(shop.history(bar).unwrap().events().len(), before + 2);
    // A step of several parts is kept whole or not at all.
    let half = shop.write(|step| {
        step.add(bar, cut(0.1).into(), at(8))?;
        step.add(bar, cut(24.0).into(), at(8))
    });
    assert_eq!(half.unwrap_err().code, "contradictory_log");
    assert_eq!(shop.history(bar).unwrap().events().len(), before + 2);
    sound(&shop);
}

#[test]
fn undo_redo_and_corrections_change_what_holds_and_nothing_that_was_written() {
    let folder = tempfile::tempdir().unwrap();
    let mut shop = new_workshop(folder.path());
    let bar = enter(&mut shop, "117");
    let first_cut = add(&mut shop, bar, cut(1.2), 5);
    add(&mut shop, bar, heard(&[400.0]), 6);
    let undone = shop.write(|step| step.undo(bar, None, at(7))).unwrap();
    assert!(matches!(undone.entry.what, Body::Heard(_)));
    assert!(state(&shop, bar).reading.is_none());
    shop.write(|step| step.redo(bar, at(8))).unwrap();
    assert!(state(&shop, bar).reading.is_some());
    // Another device entered something meanwhile: what was seen as the last no longer is.
    let stale = shop.write(|step| step.undo(bar, Some(first_cut), at(9))).unwrap_err();
    assert_eq!(stale.code, "not_the_last");
    let why = Some("the dial was misread".to_owned());
    shop.write(|step| step.correct(bar, first_cut, Some(cut(2.1)), why, at(10))).unwrap();
    let state_now = state(&shop, bar);
    assert!((state_now.file.outline().thinnest().1 - (23.0 - 2.1)).abs() < 1e-9);
    let history = shop.history(bar).unwrap();
    let old = history.events().iter().find(|event| event.uid == first_cut).unwrap();
    assert_eq!(old.entry.what, cut(1.2));
    sound(&shop);
}
