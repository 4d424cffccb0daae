//! Sound in air and stopped tubes against published values.
use bar_physics::air::{AirError, BarOverTube, Mouth, StoppedTube, end_correction, sound_speed_m_s};
use bar_physics::units::cents;
use proptest::prelude::*;

/// Lines of a reference table without its head, as numbers after the first `skip` cells.
fn table(text: &str, skip: usize) -> Vec<(String, Vec<f64>)> {
    text.lines()
        .skip(1)
        .map(|line| {
            let mut cells = line.split(',');
            let first = cells.clone().next().unwrap().to_owned();
            (first, cells.by_ref().skip(skip).map(|cell| cell.parse().unwrap()).collect())
        })
        .collect()
}

#[test]
fn the_speed_of_sound_is_cramers() {
    let lines = table(include_str!("../../../../reference/sound_speed.csv"), 0);
    assert_eq!(lines.len(), 28);
    for (_, line) in lines {
        let found = sound_speed_m_s(line[0], line[1]).unwrap();
        // Both are the same formula; the table has six decimals.
        assert!((found - line[2]).abs() < 2e-6, "{line:?} {found}");
        // ISO 9613-1's dry air, another formula: within 0.06 %, which the two differ by in dry air (0.16 m/s).
        if line[1] == 0.0 {
            assert!((found - line[3]).abs() < 0.2, "{line:?} {found}");
        }
    }
    // Some 3 cents a degree (TRADE 1.16 says 2.9).
    let drift = cents(sound_speed_m_s(28.0, 50.0).unwrap(), sound_speed_m_s(16.0, 50.0).unwrap()) / 12.0;
    assert!((drift - 3.0).abs() < 0.2, "{drift}");
}

#[test]
fn end_corrections_are_levine_and_schwingers() {
    for (_, line) in table(include_str!("../../../../reference/levine_schwinger.csv"), 0) {
        assert!((end_correction(Mouth::Unflanged, line[0]).unwrap() - line[1]).abs() < 1e-8, "{line:?}");
    }
    // Between the table's points it falls smoothly: a cubic through four of them is off by less than its own last step.
    let steps: Vec<f64> = (0..=100).map(|i| end_correction(Mouth::Unflanged, f64::from(i) * 0.01).unwrap()).collect();
    assert!(steps.windows(2).all(|pair| pair[1] < pair[0] + 1e-12 && pair[0] - pair[1] < 0.0013), "{steps:?}");
    for wrong in [-0.1, 1.01, f64::NAN] {
        assert!(end_correction(Mouth::Unflanged, wrong).is_err());
    }
}

#[test]
fn lengths_are_those_of_the_worked_table() {
    for line in include_str!("../../../../reference/resonator_lengths.csv").lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let number = |i: usize| cells[i].parse::<f64>().unwrap();
        let (hz, radius_m, sound) = (number(2), number(3) * 1e-3, number(4));
        let length = |mouth| StoppedTube { radius_m, mouth, under_bar_m: 0.0 }.length_m(hz, sound).unwrap() * 1e3;
        // The integral at each ka there, a cubic through its table here: a hundredth of a millimetre.
        assert!((length(Mouth::Unflanged) - number(5)).abs() < 0.01, "{line} {}", length(Mouth::Unflanged));
        assert!((length(Mouth::Flanged) - number(7)).abs() < 1e-3, "{line}");
    }
}

#[test]
fn what_is_no_tube_is_refused_in_words() {
    let wide = StoppedTube { radius_m: 0.05, mouth: Mouth::Unflanged, under_bar_m: 0.0 };
    let error = wide.length_m(2093.0, 344.0).unwrap_err();
    assert!(matches!(error, AirError::TooWide { .. }) && error.to_string().contains("100 mm is too wide"), "{error}");
    for (hz, sound) in [(f64::NAN, 344.0), (0.0, 344.0), (440.0, f64::NAN), (440.0, 20.0)] {
        assert!(wide.length_m(hz, sound).is_err());
    }
    assert!(sound_speed_m_s(-40.0, 50.0).is_err() && sound_speed_m_s(20.0, f64::NAN).is_err());
}

proptest! {
    /// A stopper moved by a little moves the pitch by what is stated: the length at the moved pitch is the moved length.
    #[test]
    fn a_stopper_moves_the_pitch_as_stated(hz in 60.0_f64..1500.0, radius_mm in 15.0_f64..35.0, by_mm in 0.05_f64..0.5) {
        let tube = StoppedTube { radius_m: radius_mm * 1e-3, mouth: Mouth::Unflanged, under_bar_m: 0.0 };
        let sound = 344.0;
        let length_m = tube.length_m(hz, sound).unwrap();
        let higher = hz * (tube.cents_per_m(hz, sound).unwrap() * by_mm * 1e-3 / 1200.0).exp2();
        let shorter_m = tube.length_m(higher, sound).unwrap();
        // Second order in the move: half a millimetre of the shortest quarter wave, 57 mm, is a hundredth of it.
        prop_assert!(((length_m - shorter_m) * 1e3 / by_mm - 1.0).abs() < 0.012, "{length_m} {shorter_m}");
    }
}

/// The two oscillators followed in time by small steps (Runge–Kutta 4): energy that the tube gives on, and the rate of fall at the end.
fn followed(pair: &BarOverTube, detuned_hz: f64) -> (f64, f64) {
    let detuned = std::f64::consts::TAU * detuned_hz;
    // [Re a, Im a, Re p, Im p, what the tube gave on]
    let change = |s: [f64; 5]| {
        let (b, g, k) = (pair.bar_per_s, pair.tube_per_s, pair.coupling_per_s);
        [
            -b * s[0] - k * s[3],
            -b * s[1] + k * s[2],
            -g * s[2] - detuned * s[3] - k * s[1],
            -g * s[3] + detuned * s[2] + k * s[0],
            2.0 * g * (s[2] * s[2] + s[3] * s[3]),
        ]
    };
    let step = 2e-4;
    let mut state = [1.0, 0.0, 0.0, 0.0, 0.0];
    let energy = |s: &[f64; 5]| s[..4].iter().map(|x| x * x).sum::<f64>();
    let moved = |s: [f64; 5], by: [f64; 5], h: f64| std::array::from_fn(|i| s[i] + h * by[i]);
    let mut before = 0.0;
    // Until e⁻²⁰ of the energy is left; the last half second gives the rate.
    let steps = (10.0 / pair.bar_per_s / step) as usize;
    let last = (0.5 / step) as usize;
    for i in 0..steps {
        if i + last == steps {
            before = energy(&state);
        }
        let k1 = change(state);
        let k2 = change(moved(state, k1, 0.5 * step));
        let k3 = change(moved(state, k2, 0.5 * step));
        let k4 = change(moved(state, k3, step));
        let sum = std::array::from_fn(|n| (k1[n] + 2.0 * k2[n] + 2.0 * k3[n] + k4[n]) / 6.0);
        state = moved(state, sum, step);
    }
    (state[4], 0.5 * (before / energy(&state)).ln() / 0.5)
}

#[test]
fn a_bar_over_its_tube_gives_on_what_the_equations_of_motion_give_on() {
    let pair = BarOverTube::from_rings(3.1, 1.5, 15.0).unwrap();
    for detuned_hz in [0.0, 0.7, -2.0, 5.0] {
        let (share, slow) = followed(&pair, detuned_hz);
        // Steps of 0.2 ms on rates up to 40/s: (0.008)⁴ a step; e⁻²⁰ is left at the end.
        assert!((pair.tube_share(detuned_hz) - share).abs() < 1e-6, "{detuned_hz}: {share}");
        // At δ ≠ 0 the fast oscillation has died away (e⁻¹⁵⁰) half a second before the end.
        assert!((pair.rates(detuned_hz)[0] / slow - 1.0).abs() < 1e-6, "{detuned_hz}: {slow}");
    }
    // In tune: what went in comes out; far off: the bar alone.
    assert!((pair.ring_s(0.0) - 1.5).abs() < 1e-9);
    assert!((pair.ring_s(200.0) - 3.1).abs() < 0.01 && pair.tube_share(200.0) < 0.001);
    // Louder and shorter in tune, softer and longer off it, alike on both sides.
    assert!(pair.energy_db(1.0) < 0.0 && pair.early_db(1.0) < pair.energy_db(1.0) && pair.ring_s(1.0) > 1.5);
    assert!((pair.ring_s(1.0) - pair.ring_s(-1.0)).abs() < 1e-12);
}

#[test]
fn published_rings_with_and_without_a_tube_can_be() {
    // Rosewood E4 and E6: 3.1 and 0.4 s without, 1.5 and 0.2 s with (Fletcher & Rossing; LITERATURE §4, from memory). Tubes of 50 and 40 mm.
    let sound = 344.0;
    for (hz, radius_m, without_s, in_tune_s) in [(329.63, 0.025, 3.1, 1.5), (1318.5, 0.020, 0.4, 0.2)] {
        let tube = StoppedTube { radius_m, mouth: Mouth::Unflanged, under_bar_m: 0.0 };
        let pair = BarOverTube::from_rings(without_s, in_tune_s, tube.decay_per_s(hz, sound).unwrap()).unwrap();
        // One dying tone, no beats, as such bars sound: κ below half the difference of the rates.
        let slow = pair.rates(0.0);
        assert!(slow[1] - slow[0] > 0.0 && pair.coupling_per_s < 0.5 * (pair.tube_per_s - pair.bar_per_s), "{pair:?}");
        // A weak coupling would give the tube 1 − T/T₀ of the energy; a stronger one less, since the tube is still filling at first.
        let (share, weak) = (pair.tube_share(0.0), 1.0 - in_tune_s / without_s);
        assert!(share < weak && share > 0.7 * weak, "{hz}: {share} {weak}");
    }
}

#[test]
fn losses_at_walls_are_kirchhoffs_for_wide_tubes() {
    // α = (1/a) √(μω/2ρc²) (1 + (γ − 1)/√Pr), air at 20 °C (any handbook): the textbook's round figure is within 3 %.
    let (mu, rho, sound, gamma, prandtl) = (1.81e-5_f64, 1.204, 343.4, 1.4, 0.71_f64);
    let (hz, radius_m) = (130.81, 0.032);
    let omega = std::f64::consts::TAU * hz;
    let alpha = (mu * omega / (2.0 * rho * sound * sound)).sqrt() * (1.0 + (gamma - 1.0) / prandtl.sqrt()) / radius_m;
    let ka = omega / sound * radius_m;
    let tube = StoppedTube { radius_m, mouth: Mouth::Unflanged, under_bar_m: 0.0 };
    let expected = 2.0 * hz * (0.5 * ka * ka) + alpha * sound;
    assert!((tube.decay_per_s(hz, sound).unwrap() / expected - 1.0).abs() < 0.03);
    for wrong in [(3.1, 3.2, 15.0), (3.1, 0.1, 15.0), (f64::NAN, 1.0, 15.0), (3.1, 1.5, 1.0)] {
        assert!(BarOverTube::from_rings(wrong.0, wrong.1, wrong.2).is_err(), "{wrong:?}");
    }
}
