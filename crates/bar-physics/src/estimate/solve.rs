//! The Gauss–Newton iteration.
use super::observe::{self, Comparison};
use super::outcome::Stopped;
use super::{EstimateError, KnownBar, Readings, state};
use crate::{PhysicsError, solid};
use nalgebra::{DMatrix, DVector};

/// Steps before giving up; three or four are usual.
const MOST_STEPS: usize = 30;
/// Steps after which only half of each is taken: where modes of a stubby bar change places the weights change with
/// the state, and whole steps swing about the answer.
const WHOLE_STEPS: usize = 5;
/// A step that moves no prediction by more than this, in cents, is the last.
const ENOUGH_CENTS: f64 = 0.01;
/// … and that moves no logarithm by more than this share of its posterior standard uncertainty.
const ENOUGH_SIGMA: f64 = 1e-3;
/// Longest step of a ratio's logarithm: the linear picture holds no farther.
const LONGEST_STEP: f64 = 0.7;

/// Halvings of a step that makes the fit worse.
const MOST_HALVINGS: i32 = 6;

/// The prior Gaussian.
struct Belief {
    mean: DVector<f64>,
    covariance: DMatrix<f64>,
    precision: DMatrix<f64>,
}

impl Belief {
    /// Twice the negative logarithm of the posterior density, with these weights of the observations.
    fn misfit(&self, at: &DVector<f64>, comparison: &Comparison, weights: &DMatrix<f64>) -> f64 {
        let off = at - &self.mean;
        let difference = &comparison.difference;
        off.dot(&(&self.precision * &off)) + difference.dot(&(weights * difference))
    }
}

/// Where the iteration ended.
pub(super) struct Fit {
    pub state: DVector<f64>,
    pub prior_state: DVector<f64>,
    pub prior: DMatrix<f64>,
    pub comparison: Comparison,
    pub stopped: Stopped,
    pub steps: usize,
}

/// The most likely state.
pub(super) fn fit(known: &KnownBar, readings: &Readings) -> Result<Fit, EstimateError> {
    let covariance = known.prior.covariance();
    let belief = Belief { mean: state::from_wood(&known.prior.mean), precision: inverse(&covariance), covariance };
    let mut at = belief.mean.clone();
    let mut comparison = comparison_at(known, readings, &at)?;
    let mut stopped = Stopped::StepLimit;
    let mut steps = 0;
    while steps < MOST_STEPS {
        steps += 1;
        let target = &belief.mean + target_step(&belief, &at, &comparison);
        let step = shortened(&target - &at);
        let small = is_small(&step, &belief.covariance, &comparison);
        let taken = if steps > WHOLE_STEPS { &step * 0.5 } else { step };
        let Some((next, compared)) = first_better(known, readings, (&at, &comparison), &taken, &belief)? else {
            stopped = Stopped::NoBetterStep;
            break;
        };
        (at, comparison) = (next, compared);
        if small {
            stopped = Stopped::Converged;
            break;
        }
    }
    Ok(Fit { state: at, prior_state: belief.mean, prior: belief.covariance, comparison, stopped, steps })
}

fn comparison_at(known: &KnownBar, readings: &Readings, at: &DVector<f64>) -> Result<Comparison, EstimateError> {
    let modes = solid::modes(&observe::bar_at(known, at), readings.wanted())?;
    observe::compare(known, readings, at, &modes)
}

/// S = H P Hᵀ + R: how far observations may lie from what the prior predicts.
pub(super) fn scatter(slopes: &DMatrix<f64>, prior: &DMatrix<f64>, noise: &DMatrix<f64>) -> DMatrix<f64> {
    slopes * prior * slopes.transpose() + noise
}

/// S⁻¹. S is positive: R holds at least the square of a positive reading error on its diagonal.
pub(super) fn inverse(scatter: &DMatrix<f64>) -> DMatrix<f64> {
    let n = scatter.nrows();
    scatter.clone().cholesky().map_or_else(|| DMatrix::zeros(n, n), |c| c.inverse())
}

/// Observed less what the prior's mean would give, linearised at the present state.
pub(super) fn surprise(prior_state: &DVector<f64>, at: &DVector<f64>, comparison: &Comparison) -> DVector<f64> {
    &comparison.difference + &comparison.slopes * (at - prior_state)
}

/// P Hᵀ S⁻¹ (y − h(θ) + H(θ − θ₀)), the step from the prior's mean (Tarantola 2005, eq. 3.51).
fn target_step(belief: &Belief, at: &DVector<f64>, comparison: &Comparison) -> DVector<f64> {
    let prior = &belief.covariance;
    let inverse = inverse(&scatter(&comparison.slopes, prior, &comparison.noise));
    prior * comparison.slopes.transpose() * inverse * surprise(&belief.mean, at, comparison)
}

/// P − P Hᵀ S⁻¹ H P.
pub(super) fn posterior(prior: &DMatrix<f64>, slopes: &DMatrix<f64>, noise: &DMatrix<f64>) -> DMatrix<f64> {
    let inverse = inverse(&scatter(slopes, prior, noise));
    let gain = prior * slopes.transpose();
    let out = prior - &gain * inverse * gain.transpose();
    // Symmetric to the last bit, as its readers assume.
    0.5 * (&out + out.transpose())
}

/// Keeps the ratios' steps inside the linear picture; density and E_L act exactly linearly.
fn shortened(step: DVector<f64>) -> DVector<f64> {
    let longest = step.rows(state::slot::G_LH, state::COUNT - state::slot::G_LH).amax();
    if longest > LONGEST_STEP { step * (LONGEST_STEP / longest) } else { step }
}

fn is_small(step: &DVector<f64>, prior: &DMatrix<f64>, comparison: &Comparison) -> bool {
    let moved = &comparison.slopes * step;
    let posterior = posterior(prior, &comparison.slopes, &comparison.noise);
    let enough = |(i, s): (usize, &f64)| s.abs() <= ENOUGH_SIGMA * posterior[(i, i)].max(0.0).sqrt();
    moved.amax() <= ENOUGH_CENTS && step.iter().enumerate().all(enough)
}

/// The state after the longest of the step, its half, quarter, … that fits no worse than `at`.
///
/// `None` if none does: the modes of a stubby bar can change places so abruptly that no step helps.
fn first_better(
    known: &KnownBar,
    readings: &Readings,
    (at, here): (&DVector<f64>, &Comparison),
    step: &DVector<f64>,
    belief: &Belief,
) -> Result<Option<(DVector<f64>, Comparison)>, EstimateError> {
    let weights = inverse(&here.noise);
    let before = belief.misfit(at, here, &weights);
    for halvings in 0..MOST_HALVINGS {
        let next = at + step * 0.5_f64.powi(halvings);
        match comparison_at(known, readings, &next) {
            // A thousandth of a unit of χ² is rounding beside what a reading can say.
            Ok(compared) if belief.misfit(&next, &compared, &weights) <= before + 1e-3 => {
                return Ok(Some((next, compared)));
            }
            Ok(_) => {}
            // An impossible wood, or one so unlike a bar that its modes hide.
            Err(EstimateError::Physics(PhysicsError::Geometry(_) | PhysicsError::NotABar { .. })) => {}
            Err(other) => return Err(other),
        }
    }
    Ok(None)
}
