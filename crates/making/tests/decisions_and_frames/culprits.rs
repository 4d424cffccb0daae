//! Data that do not fit: each likely culprit is put into an honest log of the virtual bench and must be named.
use bar_physics::units::shifted;
use making::virtual_bench::VirtualBar;
use making::{Band, Decision, Event, Job, Reading, Side, believe, next};

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

/// The middle of the bar and the wood believed at a place, both in metres.
fn believed(job: &Job, x_m: f64) -> f64 {
    believe(job).unwrap().bar().unwrap().underside.thickness_at(x_m)
}

#[test]
fn a_caliper_that_agrees_raises_no_doubt() {
    let (mut job, _) = honest();
    let t_m = believed(&job, 0.2);
    job.log.push(Event::Caliper { x_m: vec![0.2], thickness_m: vec![t_m + 0.1e-3] });
    assert_eq!(next(&job).unwrap().decision, Decision::Cut);
}

#[test]
fn a_caliper_place_is_named_with_the_slip_that_explains_it() {
    let (job, _) = honest();
    let half_m = 0.5 * job.length_m;
    let blank_m = job.thickness_m;
    // Where it was entered, what was read, and what must be named.
    let cases = [
        (0.100, believed(&job, half_m + 0.100), "counted from the centre"),
        (half_m - 0.090, believed(&job, half_m - 0.070), "too far left"),
        (half_m, blank_m - believed(&job, half_m), "depth of the arch"),
    ];
    for (x_m, t_m, named) in cases {
        let mut slipped = job.clone();
        slipped.log.push(Event::Caliper { x_m: vec![x_m], thickness_m: vec![t_m] });
        let said = asked_to_wait(&slipped);
        assert!(said.contains(named) && said.contains("Caliper again"), "{said}");
        // Measured again at that place and found as believed: the doubt is gone.
        slipped.log.push(Event::Caliper { x_m: vec![x_m], thickness_m: vec![believed(&job, x_m)] });
        assert_eq!(next(&slipped).unwrap().decision, Decision::Cut);
    }
}

#[test]
fn a_caliper_reading_that_comes_again_is_believed() {
    let (mut job, _) = honest();
    let (x_m, was_m) = (0.5 * job.length_m, believed(&job, 0.5 * job.length_m));
    let thinner = Event::Caliper { x_m: vec![x_m], thickness_m: vec![was_m - 2.0e-3] };
    job.log.push(thinner.clone());
    asked_to_wait(&job);
    // Doubted, it counts as 4 σ away: well under half of the 2 mm.
    assert!(was_m - believed(&job, x_m) < 1.0e-3);
    job.log.push(thinner);
    // Twice a caliper's own 0.1 mm, and what the smoothing of the shape takes off a lump.
    let now_m = believed(&job, x_m);
    assert!((was_m - 2.0e-3 - now_m).abs() < 0.3e-3, "{was_m} became {now_m}");
}

#[test]
fn a_cut_entered_at_the_wrong_place_is_named() {
    let (mut job, _) = honest();
    let band = |from_m, to_m| Band { from_m, to_m, depth_m: 1.0e-3, side: Side::Both };
    let entered = vec![band(0.0, 0.04)];
    // What the bar reads when the same cut is made 50 mm farther out.
    let mut made = job.clone();
    made.log.push(Event::Cut { bands: vec![band(0.05, 0.09)], passes: None });
    let read = believe(&made).unwrap().expected(3).unwrap();
    let of = |kind| read.iter().filter(|m| m.kind == kind).map(|m| Some(m.hz)).collect::<Vec<_>>();
    job.log.push(Event::Cut { bands: entered, passes: None });
    job.log.push(Event::Heard(Reading {
        bending_hz: of(bar_physics::ModeKind::Bending),
        torsion_hz: Vec::new(),
        sigma_cents: 0.5,
        temperature_c: Some(21.0),
    }));
    let said = asked_to_wait(&job);
    assert!(said.contains("check the place of the last cut"), "{said}");
}
