//! Small masses, holes, faces and the following of shapes.
use bar_physics::solid::{Hole, PointMass, Wanted, likeness, modes, sensitivity_table, track};
use bar_physics::units::cents;
use bar_physics::{Bar, Grain, Modes, Underside, Wood};

const LENGTH_M: f64 = 0.36;

fn arch(half_m: f64, depth_m: f64) -> Underside {
    let x_m: Vec<f64> = (0..=180).map(|i| LENGTH_M * f64::from(i) / 180.0).collect();
    let t = x_m.iter().map(|x| 0.022 - depth_m * (1.0 - ((x - 0.18) / half_m).abs().min(1.0).powi(3))).collect();
    Underside::new(x_m, t, vec![0.18 - half_m, 0.18 + half_m]).unwrap()
}

fn bar(underside: Underside) -> Bar {
    Bar::new(0.05, underside, Wood::generic_hardwood(800.0, 14e9), Grain::default())
}

fn solve(bar: &Bar) -> Modes {
    modes(bar, Wanted { bending: 5, torsion: 2, sideways: 1 }).unwrap()
}

#[test]
fn sanding_the_whole_top_is_sanding_the_whole_underside() {
    let base = bar(arch(0.1, 0.012));
    let found = solve(&base);
    for mode in &found.bending[..3] {
        let (top, below) =
            (mode.top_removal_cents(&found.grid_m, |_| 1e-4), mode.removal_cents(&found.grid_m, |_| 1e-4));
        // Either way the same bar is left; surface stresses carry the few per cent of the kinked corners.
        assert!((top - below).abs() < 0.03 * below.abs() + 0.02, "mode {}: {top} against {below}", mode.number);
    }
}

#[test]
fn a_longer_arch_moves_the_modes_as_the_table_says() {
    let base = bar(arch(0.1, 0.012));
    let found = solve(&base);
    let table = sensitivity_table(&base, &found, &found.bending).unwrap();
    let row = table.iter().find(|r| r.name == "arch_length").unwrap();
    let (longer, shorter) = (solve(&bar(arch(0.1005, 0.012))), solve(&bar(arch(0.0995, 0.012))));
    for (k, predicted) in row.cents.iter().enumerate().take(3) {
        let difference = cents(longer.bending[k].hz, shorter.bending[k].hz);
        // The arch's end is a kink whose stress the surface formula rounds off.
        assert!(
            (difference - predicted).abs() < 0.04 * difference.abs() + 0.05,
            "mode {}: {predicted} against {difference}",
            k + 1
        );
    }
}

/// Closed form: 1 % more mass, spread evenly, lowers every mode by 600·log2(1.01) = 8.61 cents.
#[test]
fn evenly_spread_masses_are_density() {
    let base = bar(arch(0.1, 0.0));
    let found = solve(&base);
    let pieces = 60;
    let masses: Vec<PointMass> = (0..pieces)
        .flat_map(|i| {
            let x_m = LENGTH_M * (f64::from(i) + 0.5) / f64::from(pieces);
            // Two Gauss points through the thickness carry the rotation as the wood does.
            [-1.0, 1.0].map(|side| PointMass {
                x_m,
                y_m: 0.0,
                below_top_m: 0.011 * (1.0 + side / 3.0_f64.sqrt()),
                mass_kg: 0.01 * found.mass_kg / f64::from(2 * pieces),
            })
        })
        .collect();
    for (mode, hz) in found.bending.iter().zip(found.bending_with_masses(&masses)).take(3) {
        let fall = cents(hz, mode.hz);
        // The masses sit on the middle of the width, whose motion differs slightly from the mean.
        assert!((fall + 8.61).abs() < 0.35, "mode {}: {fall:.3} cents", mode.number);
    }
}

/// Computed example of common practice (beam model): 1 g at the middle of C4 lowers it about 10 cents; a mass at a node changes nothing.
#[test]
fn a_mass_matters_where_the_bar_moves() {
    let base = bar(arch(0.1, 0.013));
    let found = solve(&base);
    let with = |x_m: f64| {
        let mass = PointMass { x_m, y_m: 0.0, below_top_m: 0.0, mass_kg: 0.001 };
        cents(found.bending_with_masses(&[mass])[0], found.bending[0].hz)
    };
    assert!((-14.0..-6.0).contains(&with(0.18)), "{}", with(0.18));
    assert!(with(found.bending[0].node_lines[0].centre_m).abs() < 0.3);
}

#[test]
fn a_hole_at_the_node_hardly_matters_and_one_at_the_centre_does() {
    let base = bar(arch(0.1, 0.012));
    let found = solve(&base);
    let cents_at = |x_m: f64, diameter_m: f64| {
        Hole { near_m: x_m, far_m: x_m, below_top_m: 0.009, diameter_m }.cents(&base, &found.bending[0])
    };
    let node_m = found.bending[0].node_lines[0].centre_m;
    assert!(cents_at(node_m, 0.006).abs() < 6.0, "{}", cents_at(node_m, 0.006));
    // Near the neutral line the shear at the arch's flank counts; the deep centre has the most strain.
    let centre = Hole { near_m: 0.18, far_m: 0.18, below_top_m: 0.002, diameter_m: 0.003 };
    assert!(centre.cents(&base, &found.bending[0]) < -3.0);
    // First order: proportional to the area.
    assert!((cents_at(node_m, 0.006) / cents_at(node_m, 0.003) - 4.0).abs() < 1e-9);
}

#[test]
fn shapes_are_followed_when_ranks_change() {
    let (before, after) = (solve(&bar(arch(0.1, 0.010))), solve(&bar(arch(0.1, 0.0105))));
    let mixed = |m: &Modes| m.bending.iter().chain(&m.torsion).cloned().collect::<Vec<_>>();
    let (a, mut b) = (mixed(&before), mixed(&after));
    b.reverse();
    let last = a.len() - 1;
    for (i, found) in track(&a, &b).into_iter().enumerate() {
        assert_eq!(found, Some(last - i));
    }
    assert!(likeness(&a[0], &a[0]) > 1.0 - 1e-12);
    // Different modes of one bar are orthogonal in the mass product; sampled motion is nearly so.
    assert!(likeness(&a[0], &a[1]) < 0.05);
}

#[test]
fn motion_is_one_at_the_centre_and_none_at_the_node() {
    let found = solve(&bar(arch(0.1, 0.012)));
    let first = &found.bending[0];
    assert!((first.relative_motion(0.18, 0.0) - 1.0).abs() < 1e-12);
    // 0.38 m has an odd number of places on its grid, none of them the middle.
    let blank =
        Bar::new(0.04, Underside::flat(0.38, 0.02).unwrap(), Wood::generic_hardwood(800.0, 14e9), Grain::default());
    let odd = modes(&blank, Wanted::bending(1)).unwrap();
    assert!((odd.bending[0].relative_motion(0.19, 0.0) - 1.0).abs() < 1e-12);
    assert!(first.relative_motion(first.node_lines[0].centre_m, 0.0).abs() < 1e-3);
    let far = first.relative_motion(first.node_lines[0].far_m, 0.025);
    assert!(far.abs() < 1e-3, "{far}");
}
