//! Writes the synthetic blow that `reference/coded` was encoded from: `… --example synthetic_blow -- RATE OUT.wav [SECONDS]`.
//!
//! Invented sound: damped sinusoids at 261.6, 1046.5 and 2616 Hz, contact burst, white noise; seed 7. With SECONDS the
//! blow is repeated for so long, one every five seconds, each with its own noise: for measuring long recordings.
use barwright::audio::write_wav;
use std::error::Error;
use strike::synth::{SynthMode, blow};

fn main() -> Result<(), Box<dyn Error>> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [rate, path, seconds @ ..] = args.as_slice() else { return Err("give RATE OUT.wav [SECONDS]".into()) };
    let rate_hz: u32 = rate.parse()?;
    let mode = |hz: f64, decay_s: f64, amplitude: f64| SynthMode { hz, decay_s, amplitude, phase_rad: -1.57 };
    let modes = [mode(261.6, 0.5, 0.3), mode(1046.5, 0.15, 0.15), mode(2616.0, 0.06, 0.08)];
    let one = |ring_s: f64, seed: u64| blow(&modes, f64::from(rate_hz), ring_s, 0.3, 0.0005, seed);
    let samples = match seconds.first() {
        None => one(1.2, 7),
        Some(seconds) => (0..seconds.parse::<u64>()? / 5).flat_map(|seed| one(4.7, seed)).collect(),
    };
    std::fs::write(path, write_wav(&samples, rate_hz)?)?;
    Ok(())
}
