//! Sound in air and stopped tubes against published values.
use bar_physics::air::{AirError, Mouth, StoppedTube, end_correction, sound_speed_m_s};
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
