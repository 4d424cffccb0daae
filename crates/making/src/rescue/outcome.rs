//! A rescue played to its end, and what is told of it.
use super::Ward;
use crate::belief::Belief;
use crate::error::MakingError;
use crate::plan::{self, Goal, Standing};
use crate::{RescueOption, priors};
use bar_physics::{Modes, Wanted};

/// A way out, with where it ends.
#[derive(Debug, Clone)]
pub struct Rescue {
    /// What to do and what it costs, in words.
    pub option: RescueOption,
    /// Price, for the ranking only: 1 is a usual trim, 10 a new bar.
    pub cost: f64,
    /// Whether all tuned modes are computed to come to their aims.
    pub works: bool,
    /// Semitones by which the bar serves a lower (positive) or higher (negative) note.
    pub semitones: i32,
    /// Computed cents of each tuned mode above its (new) target when all cutting is done by a perfect hand.
    pub final_cents: Vec<f64>,
    /// Thinnest wood then.
    pub thinnest_m: Option<f64>,
    /// Length then.
    pub length_m: Option<f64>,
    /// Node lines of mode 1 then, in the middle of the width, from the left end.
    pub nodes_m: Vec<f64>,
    /// The holes then.
    pub holes: Vec<HoleOutcome>,
}

/// A hole before and after a rescue.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HoleOutcome {
    /// From the left end, after the rescue.
    pub from_left_m: f64,
    /// Distance to the nearest node line of mode 1 now.
    pub off_now_m: f64,
    /// … and then.
    pub off_then_m: f64,
    /// Motion of mode 1 at the hole relative to that at the centre, now.
    pub motion_now: f64,
    /// … and then.
    pub motion_then: f64,
}

/// Motion at the cord from which on the bar is told to lose ring. TRADE's figures for 4 mm off are 3 % at C2,
/// 8 % at C6, 13 % at C7, of which the last two are said to matter (computed with a beam there).
const MOTION_MATTERS: f64 = 0.08;

/// Where a believed bar ends when cutting goes on.
pub(super) struct Played {
    pub cents: Vec<f64>,
    pub thinnest_m: f64,
    pub met: bool,
    pub bar: Belief,
}

impl Played {
    /// Cents of the end against another goal.
    pub fn all_cents(&self, goal: &Goal) -> Result<Vec<f64>, MakingError> {
        Ok(Standing::of(&self.bar, goal)?.cents)
    }
}

/// Cuts on from `belief` towards `goal` with a perfect hand, as long as that brings the modes nearer.
pub(super) fn play(ward: &Ward<'_>, belief: &Belief, goal: &Goal) -> Result<Played, MakingError> {
    // Each round is a few bouts; from two semitones away three rounds are plenty.
    const ROUNDS: usize = 3;
    // Within twice the tolerance by computation is as much as a forecast can promise.
    let in_line =
        |cents: &[f64]| cents.iter().zip(&goal.modes).all(|(c, m)| m.above(*c).abs() <= 2.0 * m.tolerance_cents);
    let mut end = plan::reach(belief, goal, ward.job.limits)?;
    for _ in 1..ROUNDS {
        if in_line(&end.cents) || !goal.flat(&end.cents).is_empty() {
            break;
        }
        let further = plan::reach(&end.bar, goal, ward.job.limits)?;
        if !goal.nearer(&end.cents, &further.cents) {
            break;
        }
        end = further;
    }
    Ok(Played { met: in_line(&end.cents), cents: end.cents, thinnest_m: end.thinnest_m, bar: end.bar })
}

/// The rescue with its end told: nodes, holes, and the price of holes that come to lie badly.
pub(super) fn told(
    mut option: RescueOption,
    cost: f64,
    end: &Played,
    ward: &Ward<'_>,
    trimmed_m: f64,
) -> Result<Rescue, MakingError> {
    let before = ward.belief.modes(Wanted::bending(1))?;
    let after = end.bar.modes(Wanted::bending(1))?;
    let holes: Vec<HoleOutcome> = ward.holes_m.iter().map(|hole_m| hole(*hole_m, trimmed_m, &before, &after)).collect();
    let worst = holes.iter().map(|h| h.motion_then).fold(0.0, f64::max);
    if !holes.is_empty() {
        option.effect.push_str(&format!(
            "; at the worst hole the bar then moves {:.1} % as much as at its centre (now {:.1} %){}",
            100.0 * worst,
            100.0 * holes.iter().map(|h| h.motion_now).fold(0.0, f64::max),
            if worst > MOTION_MATTERS { ": it will ring shorter on this cord" } else { ": that does no harm" }
        ));
    }
    let badly = if worst > MOTION_MATTERS { 3.0 } else { 0.0 };
    Ok(Rescue {
        option,
        cost: cost + badly,
        works: end.met,
        semitones: 0,
        final_cents: end.cents.clone(),
        thinnest_m: Some(end.thinnest_m),
        length_m: Some(end.bar.length_m()),
        nodes_m: nodes(&after),
        holes,
    })
}

fn hole(hole_m: f64, trimmed_m: f64, before: &Modes, after: &Modes) -> HoleOutcome {
    let then_m = hole_m - trimmed_m;
    let off = |modes: &Modes, at_m: f64| nodes(modes).iter().map(|n| (n - at_m).abs()).fold(f64::INFINITY, f64::min);
    let motion = |modes: &Modes, at_m: f64| modes.bending.first().map_or(0.0, |m| m.relative_motion(at_m, 0.0).abs());
    HoleOutcome {
        from_left_m: then_m,
        off_now_m: off(before, hole_m),
        off_then_m: off(after, then_m),
        motion_now: motion(before, hole_m),
        motion_then: motion(after, then_m),
    }
}

pub(super) fn nodes(modes: &Modes) -> Vec<f64> {
    modes.bending.first().map_or_else(Vec::new, |m| m.node_lines.iter().map(|line| line.centre_m).collect())
}

/// "all tuned modes come to their aims with 7.2 mm left", or where they end instead.
pub(super) fn ending(end: &Played) -> String {
    let left_mm = end.thinnest_m * 1e3;
    if end.met {
        format!("cutting on, all tuned modes come to their aims with {left_mm:.1} mm left at the thinnest")
    } else {
        format!("cutting on, it is computed to end at {} with {left_mm:.1} mm left: not in line", listed(&end.cents))
    }
}

/// What an ending out of line adds to the price.
pub(super) fn price_of(end: &Played) -> f64 {
    if end.met { 0.0 } else { 5.0 }
}

pub(super) fn listed(cents: &[f64]) -> String {
    let parts: Vec<String> = cents.iter().map(|c| format!("{c:+.0}").replace('-', "−")).collect();
    format!("{} cents", parts.join(" / "))
}

/// Amount of a rescue that lifts every mode enough (secant on the full solid), at least `least` and in steps that can
/// be set, with the bar it leads to; `None` if `most` is not enough.
pub(super) fn amount(
    ward: &Ward<'_>,
    lift: &[f64],
    (first, least, most): (f64, f64, f64),
    apply: &dyn Fn(&mut Belief, f64) -> Result<(), MakingError>,
) -> Result<Option<(f64, Belief, Standing)>, MakingError> {
    let Some((x, later, after)) = exact_amount(ward, lift, (first, most), apply)? else { return Ok(None) };
    // What a saw or a caliper can be set to, on the side of more lift: the rest is cut away again.
    let set = ((x.max(least) / SETTING_M - 1e-6).ceil()) * SETTING_M;
    if set >= most {
        return Ok(None);
    }
    if (set - x).abs() < 1e-6 {
        return Ok(Some((x, later, after)));
    }
    let mut later = ward.belief.clone();
    apply(&mut later, set)?;
    let after = Standing::of(&later, ward.goal)?;
    Ok(Some((set, later, after)))
}

/// Steps in which a stop is set and a depth is calipered, metres.
pub(super) const SETTING_M: f64 = 0.1e-3;

fn exact_amount(
    ward: &Ward<'_>,
    lift: &[f64],
    (first, most): (f64, f64),
    apply: &dyn Fn(&mut Belief, f64) -> Result<(), MakingError>,
) -> Result<Option<(f64, Belief, Standing)>, MakingError> {
    let mut x = first;
    let mut reached = None;
    for _ in 0..4 {
        let mut later = ward.belief.clone();
        apply(&mut later, x)?;
        let after = Standing::of(&later, ward.goal)?;
        let rise = |i: usize| after.cents[i] - ward.now.cents[i];
        // The share of the wanted rise that the worst-served mode got.
        let share = (0..lift.len()).filter(|i| lift[*i] > 0.0).map(|i| rise(i) / lift[i]).fold(f64::INFINITY, f64::min);
        reached = Some((x, later, after));
        if share.is_nan() || share <= 0.0 {
            return Ok(None);
        }
        // Within 3 % of the wanted rise is closer than a saw is set.
        if (share - 1.0).abs() < 0.03 || share.is_infinite() {
            return Ok(reached);
        }
        x /= share;
        if x.is_nan() || x >= most {
            return Ok(None);
        }
    }
    Ok(reached)
}

/// Largest trim that is ever advised for this bar, per end.
pub(super) fn most_trim_m(ward: &Ward<'_>) -> f64 {
    priors::MOST_TRIM_M.min(0.05 * ward.belief.length_m())
}
