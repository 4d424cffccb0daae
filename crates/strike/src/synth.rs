//! Synthetic blows: for tests and for benches without a bar.
//!
//! Invented sound, never a recording: damped sinusoids that start together, a short contact burst
//! as of a mallet, and white Gaussian noise. The same seed gives the same samples on every
//! machine (PCG-64, O'Neill 2014, `rand_pcg`).

use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64Mcg;
use rand_pcg::rand_core::SeedableRng;

/// Length of the contact burst in seconds; the modes are heard undisturbed after it.
pub const CONTACT_S: f64 = 0.002;

/// One mode of a synthetic blow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SynthMode {
    /// Frequency.
    pub hz: f64,
    /// Time in which the amplitude falls by 1/e, in seconds.
    pub decay_s: f64,
    /// Amplitude at the blow, full scale = 1.
    pub amplitude: f64,
    /// Phase at the blow.
    pub phase_rad: f64,
}

/// A synthetic blow: `lead_silence_s` of noise alone, then `length_s` of ring.
///
/// Each mode is `A e^{−t/τ} cos(2πft + φ)` from the blow on. The contact burst is white noise of
/// a quarter of the summed amplitudes under half a sine of [`CONTACT_S`]. `noise_rms` is white
/// and Gaussian over the whole take. Values that are negative or not finite count as zero, the
/// length is capped at ten minutes. Nothing is clipped.
#[must_use]
pub fn blow(
    modes: &[SynthMode],
    sample_rate_hz: f64,
    length_s: f64,
    lead_silence_s: f64,
    noise_rms: f64,
    seed: u64,
) -> Vec<f32> {
    let usable = |value: f64| if value.is_finite() { value.max(0.0) } else { 0.0 };
    let rate = usable(sample_rate_hz).min(1e6);
    let samples_in = |seconds: f64| (usable(seconds).min(600.0) * rate).round() as usize;
    let (lead, ring) = (samples_in(lead_silence_s), samples_in(length_s));
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    let mut normal = move || -> f64 { StandardNormal.sample(&mut random) };
    let mut samples: Vec<f64> = (0..lead + ring).map(|_| usable(noise_rms) * normal()).collect();
    let loudness: f64 = modes.iter().map(|mode| usable(mode.amplitude)).sum();
    let contact = CONTACT_S * rate;
    for (index, sample) in samples[lead..].iter_mut().enumerate() {
        let n = index as f64;
        if n < contact {
            *sample += 0.25 * loudness * (std::f64::consts::PI * n / contact).sin() * normal();
        }
        *sample += modes.iter().map(|mode| value(mode, n / rate)).sum::<f64>();
    }
    samples.into_iter().map(|x| x as f32).collect()
}

fn value(mode: &SynthMode, time_s: f64) -> f64 {
    let angle = std::f64::consts::TAU * mode.hz * time_s + mode.phase_rad;
    let value = mode.amplitude * (-time_s / mode.decay_s).exp() * angle.cos();
    if value.is_finite() { value } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    const MODE: SynthMode = SynthMode { hz: 440.0, decay_s: 0.2, amplitude: 0.5, phase_rad: 0.3 };

    #[test]
    fn the_same_seed_gives_the_same_blow() {
        let make = |seed| blow(&[MODE], 44_100.0, 0.3, 0.1, 1e-3, seed);
        assert_eq!(make(7), make(7));
        assert_ne!(make(7), make(8));
    }

    #[test]
    fn noise_has_the_asked_size() {
        let noise = blow(&[], 48_000.0, 2.0, 0.0, 0.01, 1);
        let mean_square = noise.iter().map(|x| f64::from(*x).powi(2)).sum::<f64>() / 96_000.0;
        // Standard deviation of the estimate is sqrt(2/N) = 0.46 %; five of them.
        assert!((mean_square / 1e-4 - 1.0).abs() < 0.023);
    }

    #[test]
    fn the_ring_is_the_written_formula() {
        let sound = blow(&[MODE], 44_100.0, 0.3, 0.1, 0.0, 1);
        let index = 4410 + 1000;
        let t = 1000.0 / 44_100.0;
        let wanted = 0.5 * (-t / 0.2f64).exp() * (std::f64::consts::TAU * 440.0 * t + 0.3).cos();
        // Single precision of a value below 0.5.
        assert!((f64::from(sound[index]) - wanted).abs() < 1e-7);
        assert!(sound[..4410].iter().all(|x| *x == 0.0));
    }

    #[test]
    fn nonsense_stays_finite() {
        let bad = SynthMode { hz: f64::NAN, decay_s: 0.0, amplitude: f64::INFINITY, phase_rad: 0.0 };
        assert!(blow(&[bad], 8000.0, 0.1, f64::NAN, -1.0, 0).iter().all(|x| x.is_finite()));
        assert!(blow(&[], f64::NAN, 1.0, 0.0, 0.0, 0).is_empty());
    }
}
