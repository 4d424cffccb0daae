//! Sounds that are no bar, and damaged takes: each refused with its code.

use strike::synth::{SynthMode, blow};
use strike::{Context, Expected, Kind, Refusal, Take, listen};

const RATE_HZ: f64 = 48_000.0;

fn refused(samples: &[f32], sample_rate_hz: f64) -> Refusal {
    let refusal = listen(&[Take { samples, sample_rate_hz }], &Context::default()).expect_err("no bar");
    assert!(!refusal.message.is_empty() && !refusal.hint.is_empty(), "{refusal:?}");
    refusal
}

#[track_caller]
fn check(code: &str, samples: &[f32]) {
    assert_eq!(refused(samples, RATE_HZ).code, code);
}

fn noise(rms: f64, seed: u64) -> Vec<f32> {
    blow(&[], RATE_HZ, 1.0, 0.3, rms, seed)
}

/// Decaying noise after 0.3 s of quiet, as of a clap in a room; `smooth` 0 is white, near 1 dull.
fn clap(decay_s: f64, smooth: f64, seed: u64) -> Vec<f32> {
    let mut last = 0.0;
    noise(1.0, seed)
        .iter()
        .zip(noise(5e-4, seed + 1000))
        .enumerate()
        .map(|(index, (burst, background))| {
            last = smooth * last + (1.0 - smooth) * f64::from(*burst);
            let after_s = index as f64 / RATE_HZ - 0.3;
            let envelope = if after_s < 0.0 { 0.0 } else { (-after_s / decay_s).exp() };
            background + (0.3 * envelope * last) as f32
        })
        .collect()
}

fn mode(hz: f64, decay_s: f64, amplitude: f64) -> SynthMode {
    SynthMode { hz, decay_s, amplitude, phase_rad: 0.4 }
}

fn tones(parts: &[(f64, f64)]) -> Vec<f32> {
    noise(1e-3, 9)
        .iter()
        .enumerate()
        .map(|(index, background)| {
            let angle = std::f64::consts::TAU * index as f64 / RATE_HZ;
            let sum: f64 = parts.iter().map(|(hz, a)| a * (angle * hz).sin()).sum();
            background + sum as f32
        })
        .collect()
}

#[test]
fn claps_of_every_length_are_no_ring() {
    for decay_s in [0.003, 0.01, 0.03, 0.1, 0.3] {
        for (seed, smooth) in [(1, 0.0), (2, 0.7), (3, 0.95)] {
            check("no_ring", &clap(decay_s, smooth, seed));
        }
    }
}

#[test]
fn a_knock_on_a_table_is_no_ring() {
    // Quality factors 8 to 13, as of a board lying flat.
    let knock = [mode(110.0, 0.03, 0.5), mode(187.0, 0.02, 0.5), mode(420.0, 0.008, 0.4)];
    for seed in 0..5 {
        check("no_ring", &blow(&knock, RATE_HZ, 1.0, 0.3, 5e-4, seed));
    }
}

#[test]
fn hum_and_steady_tones_are_hum() {
    check("hum", &tones(&[(50.0, 0.1), (150.0, 0.03)]));
    check("hum", &tones(&[(60.0, 0.05), (120.0, 0.1), (180.0, 0.02)]));
    check("hum", &tones(&[(440.0, 0.1)]));
}

#[test]
fn a_steady_tone_switched_on_is_hum() {
    let mut samples = tones(&[(440.0, 0.1)]);
    samples[..14_400].fill(0.0);
    check("hum", &samples);
}

#[test]
fn hum_with_a_click_is_no_bar() {
    let click = clap(0.003, 0.0, 4);
    let both: Vec<f32> = tones(&[(50.0, 0.05), (150.0, 0.02)]).iter().zip(click).map(|(a, b)| a + b).collect();
    check("hum", &both);
}

#[test]
fn white_noise_is_noise() {
    for seed in 0..5 {
        check("noise", &noise(0.1, seed));
    }
}

#[test]
fn silence_is_silence() {
    check("silence", &[0.0; 48_000]);
    check("silence", &noise(1e-5, 1));
}

#[test]
fn a_constant_is_not_heard() {
    // A direct voltage of half full scale and nothing else: no blow in it.
    check("noise", &[0.5; 48_000]);
}

#[test]
fn a_stopped_ring_is_too_short() {
    let whole = blow(&[mode(440.0, 0.3, 0.5)], RATE_HZ, 1.0, 0.3, 1e-3, 1);
    check("too_short", &whole[..14_400 + 3000]);
}

#[test]
fn damaged_takes_are_named() {
    let mut samples = blow(&[mode(440.0, 0.3, 0.5)], RATE_HZ, 1.0, 0.3, 1e-3, 1);
    assert_eq!(refused(&[], RATE_HZ).code, "empty");
    for rate in [0.0, -44_100.0, 3999.0, 768_001.0, f64::NAN, f64::INFINITY] {
        assert_eq!(refused(&samples, rate).code, "bad_rate");
    }
    for bad in [f32::NAN, f32::INFINITY, 1e9] {
        samples[777] = bad;
        let refusal = refused(&samples, RATE_HZ);
        assert_eq!(refusal.code, "not_finite");
        assert!(refusal.message.contains("777"), "{refusal}");
    }
    assert_eq!(listen(&[], &Context::default()).unwrap_err().code, "empty");
}

#[test]
fn senseless_predictions_are_refused() {
    let samples = blow(&[mode(440.0, 0.3, 0.5)], RATE_HZ, 1.0, 0.3, 1e-3, 1);
    let take = [Take { samples: &samples, sample_rate_hz: RATE_HZ }];
    for (hz, sigma_cents) in [(f64::NAN, 5.0), (-1.0, 5.0), (440.0, 0.0), (440.0, f64::NAN)] {
        let expected = vec![Expected { kind: Kind::Bending, number: 1, hz, sigma_cents }];
        let context = Context { expected, ..Context::default() };
        assert_eq!(listen(&take, &context).unwrap_err().code, "bad_expected");
    }
    let context = Context { note_hz: Some(0.0), ..Context::default() };
    assert_eq!(listen(&take, &context).unwrap_err().code, "bad_expected");
}

#[test]
fn exact_harmonics_are_refused() {
    let string: Vec<SynthMode> = (1..7).map(|k| mode(220.0 * f64::from(k), 0.4, 0.3 / f64::from(k))).collect();
    check("exact_harmonics", &blow(&string, RATE_HZ, 1.0, 0.3, 1e-3, 1));
    // Without its first tone it is 2:3:4:5.
    check("exact_harmonics", &blow(&string[1..], RATE_HZ, 1.0, 0.3, 1e-3, 1));
}

#[test]
fn a_silent_take_beside_a_good_one_is_left_out() {
    let good = blow(&[mode(440.0, 0.3, 0.5)], RATE_HZ, 1.0, 0.3, 1e-3, 1);
    let takes =
        [Take { samples: &[0.0; 4800], sample_rate_hz: RATE_HZ }, Take { samples: &good, sample_rate_hz: RATE_HZ }];
    let heard = listen(&takes, &Context { note_hz: Some(440.0), ..Context::default() }).unwrap();
    assert_eq!(heard.blows.len(), 1);
    assert_eq!(heard.blows[0].take, 1);
    assert!(heard.warnings.iter().any(|w| w.code == "take_unused"));
}
