//! Nonlinear least squares of a sum of damped sinusoids on raw samples.
//!
//! Levenberg–Marquardt on frequency and damping, the amplitudes solved exactly at every step
//! (variable projection; Golub & Pereyra, SIAM J. Numer. Anal. 10 (1973) 413, cited from memory).
//! For white noise this is the maximum-likelihood estimator, so it reaches the Cramér–Rao bound
//! where the bound can be reached at all. Gram matrices come from closed sums ([`crate::damped`]).

use crate::damped::{Complex, Component, correlate, power_sums, subtract};
use nalgebra::{Cholesky, DMatrix, DVector};

/// Result of a fit.
#[derive(Debug, Clone)]
pub(crate) struct Fit {
    pub components: Vec<Component>,
    /// Inverse of the normal matrix for unit noise variance, four rows per component:
    /// amplitude (real, imaginary), log-pole (real, imaginary).
    pub covariance: DMatrix<f64>,
    /// Fall of the residual energy that each component accounts for.
    pub gain: Vec<f64>,
}

/// Bounds of the log-pole's real part.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Limits {
    pub slowest: f64,
    pub fastest: f64,
}

impl Limits {
    /// Decays between 1.5 ms and steady; a slight growth is allowed so that a steady tone is not
    /// biased by the bound.
    pub fn new(count: usize, sample_rate_hz: f64) -> Self {
        Self { slowest: 0.5 / count as f64, fastest: -1.0 / (0.0015 * sample_rate_hz) }
    }

    pub fn clamp(&self, log_pole: Complex) -> Complex {
        Complex::new(
            log_pole.re.min(self.slowest).max(self.fastest),
            log_pole.im.clamp(1e-4, std::f64::consts::PI - 1e-4),
        )
    }
}

/// Samples with their correlations against the current poles.
struct State {
    components: Vec<Component>,
    correlations: Vec<[Complex; 2]>,
    residual: f64,
}

/// Sums over the pair of poles: `z_k·z_l` and `z_k·conj(z_l)`.
struct Pair {
    product: [Complex; 3],
    conjugate: [Complex; 3],
}

/// `Σ Re(a nᵖ z_kⁿ) Re(b n^q z_lⁿ)`.
fn inner(a: Complex, b: Complex, power: usize, pair: &Pair) -> f64 {
    0.5 * (a * b * pair.product[power] + a * b.conj() * pair.conjugate[power]).re
}

fn pairs(poles: &[Complex], count: usize) -> Vec<Vec<Pair>> {
    poles
        .iter()
        .enumerate()
        .map(|(k, pole)| {
            poles[..=k]
                .iter()
                .map(|other| Pair {
                    product: power_sums(pole + other, count),
                    conjugate: power_sums(pole + other.conj(), count),
                })
                .collect()
        })
        .collect()
}

const UNIT: [Complex; 2] = [Complex::new(1.0, 0.0), Complex::new(0.0, 1.0)];

/// Cholesky with columns scaled to unit length; a tiny ridge saves nearly equal poles.
fn factor(matrix: &DMatrix<f64>, ridge: f64) -> Option<(Cholesky<f64, nalgebra::Dyn>, DVector<f64>)> {
    let scale = DVector::from_iterator(matrix.nrows(), matrix.diagonal().iter().map(|d| 1.0 / d.max(1e-300).sqrt()));
    let mut extra = ridge;
    for _ in 0..6 {
        let mut scaled = matrix.clone();
        for row in 0..scaled.nrows() {
            for column in 0..scaled.ncols() {
                scaled[(row, column)] *= scale[row] * scale[column];
            }
            scaled[(row, row)] += extra;
        }
        if let Some(found) = Cholesky::new(scaled) {
            return Some((found, scale));
        }
        extra = (extra * 100.0).max(1e-13);
    }
    None
}

fn solve(matrix: &DMatrix<f64>, right: &DVector<f64>, ridge: f64) -> Option<DVector<f64>> {
    let (cholesky, scale) = factor(matrix, ridge)?;
    let solution = cholesky.solve(&right.component_mul(&scale));
    Some(solution.component_mul(&scale))
}

/// Best amplitudes for given poles, with the residual energy.
fn project(samples: &[f64], energy: f64, poles: &[Complex]) -> Option<State> {
    let table = pairs(poles, samples.len());
    let correlations: Vec<_> = poles.iter().map(|pole| correlate(samples, *pole)).collect();
    let size = 2 * poles.len();
    let mut gram = DMatrix::zeros(size, size);
    let mut right = DVector::zeros(size);
    for (k, row) in table.iter().enumerate() {
        for (i, a) in UNIT.iter().enumerate() {
            right[2 * k + i] = (a * correlations[k][0]).re;
            for (l, pair) in row.iter().enumerate() {
                for (j, b) in UNIT.iter().enumerate() {
                    let value = inner(*a, *b, 0, pair);
                    gram[(2 * k + i, 2 * l + j)] = value;
                    gram[(2 * l + j, 2 * k + i)] = value;
                }
            }
        }
    }
    let solution = solve(&gram, &right, 0.0)?;
    let components = poles
        .iter()
        .enumerate()
        .map(|(k, log_pole)| Component {
            amplitude: Complex::new(solution[2 * k], solution[2 * k + 1]),
            log_pole: *log_pole,
        })
        .collect();
    let residual = energy - solution.dot(&right);
    residual.is_finite().then_some(State { components, correlations, residual: residual.max(energy * 1e-14) })
}

/// The best components with these poles, and no others.
pub(crate) fn project_poles(samples: &[f64], poles: &[Complex]) -> Option<Vec<Component>> {
    let energy: f64 = samples.iter().map(|x| x * x).sum();
    project(samples, energy, poles).map(|state| state.components)
}

/// Normal matrix and gradient for all four parameters of every component.
fn normal_equations(state: &State, count: usize) -> (DMatrix<f64>, DVector<f64>) {
    let poles: Vec<_> = state.components.iter().map(|c| c.log_pole).collect();
    let table = pairs(&poles, count);
    let size = 4 * poles.len();
    let (mut matrix, mut gradient) = (DMatrix::zeros(size, size), DVector::zeros(size));
    let columns = |k: usize| {
        let c = state.components[k].amplitude;
        [(UNIT[0], 0), (UNIT[1], 0), (c, 1), (c * UNIT[1], 1)]
    };
    for (k, row) in table.iter().enumerate() {
        for (i, (a, p)) in columns(k).into_iter().enumerate() {
            gradient[4 * k + i] += (a * state.correlations[k][p]).re;
            for (l, pair) in row.iter().enumerate() {
                for (j, (b, q)) in columns(l).into_iter().enumerate() {
                    let value = inner(a, b, p + q, pair);
                    matrix[(4 * k + i, 4 * l + j)] = value;
                    matrix[(4 * l + j, 4 * k + i)] = value;
                }
            }
        }
    }
    // Gradient of the residual: correlation with the data minus with the model.
    for l in 0..poles.len() {
        let c = state.components[l].amplitude;
        for row in 0..size {
            gradient[row] -= matrix[(row, 4 * l)] * c.re + matrix[(row, 4 * l + 1)] * c.im;
        }
    }
    (matrix, gradient)
}

/// Poles after one damped Gauss–Newton step; a step is at most one half-width of the line.
fn step(
    state: &State,
    matrix: &DMatrix<f64>,
    gradient: &DVector<f64>,
    ridge: f64,
    limits: Limits,
    count: usize,
) -> Option<Vec<Complex>> {
    let change = solve(matrix, gradient, ridge)?;
    Some(
        state
            .components
            .iter()
            .enumerate()
            .map(|(k, component)| {
                let raw = Complex::new(change[4 * k + 2], change[4 * k + 3]);
                let most = component.log_pole.re.abs().max(2.0 / count as f64);
                let shrink = (most / raw.norm().max(1e-300)).min(1.0);
                limits.clamp(component.log_pole + raw * shrink)
            })
            .collect(),
    )
}

/// How far a fit is driven.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Effort {
    /// Until a step lowers the residual energy by less than a thousandth: enough to decide which
    /// components stay.
    Rough,
    /// Until a step lowers it by less than a thousandth of one sample's noise: a move of about
    /// 0.03 standard deviations.
    Fine,
}

impl Effort {
    fn most_steps(self) -> usize {
        match self {
            Self::Rough => 8,
            Self::Fine => 15,
        }
    }

    fn tolerance(self, count: usize) -> f64 {
        match self {
            Self::Rough => 1e-3,
            Self::Fine => 1e-3 / count as f64,
        }
    }
}

/// Fits damped sinusoids starting from `poles` (log-poles per sample).
///
/// Returns `None` when there is nothing to fit or the equations cannot be solved.
pub(crate) fn fit(samples: &[f64], poles: &[Complex], limits: Limits, effort: Effort) -> Option<Fit> {
    let count = samples.len();
    if poles.is_empty() || count < 8 * poles.len() {
        return None;
    }
    let energy: f64 = samples.iter().map(|x| x * x).sum();
    let poles: Vec<_> = poles.iter().map(|p| limits.clamp(*p)).collect();
    let mut state = project(samples, energy, &poles)?;
    let mut ridge = 1e-4;
    let (mut matrix, mut gradient) = normal_equations(&state, count);
    for _ in 0..effort.most_steps() {
        let trial =
            step(&state, &matrix, &gradient, ridge, limits, count).and_then(|poles| project(samples, energy, &poles));
        match trial {
            Some(better) if better.residual < state.residual => {
                let fall = state.residual - better.residual;
                state = better;
                (matrix, gradient) = normal_equations(&state, count);
                ridge = (ridge * 0.1).max(1e-12);
                if fall < effort.tolerance(count) * state.residual {
                    break;
                }
            }
            _ if ridge > 1.0 => break,
            _ => ridge *= 30.0,
        }
    }
    finish(state, &matrix)
}

fn finish(state: State, matrix: &DMatrix<f64>) -> Option<Fit> {
    let (cholesky, scale) = factor(matrix, 0.0)?;
    let mut covariance = cholesky.inverse();
    for row in 0..covariance.nrows() {
        for column in 0..covariance.ncols() {
            covariance[(row, column)] *= scale[row] * scale[column];
        }
    }
    let gain = gains(&state, matrix).unwrap_or_else(|| vec![0.0; state.components.len()]);
    Some(Fit { components: state.components, covariance, gain })
}

/// Rise of the residual energy if one component were left out and the other amplitudes refitted:
/// `cᵀ (G⁻¹)⁻¹ c` with the component's block of the inverse amplitude Gram matrix.
fn gains(state: &State, matrix: &DMatrix<f64>) -> Option<Vec<f64>> {
    let count = state.components.len();
    let index = |i: usize| 4 * (i / 2) + i % 2;
    let gram = DMatrix::from_fn(2 * count, 2 * count, |i, j| matrix[(index(i), index(j))]);
    let (cholesky, scale) = factor(&gram, 0.0)?;
    let inverse = cholesky.inverse();
    Some(
        (0..count)
            .map(|k| {
                let at = |i: usize, j: usize| inverse[(2 * k + i, 2 * k + j)] * scale[2 * k + i] * scale[2 * k + j];
                let (a, b, d) = (at(0, 0), at(0, 1), at(1, 1));
                let c = state.components[k].amplitude;
                let determinant = (a * d - b * b).max(1e-300);
                (d * c.re * c.re - 2.0 * b * c.re * c.im + a * c.im * c.im) / determinant
            })
            .collect(),
    )
}

/// What the model leaves of the samples.
pub(crate) fn residual(samples: &[f64], components: &[Component]) -> Vec<f64> {
    let mut rest = samples.to_vec();
    for component in components {
        subtract(&mut rest, component);
    }
    rest
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sound(components: &[Component], count: usize) -> Vec<f64> {
        let mut samples = vec![0.0; count];
        for component in components {
            let mirrored = Component { amplitude: -component.amplitude, ..*component };
            subtract(&mut samples, &mirrored);
        }
        samples
    }

    #[test]
    fn a_noiseless_pair_is_recovered() {
        // Two tones two line widths apart; without noise only rounding is left: the fit must come
        // back to 1e-9 of a radian per sample (1e-5 Hz at 48 kHz), far below any sigma we state.
        let truth = [
            Component { amplitude: Complex::new(0.5, 0.1), log_pole: Complex::new(-2e-4, 0.2) },
            Component { amplitude: Complex::new(0.1, -0.2), log_pole: Complex::new(-3e-4, 0.2010) },
        ];
        let samples = sound(&truth, 20_000);
        let start = [Complex::new(-1e-4, 0.19995), Complex::new(-1e-4, 0.2012)];
        let fit = fit(&samples, &start, Limits::new(20_000, 48_000.0), Effort::Fine).unwrap();
        for (found, wanted) in fit.components.iter().zip(&truth) {
            assert!((found.log_pole - wanted.log_pole).norm() < 1e-9, "{found:?}");
        }
    }

    #[test]
    fn leaving_a_component_out_costs_its_gain() {
        let truth = [
            Component { amplitude: Complex::new(0.5, 0.1), log_pole: Complex::new(-2e-4, 0.2) },
            Component { amplitude: Complex::new(0.1, -0.2), log_pole: Complex::new(-3e-4, 0.3) },
        ];
        let samples = sound(&truth, 20_000);
        let poles: Vec<_> = truth.iter().map(|c| c.log_pole).collect();
        let limits = Limits::new(20_000, 48_000.0);
        let both = fit(&samples, &poles, limits, Effort::Fine).unwrap();
        let energy: f64 = samples.iter().map(|x| x * x).sum();
        let alone = project(&samples, energy, &poles[..1]).unwrap();
        // Equal up to the rounding of the residual, 1e-14 of the energy, relative to the gain.
        assert!((alone.residual - both.gain[1]).abs() < 1e-6 * both.gain[1]);
    }
}
