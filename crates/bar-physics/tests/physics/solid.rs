//! The mapped solid against closed forms, converged solids and its own invariances.
use bar_physics::solid::{Resolution, Wanted, modes, modes_at};
use bar_physics::units::cents;
use bar_physics::{Bar, Grain, ModeKind, Underside, Wood};

/// Converged solids by other programs: reference/solid_bars.json, bending within 0.02 % (0.35 cents).
///
/// Tolerances are the project's targets: bending 2 cents, torsion 10 cents (the reference's own torsion is
/// only 0.05–0.3 %, up to 5 cents), nodes 0.2 mm.
#[test]
fn arched_bars_agree_with_converged_solids() {
    for reference in crate::common::reference_bars() {
        let found = modes(&reference.bar, Wanted::default()).unwrap();
        let mut compared = 0;
        for entry in &reference.modes {
            let number = entry["mode"].as_u64().unwrap() as usize;
            let (list, limit) = match entry["kind"].as_str() {
                Some("bending") if number <= 3 => (&found.bending, 2.0),
                Some("torsion") if number <= 2 => (&found.torsion, 10.0),
                _ => continue,
            };
            let error = cents(list[number - 1].hz, entry["hz"].as_f64().unwrap());
            assert!(error.abs() < limit, "{}: mode {number} is {error:.2} cents off", reference.id);
            compared += 1;
            if entry["kind"] == "bending" {
                compare_nodes(&reference.id, &list[number - 1], &entry["nodes_top_face_mm"]);
            }
        }
        assert_eq!(compared, 5, "{}: three bending and two torsion modes are in the reference", reference.id);
    }
}

#[track_caller]
fn compare_nodes(id: &str, mode: &bar_physics::Mode, places: &serde_json::Value) {
    for (edge, pick) in [("near", 0), ("centre", 1), ("far", 2)] {
        for x in crate::common::numbers(&places[edge]) {
            let off = |n: &bar_physics::NodeLine| ([n.near_m, n.centre_m, n.far_m][pick] * 1e3 - x).abs();
            let nearest = mode.node_lines.iter().map(off).fold(f64::INFINITY, f64::min);
            assert!(nearest < 0.2, "{id}: mode {} {edge} node at {x} is {nearest:.3} mm off", mode.number);
        }
    }
}

/// Turned grain tilts the node lines, less when arched but to the same side; signs from the reference nodes.
#[test]
fn turned_grain_tilts_the_node_lines_the_right_way() {
    for reference in crate::common::reference_bars().into_iter().filter(|r| r.bar.grain.plan_rad != 0.0) {
        let found = modes(&reference.bar, Wanted::bending(1)).unwrap();
        let nodes =
            &reference.modes.iter().find(|m| m["kind"] == "bending" && m["mode"] == 1).unwrap()["nodes_top_face_mm"];
        let (near, far) = (crate::common::numbers(&nodes["near"]), crate::common::numbers(&nodes["far"]));
        for (line, (near, far)) in found.bending[0].node_lines.iter().zip(near.iter().zip(&far)) {
            assert!(line.tilt_m() * (far - near) > 0.0, "{}: tilt {} mm", reference.id, line.tilt_m() * 1e3);
        }
    }
}

fn slender() -> Bar {
    let wood = Wood::isotropic("thin limit", 1000.0, 10e9, 0.0);
    Bar::new(0.010, Underside::flat(1.0, 0.005).unwrap(), wood, Grain::default())
}

/// Thin limit: Euler–Bernoulli roots and nodes (reference/eb_uniform_eigen.csv, eb_uniform_nodes.csv).
#[test]
fn a_slender_bar_is_an_euler_bernoulli_beam() {
    let bar = slender();
    let found = modes(&bar, Wanted::bending(3)).unwrap();
    let speed = (10e9_f64 / 1000.0).sqrt();
    let factors = [1.02791989608634, 2.83350077577619, 5.55479445113862];
    for (mode, factor) in found.bending.iter().zip(factors) {
        let thin_hz = factor * 0.005 * speed;
        // Timoshenko's correction is of the order (n h / L)² = 2e-4 for mode 3, about 0.6 cents at h/L = 1/200.
        assert!(cents(mode.hz, thin_hz).abs() < 0.6, "mode {}: {:.3} cents", mode.number, cents(mode.hz, thin_hz));
    }
    for (line, x) in found.bending[0].node_lines.iter().zip([0.2241575227, 0.7758424773]) {
        assert!((line.centre_m - x).abs() < 1e-4, "node at {}", line.centre_m);
    }
}

/// Uniform wooden bars against Timoshenko (reference/timoshenko_uniform.csv, κ = 5/6). As a solid they lie
/// 0.04/0.14/0.24 % above it for bending 1/2/3 (reference/README.md): 0.7/2.4/4.2 cents, plus 1 for the bars' own proportions.
#[test]
fn uniform_wooden_bars_lie_just_above_timoshenko() {
    for (e, g, density, length_m, thickness_m, hz) in [
        (20e9, 2.0e9, 950.0, 0.46, 0.0235, [512.99546154457, 1351.0207238061, 2489.6989387572]),
        (12e9, 1.2e9, 740.0, 0.34, 0.022, [762.27704297265, 1960.5523159755, 3516.8051734281]),
    ] {
        let mut wood = Wood::generic_hardwood(density, e);
        (wood.g_lh_pa, wood.g_lw_pa) = (g, g);
        // Plane stress, as in the beam: no Poisson coupling.
        (wood.nu_lw, wood.nu_lh, wood.nu_wh) = (0.0, 0.0, 0.0);
        let bar = Bar::new(0.05, Underside::flat(length_m, thickness_m).unwrap(), wood, Grain::default());
        let found = modes(&bar, Wanted::bending(3)).unwrap();
        for ((mode, beam_hz), most) in found.bending.iter().zip(hz).zip([1.7, 3.4, 5.2]) {
            let above = cents(mode.hz, beam_hz);
            assert!((-0.2..most).contains(&above), "mode {}: {above:.2} cents above Timoshenko", mode.number);
        }
    }
}

fn arched(depth: f64) -> Bar {
    let length_m = 0.36;
    let x_m: Vec<f64> = (0..=180).map(|i| length_m * f64::from(i) / 180.0).collect();
    let thickness = |x: f64| {
        let from_centre = ((x - 0.18) / 0.10).abs().min(1.0);
        0.022 - depth * (1.0 - from_centre.powi(3))
    };
    let t: Vec<f64> = x_m.iter().map(|x| thickness(*x)).collect();
    let wood = Wood::generic_hardwood(800.0, 14e9);
    Bar::new(0.05, Underside::new(x_m, t, vec![0.08, 0.28]).unwrap(), wood, Grain::from_degrees(0.0, 1.0))
}

/// Common practice, no source: a bass bar's nodes move outward when it is arched; 2/9 on the blank.
#[test]
fn nodes_move_outward_as_the_arch_deepens() {
    let node = |depth| modes(&arched(depth), Wanted::bending(1)).unwrap().bending[0].node_lines[0].centre_m / 0.36;
    let (blank, half, deep) = (node(0.0), node(0.007), node(0.014));
    assert!((blank - 2.0 / 9.0).abs() < 0.01, "blank node at {blank} of the length");
    assert!(blank > half && half > deep, "{blank} {half} {deep}");
}

/// Mirroring a bar mirrors its nodes and keeps its frequencies; so does exchanging near and far.
#[test]
fn a_mirrored_bar_has_mirrored_modes() {
    let mut bar = arched(0.012);
    bar.underside =
        bar.underside.lowered(&[0.10, 0.13], |x| if (0.10..=0.13).contains(&x) { 0.001 } else { 0.0 }).unwrap();
    let mut mirrored = bar.clone();
    mirrored.underside = bar.underside.mirrored();
    mirrored.grain.dip_rad = -bar.grain.dip_rad;
    let (a, b) = (modes(&bar, Wanted::default()).unwrap(), modes(&mirrored, Wanted::default()).unwrap());
    for (p, q) in a.bending.iter().chain(&a.torsion).zip(b.bending.iter().chain(&b.torsion)) {
        // The same discrete problem in another order: rounding of a shifted solve.
        assert!(cents(p.hz, q.hz).abs() < 0.01, "{:?} {}", p.kind, p.number);
    }
    assert!((a.bending[0].node_lines[0].centre_m - (0.36 - b.bending[0].node_lines[1].centre_m)).abs() < 1e-5);
}

/// The full, unsplit problem must give what the split one gives as the turn in plan goes to zero.
#[test]
fn the_parity_split_changes_nothing() {
    let split = modes(&arched(0.012), Wanted::default()).unwrap();
    let mut turned = arched(0.012);
    turned.grain.plan_rad = 1e-7;
    let whole = modes(&turned, Wanted::default()).unwrap();
    for (p, q) in split.bending.iter().chain(&split.torsion).zip(whole.bending.iter().chain(&whole.torsion)) {
        assert!(cents(p.hz, q.hz).abs() < 1e-3, "{:?} {}: {} against {}", p.kind, p.number, p.hz, q.hz);
    }
}

/// f is unchanged when all lengths and √(E/ρ) scale together.
#[test]
fn scaling_lengths_and_speed_together_keeps_pitch() {
    let bar = arched(0.012);
    let scale = 1.25;
    let mut larger = bar.clone();
    let stretch = |v: &[f64]| v.iter().map(|x| x * scale).collect::<Vec<_>>();
    let u = &bar.underside;
    larger.underside = Underside::new(stretch(u.x_m()), stretch(u.thickness_m()), stretch(u.kinks_m())).unwrap();
    larger.width_m *= scale;
    let mut wood = Wood::generic_hardwood(800.0, 14e9 * scale * scale);
    wood.density_kg_m3 = 800.0;
    larger.wood = wood;
    let (a, b) = (modes(&bar, Wanted::default()).unwrap(), modes(&larger, Wanted::default()).unwrap());
    for (p, q) in a.bending.iter().zip(&b.bending) {
        assert!(cents(p.hz, q.hz).abs() < 1e-3, "mode {}", p.number);
    }
}

/// Frequencies fall as the mesh is refined (Rayleigh–Ritz on nested spaces, smooth shape).
#[test]
fn refinement_lowers_frequencies_and_converges() {
    let bar =
        Bar::new(0.05, Underside::flat(0.36, 0.022).unwrap(), Wood::generic_hardwood(800.0, 14e9), Grain::default());
    let at = |elements, order_along| {
        let resolution = Resolution { order_along, elements, ..Resolution::default() };
        modes_at(&bar, Wanted::bending(3), resolution).unwrap().bending[2].hz
    };
    let finest = at(40, 4);
    let errors: Vec<f64> = [5, 10, 20].into_iter().map(|n| at(n, 2) - finest).collect();
    assert!(errors.iter().all(|e| *e > 0.0), "{errors:?}");
    for pair in errors.windows(2) {
        let rate = (pair[0] / pair[1]).log2();
        // Eigenvalues converge at twice the order of the strain, 2p = 4 (Strang & Fix 1973, ch. 6).
        assert!((3.4..5.0).contains(&rate), "rate {rate:.2} from {errors:?}");
    }
}

/// Kinds are told apart by energy; a bar lists each kind from its lowest mode.
#[test]
fn modes_are_numbered_within_their_kind() {
    let found = modes(&arched(0.012), Wanted { bending: 4, torsion: 3, sideways: 2 }).unwrap();
    for list in [&found.bending, &found.torsion, &found.sideways] {
        assert!(list.windows(2).all(|w| w[0].hz < w[1].hz && w[0].number + 1 == w[1].number));
    }
    assert_eq!((found.bending.len(), found.torsion.len(), found.sideways.len()), (4, 3, 2));
    assert!(found.bending.iter().all(|m| m.kind == ModeKind::Bending && m.node_lines.len() == m.number + 1));
    let by_volume: f64 = bar_physics::units::mm(1000.0) * 800.0 * 0.05 * arched(0.012).underside.side_area_m2();
    assert!((found.mass_kg - by_volume).abs() < 1e-9);
}
