//! What a mode would read in a given state, and how that changes with every quantity of the state.
use super::{Belief, slot};
use crate::basis::{bow, tilt};
use crate::error::MakingError;
use crate::naming;
use bar_physics::units::{CENTS_PER_RELATIVE_OMEGA_SQUARED, cents};
use bar_physics::{Bar, Mode, ModeKind, Modes, Wanted, Wood};
use nalgebra::{DMatrix, DVector};

/// Most bending modes the belief follows.
pub(crate) const MOST_BENDING: usize = 5;
/// Most torsion modes the belief follows.
pub(crate) const MOST_TORSION: usize = 2;

/// A mode that is heard or predicted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Observed {
    pub kind: ModeKind,
    /// From 1.
    pub number: usize,
}

impl Observed {
    /// Bending modes 1 to `n`.
    pub fn bending(n: usize) -> Vec<Self> {
        (1..=n).map(|number| Self { kind: ModeKind::Bending, number }).collect()
    }

    /// Place of this mode's model error in the state.
    pub fn bias(self) -> usize {
        match self.kind {
            ModeKind::Torsion => slot::TORSION_BIAS + self.number - 1,
            _ => slot::BENDING_BIAS + self.number - 1,
        }
    }
}

/// How many modes to compute for these observations.
pub(crate) fn wanted(observed: &[Observed]) -> Wanted {
    let most = |kind| observed.iter().filter(|o| o.kind == kind).map(|o| o.number).max().unwrap_or(0);
    Wanted { bending: most(ModeKind::Bending), torsion: most(ModeKind::Torsion), sideways: 0 }
}

/// Predictions and their derivatives at one state.
#[derive(Debug, Clone)]
pub(crate) struct Linear {
    /// Predicted pitch of each observation, cents above 1 Hz, model error included.
    pub cents: DVector<f64>,
    /// Cents per unit of each quantity of the state.
    pub jacobian: DMatrix<f64>,
    /// The modes this was taken from.
    pub modes: Modes,
}

impl Belief {
    /// Solves the bar at `state` and linearises `observed` there.
    pub(crate) fn linear_at(&self, state: &DVector<f64>, observed: &[Observed]) -> Result<Linear, MakingError> {
        let bar = self.bar_at(state)?;
        let modes = naming::modes(&bar, wanted(observed))?;
        self.linear_from(state, &bar, modes, observed)
    }

    /// Linearises at the most likely bar.
    pub(crate) fn linear(&self, observed: &[Observed]) -> Result<Linear, MakingError> {
        if let Some(known) = self.settled_for(observed) {
            return Ok(known);
        }
        self.linear_at(&self.gaussian.mean, observed)
    }

    /// The derivatives of the last update, if they are of this very bar and hold these modes.
    fn settled_for(&self, observed: &[Observed]) -> Option<Linear> {
        let settled = self.settled.as_ref().filter(|s| s.mean == self.gaussian.mean)?;
        let rows: Vec<usize> =
            observed.iter().map(|o| settled.observed.iter().position(|s| s == o)).collect::<Option<_>>()?;
        let linear = &settled.linear;
        Some(Linear {
            cents: linear.cents.select_rows(&rows),
            jacobian: linear.jacobian.select_rows(&rows),
            modes: linear.modes.clone(),
        })
    }

    fn linear_from(
        &self,
        state: &DVector<f64>,
        bar: &Bar,
        modes: Modes,
        observed: &[Observed],
    ) -> Result<Linear, MakingError> {
        let mut predicted = DVector::zeros(observed.len());
        let mut jacobian = DMatrix::zeros(observed.len(), state.len());
        for (row, seen) in observed.iter().enumerate() {
            let mode = modes.of(seen.kind).get(seen.number - 1).ok_or_else(|| {
                MakingError::new(
                    "mode_not_found",
                    format!("{:?} mode {} could not be computed for this bar", seen.kind, seen.number),
                    "leave this mode out of the reading",
                )
            })?;
            predicted[row] = cents(mode.hz, 1.0) + state[seen.bias()];
            jacobian.set_row(row, &self.derivatives(state, bar, &modes.grid_m, mode)?.transpose());
            jacobian[(row, seen.bias())] = 1.0;
        }
        Ok(Linear { cents: predicted, jacobian, modes })
    }

    /// Cents of one mode per unit of each quantity of the state, model error excepted.
    fn derivatives(
        &self,
        state: &DVector<f64>,
        bar: &Bar,
        grid_m: &[f64],
        mode: &Mode,
    ) -> Result<DVector<f64>, MakingError> {
        let length_m = self.hats.length_m;
        let mut out = DVector::zeros(state.len());
        // Every modulus scales with E_L, and ω² with them; ω² ∝ 1/ρ. Both exact (Rayleigh).
        out[slot::LN_E] = CENTS_PER_RELATIVE_OMEGA_SQUARED;
        out[slot::LN_DENSITY] = -CENTS_PER_RELATIVE_OMEGA_SQUARED;
        out[slot::LN_G_LH] = per_ln(mode, bar, |wood, factor| wood.g_lh_pa *= factor)?;
        out[slot::LN_G_LW] = per_ln(mode, bar, |wood, factor| wood.g_lw_pa *= factor)?;
        for (at, shape) in [(slot::TILT, tilt as fn(f64, f64) -> f64), (slot::BOW, bow)] {
            let relative = |x: f64| shape(x, length_m) / bar.unevenness.at(x).0;
            out[at] = mode.uneven_cents(grid_m, relative, |_| 0.0);
        }
        let removal = self.hats.integrals(grid_m, &mode.underside_cents_per_m2);
        out.rows_mut(slot::THICKNESS, self.hats.nodes).copy_from(&-removal);
        Ok(out)
    }
}

/// Cents per unit of ln of one modulus: shear moduli enter the stiffness linearly, so a small step
/// divided by its logarithm is exact to its square.
fn per_ln(mode: &Mode, bar: &Bar, scale: impl Fn(&mut Wood, f64)) -> Result<f64, MakingError> {
    const STEP: f64 = 1.001;
    let mut changed = bar.wood.clone();
    scale(&mut changed, STEP);
    Ok(mode.stiffness_cents(bar, &changed)? / STEP.ln())
}
