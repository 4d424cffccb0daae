//! Saw steps: whatever the arch, the saw and its scale, nothing is cut into the margin and nothing too deep at once.
use bar_physics::Underside;
use making::saw::{Blade, SawPlan, SawScale, SawSetup, saw_steps};
use proptest::prelude::*;

const LENGTH_M: f64 = 0.47;
const WIDTH_M: f64 = 0.062;

/// t(u) = c + (H − c)(u/a)^q, an arch of the usual family.
fn arch(length_m: f64, thickness_m: f64, centre_m: f64, half_m: f64, exponent: f64) -> Underside {
    let x_m: Vec<f64> = (0..=600).map(|i| length_m * f64::from(i) / 600.0).collect();
    let t = |x: &f64| {
        let s = ((x - 0.5 * length_m).abs() / half_m).min(1.0);
        centre_m + (thickness_m - centre_m) * s.powf(exponent)
    };
    let t_m = x_m.iter().map(t).collect();
    Underside::new(x_m, t_m, Vec::new()).unwrap()
}

/// Saws kerf by kerf in the given order on a fine ruler; the wood left from the underside's point of view, and the
/// deepest bite any kerf took.
fn saw_for_real(plan: &SawPlan, setup: &SawSetup, length_m: f64) -> (Vec<(f64, f64)>, f64) {
    // A twentieth of a millimetre, off the scales so that no edge falls on a point.
    let places: Vec<f64> = (0..).map(|k| 0.013e-3 + 0.05e-3 * f64::from(k)).take_while(|x| *x < length_m).collect();
    let mut depth = vec![0.0_f64; places.len()];
    let mut deepest_bite = 0.0_f64;
    for step in &plan.steps {
        for stop in &step.stops_m {
            for turned in [false, true] {
                for (x, depth) in places.iter().zip(&mut depth) {
                    let from_end = if turned { length_m - x } else { *x };
                    let cut = match setup.blade {
                        Blade::Across => {
                            if from_end > *stop && from_end < stop + setup.kerf_m {
                                step.height_m
                            } else {
                                0.0
                            }
                        }
                        Blade::Along { radius_m } => {
                            // The axle moves from stop to stop: the round end is a circle beyond them.
                            let beyond = stop - from_end.min(length_m - from_end);
                            if beyond <= 0.0 {
                                step.height_m
                            } else if beyond < radius_m {
                                (step.height_m - radius_m + (radius_m * radius_m - beyond * beyond).sqrt()).max(0.0)
                            } else {
                                0.0
                            }
                        }
                    };
                    if cut > *depth {
                        deepest_bite = deepest_bite.max(cut - *depth);
                        *depth = cut;
                    }
                }
            }
        }
    }
    (places.into_iter().zip(depth).collect(), deepest_bite)
}

fn check(line: &Underside, thickness_m: f64, least_m: f64, setup: &SawSetup) -> Result<(), TestCaseError> {
    let length_m = line.length_m();
    let Ok(plan) = saw_steps(line, thickness_m, WIDTH_M, least_m, setup) else { return Ok(()) };
    let (sawn, bite_m) = saw_for_real(&plan, setup, length_m);
    for (x, depth_m) in &sawn {
        let left_m = thickness_m - depth_m;
        let wanted_m = (line.thickness_at(*x).max(least_m) + setup.margin_m).min(thickness_m);
        // A micrometre: stations of the line lie 0.8 mm apart and the plan looks at places 0.06 mm apart.
        prop_assert!(left_m >= wanted_m - 1e-6, "{x}: {left_m} left, {wanted_m} wanted");
    }
    prop_assert!(bite_m <= setup.pass_m + 1e-9, "a bite of {bite_m}");
    let finest = setup.scale.finest_m();
    let on_scale = |m: f64| (m / finest - (m / finest).round()).abs() < 1e-6;
    for (before, step) in plan.steps.iter().zip(plan.steps.iter().skip(1)) {
        prop_assert!(step.height_m > before.height_m, "the blade is only raised");
    }
    for step in &plan.steps {
        prop_assert!(on_scale(step.height_m) && step.stops_m.iter().all(|s| on_scale(*s)), "{step:?}");
        prop_assert!(step.bite_m <= setup.pass_m + 1e-9);
    }
    // The plan's own idea of what is left is what the kerfs leave, or more.
    for (x, depth_m) in &sawn {
        let told_m = plan.sawn.thickness_at((x - 0.5 * length_m).abs());
        prop_assert!(
            (thickness_m - depth_m) - told_m < 5e-6 || matches!(setup.blade, Blade::Along { .. }),
            "{x}: told {told_m}, left {}",
            thickness_m - depth_m
        );
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, ..ProptestConfig::default() })]

    #[test]
    fn nothing_is_sawn_into_the_margin_nor_too_deep_at_once(
        length_m in 0.14_f64..0.62,
        thickness_m in 0.017_f64..0.028,
        centre in 0.25_f64..0.8,
        half in 0.2_f64..0.9,
        exponent in 1.3_f64..7.0,
        kerf_m in 2.0e-3_f64..8.0e-3,
        margin_m in 1.0e-3_f64..5.0e-3,
        pass_m in 2.0e-3_f64..8.0e-3,
        stair_m in 0.5e-3_f64..2.0e-3,
        inch in any::<bool>(),
        along in prop::option::of(0.05_f64..0.16),
    ) {
        let line = arch(length_m, thickness_m, centre * thickness_m, half * 0.5 * length_m, exponent);
        let setup = SawSetup {
            blade: along.map_or(Blade::Across, |radius_m| Blade::Along { radius_m }),
            kerf_m,
            margin_m,
            pass_m,
            stair_m,
            scale: if inch { SawScale::ThirtySecondInch } else { SawScale::HalfMillimetre },
            ..SawSetup::default()
        };
        check(&line, thickness_m, 0.005, &setup)?;
    }
}

#[test]
fn a_crooked_line_keeps_its_margin_on_both_sides() {
    // Left thinner than right by 1 mm: the symmetric cuts go by the thicker side.
    let even = arch(LENGTH_M, 0.023, 0.008, 0.15, 3.0);
    let t = even.x_m().iter().zip(even.thickness_m());
    let t = t.map(|(x, t)| if *x < 0.5 * LENGTH_M { (t - 1e-3).max(0.006) } else { *t }).collect();
    let crooked = Underside::new(even.x_m().to_vec(), t, Vec::new()).unwrap();
    check(&crooked, 0.023, 0.005, &SawSetup::default()).unwrap();
}

#[test]
fn the_minimum_counts_where_the_line_lies_below_it() {
    let line = arch(LENGTH_M, 0.023, 0.0045, 0.15, 3.0);
    let plan = saw_steps(&line, 0.023, WIDTH_M, 0.006, &SawSetup::default()).unwrap();
    let deepest = plan.steps.iter().map(|s| s.height_m).fold(0.0, f64::max);
    assert!((0.023 - deepest) >= 0.009 - 1e-9, "{deepest}");
}

#[test]
fn the_stairs_come_as_near_the_line_as_their_height_allows() {
    let line = arch(LENGTH_M, 0.023, 0.007, 0.15, 3.0);
    let setup = SawSetup::default();
    let plan = saw_steps(&line, 0.023, WIDTH_M, 0.005, &setup).unwrap();
    for k in 0..150 {
        let u = 1e-3 * f64::from(k);
        let spare = plan.sawn.thickness_at(u) - line.thickness_at(0.235 + u) - setup.margin_m;
        // Over the arch: a stair and the half that may be left at the bottom, one division of the scale, and what the
        // line climbs over one division of a stop.
        let climb = line.thickness_at(0.235 + u + 0.6e-3) - line.thickness_at(0.235 + u - 0.6e-3);
        let touched = line.thickness_at(0.235 + u) + setup.margin_m + setup.stair_m < 0.023;
        assert!(!touched || spare <= 1.5 * setup.stair_m + 0.5e-3 + climb.abs() + 1e-6, "{u}: {spare}");
    }
}

#[test]
fn a_full_depth_pass_and_silly_settings_are_refused() {
    let line = arch(LENGTH_M, 0.023, 0.007, 0.15, 3.0);
    let usual = SawSetup::default();
    let wrong = [
        SawSetup { pass_m: 0.016, ..usual },
        SawSetup { kerf_m: 0.0, ..usual },
        SawSetup { margin_m: -0.001, ..usual },
        SawSetup { margin_m: f64::NAN, ..usual },
        SawSetup { stair_m: 0.007, ..usual },
        SawSetup { blade: Blade::Along { radius_m: 0.01 }, ..usual },
    ];
    for setup in wrong {
        let error = saw_steps(&line, 0.023, WIDTH_M, 0.005, &setup).unwrap_err();
        assert!(error.code == "out_of_range" && !error.hint.is_empty(), "{error}");
    }
    let shallow = arch(LENGTH_M, 0.023, 0.021, 0.15, 3.0);
    assert_eq!(saw_steps(&shallow, 0.023, WIDTH_M, 0.005, &usual).unwrap_err().code, "nothing_to_saw");
}
