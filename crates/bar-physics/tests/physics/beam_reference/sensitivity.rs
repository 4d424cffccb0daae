//! The thickness kernel against its tables and against bars solved again with the strip removed.
use crate::beam_reference::bars::{Undercut, undercut_wood};
use crate::beam_reference::{check_absolute, number, table};
use bar_physics::beam::{Profile, Theory, UniformBar};

#[test]
fn the_uniform_kernel_matches_its_table() {
    let bar = UniformBar::new(0.34, 0.022, undercut_wood("U4")).unwrap();
    let profile = Profile::new(&[0.0, 0.34], |_| 0.022).unwrap();
    let solved = profile.bending_modes(bar.wood(), Theory::EulerBernoulli, 3).unwrap();
    for row in table("sensitivity_uniform_EB.csv") {
        if let Some(mode) = row[0].strip_prefix("zero crossings mode ") {
            let mode: usize = mode.parse().unwrap();
            for place in &row[1..] {
                // 12 decimals, slopes up to 30.
                check_absolute("zero", UniformBar::euler_bernoulli_kernel(mode, number(place)).unwrap(), 0.0, 3e-11);
            }
            continue;
        }
        for mode in 1..=3 {
            let (place, want) = (number(&row[0]), number(&row[mode]));
            // 8 decimals.
            check_absolute("closed form", UniformBar::euler_bernoulli_kernel(mode, place).unwrap(), want, 6e-9);
            // 8 decimals, and the curvature of order 8 elements: its error in mode 3 is of the same size.
            let got = solved.thickness_kernel(mode, 0.34 * place).unwrap();
            check_absolute("elements", got, want, 2e-8);
        }
    }
}

#[test]
fn the_arched_kernel_matches_its_table() {
    let bar = Undercut::named("U4");
    let profile = bar.profile();
    let solved = profile.bending_modes(&undercut_wood("U4"), Theory::Timoshenko, 3).unwrap();
    let rows = table("sensitivity_arched_timoshenko.csv");
    assert_eq!(rows.len(), 21);
    for row in rows {
        let x_m = number(&row[1]) * bar.length_m;
        check_absolute("thickness", bar.thickness_m(x_m) / bar.blank_m, number(&row[2]), 6e-7);
        for mode in 1..=3 {
            // 6 decimals; the table's own solution is good to about as much.
            let got = solved.thickness_kernel(mode, x_m).unwrap();
            check_absolute("kernel", got, number(&row[2 + mode]), 1e-6);
            // The table's cents are the local rate for 10 mm; a strip of 2 µm is local enough.
            let (from_m, to_m) = ((x_m - 1e-6).max(0.0), x_m + 1e-6);
            let cents = solved.cents_of_strip(mode, from_m, to_m, 1e-4).unwrap() * 0.01 / (to_m - from_m);
            // 4 decimals, and slopes up to 0.03 cent per mm.
            check_absolute("cents", cents, number(&row[5 + mode]), 1e-4);
        }
    }
}

#[test]
fn the_kernel_predicts_what_a_real_strip_does() {
    let bar = Undercut::named("U4");
    let wood = undercut_wood("U4");
    let middle = 0.5 * bar.length_m;
    let whole = bar.profile();
    let solved = whole.bending_modes(&wood, Theory::Timoshenko, 3).unwrap();
    // Pairs of strips 10 mm wide about these distances from the centre, and the cents for 0.1 mm that a
    // separate computation found for this project by solving again with the strips removed.
    for (place, found) in [
        (0.005, [-5.2505, -0.2941, -1.0906]),
        (0.055, [-0.8998, -2.0488, -1.3619]),
        (0.095, [-0.0614, -0.2282, -0.6362]),
        (0.160, [0.6070, 0.4391, 0.3543]),
    ] {
        let (near, far) = (place - 0.005, place + 0.005);
        let again = |depth_m: f64| {
            let edges = if near > 1e-9 { bar.edges_m(&[near, far]) } else { bar.edges_m(&[far]) };
            let cut = move |x: f64| (near..far).contains(&(x - middle).abs());
            let bar = &bar;
            let profile =
                Profile::new(&edges, move |x| bar.thickness_m(x) - if cut(x) { depth_m } else { 0.0 }).unwrap();
            let modes = profile.bending_modes(&wood, Theory::Timoshenko, 3).unwrap().modes;
            [0, 1, 2].map(|m: usize| modes[m].hz)
        };
        let (cut, raised) = (again(1e-4), again(-1e-4));
        let (finer_cut, finer_raised) = (again(5e-5), again(-5e-5));
        for mode in 1..=3 {
            let before = solved.modes[mode - 1].hz;
            let real = bar_physics::units::cents(cut[mode - 1], before);
            // The table figures have 4 decimals.
            check_absolute("separate computation", real, found[mode - 1], 1e-4);
            // Central differences leave the cubic term; two step sizes remove that as well (Richardson).
            let difference = |plus: f64, minus: f64| 0.5 * bar_physics::units::cents(plus, minus);
            let coarse = difference(cut[mode - 1], raised[mode - 1]);
            let fine = 2.0 * difference(finer_cut[mode - 1], finer_raised[mode - 1]);
            let slope = (4.0 * fine - coarse) / 3.0;
            let predicted = solved.cents_of_strip(mode, middle + near, middle + far, 1e-4).unwrap()
                + solved.cents_of_strip(mode, middle - far, middle - near, 1e-4).unwrap();
            check_absolute("first order", predicted, slope, 2e-6);
        }
    }
}
