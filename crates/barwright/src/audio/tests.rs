//! Long recordings in miniature: the same way as hours, with a small limit for what is taken whole.
#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]
use super::*;
use crate::hearing::{Recording, hear_recordings};
use strike::Context;
use strike::synth::{SynthMode, blow};

const RATE_HZ: u32 = 44_100;

fn bar(first_hz: f64, seed: u64) -> Vec<f32> {
    let mode = |hz: f64, decay_s: f64, amplitude: f64| SynthMode { hz, decay_s, amplitude, phase_rad: -1.57 };
    let modes = [mode(first_hz, 0.5, 0.3), mode(4.0 * first_hz, 0.15, 0.15), mode(10.0 * first_hz, 0.06, 0.08)];
    blow(&modes, f64::from(RATE_HZ), 2.7, 0.3, 0.0005, seed)
}

/// A burst of noise, as of a door.
fn knock() -> Vec<f32> {
    let mode = |hz: f64| SynthMode { hz, decay_s: 0.004, amplitude: 0.2, phase_rad: 0.0 };
    blow(&[mode(180.0), mode(310.0), mode(520.0)], f64::from(RATE_HZ), 1.5, 0.5, 0.0005, 99)
}

fn long(samples: &[f32]) -> Vec<u8> {
    write_wav(samples, RATE_HZ).unwrap()
}

fn opened(bytes: &[u8]) -> Opened<'_> {
    open_source(Box::new(Cursor::new(bytes)), 10_000).unwrap()
}

fn context() -> Context {
    Context { note_hz: Some(261.6), ..Context::default() }
}

#[test]
fn a_long_recording_is_cut_into_its_blows() {
    let samples = [bar(261.6, 1), knock(), bar(261.6, 2), bar(261.6, 3)].concat();
    let bytes = long(&samples);
    let Opened::Long(mut audio) = opened(&bytes) else { panic!("longer than the limit") };
    let mut at_s = Vec::new();
    while let Some(part) = audio.next_part(&mut |_| {}).unwrap() {
        assert!(part.samples.len() as f64 <= 4.6 * f64::from(RATE_HZ), "a part is bounded");
        at_s.push(part.at_s);
    }
    // Each part begins half a second or less before its blow: at 0.3, 3.5 (the knock), 5.3 and 8.3 s.
    let blows = [0.3, 3.5, 5.3, 8.3];
    assert_eq!(at_s.len(), blows.len(), "{at_s:?}");
    for (at_s, blow_s) in at_s.iter().zip(blows) {
        assert!((0.0..=0.51).contains(&(blow_s - at_s)), "{at_s} for {blow_s}");
    }
    assert!((audio.at_s() - samples.len() as f64 / f64::from(RATE_HZ)).abs() < 0.01, "read to the end");
}

#[test]
fn a_long_recording_is_heard_like_its_blows_and_times_are_told_in_it() {
    let bytes = long(&[bar(261.6, 1), knock(), bar(261.6, 2)].concat());
    let recording = Recording::prepare(opened(&bytes), &context(), &mut |_| {}).unwrap();
    assert_eq!(recording.parts.len(), 2, "the knock is left out");
    let heard = hear_recordings(&[recording], &context(), 1).unwrap();
    let first = &heard.modes[0];
    // Far above the noise bound of these blows.
    assert!(bar_physics::units::cents(first.hz, 261.6).abs() < 0.5, "{first:?}");
    let times: Vec<f64> = heard.blows.iter().map(|b| b.at_s).collect();
    assert!((times[0] - 0.3).abs() < 0.01 && (times[1] - 5.3).abs() < 0.01, "{times:?}");
    let told = heard.warnings.iter().find(|w| w.code == "long_recording").unwrap();
    assert!(told.message.contains("3 loud parts were looked at, 2 of them ring"), "{}", told.message);
}

#[test]
fn a_long_recording_of_two_bars_or_of_none_is_refused() {
    let bytes = long(&[bar(261.6, 1), bar(261.6, 2), bar(261.6, 3), bar(277.2, 4), bar(277.2, 5)].concat());
    let refused = Recording::prepare(opened(&bytes), &context(), &mut |_| {}).unwrap_err();
    assert_eq!(refused.code, "several_bars", "{refused}");
    let bytes = long(&[knock(), knock()].concat());
    let refused = Recording::prepare(opened(&bytes), &context(), &mut |_| {}).unwrap_err();
    assert_eq!(refused.code, "no_ring_found", "{refused}");
    let bytes = long(&[0.0; 200_000]);
    let refused = Recording::prepare(opened(&bytes), &context(), &mut |_| {}).unwrap_err();
    assert!(refused.message.contains("0 sudden sounds"), "{refused}");
}

#[test]
fn progress_is_told_and_ends_at_the_length() {
    let bytes = long(&bar(261.6, 1));
    let mut seen = Vec::new();
    let opened = opened(&bytes);
    Recording::prepare(opened, &context(), &mut |long| seen.push((long.at_s(), long.length_s().unwrap()))).unwrap();
    assert!(seen.len() > 5 && seen.is_sorted_by(|a, b| a.0 <= b.0));
    let (at_s, length_s) = *seen.last().unwrap();
    // The last step of 5 ms may not be full.
    assert!((length_s - at_s).abs() < 0.006);
}
