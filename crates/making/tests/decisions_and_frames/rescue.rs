//! Rescues played to their end on a perfect bar.
use crate::common::{cents_of, cut, hear, perfect_bar};
use bar_physics::units::cents;
use bar_physics::{Bar, Wanted, solid};
use making::{Band, Side, rescue};

/// A C3 bar on which mode 3 was cut 30 cents flat: its place, 0.20 L from the centre, was sanded too far.
fn flat_third() -> (Bar, making::Job) {
    let (mut bar, mut job) = perfect_bar(0.5e-3);
    hear(&bar, &mut job);
    for _ in 0..60 {
        if cents_of(&bar, &job)[2] < -30.0 {
            break;
        }
        cut(&mut bar, &mut job, &[Band { from_m: 0.080, to_m: 0.11, depth_m: 0.1e-3, side: Side::Both }]);
    }
    hear(&bar, &mut job);
    (bar, job)
}

/// TRADE §4.1: 4 mm off each end of a C3 bar raise its modes by 53, 42 and 31 cents (computed there with a beam).
#[test]
fn trimming_a_c3_bar_raises_its_modes_as_the_trade_reckons() {
    let (bar, _) = perfect_bar(0.0);
    let trimmed = Bar { underside: bar.underside.trimmed(4e-3, 4e-3).unwrap(), ..bar.clone() };
    let hz =
        |bar: &Bar| solid::modes(bar, Wanted::bending(3)).unwrap().bending.iter().map(|m| m.hz).collect::<Vec<_>>();
    for ((after, before), reckoned) in hz(&trimmed).iter().zip(hz(&bar)).zip([53.0, 42.0, 31.0]) {
        let rise = cents(*after, before);
        // Another arch, other sizes and a beam: a quarter.
        assert!((rise / reckoned - 1.0).abs() < 0.25, "{rise} against {reckoned}");
    }
}

#[test]
fn a_flat_third_mode_is_not_lost_and_every_way_is_played_to_its_end() {
    let (bar, job) = flat_third();
    let advice = rescue(&job, &[]).unwrap();
    assert_eq!(advice.flat, vec![3]);
    assert!(advice.verdict.starts_with("Not lost"), "{}", advice.verdict);
    let trim = advice.options.iter().find(|o| o.option.code == "trim_ends").expect("a trim is offered");
    let d_m = trim.option.amount_m.unwrap();
    assert!(d_m > 1e-3 && d_m < 8e-3, "{d_m}");
    // Predicted readings after the trim against the real bar trimmed.
    let real = Bar { underside: bar.underside.trimmed(d_m, d_m).unwrap(), ..bar.clone() };
    for (told, real) in trim.option.predicted_cents.iter().zip(cents_of(&real, &job)) {
        // Belief against truth after sixty entered cuts: 3 cents, as the trade asks ("cents ± 3").
        assert!((told - real).abs() < 3.0, "{told} against {real}");
    }
    let lower = advice.options.iter().find(|o| o.semitones == 1).expect("a lower note is offered");
    // Plain arithmetic: a semitone is 100 cents.
    for (told, (now, _)) in lower.option.predicted_cents.iter().zip(&advice.now) {
        assert!((told - now - 100.0).abs() < 1e-9);
    }
    for option in advice.options.iter().filter(|o| o.works && o.option.code != "replace") {
        assert_eq!(option.final_cents.len(), 3, "{}", option.option.code);
        assert!(option.thinnest_m.unwrap() >= job.limits.min_thickness_m - 1e-4);
        assert_eq!(option.nodes_m.len(), 2);
    }
    assert!(advice.options.windows(2).all(|w| w[0].cost <= w[1].cost), "ranked");
    assert_eq!(advice.options.last().unwrap().option.code, "replace");
}

#[test]
fn a_drilled_bar_is_told_how_its_holes_move() {
    let (bar, job) = flat_third();
    let modes = solid::modes(&bar, Wanted::bending(1)).unwrap();
    let holes: Vec<f64> = modes.bending[0].node_lines.iter().map(|n| n.centre_m).collect();
    let advice = rescue(&job, &holes).unwrap();
    let trim = advice.options.iter().find(|o| o.option.code == "trim_ends").unwrap();
    let d_m = trim.option.amount_m.unwrap();
    for (hole, place) in trim.holes.iter().zip(&holes) {
        assert!((hole.from_left_m - (place - d_m)).abs() < 1e-12);
        // Drilled on the node: nearly no motion now; after the trim some, but the node follows the end inward
        // by less than the trim, so less than a trim's worth.
        assert!(hole.motion_now < 0.01, "{hole:?}");
        assert!(hole.motion_then > hole.motion_now && hole.off_then_m < 1.5 * d_m, "{hole:?}");
    }
    assert!(rescue(&job, &[0.9]).unwrap_err().message.contains("900"));
    assert!(rescue(&job, &[f64::NAN]).is_err());
}

#[test]
fn a_sound_bar_is_told_to_cut_on_and_a_blank_is_refused() {
    let (bar, mut job) = perfect_bar(1.0e-3);
    hear(&bar, &mut job);
    let advice = rescue(&job, &[]).unwrap();
    assert!(advice.options.is_empty() && advice.verdict.contains("next cut"), "{}", advice.verdict);
    job.underside = None;
    job.log.clear();
    assert_eq!(rescue(&job, &[]).unwrap_err().code, "not_sawn");
}
