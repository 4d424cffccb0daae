//! Bad input ends in an error that names it.
use bar_physics::beam::{BeamError, BeamWood, Profile, Theory, UniformBar, saint_venant_constant_m4};

#[test]
fn impossible_requests_are_refused_with_a_reason() {
    let wood = BeamWood::new(12e9, 1.2e9, 740.0);
    let thick = UniformBar::new(0.05, 0.03, wood).unwrap();
    let text = thick.timoshenko(9).unwrap_err().to_string();
    assert!(text.contains("mode 9") && text.contains("solid model"), "{text}");
    assert!(matches!(thick.timoshenko(0), Err(BeamError::NoSuchMode { mode: 0, .. })));

    let flat = Profile::new(&[0.0, 0.34], |_| 0.022).unwrap();
    for count in [0, 21, usize::MAX] {
        assert!(matches!(flat.bending_modes(&wood, Theory::Timoshenko, count), Err(BeamError::NoSuchMode { .. })));
    }
    let holed = Profile::new(&[0.0, 0.34], |x| if x > 0.1 && x < 0.12 { f64::NAN } else { 0.022 }).unwrap();
    let error = holed.bending_modes(&wood, Theory::Timoshenko, 3).unwrap_err();
    assert!(matches!(error, BeamError::TooThin { .. }), "{error}");
    for edges in [vec![], vec![0.0], vec![0.0, 0.0], vec![0.0, f64::NAN, 1.0], vec![0.0, f64::INFINITY], vec![0.3, 0.0]]
    {
        assert!(matches!(Profile::new(&edges, |_| 0.02), Err(BeamError::EdgesOutOfOrder { .. })), "{edges:?}");
    }
    let order = Profile::new(&[0.0, 0.34], |_| 0.022).unwrap().on_elements(1, 0.1).unwrap_err();
    assert_eq!(order, BeamError::Order { order: 1, low: 2, high: 16 });

    let solved = flat.bending_modes(&wood, Theory::Timoshenko, 2).unwrap();
    assert!(matches!(solved.thickness_kernel(3, 0.1), Err(BeamError::NoSuchMode { mode: 3, highest: 2 })));
    assert!(matches!(solved.thickness_kernel(1, f64::NAN), Err(BeamError::StripOffBar { .. })));
    assert!(matches!(solved.cents_of_strip(1, 0.2, 0.1, 1e-4), Err(BeamError::StripOffBar { .. })));
    assert!(matches!(saint_venant_constant_m4(0.0, 0.02), Err(BeamError::NotPositive { quantity: "width", .. })));
}

#[test]
fn extreme_numbers_end_in_an_error_not_a_panic() {
    for length_m in [1e-300, 1e-30, 1e-3, 1e3, 1e30, 1e300] {
        for thickness_m in [5e-4, 1.0, 1e30, 1e200] {
            for modulus_pa in [1e-300, 1e-10, 1e10, 1e300] {
                let wood = BeamWood::new(modulus_pa, 0.1 * modulus_pa, 740.0);
                let profile = Profile::new(&[0.0, length_m], |_| thickness_m).unwrap();
                for theory in [Theory::EulerBernoulli, Theory::Timoshenko] {
                    match profile.bending_modes(&wood, theory, 2) {
                        Ok(solved) => assert!(solved.modes.iter().all(|m| m.hz.is_finite() && m.hz > 0.0)),
                        Err(error) => assert!(!error.to_string().is_empty()),
                    }
                }
                if let Ok(mode) = UniformBar::new(length_m, thickness_m, wood).unwrap().timoshenko(1) {
                    assert!(!mode.hz.is_nan());
                }
            }
        }
    }
}
