//! Damped periodograms: spectra of the sound weighted with `e^{−t/τ}` for several τ.
//!
//! The weighted spectrum at the right frequency and τ is the matched filter for a damped sinusoid
//! that starts at the segment's start, so one bank finds long and short rings alike.

use realfft::RealFftPlanner;
use std::cell::RefCell;

/// Decay times of the bank in seconds, a factor 2.5 apart: a ring half way between two of them
/// still gives 95 % of its energy, 4r/(1+r)² at r = √2.5.
pub(crate) const BANK_S: [f64; 6] = [0.008, 0.02, 0.05, 0.125, 0.31, 0.8];

/// Weighted spectra of one segment.
pub(crate) struct Bank {
    pub rows: Vec<Row>,
    sample_rate_hz: f64,
}

/// Spectrum for one weight.
pub(crate) struct Row {
    pub decay_s: f64,
    /// Hertz from one bin to the next.
    pub bin_hz: f64,
    /// `|Σ xₙ wₙ e^{−iωn}|² / Σ wₙ²`: its mean is σ² for white noise of variance σ².
    pub power: Vec<f64>,
    /// Samples that were used.
    pub count: usize,
}

/// Makes spectra of one take; the transforms' tables are shared by all takes.
pub(crate) struct Spectra<'a> {
    pub sample_rate_hz: f64,
    pub planner: &'a RefCell<RealFftPlanner<f64>>,
}

impl Spectra<'_> {
    /// Weighted spectra of the samples.
    pub fn bank(&self, samples: &[f64]) -> Bank {
        let rows = BANK_S.iter().map(|decay_s| self.row(samples, *decay_s)).collect();
        Bank { rows, sample_rate_hz: self.sample_rate_hz }
    }

    /// As [`Bank::level_near`], for the samples of a window seen without weights.
    pub fn level_in(&self, samples: &[f64], hz: f64) -> f64 {
        // A weight of ten times the window's length is as good as none.
        let decay_s = 10.0 * samples.len() as f64 / self.sample_rate_hz;
        self.row(samples, decay_s).mean_near(hz)
    }

    fn row(&self, samples: &[f64], decay_s: f64) -> Row {
        let weighted_s = 5.0 * decay_s * self.sample_rate_hz;
        let count = samples.len().min(weighted_s.ceil() as usize);
        let length = count.next_power_of_two().max(16);
        let ratio = (-1.0 / (decay_s * self.sample_rate_hz)).exp();
        let (mut weight, mut weight_energy) = (1.0, 0.0);
        let mut buffer = vec![0.0; length];
        for (slot, sample) in buffer.iter_mut().zip(&samples[..count]) {
            *slot = sample * weight;
            weight_energy += weight * weight;
            weight *= ratio;
        }
        let plan = self.planner.borrow_mut().plan_fft_forward(length);
        let mut spectrum = plan.make_output_vec();
        // The buffers come from the plan, so their lengths fit and this cannot fail.
        let done = plan.process(&mut buffer, &mut spectrum).is_ok();
        let scale = if done && weight_energy > 0.0 { 1.0 / weight_energy } else { 0.0 };
        Row {
            decay_s,
            bin_hz: self.sample_rate_hz / length as f64,
            power: spectrum.iter().map(|z| z.norm_sqr() * scale).collect(),
            count,
        }
    }
}

impl Bank {
    /// Mean power within a few line widths of `hz`, as a ring of this decay sees it.
    ///
    /// Wide enough (at least ±24 bins, ±4 half-widths) that the few degrees of freedom a fit has
    /// taken out of the residual do not matter.
    pub fn level_near(&self, hz: f64, decay_s: f64) -> f64 {
        let wanted = decay_s.max(BANK_S[0]).ln();
        let distance = |row: &Row| (row.decay_s.ln() - wanted).abs();
        let Some(row) = self.rows.iter().min_by(|a, b| distance(a).total_cmp(&distance(b))) else {
            return 0.0;
        };
        row.mean_near(hz)
    }

    /// Highest usable frequency.
    pub fn top_hz(&self) -> f64 {
        0.48 * self.sample_rate_hz
    }
}

impl Row {
    /// Mean power around `hz`.
    fn mean_near(&self, hz: f64) -> f64 {
        let reach = (4.0 / (std::f64::consts::PI * self.decay_s)).max(24.0 * self.bin_hz);
        let top = self.power.len().saturating_sub(1);
        let bin = |f: f64| ((f / self.bin_hz).round().max(0.0) as usize).min(top);
        let slice = &self.power[bin(hz - reach)..=bin(hz + reach)];
        slice.iter().sum::<f64>() / slice.len() as f64
    }

    /// Local noise floor per bin: the lower quartile over blocks of about an eighth of an octave
    /// (at least 96 bins), corrected to the mean of an exponential distribution
    /// (quartile / ln(4/3)).
    ///
    /// The quartile and the width keep the skirts of a strong short ring (half width about two
    /// bins) out of its own floor.
    pub fn floor(&self) -> Vec<f64> {
        const LEAST_BINS: usize = 96;
        let mut floor = Vec::with_capacity(self.power.len());
        let mut scratch = Vec::new();
        while floor.len() < self.power.len() {
            let start = floor.len();
            let end = (start + (start / 12).max(LEAST_BINS)).min(self.power.len());
            // A last short block borrows from the one before it.
            let from = start.min(end.saturating_sub(LEAST_BINS));
            scratch.clear();
            scratch.extend_from_slice(&self.power[from..end]);
            let place = scratch.len() / 4;
            let (_, quartile, _) = scratch.select_nth_unstable_by(place, f64::total_cmp);
            let level = *quartile / (4.0f64 / 3.0).ln();
            floor.resize(end, level.max(1e-30));
        }
        floor
    }
}

/// A peak of the bank.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Peak {
    pub hz: f64,
    pub decay_s: f64,
    pub power: f64,
}

/// Peaks above the local floor by the evidence limit, strongest first, none on the skirt of a
/// stronger one.
///
/// `evidence` is the least fall of the residual energy, in units of the noise variance, that
/// justifies a component; a peak of power P takes away 2P.
pub(crate) fn peaks(bank: &Bank, evidence: f64, lowest_hz: f64, most: usize) -> Vec<Peak> {
    let mut all = Vec::new();
    for row in &bank.rows {
        if row.count < 32 {
            continue;
        }
        let floor = row.floor();
        for (before, (three, floor)) in row.power.windows(3).zip(&floor[1..]).enumerate() {
            let (left, power, right) = (three[0], three[1], three[2]);
            if power < left || power <= right || 2.0 * power < evidence * floor {
                continue;
            }
            let bin = before + 1;
            let hz = (bin as f64 + shift(left, power, right)) * row.bin_hz;
            if hz >= lowest_hz && hz <= bank.top_hz() {
                all.push(Peak { hz, decay_s: row.decay_s, power });
            }
        }
    }
    all.sort_by(|a, b| b.power.total_cmp(&a.power));
    let mut kept: Vec<Peak> = Vec::new();
    for peak in all {
        if kept.len() < most && !kept.iter().any(|strong| hidden(&peak, strong)) {
            kept.push(peak);
        }
    }
    kept
}

/// Vertex of the parabola through three log powers, in bins.
fn shift(left: f64, middle: f64, right: f64) -> f64 {
    let (a, b, c) = (left.max(1e-300).ln(), middle.max(1e-300).ln(), right.max(1e-300).ln());
    let curvature = a - 2.0 * b + c;
    if curvature < 0.0 { (0.5 * (a - c) / curvature).clamp(-0.5, 0.5) } else { 0.0 }
}

/// Whether `peak` could be the Lorentzian skirt of `strong` (with a factor 4 for ripple).
fn hidden(peak: &Peak, strong: &Peak) -> bool {
    let half_width = (1.0 / peak.decay_s + 1.0 / strong.decay_s) / std::f64::consts::TAU;
    let away = (peak.hz - strong.hz) / half_width;
    away.abs() < 1.5 || peak.power < 4.0 * strong.power / (1.0 + away * away)
}
