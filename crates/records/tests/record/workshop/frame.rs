//! The frame in the record: plans and measured rails, and the order of drilling.
use crate::workshop::common::*;
use records::workshop::{
    Body, DrilledRecord, FrameBuiltRecord, FramePlanRecord, HoleRecord, RailRecord, RailWord, RowWord,
};

fn holes(why: Option<&str>) -> Body {
    let hole = |mm: f64| HoleRecord { near_mm: mm, far_mm: mm + 4.0, below_top_mm: 11.0 };
    Body::Drilled(DrilledRecord {
        diameter_mm: 6.0,
        holes: vec![hole(87.0), hole(383.0)],
        why: why.map(ToOwned::to_owned),
    })
}

fn built(rails: Vec<RailRecord>) -> Body {
    Body::FrameBuilt(FrameBuiltRecord { rails, sigma_mm: 1.0 })
}

#[test]
fn the_last_plan_and_the_last_measuring_hold_and_can_be_taken_back() {
    let folder = tempfile::tempdir().unwrap();
    let mut shop = new_workshop(folder.path());
    let instrument = order(&mut shop, "First order");
    assert_eq!(shop.frame(instrument).unwrap(), Default::default());
    let plan = |gap_mm| Body::FramePlanned(Box::new(FramePlanRecord { gap_mm, ..Default::default() }));
    add(&mut shop, instrument, plan(12.7), 10);
    add(&mut shop, instrument, plan(14.0), 11);
    add(&mut shop, instrument, standing_frame(0.0), 12);
    add(&mut shop, instrument, standing_frame(2.0), 13);
    let frame = shop.frame(instrument).unwrap();
    assert_eq!(frame.plan.unwrap(), FramePlanRecord { gap_mm: 14.0, ..Default::default() });
    let (built, since) = frame.built.unwrap();
    assert_eq!((built.rails[0].points[1][1], since), (52.0, at(13)));
    shop.write(|step| step.undo(instrument, None, at(14))).unwrap();
    let back = shop.frame(instrument).unwrap().built.map(|(built, _)| Body::FrameBuilt(built));
    assert_eq!(back, Some(standing_frame(0.0)));
    sound(&shop);
}

#[test]
fn a_bar_is_not_drilled_before_its_frame_stands_unless_a_reason_is_given() {
    let folder = tempfile::tempdir().unwrap();
    let mut shop = new_workshop(folder.path());
    let instrument = order(&mut shop, "First order");
    let bar = enter(&mut shop, "117");
    assert_eq!(refused(&mut shop, bar, holes(None)), "frame_not_built", "no instrument, no frame");
    add(&mut shop, bar, give(instrument, "C3"), 10);
    assert_eq!(refused(&mut shop, bar, holes(None)), "frame_not_built");
    assert_eq!(refused(&mut shop, bar, holes(Some("  "))), "frame_not_built", "a blank is no reason");
    add(&mut shop, bar, holes(Some("an old bar taken over")), 11);
    assert!(state(&shop, bar).drilled.is_some());
    shop.write(|step| step.undo(bar, None, at(12))).unwrap();
    add(&mut shop, instrument, standing_frame(0.0), 13);
    add(&mut shop, bar, holes(None), 14);
    assert_eq!(state(&shop, bar).drilled.unwrap().why, None);
    sound(&shop);
}

#[test]
fn rails_that_cannot_be_are_refused_and_leave_no_trace() {
    let folder = tempfile::tempdir().unwrap();
    let mut shop = new_workshop(folder.path());
    let instrument = order(&mut shop, "First order");
    let rail = |rail, points: &[[f64; 2]]| RailRecord { row: RowWord::Natural, rail, points: points.to_vec() };
    let good = || rail(RailWord::Far, &[[0.0, 350.0], [1800.0, 300.0]]);
    let wrong = [
        (vec![], "wrong_rail"),
        (vec![good()], "wrong_rail"),
        (vec![good(), good()], "wrong_rail"),
        (vec![good(), rail(RailWord::Player, &[[0.0, 0.0]])], "wrong_rail"),
        (vec![good(), rail(RailWord::Player, &[[900.0, 0.0], [900.0, 1.0]])], "wrong_rail"),
        (vec![good(), rail(RailWord::Player, &[[0.0, 0.0], [18_000.0, 1.0]])], "out_of_range"),
    ];
    for (rails, code) in wrong {
        assert_eq!(refused(&mut shop, instrument, built(rails.clone())), code, "{rails:?}");
    }
    let plan = |plan: FramePlanRecord| Body::FramePlanned(Box::new(plan));
    let share = FramePlanRecord { outer_share: [0.9, 0.5], ..Default::default() };
    assert_eq!(refused(&mut shop, instrument, plan(share)), "out_of_range");
    let note = FramePlanRecord { bend_after: vec!["H9".to_owned()], ..Default::default() };
    assert_eq!(refused(&mut shop, instrument, plan(note)), "wrong_note");
    let bar = enter(&mut shop, "117");
    assert_eq!(refused(&mut shop, bar, standing_frame(0.0)), "wrong_kind");
    assert_eq!(shop.frame(instrument).unwrap(), Default::default());
    sound(&shop);
}
