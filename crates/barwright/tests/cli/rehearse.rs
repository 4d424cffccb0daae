//! `rehearse`: its counts, its refusals.

use crate::common::{answer, refusal};

#[test]
fn one_invented_bar_is_rehearsed_and_counted() {
    let value = answer(&["rehearse", "--bars", "1", "--seed", "3", "--notes", "C5", "--json"]);
    assert_eq!(value["invented"], true);
    let rehearsal = &value["rehearsals"][0];
    let (all, bar) = (&rehearsal["octaves"][1], &rehearsal["bars"][0]);
    assert_eq!((&all["notes"], &all["bars"]), (&"all".into(), &1.into()));
    assert_eq!((&bar["note"], &bar["seed"]), (&"C5".into(), &3.into()));
    // The count is of what the bar truly reads: ±2 and ±5 cents.
    let cents: Vec<f64> = bar["cents"].as_array().unwrap().iter().map(|c| c.as_f64().unwrap()).collect();
    let near = cents[0].abs() <= 2.0 && cents[1].abs() <= 5.0;
    assert_eq!(bar["within"], near && bar["decision"] == "finished");
    assert_eq!(all["within"], u64::from(bar["within"].as_bool().unwrap()));
}

#[test]
fn notes_without_known_sizes_are_refused() {
    assert_eq!(refusal(&["rehearse", "--notes", "C1-C3"]).0, "wrong_notes");
}
