//! Undersides that lean across: sanded thinner at one edge.
use bar_physics::solid::{Wanted, modes};
use bar_physics::units::cents;
use bar_physics::{Bar, Crook, Grain, Modes, PhysicsError, Underside, Wood};

const LENGTH_M: f64 = 0.36;

fn bar(plan_deg: f64, lean_m: f64) -> Bar {
    let x_m: Vec<f64> = (0..=180).map(|i| LENGTH_M * f64::from(i) / 180.0).collect();
    let t = x_m.iter().map(|x| 0.022 - 0.012 * (1.0 - ((x - 0.18) / 0.1).abs().min(1.0).powi(2))).collect();
    let underside = Underside::new(x_m, t, vec![0.08, 0.28]).unwrap();
    let grain = Grain::from_degrees(plan_deg, 0.0);
    let mut bar = Bar::new(0.05, underside, Wood::generic_hardwood(800.0, 14e9), grain);
    bar.crook = Crook { x_m: vec![0.10, 0.14, 0.22, 0.26], far_minus_near_m: vec![0.0, lean_m, lean_m, 0.0] };
    bar
}

fn solve(bar: &Bar) -> Modes {
    modes(bar, Wanted::default()).unwrap()
}

#[test]
fn no_lean_is_a_level_bar() {
    // A nanometre still goes through the leaning path.
    let (level, leaning) = (solve(&bar(0.0, 0.0)), solve(&bar(0.0, 2e-9)));
    for (a, b) in level.bending.iter().chain(&level.torsion).zip(leaning.bending.iter().chain(&leaning.torsion)) {
        assert!(cents(a.hz, b.hz).abs() < 1e-3, "{:?} {}: {} against {}", a.kind, a.number, a.hz, b.hz);
    }
}

#[test]
fn exchanging_near_and_far_changes_no_pitch_and_reverses_the_tilt() {
    let (a, b) = (solve(&bar(2.0, 0.0015)), solve(&bar(-2.0, -0.0015)));
    for (p, q) in a.bending.iter().chain(&a.torsion).zip(b.bending.iter().chain(&b.torsion)) {
        assert!(cents(p.hz, q.hz).abs() < 0.01, "{:?} {}", p.kind, p.number);
    }
    let (p, q) = (a.bending[0].node_lines[0], b.bending[0].node_lines[0]);
    assert!((p.tilt_m() + q.tilt_m()).abs() < 2e-6, "{} {}", p.tilt_m(), q.tilt_m());
}

#[test]
fn a_lean_moves_the_modes_of_turned_grain_as_their_energies_say() {
    let found = solve(&bar(3.0, 0.0));
    // One-sided: a half turn in plan maps an even lean onto its reverse, so that its first order is zero.
    let one_sided = |lean_m: f64| {
        let mut bar = bar(3.0, 0.0);
        bar.crook = Crook { x_m: vec![0.09, 0.12, 0.15, 0.18], far_minus_near_m: vec![0.0, lean_m, lean_m, 0.0] };
        solve(&bar)
    };
    // The lean of 0.04 mm takes 0.02 mm off the near edge and adds it at the far edge.
    let (far_thicker, near_thicker) = (one_sided(4e-5), one_sided(-4e-5));
    let profile = |x: f64| if (0.09..=0.18).contains(&x) { ((x - 0.09).min(0.18 - x) / 0.03).min(1.0) } else { 0.0 };
    let mut moved = 0.0_f64;
    for (k, mode) in found.bending.iter().enumerate() {
        let difference = 0.5 * cents(far_thicker.bending[k].hz, near_thicker.bending[k].hz);
        let predicted = mode.crooked_removal_cents(&found.grid_m, |x| 2e-5 * profile(x), |x| -2e-5 * profile(x));
        assert!(
            (difference - predicted).abs() < 0.05 * difference.abs() + 0.005,
            "mode {}: {predicted:.4} against {difference:.4}",
            k + 1
        );
        moved = moved.max(difference.abs());
    }
    assert!(moved > 0.01, "the grain is turned, so a lean must matter: {moved}");
}

#[test]
fn a_lean_lowers_torsion_and_hardly_touches_bending_when_the_grain_is_straight() {
    let (level, leaning) = (solve(&bar(0.0, 0.0)), solve(&bar(0.0, 0.003)));
    // By symmetry the change is of second order in the lean.
    let quarter = solve(&bar(0.0, 0.0015));
    let change = |m: &Modes| cents(m.bending[0].hz, level.bending[0].hz);
    assert!(change(&leaning).abs() < 25.0);
    assert!((change(&leaning) / change(&quarter) - 4.0).abs() < 0.3, "{} {}", change(&leaning), change(&quarter));
}

#[test]
fn a_lean_through_the_top_is_refused() {
    assert!(matches!(modes(&bar(0.0, 0.03), Wanted::default()), Err(PhysicsError::Geometry(_))));
}
