//! Narrow bands of a take: mixing down, low-pass filtering and keeping every D-th sample.

use crate::damped::Complex;

/// Attenuation of the low-pass filters, in dB.
const STOP_DB: f64 = 70.0;

/// Modified Bessel function I₀ by its power series (DLMF 10.25.2), for Kaiser windows.
fn bessel_i0(x: f64) -> f64 {
    let (mut term, mut sum) = (1.0, 1.0);
    for k in 1..60 {
        term *= (x / 2.0 / f64::from(k)).powi(2);
        sum += term;
    }
    sum
}

/// Kaiser-windowed low-pass filter for keeping every `factor`-th sample: passes up to 0.3 of the
/// new rate, stops from 0.7 of it, so that only frequencies outside the pass band are aliased.
///
/// Design formulas of Kaiser 1974 (β and length from the attenuation; from memory).
fn low_pass(factor: usize) -> Vec<f64> {
    let new_rate = 1.0 / factor as f64;
    let transition = 0.4 * new_rate * std::f64::consts::TAU;
    let half = ((STOP_DB - 7.95) / (2.285 * transition) / 2.0).ceil();
    let beta = 0.1102 * (STOP_DB - 8.7);
    let count = 2 * half as usize + 1;
    let taps: Vec<f64> = (0..count)
        .map(|index| {
            let offset = index as f64 - half;
            let angle = std::f64::consts::PI * new_rate * offset;
            let sinc = if offset == 0.0 { 1.0 } else { angle.sin() / angle };
            let window = bessel_i0(beta * (1.0 - (offset / half).powi(2)).max(0.0).sqrt());
            sinc * window
        })
        .collect();
    let sum: f64 = taps.iter().sum();
    taps.into_iter().map(|tap| tap / sum).collect()
}

/// At most `most` samples, every `factor`-th, of the band around `centre` (radians per sample),
/// mixed down to zero. Only samples for which the whole filter lies inside the data are given, so
/// a damped sinusoid stays one with the same pole.
pub(crate) fn extract(samples: &[f64], centre: f64, factor: usize, most: usize) -> Vec<Complex> {
    let taps = low_pass(factor);
    if samples.len() < taps.len() {
        return Vec::new();
    }
    let outputs = ((samples.len() - taps.len()) / factor + 1).min(most);
    let turn = Complex::new(0.0, -centre).exp();
    let mixed: Vec<Complex> = taps
        .iter()
        .scan(Complex::new(1.0, 0.0), |phase, tap| {
            let value = *phase * *tap;
            *phase *= turn;
            Some(value)
        })
        .collect();
    (0..outputs)
        .map(|index| {
            let start = index * factor;
            let sum: Complex = mixed.iter().zip(&samples[start..]).map(|(tap, x)| tap * *x).sum();
            sum * Complex::new(0.0, -centre * start as f64).exp()
        })
        .collect()
}

/// The take at a rate that is enough for bars: every `factor`-th sample after a low-pass.
pub(crate) fn decimate(samples: &[f64], factor: usize) -> Vec<f64> {
    if factor <= 1 {
        return samples.to_vec();
    }
    let taps = low_pass(factor);
    let half = taps.len() / 2;
    let at = |index: usize| index.checked_sub(half).and_then(|i| samples.get(i)).copied();
    (0..samples.len() / factor)
        .map(|out| taps.iter().enumerate().map(|(j, tap)| tap * at(out * factor + j).unwrap_or(0.0)).sum())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tone(omega: f64, count: usize) -> Vec<f64> {
        (0..count).map(|n| (omega * n as f64).cos()).collect()
    }

    #[test]
    fn the_band_passes_its_middle_and_stops_the_rest() {
        let factor = 40;
        let inside = extract(&tone(0.3, 6000), 0.3, factor, 100);
        assert!(inside.iter().all(|y| (y.norm() - 0.5).abs() < 1e-3));
        // 0.75 of the new rate away: the design attenuation of 70 dB, with 3 dB of margin for the
        // approximate design formula; the wanted tone has amplitude 0.5.
        let away = 0.3 + 0.75 * std::f64::consts::TAU / factor as f64;
        let outside = extract(&tone(away, 6000), 0.3, factor, 100);
        assert!(outside.iter().all(|y| y.norm() < 0.5 * 10f64.powf(-67.0 / 20.0)));
    }

    #[test]
    fn decimation_keeps_a_low_tone() {
        let slow = decimate(&tone(0.05, 4000), 4);
        assert_eq!(slow.len(), 1000);
        // Away from the ends only the pass-band ripple (70 dB design) is left.
        for (n, y) in slow.iter().enumerate().skip(50).take(900) {
            assert!((y - (0.2 * n as f64).cos()).abs() < 1e-3);
        }
    }
}
