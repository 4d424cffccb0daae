//! Data that do not fit: each likely culprit is put into an honest log of the virtual bench and must be named.
#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]
use bar_physics::units::shifted;
use making::virtual_bench::VirtualBar;
use making::{Band, Decision, Event, Job, Reading, Side, next};

/// A C3 bar of the virtual bench, sawn and struck, and its last reading.
fn honest() -> (Job, Reading) {
    let job = VirtualBar::new(11, 130.81).unwrap().job().clone();
    let Some(Event::Heard(reading)) = job.log.last().cloned() else { panic!("the bench strikes last") };
    (job, reading)
}

fn moved(reading: &Reading, cents: f64) -> Reading {
    let all = |list: &[Option<f64>]| list.iter().map(|hz| hz.map(|hz| shifted(hz, cents))).collect();
    Reading { bending_hz: all(&reading.bending_hz), torsion_hz: all(&reading.torsion_hz), ..reading.clone() }
}

fn asked_to_wait(job: &Job) -> String {
    let advice = next(job).unwrap();
    assert_eq!(advice.decision, Decision::Wait, "{}", advice.instruction);
    advice.instruction
}

#[test]
fn the_same_bar_struck_again_raises_no_doubt() {
    let (mut job, reading) = honest();
    // Half a cent is what the bench's readings scatter by.
    job.log.push(Event::Heard(moved(&reading, -0.5)));
    assert_eq!(next(&job).unwrap().decision, Decision::Cut);
}

#[test]
fn a_warm_bar_is_named() {
    let (mut job, reading) = honest();
    // 6 °C above the room at about −1.5 cents per °C, and nobody noted it.
    job.log.push(Event::Heard(moved(&reading, -9.0)));
    let said = asked_to_wait(&job);
    assert!(said.contains("warm bar"), "{said}");
}

#[test]
fn a_wrong_mode_is_named() {
    let (mut job, reading) = honest();
    let mut wrong = reading.clone();
    // Torsion 1 entered as bending 2.
    wrong.bending_hz[1] = reading.torsion_hz[0];
    job.log.push(Event::Heard(wrong));
    let said = asked_to_wait(&job);
    assert!(said.contains("wrong mode") && said.contains("torsion mode 1"), "{said}");
}

#[test]
fn a_cut_entered_too_shallow_is_named() {
    let (mut job, reading) = honest();
    let bands = vec![Band { from_m: 0.0, to_m: 0.06, depth_m: 0.1e-3, side: Side::Both }];
    job.log.push(Event::Cut { bands, passes: None });
    // A millimetre was taken: all modes far below what a tenth does.
    job.log.push(Event::Heard(moved(&reading, -120.0)));
    let said = asked_to_wait(&job);
    assert!(said.contains("more wood was taken off than entered"), "{said}");
}

#[test]
fn a_cut_entered_but_not_made_is_named() {
    let (mut job, reading) = honest();
    let bands = vec![Band { from_m: 0.0, to_m: 0.08, depth_m: 1.0e-3, side: Side::Both }];
    job.log.push(Event::Cut { bands, passes: None });
    job.log.push(Event::Heard(reading));
    let said = asked_to_wait(&job);
    assert!(said.contains("less wood was taken off than entered"), "{said}");
}
