//! What the listener may expect of this bar.
use crate::error::Refused;
use bar_physics::ModeKind;
use making::Belief;
use strike::{Expected, Kind};

/// What a prediction leaves out, in cents: temperature (about 1.5 cents/°C, ten degrees), a neighbouring mode
/// that pushes this one aside on turned grain (tens of cents, seen on simulated bars).
const LEFT_OUT_CENTS: f64 = 25.0;
/// The belief is linear and its hand Gaussian, real hands have slips: its sigma is widened by this.
const WIDENED: f64 = 1.5;

/// What the listener may expect of this bar: bending and torsion. A blow on the top face hardly sounds
/// sideways modes, and a sideways name would only take a tone from a bending one.
///
/// # Errors
/// [`Refused`] if the believed bar cannot be computed.
pub fn expected(belief: &Belief) -> Result<Vec<Expected>, Refused> {
    // One more than is ever tuned, lest it be taken for a tuned one; fewer where fewer stand out.
    const MOST_BENDING: usize = 4;
    let fewer = || (1..MOST_BENDING).rev().find_map(|count| belief.expected(count).ok());
    let believed = belief.expected(MOST_BENDING).or_else(|error| fewer().ok_or(error))?;
    let named = believed.into_iter().filter_map(|mode| {
        let kind = match mode.kind {
            ModeKind::Bending => Kind::Bending,
            ModeKind::Torsion => Kind::Torsion,
            ModeKind::Sideways | ModeKind::Lengthwise | ModeKind::Plate => return None,
        };
        let sigma_cents = (WIDENED * mode.sigma_cents).hypot(LEFT_OUT_CENTS);
        Some(Expected { kind, number: mode.number, hz: mode.hz, sigma_cents })
    });
    Ok(named.collect())
}
