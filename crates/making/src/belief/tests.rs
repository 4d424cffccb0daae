//! The belief's derivatives against the full solid, and what a blank's reading tells.
use super::observe::{Observed, wanted};
use super::{believe, slot};
use crate::{Event, Job, Limits, Reading, Targets};
use bar_physics::{Bar, Grain, ModeKind, Underside, Wood, solid, units};
use nalgebra::DVector;

fn blank_job() -> Job {
    Job {
        note_hz: 130.8,
        length_m: 0.47,
        width_m: 0.062,
        thickness_m: 0.023,
        mass_kg: None,
        underside: None,
        wood: None,
        grain: Grain::default(),
        targets: Targets { ratios: vec![1.0, 4.0, 10.0], headroom_cents: 0.0 },
        limits: Limits { min_thickness_m: 0.005 },
        hand: None,
        log: Vec::new(),
    }
}

fn arched() -> Underside {
    let x = vec![0.0, 0.09, 0.15, 0.235, 0.32, 0.38, 0.47];
    Underside::new(x, vec![0.023, 0.023, 0.013, 0.0095, 0.013, 0.023, 0.023], Vec::new()).unwrap()
}

#[test]
fn derivatives_agree_with_finite_differences_of_the_solid() {
    let mut job = blank_job();
    job.log.push(Event::Shaped { underside: arched(), sigma_m: 0.3e-3 });
    let belief = believe(&job).unwrap();
    let observed: Vec<Observed> =
        Observed::bending(3).into_iter().chain([Observed { kind: ModeKind::Torsion, number: 1 }]).collect();
    let base = belief.linear(&observed).unwrap();
    let n = belief.gaussian.mean.len();
    let mut wave = DVector::zeros(n);
    let mut lump = DVector::zeros(n);
    for i in 0..belief.hats.nodes {
        wave[slot::THICKNESS + i] = (0.4 * i as f64).cos() * 1e-3;
        lump[slot::THICKNESS + i] = if i.abs_diff(belief.hats.nodes / 2) < 3 { 1e-3 } else { 0.0 };
    }
    let unit = |at: usize| DVector::from_fn(n, |i, _| if i == at { 1.0 } else { 0.0 });
    // Wood: Rayleigh quotients are exact to the step's square, 1e-4 of some hundred cents; torsion's
    // G_LH comes with a small coupling, hence 0.5 %. Thickness: the sensitivity is taken from stresses
    // at the underside, which the solid knows to 2 or 3 % on an arch drawn with corners.
    let cases = [
        ("E_L", unit(slot::LN_E), 0.005),
        ("G_LH", unit(slot::LN_G_LH), 0.005),
        ("G_LW", unit(slot::LN_G_LW), 0.005),
        ("density", unit(slot::LN_DENSITY), 0.005),
        ("bow", unit(slot::BOW), 0.02),
        ("wave", wave, 0.04),
        ("lump", lump, 0.04),
    ];
    for (name, direction, share) in cases {
        const STEP: f64 = 0.01;
        let up = belief.linear_at(&(&belief.gaussian.mean + &direction * STEP), &observed).unwrap();
        let down = belief.linear_at(&(&belief.gaussian.mean - &direction * STEP), &observed).unwrap();
        let slope = (up.cents - down.cents) / (2.0 * STEP);
        let expected = &base.jacobian * &direction;
        for i in 0..observed.len() {
            let tolerance = share * expected.amax() + 0.2;
            assert!(
                (slope[i] - expected[i]).abs() < tolerance,
                "{name}, {:?} {}: {} against {}",
                observed[i].kind,
                observed[i].number,
                slope[i],
                expected[i]
            );
        }
    }
}

#[test]
fn a_blank_reading_recovers_the_hidden_stiffness_within_its_sigma() {
    let mut squares = 0.0;
    let hidden = [(14.0e9, 800.0, 0.9), (18.0e9, 950.0, 1.1), (23.0e9, 1050.0, 1.3), (16.5e9, 880.0, 0.8)];
    for (e_l_pa, density_kg_m3, shear) in hidden {
        let mut wood = Wood::generic_hardwood(density_kg_m3, e_l_pa);
        wood.g_lh_pa *= shear;
        wood.g_lw_pa *= shear;
        let bar = Bar::new(0.062, Underside::flat(0.47, 0.023).unwrap(), wood.clone(), Grain::default());
        let observed: Vec<Observed> =
            Observed::bending(3).into_iter().chain([Observed { kind: ModeKind::Torsion, number: 1 }]).collect();
        let modes = solid::modes(&bar, wanted(&observed)).unwrap();
        let mut job = blank_job();
        job.mass_kg = Some(bar.mass_kg());
        job.log.push(Event::Heard(Reading {
            bending_hz: modes.bending.iter().map(|m| Some(m.hz)).collect(),
            torsion_hz: modes.torsion.iter().map(|m| Some(m.hz)).collect(),
            sigma_cents: 1.0,
            temperature_c: Some(21.0),
        }));
        let belief = believe(&job).unwrap();
        for (at, truth) in [
            (slot::LN_E, e_l_pa.ln()),
            (slot::LN_DENSITY, density_kg_m3.ln()),
            (slot::LN_G_LH, (wood.g_lh_pa / e_l_pa).ln()),
            (slot::LN_G_LW, (wood.g_lw_pa / e_l_pa).ln()),
        ] {
            let off = (belief.gaussian.mean[at] - truth) / belief.gaussian.sigma(at);
            // Three σ for each of sixteen numbers: passes by chance in 96 of 100 honest beliefs, and the
            // data here are noiseless, so an honest belief stays well inside.
            assert!(off.abs() < 3.0, "slot {at} of the {:.0} GPa wood is {off:.1} σ off", e_l_pa / 1e9);
            squares += off * off;
        }
        // The blank must really have told something: a prior of 17 % and more has become 3 % or less.
        assert!(belief.gaussian.sigma(slot::LN_E) < 0.03);
    }
    assert!((squares / 16.0_f64).sqrt() < 1.5);
}

#[test]
fn expected_modes_are_those_of_the_most_likely_bar() {
    let belief = believe(&blank_job()).unwrap();
    let expected = belief.expected(3).unwrap();
    let modes = solid::modes(&belief.bar().unwrap(), bar_physics::Wanted::default()).unwrap();
    for told in &expected {
        let hz = modes.of(told.kind)[told.number - 1].hz;
        // The same solve; the model's own error has mean 0.
        assert!(units::cents(told.hz, hz).abs() < 0.01 && told.sigma_cents > 10.0);
    }
    assert_eq!(expected.len(), 5);
}
