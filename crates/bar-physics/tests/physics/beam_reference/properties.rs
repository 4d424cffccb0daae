//! What theory demands of any bar: convergence rates, scaling, rigid motions, limits.
use crate::beam_reference::bars::{Undercut, undercut_wood};
use crate::beam_reference::uniform::timoshenko_rows;
use crate::beam_reference::{check_absolute, check_relative, number};
use bar_physics::beam::{BeamWood, Profile, Theory, UniformBar};
use bar_physics::{Underside, Unevenness};

#[test]
fn rigid_motions_stay_at_zero() {
    for case in ["U1", "U2", "U7"] {
        let bar = Undercut::named(case);
        for theory in [Theory::EulerBernoulli, Theory::Timoshenko] {
            let profile = bar.profile();
            let solved = profile.bending_modes(&undercut_wood(case), theory, 3).unwrap();
            // Rounding of stiffness entries that are (16 elements)⁴ ≈ 1e5 times the modal ones.
            assert!(solved.rigid_remainder < 1e-9, "{case}: {:e}", solved.rigid_remainder);
        }
    }
}

#[test]
fn same_geometry_and_same_e_over_g_give_the_same_ratios_and_nodes() {
    let (rosewood_like, padauk_like) = (Undercut::named("U3"), Undercut::named("U4"));
    let (first, second) = (rosewood_like.profile(), padauk_like.profile());
    let a = first.bending_modes(&undercut_wood("U3"), Theory::Timoshenko, 3).unwrap();
    let b = second.bending_modes(&undercut_wood("U4"), Theory::Timoshenko, 3).unwrap();
    for mode in 0..3 {
        // Equal but for rounding of the matrices, 1e-12 in f and about its root's share in a node.
        check_relative("ratio", a.modes[mode].hz / a.modes[0].hz, b.modes[mode].hz / b.modes[0].hz, 1e-11);
        for (p, q) in a.modes[mode].nodes_m.iter().zip(&b.modes[mode].nodes_m) {
            check_absolute("node", *p, *q, 1e-10);
        }
    }
}

/// Slope of log error against log element length, by least squares.
fn fitted_rate(lengths: &[f64], errors: &[f64]) -> f64 {
    let logs: Vec<(f64, f64)> = lengths.iter().zip(errors).map(|(l, e)| (l.ln(), e.ln())).collect();
    let n = logs.len() as f64;
    let (mean_x, mean_y) = (logs.iter().map(|p| p.0).sum::<f64>() / n, logs.iter().map(|p| p.1).sum::<f64>() / n);
    let (xy, xx) =
        logs.iter().fold((0.0, 0.0), |(xy, xx), (x, y)| (xy + (x - mean_x) * (y - mean_y), xx + (x - mean_x).powi(2)));
    xy / xx
}

#[test]
fn frequencies_converge_at_the_rate_of_theory() {
    // With rotations of degree p the error of an eigenvalue falls as h^(2p) (Strang & Fix 1973, chapter 6);
    // order 2 without shear is the classic cubic beam element with h⁴.
    let wood = BeamWood::new(12e9, 1.2e9, 740.0);
    let bar = UniformBar::new(0.34, 0.022, wood).unwrap();
    for (theory, exact_hz) in [
        (Theory::EulerBernoulli, bar.euler_bernoulli_hz(3).unwrap()),
        (Theory::Timoshenko, bar.timoshenko(3).unwrap().hz),
    ] {
        for order in [2, 3, 4] {
            let counts = [8.0, 12.0, 16.0, 24.0];
            let errors = counts.map(|count| {
                let profile = Profile::new(&[0.0, 0.34], |_| 0.022).unwrap().on_elements(order, 1.0 / count).unwrap();
                let hz = profile.bending_modes(&wood, theory, 3).unwrap().modes[2].hz;
                assert!(hz > exact_hz, "a conforming element is never too soft: {hz} below {exact_hz}");
                hz / exact_hz - 1.0
            });
            let rate = fitted_rate(&counts.map(f64::recip), &errors);
            check_absolute(&format!("{theory:?} order {order}, errors {errors:?}"), rate, 2.0 * order as f64, 0.15);
        }
    }
}

#[test]
fn a_uniform_profile_is_the_closed_form() {
    for (row, bar) in timoshenko_rows() {
        let mode: usize = row[7].parse().unwrap();
        let (length_m, thickness_m) = (number(&row[4]), number(&row[5]));
        let profile = Profile::new(&[0.0, length_m], |_| thickness_m).unwrap();
        for (theory, want) in [
            (Theory::Timoshenko, bar.timoshenko(mode).unwrap().hz),
            (Theory::EulerBernoulli, bar.euler_bernoulli_hz(mode).unwrap()),
        ] {
            let solved = profile.bending_modes(bar.wood(), theory, mode).unwrap();
            // Order 8 on 16 elements resolves mode 5 to rounding, which is 1e-11 in mode 1.
            check_relative(&row[0], solved.modes[mode - 1].hz, want, 1e-10);
        }
        // Modes of the FE that the closed form might have skipped would shift the numbering: all are there.
        let solved = profile.bending_modes(bar.wood(), Theory::Timoshenko, 5).unwrap();
        assert!(solved.modes.iter().all(|m| m.nodes_m.len() == m.mode + 1));
    }
}

#[test]
fn frequencies_scale_with_size_as_theory_says() {
    let wood = undercut_wood("U4");
    let solved_hz = |stretch: f64, thicken: f64, theory| {
        let bar = Undercut::named("U4");
        let edges: Vec<f64> = bar.edges_m(&[]).iter().map(|x| x * stretch).collect();
        let profile = Profile::new(&edges, |x| thicken * bar.thickness_m(x / stretch)).unwrap();
        let modes = profile.bending_modes(&wood, theory, 3).unwrap().modes;
        modes.iter().map(|m| m.hz).collect::<Vec<_>>()
    };
    use Theory::{EulerBernoulli, Timoshenko};
    let compare = |a: Vec<f64>, b: Vec<f64>, factor: f64, tolerance: f64| {
        a.iter().zip(&b).for_each(|(a, b)| check_relative("scaled", a / b, factor, tolerance));
    };
    // A thin bar: f goes as 1/L² and as h, exactly, but for rounding of the matrices.
    compare(solved_hz(3.0, 1.0, EulerBernoulli), solved_hz(1.0, 1.0, EulerBernoulli), 1.0 / 9.0, 1e-10);
    compare(solved_hz(1.0, 2.0, EulerBernoulli), solved_hz(1.0, 1.0, EulerBernoulli), 2.0, 1e-10);
    // A bar of the same shape in another size: f goes as 1/size, shear and rotary inertia included.
    compare(solved_hz(3.0, 3.0, Timoshenko), solved_hz(1.0, 1.0, Timoshenko), 1.0 / 3.0, 1e-10);
    // Timoshenko's bar becomes a thin bar: at thickness 2 mm on 3.4 m its corrections of order
    // 13 z² (h/L)²/12 are below 5e-5 in mode 3 and nearly cancel between two lengths.
    compare(solved_hz(20.0, 0.1, Timoshenko), solved_hz(10.0, 0.1, Timoshenko), 0.25, 1e-4);
}

#[test]
fn an_underside_of_straight_pieces_is_exact() {
    // A trapezoidal cut, once through stations and once as a function.
    let (x_m, thickness_m) = (vec![0.0, 0.08, 0.15, 0.19, 0.26, 0.34], vec![0.022, 0.022, 0.010, 0.010, 0.022, 0.022]);
    let underside = Underside::new(x_m.clone(), thickness_m, Vec::new()).unwrap();
    let stations = Profile::from_underside(&underside, &Unevenness::default()).unwrap();
    let function = Profile::new(&x_m, |x| underside.thickness_at(x)).unwrap().on_elements(12, 1.0 / 16.0).unwrap();
    for theory in [Theory::Timoshenko, Theory::EulerBernoulli] {
        let a = stations.bending_modes(&undercut_wood("U4"), theory, 5).unwrap();
        let b = function.bending_modes(&undercut_wood("U4"), theory, 5).unwrap();
        for (p, q) in a.modes.iter().zip(&b.modes) {
            // Both resolve the modes to rounding, which grows with the order.
            check_relative("trapezoid", p.hz, q.hz, 1e-10);
        }
    }
}

#[test]
fn dense_stations_approach_the_curve_they_sample() {
    let bar = Undercut::named("U4");
    let wood = undercut_wood("U4");
    let curve = bar.profile();
    let exact_hz = curve.bending_modes(&wood, Theory::Timoshenko, 3).unwrap().modes[2].hz;
    let spacings_m = [0.005, 0.002, 0.001, 0.0005];
    let errors = spacings_m.map(|spacing| {
        let count = (bar.length_m / spacing).round() as usize;
        let x_m: Vec<f64> = (0..=count).map(|i| bar.length_m * i as f64 / count as f64).collect();
        let thickness_m = x_m.iter().map(|x| bar.thickness_m(*x)).collect();
        let underside = Underside::new(x_m, thickness_m, vec![0.07, 0.27]).unwrap();
        let profile = Profile::from_underside(&underside, &Unevenness::default()).unwrap();
        let solved = profile.bending_modes(&wood, Theory::Timoshenko, 3).unwrap();
        assert!(solved.rigid_remainder < 1e-6);
        (solved.modes[2].hz / exact_hz - 1.0).abs()
    });
    // Stations fall on the ends of the arch. Straight pieces lie off the curve by h''·spacing²/8. At half a millimetre the stations are closer
    // than element edges, so only quadrature sees them; the rate must not suffer.
    let rate = fitted_rate(&spacings_m, &errors);
    check_absolute(&format!("errors {errors:?}"), rate, 2.0, 0.1);
}

#[test]
fn uneven_wood_shifts_frequencies_as_its_factors_say() {
    let underside = Underside::flat(0.34, 0.022).unwrap();
    let wood = BeamWood::new(12e9, 1.2e9, 740.0);
    let hz = |unevenness: &Unevenness| {
        let profile = Profile::from_underside(&underside, unevenness).unwrap();
        profile.bending_modes(&wood, Theory::Timoshenko, 2).unwrap().modes[1].hz
    };
    let factors = |stiffness: [f64; 3], density: [f64; 3]| Unevenness {
        x_m: vec![0.0, 0.17, 0.34],
        stiffness_factor: stiffness.to_vec(),
        density_factor: density.to_vec(),
    };
    let even = hz(&Unevenness::default());
    // One factor everywhere: f goes as the root of stiffness over density.
    check_relative("even factors", hz(&factors([1.21; 3], [1.0; 3])) / even, 1.1, 1e-10);
    check_relative("even factors", hz(&factors([1.0; 3], [1.21; 3])) / even, 1.0 / 1.1, 1e-10);
    // Stiffer at one end is stiffer at the other, seen in the mirror; softer in the middle is flatter.
    check_relative("mirrored", hz(&factors([1.0, 1.1, 1.3], [1.0; 3])), hz(&factors([1.3, 1.1, 1.0], [1.0; 3])), 1e-10);
    assert!(hz(&factors([1.0, 0.9, 1.0], [1.0; 3])) < even && hz(&factors([1.0; 3], [1.0, 0.9, 1.0])) > even);
}
