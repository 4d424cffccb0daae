//! Numbers for a picture of a take: its outline, its spectrum with the noise floor, the fall of one tone.
//!
//! For the eye only. The modes come from [`crate::listen`], which does not read a spectrum's peaks.

use crate::types::Take;
use realfft::RealFftPlanner;

/// A spectrum on a grid of equal ratios of frequency.
#[derive(Debug, Clone, PartialEq)]
pub struct Spectrum {
    /// Frequencies, rising by equal ratios.
    pub hz: Vec<f64>,
    /// The largest power around each frequency, in dB relative to the largest of all.
    pub level_db: Vec<f64>,
    /// Mean power of the noise around each frequency, on the same scale.
    pub floor_db: Vec<f64>,
}

/// Smallest and largest sample of each of `columns` equal stretches; fewer columns if there are fewer samples.
#[must_use]
pub fn outline(samples: &[f32], columns: usize) -> Vec<(f32, f32)> {
    let columns = columns.min(samples.len());
    let edge = |column: usize| column * samples.len() / columns.max(1);
    let ends = |column: usize| {
        let part = &samples[edge(column)..edge(column + 1)];
        part.iter().fold((f32::INFINITY, f32::NEG_INFINITY), |(low, high), x| (low.min(*x), high.max(*x)))
    };
    (0..columns).map(ends).collect()
}

/// Spectrum of the stretch from `from_s`, `length_s` long, between two frequencies in hertz.
///
/// A Hann window over the whole stretch; each point of the grid holds the largest bin of its share of the axis. The
/// floor is the lower quartile of the bins within a sixth of an octave (at least 32 bins), brought to the mean of an
/// exponential distribution: quartile / ln(4/3).
///
/// `None` if the stretch has fewer than 64 samples, or is silent, or the frequencies leave nothing to show.
#[must_use]
pub fn spectrum(
    take: &Take,
    from_s: f64,
    length_s: f64,
    (low_hz, high_hz): (f64, f64),
    points: usize,
) -> Option<Spectrum> {
    let samples = stretch(take, from_s, length_s);
    let high_hz = high_hz.min(0.5 * take.sample_rate_hz);
    if samples.len() < 64 || points < 2 || !(low_hz > 0.0 && low_hz < high_hz) {
        return None;
    }
    let (power, bin_hz) = hann_power(samples, take.sample_rate_hz)?;
    let ratio = (high_hz / low_hz).powf(1.0 / (points - 1) as f64);
    let hz: Vec<f64> = (0..points).map(|i| low_hz * ratio.powf(i as f64)).collect();
    let bin = |f: f64| ((f / bin_hz).round().max(0.0) as usize).min(power.len() - 1);
    let half = ratio.sqrt();
    let largest = |f: &f64| power[bin(f / half)..=bin(f * half)].iter().copied().fold(0.0, f64::max);
    let floor = |f: &f64| {
        let (from, to) = (bin(f / 1.06), bin(f * 1.06));
        let (from, to) = (from.min(bin(*f).saturating_sub(16)), to.max((bin(*f) + 16).min(power.len() - 1)));
        let mut part = power[from..=to].to_vec();
        let place = part.len() / 4;
        *part.select_nth_unstable_by(place, f64::total_cmp).1 / (4.0f64 / 3.0).ln()
    };
    let top = hz.iter().map(largest).fold(0.0, f64::max);
    let db = |p: f64| 10.0 * (p / top).max(1e-16).log10();
    (top > 0.0).then(|| Spectrum {
        level_db: hz.iter().map(|f| db(largest(f))).collect(),
        floor_db: hz.iter().map(|f| db(floor(f))).collect(),
        hz,
    })
}

/// Level of one tone over time: (seconds after `from_s`, dB of full scale), `points` of them over `length_s`.
///
/// The sound is turned down by the tone's frequency and averaged under a Hann window of at least 30 ms and eight
/// periods: a neighbour more than two window widths (in hertz: 2 / window) away does not show. Empty where the take
/// is too short for one window.
#[must_use]
pub fn decay(take: &Take, from_s: f64, length_s: f64, hz: f64, points: usize) -> Vec<(f64, f64)> {
    let samples = stretch(take, from_s, length_s);
    if !(hz > 0.0 && hz < 0.5 * take.sample_rate_hz) || points < 2 {
        return Vec::new();
    }
    let window = ((0.03f64).max(8.0 / hz) * take.sample_rate_hz).round() as usize;
    let Some(room) = samples.len().checked_sub(window).filter(|_| window > 1) else { return Vec::new() };
    let weights: Vec<f64> = (0..window).map(|n| hann(n, window)).collect();
    let sum: f64 = weights.iter().sum();
    let turn = std::f64::consts::TAU * hz / take.sample_rate_hz;
    let level = |start: usize| {
        let (mut re, mut im) = (0.0, 0.0);
        for (n, (x, w)) in samples[start..].iter().zip(&weights).enumerate() {
            let (sin, cos) = (turn * n as f64).sin_cos();
            re += w * f64::from(*x) * cos;
            im -= w * f64::from(*x) * sin;
        }
        20.0 * (2.0 * re.hypot(im) / sum).max(1e-8).log10()
    };
    let at = |point: usize| room * point / (points - 1);
    let middle_s = 0.5 * window as f64 / take.sample_rate_hz;
    (0..points).map(|i| (at(i) as f64 / take.sample_rate_hz + middle_s, level(at(i)))).collect()
}

fn stretch<'a>(take: &Take<'a>, from_s: f64, length_s: f64) -> &'a [f32] {
    // Casts of negative or senseless times give 0, of huge ones the end.
    let from = ((from_s * take.sample_rate_hz) as usize).min(take.samples.len());
    let length = ((length_s * take.sample_rate_hz) as usize).min(take.samples.len() - from);
    &take.samples[from..from + length]
}

fn hann(n: usize, length: usize) -> f64 {
    (std::f64::consts::PI * (n as f64 + 0.5) / length as f64).sin().powi(2)
}

/// Power of each bin under a Hann window, and the width of a bin.
fn hann_power(samples: &[f32], sample_rate_hz: f64) -> Option<(Vec<f64>, f64)> {
    let length = samples.len().next_power_of_two();
    let mut buffer: Vec<f64> =
        samples.iter().enumerate().map(|(n, x)| f64::from(*x) * hann(n, samples.len())).collect();
    buffer.resize(length, 0.0);
    let plan = RealFftPlanner::<f64>::new().plan_fft_forward(length);
    let mut bins = plan.make_output_vec();
    plan.process(&mut buffer, &mut bins).ok()?;
    Some((bins.iter().map(|z| z.norm_sqr()).collect(), sample_rate_hz / length as f64))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::synth::{SynthMode, blow};

    const RATE_HZ: f64 = 44_100.0;

    fn sound(noise_rms: f64) -> Vec<f32> {
        let mode = |hz, amplitude| SynthMode { hz, decay_s: 0.3, amplitude, phase_rad: 0.4 };
        blow(&[mode(262.0, 0.5), mode(1050.0, 0.05)], RATE_HZ, 1.0, 0.2, noise_rms, 3)
    }

    #[test]
    fn the_spectrum_peaks_at_the_modes_and_its_floor_lies_at_the_noise() {
        let samples = sound(1e-3);
        let take = Take { samples: &samples, sample_rate_hz: RATE_HZ };
        let shown = spectrum(&take, 0.21, 0.9, (60.0, 12_000.0), 400).unwrap();
        let highest = (0..400).max_by(|a, b| shown.level_db[*a].total_cmp(&shown.level_db[*b])).unwrap();
        // Half a point of the grid is 0.67 % of frequency.
        assert!((shown.hz[highest] / 262.0 - 1.0).abs() < 0.0067);
        let near =
            |hz: f64| (0..400).min_by(|a, b| (shown.hz[*a] - hz).abs().total_cmp(&(shown.hz[*b] - hz).abs())).unwrap();
        // Equal decay, so the levels differ by the amplitudes: 20 dB. A bin of zero padding costs up to 0.4 dB.
        assert!((shown.level_db[near(1050.0)] + 20.0).abs() < 1.0);
        // White noise is flat: between 2 and 10 kHz the floor stays within what a quartile of 500 bins scatters, and
        // below what the line, a largest value, shows.
        let floor: Vec<f64> = (near(2000.0)..near(10_000.0)).map(|i| shown.floor_db[i]).collect();
        let mean = floor.iter().sum::<f64>() / floor.len() as f64;
        assert!(floor.iter().all(|f| (f - mean).abs() < 2.0), "{floor:?}");
        // Closed form: N·σ²·3/8 of noise against (A/2)² |Σ w e^{−t/τ}|² of tone.
        let n = (0.9 * RATE_HZ) as usize;
        let tone: f64 = (0..n).map(|i| hann(i, n) * 0.5 * (-(i as f64 / RATE_HZ + 0.01) / 0.3).exp() / 2.0).sum();
        let wanted = 10.0 * (n as f64 * 1e-6 * 0.375 / tone.powi(2)).log10();
        assert!((mean - wanted).abs() < 1.0, "{mean} against {wanted}");
    }

    #[test]
    fn a_tone_falls_as_it_was_made() {
        let samples = sound(0.0);
        let take = Take { samples: &samples, sample_rate_hz: RATE_HZ };
        let curve = decay(&take, 0.21, 0.9, 262.0, 40);
        for (at_s, level_db) in curve {
            let wanted = 20.0 * 0.5f64.log10() - 20.0 / std::f64::consts::LN_10 * (at_s + 0.01) / 0.3;
            // The window's mean of an exponential lies 0.01 dB above its middle; the other mode adds less.
            assert!((level_db - wanted).abs() < 0.1, "{at_s}: {level_db} against {wanted}");
        }
    }

    #[test]
    fn the_outline_holds_every_sample_once() {
        assert_eq!(outline(&[0.1, -0.2, 0.3, 0.4], 2), [(-0.2, 0.1), (0.3, 0.4)]);
        assert_eq!(outline(&[0.5], 10), [(0.5, 0.5)]);
        assert!(outline(&[], 10).is_empty());
    }

    #[test]
    fn nonsense_gives_nothing() {
        let take = Take { samples: &[0.0; 100], sample_rate_hz: f64::NAN };
        assert!(spectrum(&take, 0.0, 1.0, (60.0, 1000.0), 100).is_none());
        assert!(decay(&take, f64::NAN, -1.0, f64::NAN, 10).is_empty());
        let silent = Take { samples: &[0.0; 100], sample_rate_hz: 8000.0 };
        assert!(spectrum(&silent, 0.0, 1.0, (60.0, 1000.0), 100).is_none());
    }
}
