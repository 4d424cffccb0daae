//! How far cutting on could come with a perfect hand.
use super::task::Task;
use super::{Goal, Standing};
use crate::Limits;
use crate::belief::Belief;
use crate::error::MakingError;

/// Where cutting on without any error of the hand would end.
#[derive(Debug, Clone)]
pub(crate) struct Reach {
    /// Cents above the targets.
    pub cents: Vec<f64>,
    /// Thinnest wood then left.
    pub thinnest_m: f64,
    /// The bar as it would then be.
    pub bar: Belief,
}

/// Cuts on in the computer, with a perfect hand, until the modes come no nearer.
pub(crate) fn reach(belief: &Belief, goal: &Goal, limits: Limits) -> Result<Reach, MakingError> {
    const MOST_BOUTS: usize = 4;
    let mut here = belief.clone();
    let mut now = Standing::of(&here, goal)?;
    for _ in 0..MOST_BOUTS {
        let task = Task { belief: &here, goal, limits };
        let falls: Vec<f64> =
            goal.modes.iter().zip(&now.cents).map(|(m, c)| (c - m.landing_cents()).max(0.0)).collect();
        let Some(bands) = task.choose(&now, &falls) else { break };
        let mut later = here.clone();
        later.cut(&bands)?;
        let after = Standing::of(&later, goal)?;
        if !goal.nearer(&now.cents, &after.cents) {
            break;
        }
        (here, now) = (later, after);
        if goal.met(&now.cents) {
            break;
        }
    }
    let thinnest_m = here.bar()?.underside.thinnest().1;
    Ok(Reach { cents: now.cents, thinnest_m, bar: here })
}
