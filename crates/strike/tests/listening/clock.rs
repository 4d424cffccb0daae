//! The clock calibration against synthetic tones of known offset.

use strike::clock::calibrate;
use strike::synth::{SynthMode, blow};
use strike::{Clock, Context, Take, listen};

/// A steady tone of `hz` as a card whose clock is `ppm` fast records it at nominally 48 kHz.
fn tone(hz: f64, ppm: f64, noise: f64, seconds: f64, seed: u64) -> Vec<f32> {
    let true_rate_hz = 48_000.0 * (1.0 + 1e-6 * ppm);
    blow(&[], 48_000.0, seconds, 0.0, noise, seed)
        .into_iter()
        .enumerate()
        .map(|(n, x)| x + (0.3 * (std::f64::consts::TAU * hz * n as f64 / true_rate_hz).sin()) as f32)
        .collect()
}

fn take(samples: &[f32]) -> Take<'_> {
    Take { samples, sample_rate_hz: 48_000.0 }
}

#[test]
fn known_offsets_are_found_within_the_stated_sigma() {
    let mut squares = 0.0;
    let mut count = 0.0;
    for (seed, ppm) in [0.0, 12.5, -48.0, 100.0, -250.0, 999.0].into_iter().enumerate() {
        for hz in [440.0, 1000.0, 5000.0] {
            let clock = calibrate(&take(&tone(hz, ppm, 0.01, 10.0, seed as u64)), hz, 0.0).unwrap();
            let off = clock.offset_ppm - ppm;
            // Five sigmas, and 0.002 ppm for single-precision samples and the band's ripple.
            assert!(off.abs() < 5.0 * clock.sigma_ppm + 2e-3, "{hz} Hz {ppm}: {clock:?}");
            squares += (off / clock.sigma_ppm).powi(2);
            count += 1.0;
        }
    }
    let ratio = f64::sqrt(squares / count);
    // Eighteen errors: a root mean square is known to 17 %.
    assert!((0.5..1.6).contains(&ratio), "{ratio}");
}

#[test]
fn sigma_is_near_the_bound_of_a_steady_tone() {
    // var ω = 12σ²·2/(A²·N³) per sample (Rife & Boorstyn 1974, eq. for unknown phase; from memory)
    // for a real tone of amplitude A in white noise: SNR A²/(2σ²).
    let (noise, amplitude, hz) = (0.01f64, 0.3f64, 1000.0);
    let clock = calibrate(&take(&tone(hz, 20.0, noise, 10.6, 3)), hz, 0.0).unwrap();
    let n: f64 = 10.0 * 48_000.0;
    let bound_hz = (24.0 * (noise / amplitude).powi(2) / n.powi(3)).sqrt() * 48_000.0 / std::f64::consts::TAU;
    let ratio = clock.sigma_ppm / (bound_hz / hz * 1e6);
    // The band's 400 phases give the sigma to 4 %; the filter's pass band loses up to 10 %.
    assert!((0.85..1.3).contains(&ratio), "{ratio}");
}

#[test]
fn the_references_own_sigma_is_in_it() {
    let clock = calibrate(&take(&tone(440.0, 30.0, 0.001, 10.0, 1)), 440.0, 3.0).unwrap();
    assert!((3.0..3.01).contains(&clock.sigma_ppm), "{clock:?}");
}

#[test]
fn what_is_no_reference_is_refused() {
    let code = |samples: &[f32], hz: f64| calibrate(&take(samples), hz, 0.0).unwrap_err().code;
    let good = tone(440.0, 0.0, 0.01, 10.0, 1);
    assert_eq!(code(&good[..48_000], 440.0), "too_short");
    assert_eq!(code(&good, 20.0), "bad_reference");
    assert_eq!(code(&good, 441.0), "not_steady", "2270 ppm away");
    assert_eq!(code(&good, 880.0), "not_steady");
    assert_eq!(code(&[], 440.0), "empty");
    assert_eq!(code(&blow(&[], 48_000.0, 10.0, 0.0, 0.1, 2), 440.0), "not_steady");
    let dying = SynthMode { hz: 440.0, decay_s: 2.0, amplitude: 0.5, phase_rad: 0.0 };
    assert_eq!(code(&blow(&[dying], 48_000.0, 10.0, 0.0, 1e-3, 2), 440.0), "not_steady");
    // A voice holding the note: 5 Hz vibrato of ±20 cents.
    let sung: Vec<f32> = (0..480_000)
        .map(|n| {
            let t = f64::from(n) / 48_000.0;
            let phase =
                std::f64::consts::TAU * 440.0 * t + 440.0 * 0.0116 / 5.0 * (std::f64::consts::TAU * 5.0 * t).cos();
            (0.3 * phase.sin()) as f32
        })
        .collect();
    assert_eq!(code(&sung, 440.0), "not_steady");
}

#[test]
fn a_drifting_clock_widens_the_sigma() {
    // From 10 to 20 ppm over ten seconds.
    let drifting: Vec<f32> = (0..480_000)
        .map(|n| {
            let t = f64::from(n) / 48_000.0;
            (0.3 * (std::f64::consts::TAU * 1000.0 * (t - 1e-6 * (10.0 * t + 0.5 * t * t))).sin()) as f32
        })
        .collect();
    let clock = calibrate(&take(&drifting), 1000.0, 0.0).unwrap();
    // The middle of the range, uniform over the 4.7 ppm between the halves' means.
    assert!((clock.offset_ppm - 15.0).abs() < 0.2 && (1.0..2.0).contains(&clock.sigma_ppm), "{clock:?}");
}

#[test]
fn listening_is_corrected_by_it() {
    let bar = [
        SynthMode { hz: 262.0, decay_s: 0.3, amplitude: 0.5, phase_rad: 0.4 },
        SynthMode { hz: 1050.0, decay_s: 0.1, amplitude: 0.1, phase_rad: 0.1 },
    ];
    let samples = blow(&bar, 48_000.0, 1.0, 0.3, 1e-3, 1);
    let hear = |clock| {
        let context = Context { note_hz: Some(262.0), clock, ..Context::default() };
        listen(&[take(&samples)], &context)
    };
    let plain = hear(None).unwrap();
    let corrected = hear(Some(Clock { offset_ppm: 200.0, sigma_ppm: 57.78 })).unwrap();
    for (a, b) in plain.modes.iter().zip(&corrected.modes) {
        // A clock 200 ppm fast makes every tone seem 200 ppm low. Not exact to rounding: lengths
        // given in seconds fall on other samples.
        assert!((b.hz / a.hz - 1.0 - 2e-4).abs() < 2e-6, "{} {}", a.hz, b.hz);
        // One cent is 577.8 ppm.
        let added = (b.sigma_cents.powi(2) - a.sigma_cents.powi(2)).sqrt();
        assert!((added - 0.1).abs() < 0.002, "{added}");
    }
    assert_eq!(hear(Some(Clock { offset_ppm: 5000.0, sigma_ppm: 1.0 })).unwrap_err().code, "bad_clock");
}
