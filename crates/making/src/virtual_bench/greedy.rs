//! Plain greedy advice, for comparison: what a sensible maker with a good table, but no plan, would do.
//!
//! He knows the bar as well as the planner does. Each bout he takes the mode that is sharpest, sands the
//! 40 mm (per side) that lower it most and have wood to spare, and goes half of what is left, at most as deep as
//! the planner may. He stops when all modes are within
//! tolerance or one is flat. He does not ask what the cut does to the other modes.
use super::rehearsal::Step;
use crate::error::MakingError;
use crate::plan::{Goal, Standing};
use crate::priors;
use crate::{Band, Belief, Decision, Job, ModeOutlook, Side};

/// Width of his bands, per side; one at the centre spans both.
const WIDTH_M: f64 = 0.040;
/// Passes he counts: about a tenth of a millimetre each.
const PASS_M: f64 = 0.1e-3;

pub(super) fn advise(job: &Job, belief: &Belief) -> Result<Step, MakingError> {
    let goal = Goal::of(job, 0);
    let now = Standing::of(belief, &goal)?;
    let above: Vec<f64> = goal.modes.iter().zip(&now.cents).map(|(m, c)| m.above(*c)).collect();
    let sharpest = (0..above.len()).max_by(|a, b| above[*a].total_cmp(&above[*b])).unwrap_or(0);
    let (decision, band) = if !goal.flat(&now.cents).is_empty() {
        (Decision::Rescue, None)
    } else if goal.met(&now.cents) {
        (Decision::Finished, None)
    } else {
        // Half of what is left; a mode outside its tolerance always has something left to go.
        match strongest(belief, &now, sharpest, 0.5 * above[sharpest], job) {
            Some(band) => (Decision::Cut, Some(band)),
            None => (Decision::Rescue, None),
        }
    };
    Ok(told(&goal, &now, belief, decision, band))
}

/// The band that lowers `mode` most among those with wood to spare, as deep as `fall_cents`, the limit and
/// one bout allow.
fn strongest(belief: &Belief, now: &Standing, mode: usize, fall_cents: f64, job: &Job) -> Option<Band> {
    // Less than this is not worth setting the belt for while so much is left to go.
    const LEAST_SPARE_M: f64 = 0.3e-3;
    let half_m = now.kernel.half_m();
    let last = ((half_m - WIDTH_M) / 0.005).max(0.0) as usize;
    let place = |k: usize| (0.005 * k as f64, (0.005 * k as f64 + WIDTH_M).min(half_m));
    let pull = |(from_m, to_m): (f64, f64)| now.kernel.cents_per_m(mode, from_m, to_m);
    let spare_m = |(from_m, to_m): (f64, f64)| {
        (0..=20)
            .map(|k| from_m + (to_m - from_m) * f64::from(k) / 20.0)
            .flat_map(|u| [half_m - u, half_m + u])
            .map(|x| belief.thickness_at(x).0 - job.limits.min_thickness_m)
            .fold(f64::INFINITY, f64::min)
            / 1.3
    };
    let places = (0..=last).map(place).filter(|p| pull(*p) < 0.0 && spare_m(*p) > LEAST_SPARE_M);
    let best = places.min_by(|a, b| pull(*a).total_cmp(&pull(*b)))?;
    let depth_m = (-fall_cents / pull(best)).min(spare_m(best)).min(priors::DEEPEST_BAND_M) / belief.hand();
    Some(Band { from_m: best.0, to_m: best.1, depth_m, side: Side::Both })
}

fn told(goal: &Goal, now: &Standing, belief: &Belief, decision: Decision, band: Option<Band>) -> Step {
    let lowered =
        |i: usize| band.map_or(0.0, |b| now.kernel.cents_per_m(i, b.from_m, b.to_m) * b.depth_m * belief.hand());
    let outlook = goal.modes.iter().enumerate().map(|(i, m)| ModeOutlook {
        mode: i + 1,
        target_hz: m.target_hz,
        now_cents: now.cents[i],
        now_sigma_cents: now.sigma(i),
        aim_cents: m.aim_cents,
        expected_cents: now.cents[i] + lowered(i),
        expected_sigma_cents: now.sigma(i).hypot(0.2 * lowered(i)),
        risk_flat: 0.0,
    });
    let passes = band.map(|b| (b.depth_m / PASS_M).ceil().max(1.0) as u32);
    Step {
        decision,
        true_cents: Vec::new(),
        outlook: outlook.collect(),
        bands: band.into_iter().collect(),
        passes,
        trim_m: None,
        said: "as the sharpest mode asks".to_owned(),
    }
}
