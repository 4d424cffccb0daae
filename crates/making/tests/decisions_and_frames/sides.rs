//! One-sided bands: a lopsided arch is evened at no cost in tuning; a doubtful one is left alone.

use crate::common::{cents_of, cut, hear, perfect_bar};
use bar_physics::{Bar, Underside, Wanted, solid};
use making::{Band, Decision, Event, Job, Side, next};

/// A perfect C3 bar whose left arch was sawn `thicker_m` shallower than its right, calipered to `sigma_m`.
fn lopsided(thicker_m: f64, sigma_m: f64) -> (Bar, Job) {
    let (mut bar, mut job) = perfect_bar(1.5e-3);
    let length_m = bar.length_m();
    let blank_m = job.thickness_m;
    let grid: Vec<f64> = (0..=94).map(|i| length_m * f64::from(i) / 94.0).collect();
    // A smooth hump of wood over the left flank, nothing where the bar was never sawn.
    let hump = |x: f64| {
        let s = ((x - 0.10) / 0.115).clamp(0.0, 1.0);
        thicker_m * (std::f64::consts::PI * s).sin().powi(2).min(1.0)
    };
    let t_m = grid.iter().map(|x| (bar.underside.thickness_at(*x) + hump(*x)).min(blank_m)).collect();
    bar.underside = Underside::new(grid, t_m, Vec::new()).unwrap();
    job.log.push(Event::Shaped { underside: bar.underside.clone(), sigma_m });
    hear(&bar, &mut job);
    (bar, job)
}

/// How much farther the left node of mode 1 lies from its end than the right one, metres.
fn unevenness_m(bar: &Bar) -> f64 {
    let modes = solid::modes(bar, Wanted::bending(1)).unwrap();
    let nodes: Vec<f64> = modes.bending[0].node_lines.iter().map(|n| n.centre_m).collect();
    nodes[0] - (bar.length_m() - nodes[1])
}

/// Follows the advice with a perfect hand to the end; `fold` forces every one-sided band back to both sides.
fn tuned(mut bar: Bar, mut job: Job, fold: bool) -> (Bar, Vec<f64>, usize, usize) {
    let (mut bouts, mut one_sided) = (0, 0);
    loop {
        let advice = next(&job).unwrap();
        match advice.decision {
            Decision::Cut => {
                bouts += 1;
                one_sided += advice.bands.iter().filter(|b| b.side != Side::Both).count();
                let both = |b: &Band| Band { depth_m: 0.5 * b.depth_m, side: Side::Both, ..*b };
                let folded = |b: &Band| if fold && b.side != Side::Both { both(b) } else { *b };
                let bands: Vec<Band> = advice.bands.iter().map(folded).collect();
                cut(&mut bar, &mut job, &bands);
            }
            Decision::Finished => return (bar.clone(), cents_of(&bar, &job), bouts, one_sided),
            Decision::Wait if bouts < 16 => {}
            _ => panic!("{}", advice.instruction),
        }
        hear(&bar, &mut job);
    }
}

#[test]
fn a_lopsided_arch_is_evened_and_tuned_alike() {
    let (bar, job) = lopsided(0.9e-3, 0.12e-3);
    let start_m = unevenness_m(&bar).abs();
    let (evened, cents, bouts, one_sided) = tuned(bar.clone(), job.clone(), false);
    let (left, _, folded_bouts, _) = tuned(bar, job, true);
    assert!(one_sided > 0, "no band was advised on one side");
    println!(
        "nodes uneven by {:.2} mm at first, {:.2} mm evened in {bouts} bouts, {:.2} mm both sides alike in {folded_bouts}",
        start_m * 1e3,
        unevenness_m(&evened).abs() * 1e3,
        unevenness_m(&left).abs() * 1e3
    );
    // The nodes end at least a third more even than they would with every band on both sides …
    assert!(unevenness_m(&evened).abs() < 0.67 * unevenness_m(&left).abs());
    // … in tune, and with at most one bout more.
    assert!(cents.iter().zip([2.0, 5.0, 10.0]).all(|(c, t)| c.abs() <= t), "{cents:?}");
    assert!(bouts <= folded_bouts + 1, "{bouts} against {folded_bouts}");
}

#[test]
fn what_is_doubtful_or_even_is_cut_on_both_sides() {
    // Lopsided by less than the doubt of the shape, and not lopsided at all.
    for (thicker_m, sigma_m) in [(0.4e-3, 0.5e-3), (0.0, 0.12e-3)] {
        let (bar, job) = lopsided(thicker_m, sigma_m);
        let (_, _, _, one_sided) = tuned(bar, job, false);
        assert_eq!(one_sided, 0, "{thicker_m} m at ± {sigma_m} m");
    }
}
