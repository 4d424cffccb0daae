//! Sensitivities from the energies of a mode against finite differences of the full solve.
use bar_physics::solid::{Wanted, modes};
use bar_physics::units::cents;
use bar_physics::{Bar, Grain, Modes, Underside, Unevenness, Wood};

const LENGTH_M: f64 = 0.40;

fn bar() -> Bar {
    let x_m: Vec<f64> = (0..=200).map(|i| LENGTH_M * f64::from(i) / 200.0).collect();
    let t = x_m.iter().map(|x| 0.022 - 0.013 * (1.0 - ((x - 0.2) / 0.12).abs().min(1.0).powi(2))).collect();
    let underside = Underside::new(x_m, t, vec![0.08, 0.32]).unwrap();
    let mut bar = Bar::new(0.052, underside, Wood::generic_hardwood(850.0, 15e9), Grain::from_degrees(0.0, -1.0));
    // Uneven wood, so that its factors are in the test as well.
    bar.unevenness = Unevenness {
        x_m: vec![0.0, 0.25, LENGTH_M],
        stiffness_factor: vec![1.03, 0.98, 1.0],
        density_factor: vec![0.99, 1.0, 1.02],
    };
    bar
}

fn solve(bar: &Bar) -> Modes {
    modes(bar, Wanted { bending: 3, torsion: 1, sideways: 0 }).unwrap()
}

/// A smooth bump 40 mm wide: no new kinks, so that only the shape derivative is tested.
fn bump(centre_m: f64) -> impl Fn(f64) -> f64 {
    move |x| {
        let s = (x - centre_m) / 0.02;
        if s.abs() < 1.0 { 0.5 + 0.5 * (std::f64::consts::PI * s).cos() } else { 0.0 }
    }
}

#[test]
fn removing_wood_moves_each_mode_as_its_energies_say() {
    let base = bar();
    let found = solve(&base);
    for centre_m in [0.03, 0.06, 0.11, 0.15, 0.20, 0.26, 0.30, 0.37] {
        let depth_m = 0.00005;
        let shape = bump(centre_m);
        let moved = |sign: f64| {
            let mut b = base.clone();
            b.underside = base.underside.lowered(&[], |x| sign * depth_m * shape(x)).unwrap();
            solve(&b)
        };
        let (less, more) = (moved(1.0), moved(-1.0));
        for (k, mode) in found.bending.iter().enumerate() {
            let difference = 0.5 * cents(less.bending[k].hz, more.bending[k].hz);
            let predicted = mode.removal_cents(&found.grid_m, |x| depth_m * shape(x));
            // Surface stress of a quartic through the thickness: a few per cent near kinks, plus 0.005 cent of solver rounding.
            let tolerance = 0.03 * difference.abs() + 0.02;
            assert!(
                (difference - predicted).abs() < tolerance,
                "mode {} at {centre_m}: {predicted:.4} against {difference:.4}",
                k + 1
            );
        }
    }
}

#[test]
fn trimming_an_end_raises_every_mode_as_predicted() {
    let base = bar();
    let found = solve(&base);
    let trim_m = 0.0002;
    let trimmed = |left_m: f64, right_m: f64| {
        let mut b = base.clone();
        b.underside = base.underside.trimmed(left_m, right_m).unwrap();
        b.unevenness.x_m = base.unevenness.x_m.iter().map(|x| x - left_m).collect();
        solve(&b)
    };
    for (side, after) in [trimmed(trim_m, 0.0), trimmed(0.0, trim_m)].iter().enumerate() {
        for (before, after) in found.bending.iter().zip(&after.bending) {
            let (got, predicted) = (cents(after.hz, before.hz), before.end_trim_cents_per_m[side] * trim_m);
            // One-sided difference over 0.2 mm: second order is below 1 %; 0.02 cent for the moved mesh.
            assert!(
                (got - predicted).abs() < 0.02 * predicted + 0.02,
                "side {side} mode {}: {predicted:.3} against {got:.3}",
                before.number
            );
            assert!(got > 0.0);
        }
    }
}

#[test]
fn changed_wood_moves_each_mode_as_its_strains_say() {
    let base = bar();
    let found = solve(&base);
    type Change = fn(&mut Wood, f64);
    let changes: [(&str, Change); 10] = [
        ("E_L", |w, f| w.e_l_pa *= f),
        ("E_W", |w, f| w.e_w_pa *= f),
        ("G_LH", |w, f| w.g_lh_pa *= f),
        ("G_LW", |w, f| w.g_lw_pa *= f),
        ("G_WH", |w, f| w.g_wh_pa *= f),
        ("E_H", |w, f| w.e_h_pa *= f),
        ("nu_LW", |w, f| w.nu_lw *= f),
        ("nu_LH", |w, f| w.nu_lh *= f),
        ("nu_WH", |w, f| w.nu_wh *= f),
        ("density", |w, f| w.density_kg_m3 *= f),
    ];
    for (name, change) in changes {
        let with = |factor| {
            let mut b = base.clone();
            change(&mut b.wood, factor);
            b
        };
        let (up, down) = (with(1.005), with(1.0 / 1.005));
        let (solved_up, solved_down) = (solve(&up), solve(&down));
        let every = |m: &Modes| m.bending.iter().chain(&m.torsion).cloned().collect::<Vec<_>>();
        for ((mode, u), d) in every(&found).iter().zip(every(&solved_up)).zip(every(&solved_down)) {
            let difference = cents(u.hz, d.hz);
            let predicted =
                mode.stiffness_cents(&base, &up.wood).unwrap() - mode.stiffness_cents(&base, &down.wood).unwrap();
            // Central difference of 1 %: third-order terms are below 0.1 % of at most 9 cents.
            assert!(
                (difference - predicted).abs() < 0.01,
                "{name}, {:?} {}: {predicted:.4} against {difference:.4}",
                mode.kind,
                mode.number
            );
        }
    }
}

#[test]
fn local_stiffness_and_density_move_each_mode_as_their_shares_say() {
    let base = bar();
    let found = solve(&base);
    let grid = found.grid_m.clone();
    let change = bump(0.13);
    let with = |sign: f64| {
        let mut b = base.clone();
        b.unevenness = Unevenness {
            x_m: grid.clone(),
            stiffness_factor: grid
                .iter()
                .map(|x| base.unevenness.at(*x).0 * (1.0 + sign * 0.01 * change(*x)))
                .collect(),
            density_factor: grid.iter().map(|x| base.unevenness.at(*x).1 * (1.0 - sign * 0.005 * change(*x))).collect(),
        };
        solve(&b)
    };
    let (up, down) = (with(1.0), with(-1.0));
    for (k, mode) in found.bending.iter().enumerate() {
        let difference = 0.5 * cents(up.bending[k].hz, down.bending[k].hz);
        let predicted = mode.uneven_cents(&grid, |x| 0.01 * change(x), |x| -0.005 * change(x));
        // Second order of a 1 % change, and the trapezoid rule on a 2 mm grid.
        assert!(
            (difference - predicted).abs() < 0.01 * difference.abs() + 0.002,
            "mode {}: {predicted:.4} against {difference:.4}",
            k + 1
        );
    }
}

#[test]
fn the_energies_are_shares_of_one_and_of_omega_squared() {
    let base = bar();
    let found = solve(&base);
    let whole = |v: &[f64]| -> f64 {
        v.windows(2).zip(found.grid_m.windows(2)).map(|(v, x)| 0.5 * (v[0] + v[1]) * (x[1] - x[0])).sum()
    };
    let stiffness = base.grain.turn(&base.wood.stiffness().unwrap());
    for mode in found.bending.iter().chain(&found.torsion) {
        // Trapezoid rule on 200 pieces of a field that is only piecewise smooth.
        assert!((whole(&mode.kinetic_share_per_m) - 1.0).abs() < 2e-3);
        assert!((whole(&mode.stiffness_share_per_m) - 1.0).abs() < 1e-2);
        let energy: f64 = (0..36).map(|k| stiffness[k / 6][k % 6] * mode.strain_products[k / 6][k % 6]).sum();
        assert!(cents(energy.sqrt() / std::f64::consts::TAU, mode.hz).abs() < 0.05);
    }
}

/// A bar of even thickness and straight grain, sanded at one place of its top, is the same bar cut there from below
/// and rolled over: so the solid, whose top is flat, can check the top's sensitivity too. (On an arched bar only sanding
/// the whole top has such a twin: see `additions.rs`.)
#[test]
fn sanding_the_top_moves_each_mode_as_its_energies_say() {
    let mut flat = bar();
    // Stations all along, for the cut to be seen.
    flat.underside = Underside::new(flat.underside.x_m().to_vec(), vec![0.022; 201], vec![]).unwrap();
    flat.grain = Grain::default();
    let found = solve(&flat);
    for centre_m in [0.04, 0.13, 0.2, 0.31] {
        let (depth_m, shape) = (0.00005, bump(centre_m));
        let moved = |sign: f64| {
            let mut b = flat.clone();
            b.underside = flat.underside.lowered(&[], |x| sign * depth_m * shape(x)).unwrap();
            solve(&b)
        };
        let (less, more) = (moved(1.0), moved(-1.0));
        for (k, mode) in found.bending.iter().enumerate() {
            let difference = 0.5 * cents(less.bending[k].hz, more.bending[k].hz);
            let predicted = mode.top_removal_cents(&found.grid_m, |x| depth_m * shape(x));
            // As for the underside above.
            let tolerance = 0.03 * difference.abs() + 0.02;
            assert!(
                (difference - predicted).abs() < tolerance,
                "mode {} at {centre_m}: {predicted:.4} against {difference:.4}",
                k + 1
            );
        }
    }
}
