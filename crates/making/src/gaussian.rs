//! A joint Gaussian and its linear updates (Kalman 1960; Joseph form, Bucy & Joseph 1968).
use nalgebra::{Cholesky, DMatrix, DVector};

/// Mean and covariance of the state.
#[derive(Debug, Clone)]
pub(crate) struct Gaussian {
    pub mean: DVector<f64>,
    pub covariance: DMatrix<f64>,
}

impl Gaussian {
    pub fn new(mean: DVector<f64>, covariance: DMatrix<f64>) -> Self {
        Self { mean, covariance }
    }

    /// Standard deviation of one component.
    pub fn sigma(&self, index: usize) -> f64 {
        self.covariance[(index, index)].max(0.0).sqrt()
    }

    /// Covariance of `jacobian · state`.
    pub fn projected(&self, jacobian: &DMatrix<f64>) -> DMatrix<f64> {
        jacobian * &self.covariance * jacobian.transpose()
    }

    /// Adds independent noise of standard deviation 1 along `direction`.
    pub fn add_noise(&mut self, direction: &DVector<f64>) {
        self.covariance.ger(1.0, direction, direction, 1.0);
    }

    /// State ← `f` · deviation, the mean being moved by the caller.
    pub fn spread(&mut self, f: &DMatrix<f64>) {
        self.covariance = f * &self.covariance * f.transpose();
        self.symmetrise();
    }

    /// Conditions on `jacobian · (state − mean) = innovation` with noise covariance `noise`.
    ///
    /// Returns `false`, leaving the state alone, if the innovation covariance is not positive.
    pub fn update(&mut self, innovation: &DVector<f64>, jacobian: &DMatrix<f64>, noise: &DMatrix<f64>) -> bool {
        let Some(gain) = self.gain(jacobian, noise) else { return false };
        self.mean += &gain * innovation;
        let keep = DMatrix::identity(self.mean.len(), self.mean.len()) - &gain * jacobian;
        self.covariance = &keep * &self.covariance * keep.transpose() + &gain * noise * gain.transpose();
        self.symmetrise();
        true
    }

    /// Kalman gain, `None` if the innovation covariance is not positive.
    pub fn gain(&self, jacobian: &DMatrix<f64>, noise: &DMatrix<f64>) -> Option<DMatrix<f64>> {
        let innovation_covariance = self.projected(jacobian) + noise;
        let factor = Cholesky::new(innovation_covariance)?;
        Some(factor.solve(&(jacobian * &self.covariance)).transpose())
    }

    /// Jᵀ S⁻¹ · `rest`: covariance times this is the move that `rest` asks for; `None` as [`Gaussian::gain`].
    pub fn weigh(&self, jacobian: &DMatrix<f64>, noise: &DMatrix<f64>, rest: &DVector<f64>) -> Option<DVector<f64>> {
        let factor = Cholesky::new(self.projected(jacobian) + noise)?;
        Some(jacobian.transpose() * factor.solve(rest))
    }

    fn symmetrise(&mut self) {
        self.covariance = (&self.covariance + self.covariance.transpose()) * 0.5;
    }
}

/// Chance that a normal variable with this mean and σ lies below `limit`.
pub(crate) fn chance_below(limit: f64, mean: f64, sigma: f64) -> f64 {
    if sigma <= 0.0 {
        return if mean < limit { 1.0 } else { 0.0 };
    }
    0.5 * libm::erfc((mean - limit) / (sigma * std::f64::consts::SQRT_2))
}

/// Chance that any of several jointly normal variables lies below its limit.
///
/// Monte Carlo with a fixed seed and antithetic pairs: the same question always gets the same
/// answer; at a chance of 2 % its own error is about 0.15 %. Never less than the largest single one.
pub(crate) fn chance_any_below(limits: &[f64], mean: &[f64], covariance: &DMatrix<f64>) -> f64 {
    const PAIRS: usize = 4096;
    let n = mean.len();
    let single = (0..n).map(|i| chance_below(limits[i], mean[i], covariance[(i, i)].max(0.0).sqrt()));
    let least = single.clone().fold(0.0, |a: f64, b| if b > a { b } else { a });
    let most = single.sum::<f64>();
    // A grain of variance keeps the factor defined when two modes are believed to move as one.
    let jitter = DMatrix::identity(n, n) * 1e-9;
    let Some(factor) = Cholesky::new(covariance + jitter) else { return most.min(1.0) };
    let root = factor.l();
    let mut random = fastrand::Rng::with_seed(1);
    let mut hits = 0_usize;
    for _ in 0..PAIRS {
        let z = DVector::from_fn(n, |_, _| standard_normal(&mut random));
        let deviation = &root * z;
        for sign in [1.0, -1.0] {
            hits += usize::from((0..n).any(|i| mean[i] + sign * deviation[i] < limits[i]));
        }
    }
    (hits as f64 / (2 * PAIRS) as f64).clamp(least, most.min(1.0).max(least))
}

/// A standard normal number (Box & Muller 1958).
pub(crate) fn standard_normal(random: &mut fastrand::Rng) -> f64 {
    let radius = (-2.0 * (1.0 - random.f64()).ln()).sqrt();
    radius * (std::f64::consts::TAU * random.f64()).cos()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_dimensional_update_is_the_precision_weighted_mean() {
        let mut g = Gaussian::new(DVector::from_vec(vec![1.0]), DMatrix::from_element(1, 1, 4.0));
        let one = DMatrix::from_element(1, 1, 1.0);
        assert!(g.update(&DVector::from_vec(vec![2.0]), &one, &one));
        // Closed form: (1/4 + 3/1) / (1/4 + 1) and 1 / (1/4 + 1); tolerance is rounding.
        assert!((g.mean[0] - 2.6).abs() < 1e-12 && (g.covariance[(0, 0)] - 0.8).abs() < 1e-12);
    }

    #[test]
    fn chance_below_matches_tabulated_normal_quantiles() {
        // Φ(−2) = 0.0227501319 (any table of the normal distribution).
        assert!((chance_below(-2.0, 0.0, 1.0) - 0.022_750_131_9).abs() < 1e-9);
        assert!(chance_below(0.0, 1.0, 0.0) < 1e-12 && chance_below(0.0, -1.0, 0.0) > 1.0 - 1e-12);
    }

    #[test]
    fn chance_of_any_lies_between_the_largest_and_the_sum() {
        let limits = [-2.0, -2.0];
        let alike = DMatrix::from_row_slice(2, 2, &[1.0, 1.0, 1.0, 1.0]);
        let apart = DMatrix::identity(2, 2);
        // Fully dependent: one event. Independent: 1 − (1 − p)². Monte Carlo error 4 σ = 0.006.
        assert!((chance_any_below(&limits, &[0.0, 0.0], &alike) - 0.02275).abs() < 0.006);
        assert!((chance_any_below(&limits, &[0.0, 0.0], &apart) - 0.04498).abs() < 0.009);
    }
}
