//! What wood a bar of known shape is made of: density, E_L, G_LH and G_LW from its weight and its pitches.
//!
//! Bayesian least squares on the logarithms of ten constants (Tarantola 2005, *Inverse Problem Theory*,
//! eq. 3.51, the Gauss–Newton form written in the space of the data): an explicit [`WoodPrior`], the modes
//! of [`crate::solid`], and exact derivatives from each mode's `strain_products`. The shape is kept as
//! measured; errors of length, width and thickness shift all readings and the weight together, so they
//! enter as correlated noise and show in the uncertainty of the wood instead of being absorbed.
//!
//! Not in the model: wood that differs along or across the bar, a bar that is out of square, temperature.
mod advice;
mod check;
mod doubt;
mod known;
mod observe;
mod outcome;
mod prior;
mod solve;
mod state;

pub use known::{EstimateError, KnownBar, MassReading, PitchReading, Readings, Size};
pub use outcome::{Check, Culprit, Observed, Parameter, Quantity, Stopped, WoodEstimate};
pub use prior::WoodPrior;

use crate::Wanted;

/// One standard uncertainty of the computed bending modes in cents: the solid at its default resolution
/// against converged solids (docs/physics.md, worst of nine bars).
pub const BENDING_MODEL_CENTS: f64 = 1.0;
/// The same for torsion.
pub const TORSION_MODEL_CENTS: f64 = 5.0;
/// Farther than this from what everything else predicts, in standard uncertainties, a reading contradicts.
pub const CONTRADICTION_SIGMAS: f64 = 4.0;

/// The wood of `known` from its `readings`, with what they could not determine and which contradict.
///
/// About 10 to 20 ms per step, mostly three or four steps. A contradicting reading is flagged but still
/// counted: drop it and estimate again.
///
/// # Errors
/// [`EstimateError`] for values out of range, readings out of order, nothing measured, or a bar that the
/// solid cannot compute.
pub fn estimate_wood(known: &KnownBar, readings: &Readings) -> Result<WoodEstimate, EstimateError> {
    check::check(known, readings)?;
    let fit = solve::fit(known, readings)?;
    let modes = observe::modes_for_report(known, &fit.state, readings.wanted())?;
    let parameters = outcome::parameters(known, &fit, &advice::candidates(known, &fit, &modes)?);
    let checks = doubt::checks(known, readings, &fit);
    let culprits = doubt::culprits(known, readings, &fit, &checks);
    Ok(WoodEstimate {
        wood: observe::bar_at(known, &fit.state).wood,
        parameters,
        correlations: outcome::correlations(&fit),
        checks,
        culprits,
        chi_squared: doubt::chi_squared(&fit),
        stopped: fit.stopped,
        steps: fit.steps,
    })
}

impl Readings {
    /// The modes that must be computed to compare with.
    fn wanted(&self) -> Wanted {
        let highest =
            |readings: &[Option<PitchReading>]| readings.iter().rposition(Option::is_some).map_or(0, |i| i + 1);
        // The solid always looks for a mode; bending 1 costs least.
        Wanted { bending: highest(&self.bending).max(1), torsion: highest(&self.torsion), sideways: 0 }
    }
}
