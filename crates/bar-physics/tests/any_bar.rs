//! Any valid bar has an answer: finite, positive, and falling when wood is taken from the centre.
#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]
use bar_physics::solid::{Wanted, modes};
use bar_physics::{Bar, Grain, Underside, Wood};
use proptest::prelude::*;

prop_compose! {
    fn any_bar()(
        length_m in 0.12..0.60_f64,
        width_m in 0.03..0.09_f64,
        thickness_m in 0.015..0.028_f64,
        depth in 0.0..0.7_f64,
        half in 0.12..0.42_f64,
        exponent in 1.0..5.0_f64,
        density in 500.0..1200.0_f64,
        e_gpa in 8.0..26.0_f64,
        plan_deg in prop_oneof![Just(0.0), -5.0..5.0_f64],
        dip_deg in -4.0..4.0_f64,
        stations in 20_usize..160,
    ) -> Bar {
        let x_m: Vec<f64> = (0..=stations).map(|i| length_m * i as f64 / stations as f64).collect();
        let t = x_m.iter().map(|x| {
            let s = ((x / length_m - 0.5) / half).abs().min(1.0);
            thickness_m * (1.0 - depth * (1.0 - s.powf(exponent)))
        }).collect();
        let underside = Underside::new(x_m, t, vec![(0.5 - half) * length_m, (0.5 + half) * length_m]).unwrap();
        Bar::new(width_m, underside, Wood::generic_hardwood(density, e_gpa * 1e9), Grain::from_degrees(plan_deg, dip_deg))
    }
}

proptest! {
    // Each case is two full solves.
    #![proptest_config(ProptestConfig { cases: 40, ..ProptestConfig::default() })]
    #[test]
    fn every_valid_bar_has_finite_modes_and_centre_removal_lowers_the_first(bar in any_bar()) {
        let found = modes(&bar, Wanted::default()).unwrap();
        for mode in found.bending.iter().chain(&found.torsion).chain(&found.sideways) {
            prop_assert!(mode.hz.is_finite() && mode.hz > 0.0);
            prop_assert!(mode.share > 0.2 && mode.share < 1.001);
            prop_assert!(mode.underside_cents_per_m2.iter().all(|v| v.is_finite()));
        }
        prop_assert_eq!(found.bending.len(), 3);
        let length_m = bar.length_m();
        let mut thinner = bar.clone();
        thinner.underside = bar.underside.lowered(&[], |x| if (x / length_m - 0.5).abs() < 0.05 { 2e-4 } else { 0.0 }).unwrap();
        let after = modes(&thinner, Wanted::bending(1)).unwrap();
        prop_assert!(after.bending[0].hz < found.bending[0].hz);
    }

    #[test]
    fn underside_lookups_never_leave_the_stations(x in -1.0..2.0_f64, bar in any_bar()) {
        let t = bar.underside.thickness_at(x);
        let most = bar.underside.thickness_m().iter().copied().fold(0.0, f64::max);
        prop_assert!(t >= bar.underside.thinnest().1 - 1e-12 && t <= most + 1e-12);
    }
}
