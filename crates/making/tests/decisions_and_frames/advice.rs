//! What every piece of advice must keep, on perfect and on virtual bars.

use crate::common::{cents_of, cut, hear, perfect_bar};
use bar_physics::{Bar, Wanted, solid, units};
use making::virtual_bench::VirtualBar;
use making::{Advice, Decision, Event, Job, believe, depth_at, next, stations};

#[test]
fn perfect_advice_on_a_perfect_bar_ends_in_tolerance() {
    let (mut bar, mut job) = perfect_bar(2.0e-3);
    hear(&bar, &mut job);
    for _ in 0..12 {
        let advice = next(&job).unwrap();
        match advice.decision {
            Decision::Cut => cut(&mut bar, &mut job, &advice.bands),
            Decision::Finished => {
                let end = cents_of(&bar, &job);
                // The stage's tolerances.
                let within = end.iter().zip([2.0, 5.0, 10.0]).all(|(c, t)| c.abs() <= t);
                assert!(within, "finished at {end:?}");
                return;
            }
            // Near the end another strike may be asked for; the loop bounds how often.
            Decision::Wait => {}
            Decision::Rescue => panic!("{}", advice.instruction),
        }
        hear(&bar, &mut job);
    }
    panic!("not finished after 12 bouts: {:?}", cents_of(&bar, &job));
}

/// What holds for a cut, whatever the bar.
fn check_cut(job: &Job, advice: &Advice) {
    assert!((1..=3).contains(&advice.bands.len()));
    assert!(advice.risk_flat <= 0.02, "risk {}", advice.risk_flat);
    let belief = believe(job).unwrap();
    let bar = belief.bar().unwrap();
    let length_m = bar.length_m();
    for band in &advice.bands {
        let narrowest = if band.from_m < 1e-9 { 0.010 } else { 0.020 };
        let width_m = band.to_m - band.from_m;
        assert!(band.from_m >= 0.0 && band.to_m <= 0.5 * length_m + 1e-9 && band.depth_m > 0.0);
        assert!(width_m >= narrowest - 1e-9 && width_m <= 0.080 + 1e-9, "{band:?}");
    }
    let hand = advice.belief.estimates.iter().find(|e| e.name == "hand").unwrap().value;
    for i in 0..=400 {
        let x = length_m * f64::from(i) / 400.0;
        let left = bar.underside.thickness_at(x) - hand * depth_at(&advice.bands, length_m, x);
        // 0.1 mm: the belief's smooth shape and the exact one differ by that at a band's edge.
        assert!(left >= job.limits.min_thickness_m - 1e-4, "{left} at {x}");
    }
    let (few, many) = advice.passes.unwrap();
    assert!(few >= 1 && few <= many);
    for (outlook, mode) in advice.outlook.iter().zip(1..) {
        assert_eq!(outlook.mode, mode);
        // Nothing is planned flat of the aim.
        assert!(outlook.expected_cents > outlook.aim_cents - 10.0);
        // Near the aim at most half of what is left: in the last 3 cents.
        let above = outlook.now_cents - outlook.aim_cents;
        if (0.0..3.0).contains(&above) {
            // 0.3 cent: the chord of a small cut.
            assert!(outlook.now_cents - outlook.expected_cents <= 0.5 * above + 0.3, "{outlook:?}");
        }
    }
}

/// The expected readings against a full solve of the bar as it is believed once the cut is entered,
/// and, more loosely, against the same cut with sharp shoulders.
fn check_expectation(job: &Job, advice: &Advice) {
    let bar = believe(job).unwrap().bar().unwrap();
    let mut done = job.clone();
    done.log.push(Event::Cut { bands: advice.bands.clone(), passes: None });
    let entered = believe(&done).unwrap().bar().unwrap();
    let hand = advice.belief.estimates.iter().find(|e| e.name == "hand").unwrap().value;
    let length_m = bar.length_m();
    let extra = stations(&advice.bands, length_m);
    let lowered = bar.underside.lowered(&extra, |x| hand * depth_at(&advice.bands, length_m, x)).unwrap();
    let after = Bar { underside: lowered, ..bar.clone() };
    let wanted = Wanted::bending(advice.outlook.len());
    let [now, then] = [&bar, &entered].map(|bar| solid::modes(bar, wanted).unwrap());
    // Sharp shoulders need smaller elements than the default.
    let fine = solid::Resolution { elements: 48, ..solid::Resolution::default() };
    let [before, sharp] = [&bar, &after].map(|bar| solid::modes_at(bar, wanted, fine).unwrap());
    for (i, outlook) in advice.outlook.iter().enumerate() {
        let solved = units::cents(then.bending[i].hz, now.bending[i].hz);
        let told = outlook.expected_cents - outlook.now_cents;
        // 1 cent as promised (it is the same computation: rounding).
        assert!((solved - told).abs() < 1.0, "mode {}: told {told}, solved {solved}", i + 1);
        let solved = units::cents(sharp.bending[i].hz, before.bending[i].hz);
        // The belief feathers the shoulders a little more than the bands say, and its mesh is coarser: 2
        // cents, and up to a tenth of a long way down by narrow bands in a short bar, half of the hand's doubt.
        assert!((solved - told).abs() < 2.0 + 0.1 * told.abs(), "mode {}: told {told}, sharp {solved}", i + 1);
    }
}

#[test]
fn every_cut_keeps_the_limits_and_expects_what_the_solid_says() {
    for (seed, note_hz) in [(3, 98.0), (5, 523.25)] {
        let mut bar = VirtualBar::new(seed, note_hz).unwrap();
        for _ in 0..3 {
            let advice = next(bar.job()).unwrap();
            if advice.decision != Decision::Cut {
                break;
            }
            check_cut(bar.job(), &advice);
            check_expectation(bar.job(), &advice);
            bar.cut(&advice.bands, advice.passes.map(|p| p.0)).unwrap();
            bar.hear().unwrap();
        }
    }
}

#[test]
fn the_same_job_always_gets_the_same_advice() {
    let bar = VirtualBar::new(4, 150.0).unwrap();
    let (a, b) = (next(bar.job()).unwrap(), next(bar.job()).unwrap());
    assert_eq!((a.bands, a.instruction), (b.bands, b.instruction));
}
