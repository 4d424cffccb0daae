//! What is heard while nothing is struck: level, clipping, hum, the noise of machines.

use crate::doubts::mains_base;
use crate::types::Warning;
use realfft::num_complex::Complex;
use realfft::{RealFftPlanner, RealToComplex};
use std::sync::Arc;

/// Steady noise above this level (−45 dB of full scale) hides the third mode of a bar struck at
/// half of full scale (judgement: it lies some 20 dB below the first and must stand 20 dB clear).
const LOUD_DB: f64 = -45.0;
/// A tone that holds this part of the power between blows…
const HUM_SHARE: f64 = 0.2;
/// … and is louder than this is worth a word.
const HUM_DB: f64 = -75.0;
/// Samples at full scale in a row that are a cut-off crest.
const FLAT: usize = 4;
const FULL_SCALE: f32 = 0.999;

/// Level of the stream.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Level {
    /// Highest sample of the last tenth of a second, full scale = 1.
    pub peak: f64,
    /// Level of the noise between blows in dB of full scale (mean square; −200 in digital silence).
    pub noise_db: f64,
    /// Crests cut off at full scale since the stream began.
    pub clipped_crests: u64,
}

/// Follows peak and clipping, sample by sample.
#[derive(Default)]
pub(super) struct Meter {
    before: f32,
    now: f32,
    left: usize,
    run: usize,
    pub clipped_crests: u64,
}

impl Meter {
    pub fn sample(&mut self, sample: f32, span: usize) {
        if self.left == 0 {
            (self.before, self.now, self.left) = (self.now, 0.0, span);
        }
        self.left -= 1;
        self.now = self.now.max(sample.abs());
        self.run = if sample.abs() >= FULL_SCALE { self.run + 1 } else { 0 };
        self.clipped_crests += u64::from(self.run == FLAT);
    }

    pub fn peak(&self) -> f64 {
        f64::from(self.before.max(self.now))
    }
}

/// Judges the sound between blows, about once a second.
pub(super) struct Backdrop {
    plan: Arc<dyn RealToComplex<f64>>,
    input: Vec<f64>,
    output: Vec<Complex<f64>>,
    scratch: Vec<Complex<f64>>,
    sample_rate_hz: f64,
    last_tone_hz: Option<f64>,
}

/// What was found.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Found {
    pub muted: bool,
    pub loud_db: Option<f64>,
    pub hum_hz: Option<f64>,
}

impl Found {
    /// Whether the same would be said again (a hum wanders by parts of a hertz, noise by a few dB).
    pub fn same(&self, other: &Self) -> bool {
        let near = |a: Option<f64>, b: Option<f64>, by: f64| match (a, b) {
            (Some(a), Some(b)) => (a - b).abs() < by,
            (a, b) => a.is_some() == b.is_some(),
        };
        self.muted == other.muted && near(self.loud_db, other.loud_db, 6.0) && near(self.hum_hz, other.hum_hz, 3.0)
    }

    pub fn warnings(&self) -> Vec<Warning> {
        let mut all = Vec::new();
        let mut add = |code, message, hint: &str| all.push(Warning { code, message, hint: hint.to_owned() });
        if self.muted {
            add(
                "silence",
                "nothing at all comes from the microphone".to_owned(),
                "check that the right microphone is chosen and not muted",
            );
        }
        if let Some(db) = self.loud_db {
            add(
                "loud_noise",
                format!("steady noise of {db:.0} dB of full scale (limit {LOUD_DB:.0}), as of a dust collector"),
                "switch the collector and machines off for the readings",
            );
        }
        if let Some(hz) = self.hum_hz {
            let mains = mains_base(hz).map_or(String::new(), |base| format!(", a multiple of {base} Hz mains"));
            add(
                "hum",
                format!("a steady tone at {hz:.1} Hz{mains}"),
                "switch lamps, chargers and the collector near the microphone off",
            );
        }
        all
    }
}

impl Backdrop {
    pub fn new(sample_rate_hz: f64, planner: &mut RealFftPlanner<f64>) -> Self {
        // Half a second resolves 50 from 60 Hz under a Hann window many times over.
        let plan = planner.plan_fft_forward(((0.5 * sample_rate_hz) as usize).next_power_of_two() / 2);
        let (input, output, scratch) = (plan.make_input_vec(), plan.make_output_vec(), plan.make_scratch_vec());
        Self { plan, input, output, scratch, sample_rate_hz, last_tone_hz: None }
    }

    /// Samples it looks at.
    pub fn wanted(&self) -> usize {
        self.input.len()
    }

    /// Judges the last stretch. A tone is told when two stretches in a row have it.
    pub fn judge(&mut self, samples: &[f32]) -> Found {
        if samples.len() < self.input.len() {
            return Found::default();
        }
        let muted = samples.iter().all(|x| x.abs() < 1e-7);
        let count = self.input.len() as f64;
        let mean = samples.iter().map(|x| f64::from(*x)).sum::<f64>() / samples.len() as f64;
        for (n, (slot, x)) in self.input.iter_mut().zip(samples).enumerate() {
            let hann = (std::f64::consts::PI * (n as f64 + 0.5) / count).sin().powi(2);
            *slot = (f64::from(*x) - mean) * hann;
        }
        // The buffers come from the plan, so their lengths fit and this cannot fail.
        if self.plan.process_with_scratch(&mut self.input, &mut self.output, &mut self.scratch).is_err() {
            return Found::default();
        }
        let (tone_hz, tone, rest) = self.strongest();
        let decibels = |power: f64| 10.0 * power.max(1e-20).log10();
        let tonal = tone > HUM_SHARE * (tone + rest) && decibels(tone) > HUM_DB;
        let now = tonal.then_some(tone_hz);
        let hum_hz = now.filter(|hz| self.last_tone_hz.is_some_and(|last| (hz - last).abs() < 2.0));
        self.last_tone_hz = now;
        Found { muted, loud_db: Some(decibels(rest)).filter(|db| *db > LOUD_DB), hum_hz }
    }

    /// Frequency and mean square of the strongest line, and the mean square of everything else.
    fn strongest(&self) -> (f64, f64, f64) {
        let count = self.input.len() as f64;
        // Parseval with the mean square 3/8 of the Hann window; one side of the spectrum.
        let scale = 2.0 / (count * count * 0.375);
        let power = |bin: usize| self.output[bin].norm_sqr() * scale;
        let bin_hz = self.sample_rate_hz / count;
        let lowest = (20.0 / bin_hz) as usize;
        let bins = lowest.max(2)..self.output.len() - 2;
        let Some(top) = bins.clone().max_by(|a, b| power(*a).total_cmp(&power(*b))) else {
            return (0.0, 0.0, 0.0);
        };
        let line: f64 = (top - 2..=top + 2).map(power).sum();
        let total: f64 = bins.map(power).sum();
        let weighted: f64 = (top - 1..=top + 1).map(|bin| power(bin) * bin as f64).sum();
        let near: f64 = (top - 1..=top + 1).map(power).sum();
        let hz = if near > 0.0 { weighted / near * bin_hz } else { 0.0 };
        (hz, line, (total - line).max(0.0))
    }

    pub fn bytes(&self) -> usize {
        self.input.capacity() * 8 + (self.output.capacity() + self.scratch.capacity()) * 16
    }
}
