//! The next bout: from the belief to bands, with the solid solved at the planned shape until the
//! expected readings are its own.
//!
//! * `goal` — what the stage wants, and how far one bout goes
//! * `standing` — where the modes stand, and how surely
//! * `kernel`, `choose` — what wood does to pitch, and the bands that do it best
//! * `task` — one bout: choose, solve, aim again, shrink until the risk is allowed
//! * `sides` — where the arch is lopsided beyond its doubt, a band goes to the thicker side alone
//! * `reach` — cutting on in the computer, for rescues
mod choose;
mod goal;
mod kernel;
mod reach;
mod sides;
mod standing;
mod task;

pub(crate) use choose::Place;
pub(crate) use goal::{Goal, ModeGoal};
pub(crate) use kernel::Kernel;
pub(crate) use reach::reach;
pub(crate) use sides::lopsided;
pub(crate) use standing::Standing;

use crate::belief::Belief;
use crate::error::MakingError;
use crate::{Band, Limits};
use task::Task;

/// A bout worth making.
#[derive(Debug, Clone)]
pub(crate) struct Bout {
    /// Bands as the maker is to intend them, his hand allowed for, in the order to take them.
    pub bands: Vec<Band>,
    /// The tuned modes after it.
    pub after: Standing,
    /// Chance that this bout makes any tuned mode flat.
    pub risk: f64,
}

/// What planning found.
#[derive(Debug, Clone)]
pub(crate) enum Outcome {
    /// A bout.
    Bout(Box<Bout>),
    /// Any useful cut risks too much as long as so little is known.
    Unsure {
        /// The smallest risk found for a bout that is worth making.
        risk: f64,
    },
    /// No removal brings the modes nearer: wood or relation forbids.
    Stuck {
        /// Whether the smallest thickness is what forbids.
        thin: bool,
    },
}

/// Plans the next bout for a bar of which no mode is flat.
pub(crate) fn bout(belief: &Belief, goal: &Goal, limits: Limits, now: &Standing) -> Result<Outcome, MakingError> {
    Task { belief, goal, limits }.plan(now)
}
