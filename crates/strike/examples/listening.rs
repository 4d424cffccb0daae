//! How long does one take need, and how near to the Cramér–Rao bound does it come?
//!
//! `cargo run --release -p strike --example listening`: invented blows of 1 s at 48 kHz and 40 dB;
//! time is the wall clock of this machine, a figure to look at and not a test.

use std::time::Instant;
use strike::synth::{CONTACT_S, SynthMode, blow};
use strike::{Context, Take, frequency_bound_hz, listen};

const RATE_HZ: f64 = 48_000.0;
const NOISE: f64 = 0.005;
const RUNS: u64 = 200;

fn modes(run: u64, bar: &[(f64, f64, f64); 3]) -> Vec<SynthMode> {
    bar.iter()
        .enumerate()
        .map(|(index, (hz, decay_s, amplitude))| SynthMode {
            hz: hz * (1.0 + 1e-4 * run as f64),
            decay_s: *decay_s,
            amplitude: *amplitude,
            phase_rad: 0.7 * run as f64 + index as f64,
        })
        .collect()
}

fn bound_hz(mode: &SynthMode) -> f64 {
    let left = mode.amplitude * (-CONTACT_S / mode.decay_s).exp();
    frequency_bound_hz(mode.decay_s, RATE_HZ, ((1.0 - CONTACT_S) * RATE_HZ) as usize, NOISE / left)
}

fn measure(name: &str, note_hz: f64, bar: &[(f64, f64, f64); 3]) {
    let (mut times, mut errors, mut missed) = (Vec::new(), [0.0; 3], 0);
    for run in 0..RUNS {
        let truth = modes(run, bar);
        let samples = blow(&truth, RATE_HZ, 1.0, 0.3, NOISE, run);
        let context = Context { note_hz: Some(note_hz), ..Context::default() };
        let start = Instant::now();
        let heard = listen(&[Take { samples: &samples, sample_rate_hz: RATE_HZ }], &context);
        times.push(start.elapsed().as_secs_f64() * 1e3);
        match heard {
            Ok(heard) if heard.modes.len() == 3 => {
                for ((mode, truth), error) in heard.modes.iter().zip(&truth).zip(&mut errors) {
                    *error += ((mode.hz - truth.hz) / bound_hz(truth)).powi(2);
                }
            }
            _ => missed += 1,
        }
    }
    times.sort_by(f64::total_cmp);
    let ratio = errors.map(|sum: f64| (sum / (RUNS - missed).max(1) as f64).sqrt());
    println!(
        "{name}: median {:.1} ms, 95 % {:.1} ms a take; error/bound of bending 1-3: {:.2} {:.2} {:.2}; missed {missed} of {RUNS}",
        times[times.len() / 2],
        times[times.len() * 95 / 100],
        ratio[0],
        ratio[1],
        ratio[2]
    );
}

fn main() {
    measure("marimba C4", 261.63, &[(262.6, 0.150, 0.5), (1055.0, 0.046, 0.103), (2607.0, 0.028, 0.068)]);
    measure("bass C2", 65.41, &[(65.9, 0.9, 0.5), (263.0, 0.35, 0.12), (655.0, 0.15, 0.08)]);
}
