//! Wait, finished, rescue; doubted readings and refused logs.

use crate::common::{cents_of, hear, perfect_bar};
use bar_physics::units::{cents, shifted};
use bar_physics::{Grain, Underside};
use making::{Band, Decision, Event, Job, Reading, Side, believe, next};
use proptest::prelude::*;

/// The perfect bar with every mode read `off` cents from its target.
fn read_at(off: [f64; 3]) -> Job {
    let (_, mut job) = perfect_bar(0.0);
    let hz = job.targets.ratios.iter().zip(off).map(|(r, c)| Some(shifted(job.note_hz * r, c))).collect();
    let reading = Reading { bending_hz: hz, torsion_hz: Vec::new(), sigma_cents: 0.5, temperature_c: Some(21.0) };
    job.log.push(Event::Heard(reading));
    job
}

#[test]
fn a_bar_on_its_aim_is_finished() {
    let advice = next(&read_at([0.5, 1.0, -2.0])).unwrap();
    assert_eq!(advice.decision, Decision::Finished, "{}", advice.instruction);
    assert!(advice.bands.is_empty() && advice.passes.is_none() && advice.options.is_empty());
}

#[test]
fn nothing_is_cut_before_the_bar_is_heard() {
    let (bar, mut job) = perfect_bar(1.0e-3);
    assert_eq!(next(&job).unwrap().decision, Decision::Wait);
    hear(&bar, &mut job);
    assert_eq!(next(&job).unwrap().decision, Decision::Cut);
    let band = Band { from_m: 0.02, to_m: 0.06, depth_m: 1e-4, side: Side::Both };
    job.log.push(Event::Cut { bands: vec![band], passes: Some(1) });
    let advice = next(&job).unwrap();
    assert_eq!(advice.decision, Decision::Wait);
    assert!(advice.instruction.contains("Strike"), "{}", advice.instruction);
}

#[test]
fn a_hot_bar_must_cool_first() {
    let (bar, mut job) = perfect_bar(1.0e-3);
    hear(&bar, &mut job);
    if let Some(Event::Heard(reading)) = job.log.last_mut() {
        reading.temperature_c = Some(33.0);
    }
    let advice = next(&job).unwrap();
    assert_eq!(advice.decision, Decision::Wait);
    assert!(advice.instruction.contains("33.0 °C"), "{}", advice.instruction);
}

#[test]
fn a_mode_that_was_not_heard_is_asked_for() {
    let (bar, mut job) = perfect_bar(1.0e-3);
    hear(&bar, &mut job);
    if let Some(Event::Heard(reading)) = job.log.last_mut() {
        reading.bending_hz[2] = None;
    }
    let advice = next(&job).unwrap();
    assert_eq!(advice.decision, Decision::Wait);
    assert!(advice.instruction.contains("mode 3") && advice.instruction.contains("end"), "{}", advice.instruction);
}

#[test]
fn a_blank_is_sawn_before_it_is_sanded() {
    let (_, mut job) = perfect_bar(1.0e-3);
    job.underside = None;
    let blank = believe(&job).unwrap().expected(3).unwrap();
    let reading = Reading {
        bending_hz: blank.iter().take(3).map(|m| Some(m.hz)).collect(),
        torsion_hz: Vec::new(),
        sigma_cents: 1.0,
        temperature_c: None,
    };
    job.log.push(Event::Heard(reading));
    let advice = next(&job).unwrap();
    assert_eq!(advice.decision, Decision::Wait);
    assert!(advice.instruction.contains("Saw the arch first"), "{}", advice.instruction);
}

#[test]
fn a_wrong_mode_is_doubted_and_a_second_reading_believed() {
    let (bar, mut job) = perfect_bar(1.0e-3);
    hear(&bar, &mut job);
    hear(&bar, &mut job);
    let truth = cents_of(&bar, &job);
    let Some(Event::Heard(reading)) = job.log.last_mut() else { unreachable!() };
    let wrong = reading.bending_hz[1].unwrap() * 1.05;
    reading.bending_hz[1] = Some(wrong);
    let advice = next(&job).unwrap();
    assert_eq!(advice.decision, Decision::Wait);
    assert!(advice.instruction.contains("bending mode 2"), "{}", advice.instruction);
    // Until it comes again it hardly counts: 84 cents off, taken as 4 σ.
    assert!((advice.outlook[1].now_cents - truth[1]).abs() < 25.0);
    let again = job.log.last().unwrap().clone();
    job.log.push(again);
    let believed = next(&job).unwrap();
    assert!((believed.outlook[1].now_cents - truth[1] - cents(1.05, 1.0)).abs() < 5.0);
}

#[test]
fn retargeting_by_semitones_is_plain_arithmetic() {
    let advice = next(&read_at([80.0, 70.0, -30.0])).unwrap();
    assert_eq!(advice.decision, Decision::Rescue, "{}", advice.instruction);
    let now: Vec<f64> = advice.outlook.iter().map(|o| o.now_cents).collect();
    let lower: Vec<_> = advice.options.iter().filter(|o| o.code == "lower_note").collect();
    assert!(!lower.is_empty());
    for option in lower {
        let shift = option.predicted_cents[0] - now[0];
        assert!((shift - 100.0).abs() < 1e-9 || (shift - 200.0).abs() < 1e-9, "{shift}");
        assert!(option.predicted_cents.iter().zip(&now).all(|(p, n)| (p - n - shift).abs() < 1e-9));
    }
    assert_eq!(advice.options.last().unwrap().code, "replace");
}

#[test]
fn trimming_lifts_the_flat_mode_to_its_aim() {
    let job = read_at([10.0, 5.0, -25.0]);
    let advice = next(&job).unwrap();
    assert_eq!(advice.decision, Decision::Rescue);
    let trim = advice.options.iter().find(|o| o.code == "trim_ends").unwrap();
    // To 3 % of the lift of 25 cents, and the belief's own rounding of the reading.
    assert!(trim.predicted_cents[2].abs() < 1.5, "{:?}", trim.predicted_cents);
    assert!(trim.predicted_cents[0] > 10.0 && trim.effect.contains("node"));
}

#[test]
fn impossible_logs_are_refused_with_the_entry_and_the_remedy() {
    let (_, good) = perfect_bar(1.0e-3);
    let band = |depth_m| Band { from_m: 0.0, to_m: 0.05, depth_m, side: Side::Both };
    let heard = |hz: Vec<Option<f64>>| Event::Heard(Reading { bending_hz: hz, sigma_cents: 1.0, ..Reading::default() });
    let thick = Underside::flat(0.47, 0.026).unwrap();
    let short = Underside::flat(0.40, 0.012).unwrap();
    let cases = [
        (heard(vec![Some(500.0), Some(400.0)]), "modes_out_of_order"),
        (heard(vec![Some(f64::NAN)]), "out_of_range"),
        (heard(vec![None, None]), "nothing_heard"),
        (Event::Cut { bands: vec![band(0.02)], passes: None }, "too_thin"),
        (Event::Cut { bands: vec![band(-0.001)], passes: None }, "out_of_range"),
        (Event::Cut { bands: vec![], passes: None }, "empty_cut"),
        (Event::Cut { bands: vec![band(1e-4)], passes: Some(0) }, "no_passes"),
        (Event::Shaped { underside: thick, sigma_m: 0.3e-3 }, "wood_added"),
        (Event::Shaped { underside: short, sigma_m: 0.3e-3 }, "length_mismatch"),
        (Event::Caliper { x_m: vec![0.6], thickness_m: vec![0.01] }, "out_of_range"),
        (Event::Caliper { x_m: vec![0.1, 0.2], thickness_m: vec![0.01] }, "caliper_count"),
        (Event::Trim { left_m: 0.3, right_m: 0.3 }, "impossible_shape"),
        (Event::Trim { left_m: f64::NAN, right_m: 0.0 }, "impossible_shape"),
        (Event::Weighed { mass_kg: 5.0 }, "out_of_range"),
        (Event::Weighed { mass_kg: -1.0 }, "out_of_range"),
    ];
    for (event, code) in cases {
        let mut job = good.clone();
        job.log.push(event);
        let error = next(&job).unwrap_err();
        assert_eq!(error.code, code, "{error}");
        assert!(error.message.starts_with("log entry 1:") && !error.hint.is_empty(), "{error}");
    }
}

#[test]
fn impossible_jobs_are_refused() {
    let (_, good) = perfect_bar(1.0e-3);
    let broken: [fn(&mut Job); 8] = [
        |j| j.note_hz = 0.0,
        |j| j.length_m = f64::NAN,
        |j| j.width_m = -0.05,
        |j| j.thickness_m = 0.0001,
        |j| j.limits.min_thickness_m = 0.1,
        |j| j.targets.ratios = vec![],
        |j| j.targets.ratios = vec![4.0, 1.0],
        |j| j.grain = Grain { plan_rad: 2.0, dip_rad: 0.0 },
    ];
    for breakage in broken {
        let mut job = good.clone();
        breakage(&mut job);
        assert!(!next(&job).unwrap_err().hint.is_empty());
    }
}

/// Numbers a hurried hand or a broken file might hold.
fn wild() -> impl Strategy<Value = f64> {
    prop_oneof![
        Just(f64::NAN),
        Just(f64::INFINITY),
        Just(0.0),
        -1.0_f64..1.0,
        1e-4_f64..0.03,
        0.03_f64..0.5,
        50.0_f64..5000.0,
    ]
}

fn wild_event() -> impl Strategy<Value = Event> {
    let heard = (prop::collection::vec(prop::option::of(wild()), 0..4), wild(), prop::option::of(wild())).prop_map(
        |(bending_hz, sigma_cents, temperature_c)| {
            Event::Heard(Reading { torsion_hz: bending_hz.clone(), bending_hz, sigma_cents, temperature_c })
        },
    );
    let side = prop_oneof![Just(Side::Both), Just(Side::Left), Just(Side::Right)];
    let cut =
        (wild(), wild(), wild(), side, prop::option::of(0_u32..9)).prop_map(|(from_m, to_m, depth_m, side, passes)| {
            Event::Cut { bands: vec![Band { from_m, to_m, depth_m, side }], passes }
        });
    prop_oneof![
        heard,
        cut,
        (wild(), wild()).prop_map(|(x, t)| Event::Caliper { x_m: vec![x], thickness_m: vec![t] }),
        (wild(), wild()).prop_map(|(left_m, right_m)| Event::Trim { left_m, right_m }),
        wild().prop_map(|mass_kg| Event::Weighed { mass_kg }),
    ]
}

proptest! {
    // Every case may solve the bar a dozen times.
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    /// Whatever the log holds, the answer is advice or a refusal with a remedy, never a panic.
    #[test]
    fn any_log_is_answered_or_refused(events in prop::collection::vec(wild_event(), 1..4)) {
        let (bar, mut job) = perfect_bar(1.0e-3);
        hear(&bar, &mut job);
        job.log.extend(events);
        match next(&job) {
            Ok(advice) => prop_assert!(advice.outlook.iter().all(|o| o.now_cents.is_finite())),
            Err(error) => prop_assert!(!error.hint.is_empty() && !error.message.is_empty()),
        }
    }
}

#[test]
fn a_torsion_mode_still_to_be_passed_is_told() {
    let (bar, mut job) = perfect_bar(1.0e-3);
    hear(&bar, &mut job);
    let Some(Event::Heard(reading)) = job.log.last_mut() else { unreachable!() };
    let (mode_2, target_hz) = (reading.bending_hz[1].unwrap(), 4.0 * job.note_hz);
    let told = |job: &Job| next(job).unwrap().reasons.iter().any(|r| r.contains("has yet to pass a torsion mode"));
    let with = |hz: f64| {
        let mut job = job.clone();
        let Some(Event::Heard(reading)) = job.log.last_mut() else { unreachable!() };
        reading.torsion_hz = vec![Some(hz)];
        job
    };
    // Half way down, and below the target.
    assert!(told(&with(0.5 * (mode_2 + target_hz))));
    assert!(!told(&with(0.97 * target_hz)) && !told(&job));
}
