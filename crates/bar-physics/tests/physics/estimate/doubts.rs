//! Contradictions, narrower priors and refusals.
use crate::estimate::blanks::*;
use bar_physics::estimate::*;
use bar_physics::woods::{Sawn, woods};
use bar_physics::{ModeKind, solid};

#[test]
fn a_mode_taken_for_another_is_named() {
    let wood = hidden();
    let sizes = [400.0, 55.0, 22.0];
    let bar = bar_of(sizes, &wood);
    let modes = solid::modes(&bar, ALL_MODES).unwrap();
    let known = blank(sizes, SHOP, Some(bar.mass_kg()));
    let mut readings = heard(&modes, 3, 0, 1.0);
    assert!(estimate_wood(&known, &readings).unwrap().culprits.is_empty());
    readings.bending[1] = Some(PitchReading { hz: modes.torsion[0].hz, sigma_cents: 1.0 });
    let estimate = estimate_wood(&known, &readings).unwrap();
    assert!(!estimate.is_sound());
    let wrong = Observed::Pitch { kind: ModeKind::Bending, number: 2 };
    let check = estimate.checks.iter().find(|c| c.observed == wrong).unwrap();
    assert!(check.contradicts && check.sigmas < 0.0, "{check:?}");
    let named = estimate.culprits.iter().find_map(|c| match c {
        Culprit::Observation { observed, rather, .. } if *observed == wrong => *rather,
        _ => None,
    });
    println!("{}", estimate.culprits.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "));
    assert_eq!(named, Some(Observed::Pitch { kind: ModeKind::Torsion, number: 1 }), "{:?}", estimate.culprits);
}

#[test]
fn a_size_entered_wrong_is_suspected() {
    let wood = hidden();
    let sizes = [400.0, 55.0, 22.0];
    let bar = bar_of(sizes, &wood);
    let modes = solid::modes(&bar, ALL_MODES).unwrap();
    let readings = heard(&modes, 3, 2, 1.0);
    for (axis, which, wrong_mm) in [(0, "length", 300.0), (2, "thickness", 12.0)] {
        let mut given = sizes;
        given[axis] = wrong_mm;
        let estimate = estimate_wood(&blank(given, SHOP, Some(bar.mass_kg())), &readings).unwrap();
        println!("{which}: {}", estimate.culprits.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "));
        assert!(!estimate.is_sound());
        let likely_m = estimate.culprits.iter().find_map(|c| match c {
            Culprit::Size { which: w, likely_m, .. } if *w == which => Some(*likely_m),
            _ => None,
        });
        let off = likely_m.unwrap_or(f64::NAN) * 1e3 / sizes[axis] - 1.0;
        // One linear step over a fifth or a third of the size: good enough to recognise the number meant.
        assert!(off.abs() < 0.1, "{which}: {off}, {:?}", estimate.culprits);
    }
}

#[test]
fn a_named_wood_is_a_narrower_start() {
    let generic = WoodPrior::generic();
    println!(
        "generic: {:.0} kg/m³ ± {:.0} %, {:.1} GPa, E_L/ρ ± {:.0} %",
        generic.mean.density_kg_m3,
        100.0 * generic.ln_density_sigma,
        generic.mean.e_l_pa * 1e-9,
        100.0 * generic.ln_specific_modulus_sigma
    );
    for wood in woods() {
        for sawn in [Sawn::Plain, Sawn::Quarter] {
            let named = WoodPrior::named(wood, sawn);
            assert!(named.ln_density_sigma < generic.ln_density_sigma, "{}", wood.name);
            assert!(named.ln_specific_modulus_sigma < generic.ln_specific_modulus_sigma, "{}", wood.name);
            assert!(named.source.contains(wood.name));
            // Every wood of the table lies within three spreads of the generic one.
            let far = (named.mean.density_kg_m3 / generic.mean.density_kg_m3).ln() / generic.ln_density_sigma;
            assert!(far.abs() < 3.0, "{}: {far}", wood.name);
        }
    }
}

#[test]
fn bad_input_is_refused_with_the_next_step() {
    let sizes = [400.0, 55.0, 22.0];
    let good = blank(sizes, SHOP, Some(0.4));
    let reading = |hz, sigma_cents| Some(PitchReading { hz, sigma_cents });
    let bending = |bending| Readings { bending, ..Readings::default() };
    let refused = |known: &KnownBar, readings: &Readings| estimate_wood(known, readings).unwrap_err();

    assert_eq!(refused(&blank(sizes, SHOP, None), &Readings::default()), EstimateError::NothingMeasured);
    let exchanged = refused(&good, &bending([reading(900.0, 1.0), reading(400.0, 1.0), None]));
    assert!(matches!(exchanged, EstimateError::OutOfOrder { number: 2, below: 1, .. }), "{exchanged}");
    for (hz, sigma) in [(0.0, 1.0), (-400.0, 1.0), (f64::NAN, 1.0), (400.0, 0.0), (400.0, f64::INFINITY)] {
        let error = refused(&good, &bending([reading(hz, sigma), None, None]));
        assert!(matches!(error, EstimateError::OutOfRange { .. }), "{error}");
    }
    let changed = |change: &dyn Fn(&mut KnownBar)| {
        let mut known = good.clone();
        change(&mut known);
        refused(&known, &bending([reading(400.0, 1.0), None, None])).to_string()
    };
    assert!(changed(&|k| k.thickness_sigma_m = 0.01).contains("the error of the thickness is 10 mm"));
    assert!(changed(&|k| k.width.m = f64::NAN).contains("the width is NaN"));
    assert!(
        changed(&|k| k.mass = None.or(Some(bar_physics::estimate::MassReading { kg: 0.4, sigma_kg: 0.0 })))
            .contains("the error of the mass")
    );
    assert!(changed(&|k| k.prior.ln_g_lh_sigma = 0.0).contains("the spread of G_LH/E_L"));
    assert!(changed(&|k| k.prior.mean.e_l_pa = -1.0).contains("E_L"));
    assert!(changed(&|k| k.grain.plan_rad = f64::NAN).contains("plan angle"));
}

mod any_input {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        // Each case is up to 15 solves of 15 ms when readings are absurd.
        #![proptest_config(ProptestConfig { cases: 12, ..ProptestConfig::default() })]

        /// Whatever is entered, the answer is finite or an error; σ never exceeds the prior's.
        #[test]
        fn is_answered_or_refused(
            length in 60.0..600.0_f64, width in 20.0..80.0_f64, thickness in 6.0..40.0_f64,
            grams in prop::option::of(5.0..3000.0_f64), first in 40.0..4000.0_f64, second in 1.05..5.0_f64,
            torsion in prop::option::of(60.0..9000.0_f64),
        ) {
            let known = blank([length, width, thickness], SHOP, grams.map(|g| g * 1e-3));
            let reading = |hz| PitchReading { hz, sigma_cents: 1.0 };
            let readings = Readings {
                bending: [Some(reading(first)), Some(reading(first * second)), None],
                torsion: [torsion.map(reading), None],
            };
            match estimate_wood(&known, &readings) {
                Ok(estimate) => {
                    for p in &estimate.parameters {
                        prop_assert!(p.value.is_finite() && p.value > 0.0 && p.sigma.is_finite());
                        prop_assert!(p.ln_sigma <= p.prior_ln_sigma * (1.0 + 1e-9));
                        prop_assert_eq!(p.determined, p.to_learn_it.is_none());
                    }
                    prop_assert!(estimate.checks.iter().all(|c| c.sigmas.is_finite() && c.expected > 0.0));
                    prop_assert!(!estimate.checks.iter().any(|c| c.contradicts) || !estimate.culprits.is_empty());
                }
                Err(error) => prop_assert!(!error.to_string().is_empty()),
            }
        }
    }
}
