//! The sound card's clock, measured against a tone of known frequency.
//!
//! A quartz is off by up to about 100 parts per million, 0.17 cent: nothing for tuning one bar,
//! but all that is left between two shops or two sound cards once the ear is good to a tenth of a
//! cent. The tone is brought down to a narrow band around its known frequency; the slope of its
//! phase over the whole take is what the clock is off by.

use crate::band::extract;
use crate::check;
use crate::refuse;
use crate::types::{Clock, Refusal, Take};

/// Shortest tone that is used.
const SHORTEST_S: f64 = 3.0;
/// A tone is steady if no tenth of it is weaker than the loudest by more than this (6 dB).
const STEADIEST: f64 = 0.5;
/// Standard deviation of the phase about the straight line that is still a clean tone, in radians.
const ROUGHEST_RAD: f64 = 0.3;
/// Width kept around the tone: wide enough for [`check::MOST_OFFSET_PPM`] at 10 kHz (10 Hz).
const BAND_HZ: f64 = 40.0;
/// Ends that are cut off, where the tone is switched on and off.
const EDGE_S: f64 = 0.3;

/// Measures the offset of the clock that recorded a steady tone of `reference_hz`.
///
/// The reference must be better known than the clock: a time signal, a calibrated generator, not a
/// tuning fork (forks move by 100 ppm per °C; from memory). `reference_ppm` is its own
/// standard uncertainty in parts per million. Valid for 100 Hz to 10 kHz, three seconds and more
/// of tone; half a minute gives hundredths of a ppm beyond the reference's own.
///
/// The sigma holds the phase noise of the tone, the difference of its two halves where that is
/// more than noise (over √12, as of a uniform drift), and the reference's own.
///
/// # Errors
/// A [`Refusal`]: `empty`, `bad_rate`, `not_finite`, `silence`, `bad_reference` (outside 100 Hz to
/// 10 kHz or above 0.4 of the sample rate), `too_short`, `not_steady` (no such tone, it fades, it
/// warbles, or it is more than 1000 ppm away).
pub fn calibrate(take: &Take, reference_hz: f64, reference_ppm: f64) -> Result<Clock, Refusal> {
    check::numbers(0, take)?;
    let usable = (100.0..=10_000.0).contains(&reference_hz) && reference_hz < 0.4 * take.sample_rate_hz;
    if !usable || !(0.0..=check::MOST_OFFSET_PPM).contains(&reference_ppm) {
        return Err(refuse::bad_reference(reference_hz, reference_ppm));
    }
    let ready = check::prepare(take, None)?;
    let rate = ready.sample_rate_hz;
    let edge = (EDGE_S * rate) as usize;
    let length_s = ready.samples.len() as f64 / rate;
    if length_s < SHORTEST_S + 2.0 * EDGE_S {
        return Err(refuse::short_tone(length_s, SHORTEST_S + 2.0 * EDGE_S));
    }
    let middle = &ready.samples[edge..ready.samples.len() - edge];
    let factor = (rate / BAND_HZ) as usize;
    let band = extract(middle, std::f64::consts::TAU * reference_hz / rate, factor, usize::MAX);
    let steady = steadiness(&band);
    if steady < STEADIEST {
        return Err(refuse::not_steady(format!("its level falls to {:.0} % of its highest", 100.0 * steady)));
    }
    let phase = unwrapped(&band);
    let line = Line::through(&phase);
    if line.scatter > ROUGHEST_RAD {
        return Err(refuse::not_steady(format!(
            "its phase strays by {:.2} rad from a steady tone's (limit {ROUGHEST_RAD})",
            line.scatter
        )));
    }
    // A tone that seems low was recorded by a fast clock.
    let ppm = |slope: f64| -slope * rate / (factor as f64 * std::f64::consts::TAU * reference_hz) * 1e6;
    let (first, second) = phase.split_at(phase.len() / 2);
    let (first, second) = (Line::through(first), Line::through(second));
    let apart = (first.slope - second.slope).abs();
    let drift = if apart > 3.0 * first.sigma.hypot(second.sigma) { apart / 12f64.sqrt() } else { 0.0 };
    let sigma_ppm = ppm(line.sigma.hypot(drift)).abs().hypot(reference_ppm);
    let apparent = ppm(line.slope);
    // f_seen = f/(1 + x): x from −f_seen's deviation.
    let offset_ppm = apparent / (1.0 - 1e-6 * apparent);
    if offset_ppm.abs() > check::MOST_OFFSET_PPM {
        return Err(refuse::not_steady(format!("it lies {offset_ppm:.0} ppm away (limit {})", check::MOST_OFFSET_PPM)));
    }
    Ok(Clock { offset_ppm, sigma_ppm })
}

/// Level of the weakest tenth over that of the strongest.
fn steadiness(band: &[crate::damped::Complex]) -> f64 {
    let levels = band
        .chunks((band.len() / 10).max(1))
        .map(|part| (part.iter().map(|z| z.norm_sqr()).sum::<f64>() / part.len() as f64).sqrt());
    let (low, high) =
        levels.fold((f64::INFINITY, 0.0), |(low, high): (f64, f64), level: f64| (low.min(level), high.max(level)));
    if high > 0.0 { low / high } else { 0.0 }
}

/// Phase in radians without its jumps of a turn.
fn unwrapped(band: &[crate::damped::Complex]) -> Vec<f64> {
    let mut turns = 0.0;
    let mut last = band.first().map_or(0.0, |z| z.arg());
    band.iter()
        .map(|z| {
            let step = z.arg() - last;
            turns -= (step / std::f64::consts::TAU).round();
            last = z.arg();
            last + turns * std::f64::consts::TAU
        })
        .collect()
}

/// Straight line through equally spaced values.
struct Line {
    slope: f64,
    /// Standard deviation of the slope.
    sigma: f64,
    scatter: f64,
}

impl Line {
    /// Ordinary least squares; residuals of the 40 Hz band are nearly independent.
    fn through(values: &[f64]) -> Self {
        let count = values.len() as f64;
        let middle = 0.5 * (count - 1.0);
        let mean = values.iter().sum::<f64>() / count;
        let spread = count * (count * count - 1.0) / 12.0;
        let slope = values.iter().enumerate().map(|(n, v)| (n as f64 - middle) * (v - mean)).sum::<f64>() / spread;
        let rest: f64 = values.iter().enumerate().map(|(n, v)| (v - mean - slope * (n as f64 - middle)).powi(2)).sum();
        let variance = rest / (count - 2.0).max(1.0);
        Self { slope, sigma: (variance / spread).sqrt(), scatter: variance.sqrt() }
    }
}
