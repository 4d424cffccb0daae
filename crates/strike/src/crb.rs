//! The Cramér–Rao bound of one damped sinusoid.

/// Smallest standard deviation, in hertz, with which an unbiased estimator can know the frequency
/// of `A e^{−t/τ} cos(2πft + φ)` in white noise, all four parameters unknown.
///
/// `noise_ratio` is the noise standard deviation over the initial amplitude A. With d = 1/(τ·fs)
/// and z² = e^{−2d}:
/// `var ω ≥ (2σ²/A²)·(1−z²)³(1−z²ᴺ) / ( z²(1−z²ᴺ)² − N² z²ᴺ (1−z²)² )`
/// (closed form as in the check values `reference/crb_damped.csv`; derivation as Yao & Pandit,
/// IEEE Trans. Signal Process. 43 (1995) 878, cited from memory). Valid for frequencies several
/// line widths away from 0 and from half the sample rate; `decay_s` must be positive.
#[must_use]
pub fn frequency_bound_hz(decay_s: f64, sample_rate_hz: f64, sample_count: usize, noise_ratio: f64) -> f64 {
    let n = sample_count as f64;
    let exponent = -2.0 / (decay_s * sample_rate_hz);
    let z2 = exponent.exp();
    let one_minus = -exponent.exp_m1();
    let z2_n = (exponent * n).exp();
    let one_minus_n = -(exponent * n).exp_m1();
    let denominator = z2 * one_minus_n.powi(2) - n * n * z2_n * one_minus.powi(2);
    let variance = 2.0 * noise_ratio.powi(2) * one_minus.powi(3) * one_minus_n / denominator;
    variance.sqrt() * sample_rate_hz / std::f64::consts::TAU
}

#[cfg(test)]
mod tests {
    use super::frequency_bound_hz;

    #[test]
    fn equals_the_reference_file() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../reference/crb_damped.csv");
        let text = std::fs::read_to_string(path).unwrap();
        let mut checked = 0;
        for line in text.lines().skip(1) {
            let row: Vec<f64> = line.split(',').map(|cell| cell.trim().parse().unwrap()).collect();
            let ratio = 10f64.powf(-row[5] / 20.0);
            let bound = frequency_bound_hz(row[1], row[2], row[3] as usize, ratio);
            // The file prints seven digits of the closed form.
            assert!((bound / row[7] - 1.0).abs() < 1e-6, "{line}: {bound}");
            // The closed form leaves out the term at twice the frequency: within 0.5 % of the
            // numerical Fisher information, as the file's note says.
            assert!((bound / row[6] - 1.0).abs() < 5e-3, "{line}: {bound}");
            checked += 1;
        }
        assert!(checked >= 27);
    }
}
