//! Error against noise for each mode, refusals, speed and memory: the tables of docs/listening.md.
//!
//! `cargo run --release -p strike --example error_table`: invented bars, seeded, so that the errors
//! are the same everywhere; times are this process's time on a processor (Linux; elsewhere the wall
//! clock), figures to look at.
#![allow(clippy::unwrap_used, reason = "an example fails by panicking")]

use std::sync::LazyLock;
use std::time::Instant;
use strike::live::{Event, Live};
use strike::synth::{CONTACT_S, SynthMode, blow};
use strike::{Context, Expected, Kind, Take, frequency_bound_hz, listen};

const RATE_HZ: f64 = 48_000.0;
const RUNS: u64 = 100;

/// Milliseconds this process has had on a processor, so that a busy machine does not count.
fn now_ms() -> f64 {
    static START: LazyLock<Instant> = LazyLock::new(Instant::now);
    let running = std::fs::read_to_string("/proc/self/schedstat").ok();
    let nanoseconds = running.and_then(|text| text.split(' ').next()?.parse::<f64>().ok());
    nanoseconds.map_or_else(|| START.elapsed().as_secs_f64() * 1e3, |ns| ns * 1e-6)
}

/// Frequency, decay time and amplitude of bending 1 to 3.
type Bar = [(f64, f64, f64); 3];

const BARS: [(&str, Bar); 3] = [
    ("C2 bass", [(65.9, 0.9, 0.5), (263.0, 0.35, 0.12), (655.0, 0.15, 0.08)]),
    ("C4", [(262.6, 0.150, 0.5), (1055.0, 0.046, 0.103), (2607.0, 0.028, 0.068)]),
    ("C6", [(1052.0, 0.06, 0.5), (4180.0, 0.02, 0.12), (9900.0, 0.012, 0.06)]),
];

fn modes(run: u64, bar: &Bar) -> Vec<SynthMode> {
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

/// Predictions as after a first reading: 15 cents, off by a fixed pattern of that size.
fn context(truth: &[SynthMode], run: u64) -> Context {
    let off = |index: usize| 15.0 * (1.3 * run as f64 + 2.0 * index as f64).sin();
    let expected = truth.iter().enumerate().map(|(index, mode)| Expected {
        kind: Kind::Bending,
        number: index + 1,
        hz: mode.hz * (off(index) / 1200.0).exp2(),
        sigma_cents: 15.0,
    });
    Context { expected: expected.collect(), ..Context::default() }
}

/// Bound for what follows the contact.
fn bound_hz(mode: &SynthMode, noise: f64) -> f64 {
    let left = mode.amplitude * (-CONTACT_S / mode.decay_s).exp();
    frequency_bound_hz(mode.decay_s, RATE_HZ, ((1.0 - CONTACT_S) * RATE_HZ) as usize, noise / left)
}

#[derive(Default, Clone, Copy)]
struct Column {
    bound: f64,
    cents: f64,
    sigma: f64,
    named: u64,
    wrong: u64,
}

fn row(name: &str, bar: &Bar, snr_db: f64, times_ms: &mut Vec<f64>) {
    let noise = 0.5 * 10f64.powf(-snr_db / 20.0);
    let (mut columns, mut refused) = ([Column::default(); 3], 0);
    for run in 0..RUNS {
        let truth = modes(run, bar);
        let samples = blow(&truth, RATE_HZ, 1.0, 0.3, noise, run);
        let start = now_ms();
        let heard = listen(&[Take { samples: &samples, sample_rate_hz: RATE_HZ }], &context(&truth, run));
        times_ms.push(now_ms() - start);
        let Ok(heard) = heard else {
            refused += 1;
            continue;
        };
        for mode in heard.modes {
            let (truth, column) = (&truth[mode.number - 1], &mut columns[mode.number - 1]);
            let off = 1200.0 * (mode.hz / truth.hz).log2();
            // Farther than the prediction's three sigmas it was another tone.
            if off.abs() > 45.0 {
                column.wrong += 1;
                continue;
            }
            column.named += 1;
            column.bound += ((mode.hz - truth.hz) / bound_hz(truth, noise)).powi(2);
            column.cents += off.powi(2);
            column.sigma += (off / mode.sigma_cents).powi(2);
        }
    }
    print!("| {name} | {snr_db:.0} | {refused} |");
    for column in columns {
        let mean = |sum: f64| (sum / column.named.max(1) as f64).sqrt();
        if column.named < 10 {
            print!(" {} named, {} wrong |", column.named, column.wrong);
        } else {
            print!(
                " {:.3} ct, {:.2}, {:.2}; {} not named, {} wrong |",
                mean(column.cents),
                mean(column.bound),
                mean(column.sigma),
                RUNS - column.named - column.wrong,
                column.wrong
            );
        }
    }
    println!();
}

fn stream(label: &str, samples: &[f32]) {
    let mut live = Live::new(RATE_HZ, Context::default()).unwrap();
    let start = now_ms();
    let (mut slowest_ms, mut answers) = (0.0f64, 0);
    for frame in samples.chunks(480) {
        let before = now_ms();
        let events = live.push(frame);
        slowest_ms = slowest_ms.max(now_ms() - before);
        answers += events.iter().filter(|event| matches!(event, Event::Heard(_))).count();
    }
    let seconds = samples.len() as f64 / RATE_HZ;
    println!(
        "stream, {label}: {:.2} ms for each second of sound, slowest frame {slowest_ms:.1} ms, {answers} answers in {seconds:.0} s, {:.1} MB held",
        (now_ms() - start) / seconds,
        live.bytes() as f64 / 1e6
    );
}

fn main() {
    println!("For each mode: error in cents (rms), error/bound, error/stated sigma; of {RUNS} blows.");
    println!("| bar | peak over noise, dB | refused | bending 1 | bending 2 | bending 3 |");
    println!("|---|---|---|---|---|---|");
    let mut times_ms = Vec::new();
    for (name, bar) in &BARS {
        for snr_db in [0.0, 10.0, 20.0, 30.0, 40.0, 60.0] {
            row(name, bar, snr_db, &mut times_ms);
        }
    }
    times_ms.sort_by(f64::total_cmp);
    let at = |part: usize| times_ms[times_ms.len() * part / 100];
    println!("a take of 1.3 s: median {:.1} ms, 95 % within {:.1} ms", at(50), at(95));
    stream("nothing struck", &blow(&[], RATE_HZ, 0.0, 60.0, 1e-3, 1));
    let struck: Vec<f32> =
        (0..12).flat_map(|seed| blow(&modes(seed, &BARS[1].1), RATE_HZ, 2.0, 1.0, 1e-3, seed)).collect();
    stream("a C4 bar struck every 3 s", &struck);
}
