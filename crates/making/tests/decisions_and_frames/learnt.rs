//! Each update told in words: what moved, which way, and only what moved.

use crate::common::{cut, hear, perfect_bar};
use bar_physics::units::shifted;
use making::virtual_bench::VirtualBar;
use making::{Band, Event, Hand, Job, Learnt, Reading, Side, believe, next};

fn last(job: &Job) -> Learnt {
    believe(job).unwrap().learnt().last().cloned().expect("something was learnt")
}

#[test]
fn a_reading_that_fits_says_so_and_a_stiffer_bar_moves_e_l_up() {
    let (bar, mut job) = perfect_bar(1.0e-3);
    job.underside = None;
    let blank = believe(&job).unwrap().expected(3).unwrap();
    let read = |cents: f64| {
        Event::Heard(Reading {
            bending_hz: blank.iter().take(3).map(|m| Some(shifted(m.hz, cents))).collect(),
            torsion_hz: Vec::new(),
            sigma_cents: 0.5,
            temperature_c: Some(21.0),
        })
    };
    for (cents, way) in [(70.0, "E_L up"), (-70.0, "E_L down")] {
        let mut job = job.clone();
        job.log.push(read(cents));
        let before = believe(&Job { log: Vec::new(), ..job.clone() }).unwrap().summary().unwrap();
        let after = believe(&job).unwrap().summary().unwrap();
        let told = last(&job);
        assert_eq!((told.entry, told.kind), (0, "heard"));
        assert!(told.lines[0].contains(way), "{told:?}");
        // The number told is the ratio of the two beliefs, to its rounding.
        let percent = 100.0 * (after.wood.e_l_pa / before.wood.e_l_pa - 1.0).abs();
        let named: f64 = told.lines[0].split("E_L ").nth(1).unwrap().split(' ').nth(1).unwrap().parse().unwrap();
        assert!((named - percent).abs() < 0.6, "{named} told, {percent} computed");
    }
    let _ = bar;
}

#[test]
fn the_same_reading_again_moves_nothing() {
    let (bar, mut job) = perfect_bar(1.0e-3);
    for _ in 0..3 {
        hear(&bar, &mut job);
    }
    let told = last(&job);
    assert_eq!(told.lines, ["This reading fits what was expected; nothing moved."]);
}

#[test]
fn a_caliper_tells_the_side() {
    let (_, mut job) = perfect_bar(1.0e-3);
    let line = job.underside.clone().unwrap();
    let (left_m, right_m) = (0.16, 0.31);
    // 0.5 mm less wood on the left only; the drawing is known to ± 0.3 mm.
    let thickness_m = vec![line.thickness_at(left_m) - 0.5e-3, line.thickness_at(right_m)];
    job.log.push(Event::Caliper { x_m: vec![left_m, right_m], thickness_m });
    let told = last(&job).lines.join(" ");
    assert!(told.contains("deeper on the left") && !told.contains("on the right"), "{told}");
}

#[test]
fn a_heavy_hand_is_told_and_kept_for_the_next_bar() {
    let (mut bar, mut job) = perfect_bar(2.0e-3);
    hear(&bar, &mut job);
    let asked = Band { from_m: 0.03, to_m: 0.10, depth_m: 0.5e-3, side: Side::Both };
    // The hand takes 1.25 of what was asked for, and counts 5 passes for the half millimetre.
    cut(&mut bar, &mut job, &[Band { depth_m: 1.25 * asked.depth_m, ..asked }]);
    job.log.pop();
    job.log.push(Event::Cut { bands: vec![asked], passes: Some(5) });
    hear(&bar, &mut job);
    let told = last(&job).lines.join(" ");
    assert!(told.contains("Your hand takes") && told.contains("more than was believed"), "{told}");
    let learnt = believe(&job).unwrap().hand_learnt();
    // One cut tells the habit only to the 12 % by which single cuts scatter: part of the way from 1 to 1.25.
    assert!(
        learnt.gain > 1.08 && learnt.gain < 1.3 && learnt.gain_ln_sigma < Hand::default().gain_ln_sigma,
        "{learnt:?}"
    );
    assert!(learnt.pass_m > 0.1e-3 && learnt.pass_ln_sigma < Hand::default().pass_ln_sigma, "{learnt:?}");
    // The next bar starts from it.
    let (_, mut fresh) = perfect_bar(2.0e-3);
    fresh.hand = Some(learnt);
    let known = believe(&fresh).unwrap().hand_learnt();
    // ln and exp there and back: rounding.
    assert!((known.gain / learnt.gain - 1.0).abs() < 1e-12 && (known.pass_m / learnt.pass_m - 1.0).abs() < 1e-12);
    for wrong in [f64::NAN, 0.0, 100.0] {
        fresh.hand = Some(Hand { gain: wrong, ..learnt });
        assert_eq!(next(&fresh).unwrap_err().code, "out_of_range");
    }
}

#[test]
fn advice_carries_what_was_learnt_on_an_invented_bar() {
    let bar = VirtualBar::new(11, 130.81).unwrap();
    let advice = next(bar.job()).unwrap();
    // The blank's reading and the sawn bar's.
    assert_eq!(advice.learnt.iter().map(|l| l.kind).collect::<Vec<_>>(), ["heard", "heard"]);
    assert!(advice.learnt[0].lines[0].contains("E_L"), "{:?}", advice.learnt[0]);
    assert!(advice.learnt.iter().all(|l| (1..=3).contains(&l.lines.len())));
}
