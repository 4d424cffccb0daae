//! The arch designer's round trip, the virtual bench, and a small rehearsal of the whole job.
use bar_physics::{Bar, Grain, ModeKind, Underside, Unevenness, Wanted, Wood, solid, units};
use making::virtual_bench::{StrikePlace, VirtualBar};
use making::{Decision, Limits, Targets, design_arch, next};

fn blank(size_mm: [f64; 3], e_gpa: f64, density_kg_m3: f64) -> Bar {
    let flat = Underside::flat(size_mm[0] * 1e-3, size_mm[2] * 1e-3).unwrap();
    Bar::new(size_mm[1] * 1e-3, flat, Wood::generic_hardwood(density_kg_m3, e_gpa * 1e9), Grain::default())
}

#[test]
fn designed_arches_hit_their_targets_by_a_fresh_solve() {
    let cases: [(Bar, f64, Vec<f64>, f64); 4] = [
        (blank([580.0, 72.0, 24.0], 18.0, 950.0), 65.41, vec![1.0, 4.0, 10.0], 100.0),
        (blank([470.0, 62.0, 23.0], 20.0, 950.0), 130.81, vec![1.0, 4.0, 10.0], 0.0),
        (blank([285.0, 44.0, 21.0], 18.0, 950.0), 523.25, vec![1.0, 4.0], 0.0),
        (blank([160.0, 40.0, 19.0], 18.0, 950.0), 2093.0, vec![1.0], 0.0),
    ];
    for (blank, note_hz, ratios, headroom_cents) in cases {
        let targets = Targets { ratios: ratios.clone(), headroom_cents };
        let limits = Limits { min_thickness_m: 0.005 };
        let arch = design_arch(&blank, note_hz, &targets, limits).unwrap();
        let bar = Bar { underside: arch.underside.clone(), ..blank };
        let modes = solid::modes(&bar, Wanted::bending(ratios.len())).unwrap();
        for (mode, ratio) in modes.bending.iter().zip(&ratios) {
            let miss = units::cents(mode.hz, note_hz * ratio) - headroom_cents;
            // What a careful maker can read.
            assert!(miss.abs() < 1.0, "{note_hz} Hz mode {}: {miss} cents", mode.number);
        }
        let t = arch.underside.thickness_m();
        assert!(t.iter().all(|t| *t >= limits.min_thickness_m - 1e-9 && *t <= bar.underside.thickness_at(0.0) + 1e-9));
        let half = t.len() / 2;
        // Monotone from the centre to the shoulder.
        assert!(t[half..].windows(2).all(|w| w[1] >= w[0] - 1e-9), "{note_hz} Hz");
    }
}

#[test]
fn the_c3_arch_lies_near_the_one_designed_by_a_beam() {
    // reference/designed_1_4_10.csv, C3-R: 460 × 23.5 mm, E 20, G 2.0 GPa, 950 kg/m³, centre 6.77 mm.
    let mut blank = blank([460.0, 60.0, 23.5], 20.0, 950.0);
    blank.wood.g_lh_pa = 2.0e9;
    let targets = Targets { ratios: vec![1.0, 4.0, 10.0], headroom_cents: 0.0 };
    let arch = design_arch(&blank, 130.8128, &targets, Limits { min_thickness_m: 0.005 }).unwrap();
    // Beam and solid differ by 11 to 30 cents on such bars, and 0.1 mm all over the arch is 28 cents;
    // another exponent may share the thickness out differently: 0.4 mm.
    assert!((arch.centre_m - 6.77e-3).abs() < 0.4e-3, "{}", arch.centre_m);
}

#[test]
fn an_arch_out_of_reach_is_refused_with_numbers() {
    let blank = blank([285.0, 44.0, 21.0], 18.0, 950.0);
    let targets = Targets { ratios: vec![1.0, 4.0], headroom_cents: 0.0 };
    let error = design_arch(&blank, 60.0, &targets, Limits { min_thickness_m: 0.005 }).unwrap_err();
    assert_eq!(error.code, "arch_out_of_reach");
    assert!(error.message.contains("mode 1 misses by +") && error.hint.contains("longer"), "{error}: {}", error.hint);
}

#[test]
fn the_virtual_bar_is_within_its_stated_spreads_and_repeatable() {
    let bar = VirtualBar::new(7, 220.0).unwrap();
    assert_eq!(bar.job().log, VirtualBar::new(7, 220.0).unwrap().job().log);
    let hidden = bar.hidden();
    let Unevenness { stiffness_factor, .. } = &hidden.unevenness;
    assert!(stiffness_factor.iter().all(|f| (0.96..=1.04).contains(f)));
    assert!(hidden.grain.plan_rad.to_degrees().abs() <= 3.0 && hidden.grain.dip_rad.to_degrees().abs() <= 3.0);
    assert!((0.37..0.41).contains(&hidden.length_m()));
}

#[test]
fn a_blow_on_the_centre_leaves_even_modes_faint_and_one_on_a_corner_wakes_torsion() {
    let bar = VirtualBar::new(7, 220.0).unwrap();
    let level = |place, kind, number| {
        let modes = bar.strike(place).unwrap();
        modes.iter().find(|m| m.kind == kind && m.number == number).map_or(0.0, |m| m.amplitude)
    };
    // Mode 2 has a node at the centre, moved by the bar's unevenness: under a tenth.
    assert!(level(StrikePlace::Centre, ModeKind::Bending, 2) < 0.1 * level(StrikePlace::Centre, ModeKind::Bending, 1));
    assert!(level(StrikePlace::Quarter, ModeKind::Bending, 2) > 3.0 * level(StrikePlace::Centre, ModeKind::Bending, 2));
    assert!(level(StrikePlace::Corner, ModeKind::Torsion, 1) > 3.0 * level(StrikePlace::End, ModeKind::Torsion, 1));
}

/// The whole job on four bars: no planner sees the hidden bar, and all four must end within the
/// tolerances of fine tuning. The rates over many bars are printed by `examples/rehearse.rs`.
#[test]
fn rehearsal_of_four_bars() {
    for (seed, note_hz) in [(1, 82.4), (2, 146.8), (4, 349.2), (6, 1568.0)] {
        let mut bar = VirtualBar::new(seed, note_hz).unwrap();
        let mut bouts = 0;
        let mut waits = 0;
        loop {
            let advice = next(bar.job()).unwrap();
            match advice.decision {
                Decision::Cut => {
                    bar.cut(&advice.bands, advice.passes.map(|p| p.0)).unwrap();
                    bouts += 1;
                }
                Decision::Wait => waits += 1,
                Decision::Finished => break,
                Decision::Rescue => panic!("seed {seed} at {note_hz} Hz: {}", advice.instruction),
            }
            // Eight bouts are the aim for nearly all bars; ten bound every single one, and so do six more blows: two
            // to be sure of the end, and four for doubted readings.
            assert!(bouts <= 10 && waits <= 6, "seed {seed}: {bouts} bouts, {waits} waits");
            bar.hear().unwrap();
        }
        let end = bar.true_cents().unwrap();
        // Tolerances of ±2, ±5, ±10 cents, and 1 cent more for two σ of the readings the maker went by.
        let within = end.iter().zip([3.0, 6.0, 11.0]).all(|(c, t)| c.abs() <= t);
        assert!(within, "seed {seed} at {note_hz} Hz ended at {end:?} after {bouts} bouts");
    }
}
