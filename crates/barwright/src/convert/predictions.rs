//! What the listener may expect of this bar.
use crate::error::Refused;
use bar_physics::{ModeKind, Modes};
use making::Belief;
use strike::{Expected, Kind};

/// Predictions are never trusted more than this when a take is heard, in cents: the bar's temperature and the blow.
const LEAST_PREDICTION_SIGMA_CENTS: f64 = 10.0;
/// Uncertainty of a sideways mode, in cents: the belief does not follow it; pieces differ by some
/// 10 % in the stiffness it feels (from memory).
const SIDEWAYS_SIGMA_CENTS: f64 = 80.0;

/// What the listener may expect of this bar.
///
/// # Errors
/// [`Refused`] if the believed bar cannot be computed.
pub fn expected(belief: &Belief, modes: &Modes) -> Result<Vec<Expected>, Refused> {
    const BENDING_MODES: usize = 4;
    let kind = |kind: ModeKind| match kind {
        ModeKind::Bending => Some(Kind::Bending),
        ModeKind::Torsion => Some(Kind::Torsion),
        ModeKind::Sideways => Some(Kind::Sideways),
        ModeKind::Lengthwise | ModeKind::Plate => None,
    };
    let believed = belief.expected(BENDING_MODES)?.into_iter().filter_map(|mode| {
        let sigma_cents = mode.sigma_cents.max(LEAST_PREDICTION_SIGMA_CENTS);
        kind(mode.kind).map(|kind| Expected { kind, number: mode.number, hz: mode.hz, sigma_cents })
    });
    let sideways = modes.sideways.iter().map(|mode| Expected {
        kind: Kind::Sideways,
        number: mode.number,
        hz: mode.hz,
        sigma_cents: SIDEWAYS_SIGMA_CENTS,
    });
    Ok(believed.chain(sideways).collect())
}
