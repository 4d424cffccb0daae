//! Where the tuned modes stand, and how surely.
use super::{Goal, Kernel, ModeGoal};
use crate::belief::{Belief, Observed};
use crate::error::MakingError;
use crate::gaussian::{chance_any_below, chance_below};
use crate::priors;
use bar_physics::units::cents;
use nalgebra::DMatrix;

/// Where the tuned modes stand, in cents above their targets.
#[derive(Debug, Clone)]
pub(crate) struct Standing {
    pub cents: Vec<f64>,
    pub covariance: DMatrix<f64>,
    pub kernel: Kernel,
    /// How far below each mode a torsion mode lies that may trade places with it, in cents; else 0.
    pub twin_below: Vec<f64>,
    /// Readings since the last change of shape.
    pub readings: usize,
}

impl Standing {
    /// Of the most likely bar.
    pub fn of(belief: &Belief, goal: &Goal) -> Result<Self, MakingError> {
        let tuned = goal.modes.len();
        let linear = belief.linear(&Observed::bending(tuned))?;
        let above = |i: usize| linear.cents[i] - cents(goal.modes[i].target_hz, 1.0);
        Ok(Self {
            cents: (0..tuned).map(above).collect(),
            covariance: belief.gaussian.projected(&linear.jacobian),
            kernel: Kernel::new(&linear.modes, tuned),
            readings: belief.diary.readings,
            twin_below: belief.twins_below(&goal.modes.iter().map(|m| m.target_hz).collect::<Vec<_>>()),
        })
    }

    /// σ of one mode, in cents.
    pub fn sigma(&self, mode: usize) -> f64 {
        self.covariance[(mode, mode)].max(0.0).sqrt()
    }

    /// Widens the doubt of each mode by a factor.
    pub fn widen(&mut self, factors: &[f64]) {
        for i in 0..factors.len() {
            for j in 0..factors.len() {
                self.covariance[(i, j)] *= factors[i] * factors[j];
            }
        }
    }

    /// Whether every mode is where this stage wants it, and probably so.
    pub fn met(&self, goal: &Goal) -> bool {
        let outside = |i: usize| {
            let mode = &goal.modes[i];
            // A mode on the flat side is never cut again, so only the sharp side asks for certainty.
            1.0 - chance_below(mode.aim_cents + mode.tolerance_cents, self.cents[i], self.sigma(i))
        };
        let allowed = priors::UNMET_CHANCE[self.readings.clamp(1, priors::UNMET_CHANCE.len()) - 1];
        goal.met(&self.cents) && (0..goal.modes.len()).all(|i| outside(i) <= allowed)
    }

    /// Chance that one mode is flat of its aim by more than its tolerance.
    pub fn flat(&self, goal: &Goal, mode: usize) -> f64 {
        chance_below(goal.modes[mode].floor_cents(), self.cents[mode], self.sigma(mode))
    }

    /// Chance that any tuned mode is.
    pub fn any_flat(&self, goal: &Goal) -> f64 {
        let limits: Vec<f64> = goal.modes.iter().map(ModeGoal::floor_cents).collect();
        chance_any_below(&limits, &self.cents, &self.covariance)
    }
}
