//! Ways out when no removal from the arch helps, each computed with the solid.
use crate::belief::Belief;
use crate::error::MakingError;
use crate::next::Desk;
use crate::plan::{self, Goal, Standing};
use crate::words::signed;
use crate::{Band, Event, RescueOption, Side, priors};
use bar_physics::Wanted;

/// The ways out, best first, for modes (from 0) that are flat, or for an arch that is too thin.
pub(crate) fn options(desk: &Desk<'_>, flat: &[usize], thin: bool) -> Result<Vec<RescueOption>, MakingError> {
    let lift = lift(desk, flat);
    let mut ranked: Vec<(f64, RescueOption)> = Vec::new();
    if !thin {
        ranked.extend(trim_ends(desk, &lift)?);
        ranked.extend(thin_ends(desk, &lift)?);
        for semitones in 1..=2 {
            ranked.extend(lower_note(desk, semitones)?);
        }
    }
    ranked.extend(accept(desk, flat));
    ranked.push((10.0, replace()));
    ranked.sort_by(|a, b| a.0.total_cmp(&b.0));
    Ok(ranked.into_iter().map(|(_, option)| option).collect())
}

/// Cents each mode must rise: to its aim if it is flat; otherwise, when the relation of the modes is
/// what blocks, the lowest rises by half of what the highest is above, so that both can come down.
fn lift(desk: &Desk<'_>, flat: &[usize]) -> Vec<f64> {
    let above: Vec<f64> = desk.goal.modes.iter().zip(&desk.now.cents).map(|(m, c)| m.above(*c)).collect();
    if !flat.is_empty() {
        return above.iter().map(|a| (-a).max(0.0)).collect();
    }
    let highest = above.iter().copied().fold(0.0, f64::max);
    let lowest = above.iter().copied().fold(f64::INFINITY, f64::min);
    above.iter().map(|a| if *a <= lowest { 0.5 * highest } else { 0.0 }).collect()
}

/// Amount of a rescue that lifts every mode enough (secant on the full solid), with the result.
fn amount(
    desk: &Desk<'_>,
    lift: &[f64],
    first: f64,
    most: f64,
    apply: impl Fn(&mut Belief, f64) -> Result<(), MakingError>,
) -> Result<Option<(f64, Belief, Standing)>, MakingError> {
    let mut x = first;
    let mut reached = None;
    for _ in 0..4 {
        let mut later = desk.belief.clone();
        apply(&mut later, x)?;
        let after = Standing::of(&later, desk.goal)?;
        let rise = |i: usize| after.cents[i] - desk.now.cents[i];
        // The share of the wanted rise that the worst-served mode got.
        let share = (0..lift.len()).filter(|i| lift[*i] > 0.0).map(|i| rise(i) / lift[i]).fold(f64::INFINITY, f64::min);
        reached = Some((x, later, after));
        if share.is_nan() || share <= 0.0 {
            return Ok(None);
        }
        // Within 3 % of the wanted rise is closer than a saw is set.
        if (share - 1.0).abs() < 0.03 {
            return Ok(reached);
        }
        x /= share;
        if x.is_nan() || x >= most {
            return Ok(None);
        }
    }
    Ok(reached)
}

fn trim_ends(desk: &Desk<'_>, lift: &[f64]) -> Result<Option<(f64, RescueOption)>, MakingError> {
    let apply = |belief: &mut Belief, d_m: f64| belief.take(&Event::Trim { left_m: d_m, right_m: d_m });
    let most_m = priors::MOST_TRIM_M.min(0.05 * desk.belief.length_m());
    let Some((d_m, later, after)) = amount(desk, lift, 0.001, most_m, apply)? else { return Ok(None) };
    let node_m = |belief: &Belief| -> Result<Option<f64>, MakingError> {
        let modes = belief.modes(Wanted::bending(1))?;
        Ok(modes.bending.first().and_then(|m| m.node_lines.first()).map(|line| line.centre_m))
    };
    let nodes = match (node_m(desk.belief)?, node_m(&later)?) {
        (Some(before), Some(then)) => format!(
            "the node of mode 1 then lies {:.1} mm from the new end ({:.1} mm inward of where it is now): check it against any hole",
            then * 1e3,
            (then + d_m - before) * 1e3
        ),
        _ => "find the nodes again".to_owned(),
    };
    let unusual = if d_m > priors::USUAL_TRIM_M { "; more than the usual 4 mm per end" } else { "" };
    let option = RescueOption {
        code: "trim_ends",
        action: format!("saw {:.1} mm off each end, then lower the modes that are sharp", d_m * 1e3),
        effect: format!("reads {} then{unusual}; {nodes}", listed(&after.cents)),
        predicted_cents: after.cents,
    };
    Ok(Some((d_m / priors::USUAL_TRIM_M, option)))
}

fn thin_ends(desk: &Desk<'_>, lift: &[f64]) -> Result<Option<(f64, RescueOption)>, MakingError> {
    let half_m = 0.5 * desk.belief.length_m();
    let width_m = (0.16 * half_m).clamp(0.010, 0.040);
    let band = |depth_m| Band { from_m: half_m - width_m, to_m: half_m, depth_m, side: Side::Both };
    let hand = desk.belief.hand();
    let apply = |belief: &mut Belief, depth_m: f64| belief.cut(&[band(depth_m / hand)]);
    // A third of the wood there: the end must still carry the blow and look like a bar.
    let most_m = desk.belief.thickness_at(0.0).0.min(desk.belief.thickness_at(2.0 * half_m).0) / 3.0;
    let Some((depth_m, _, after)) = amount(desk, lift, 0.0005, most_m, apply)? else { return Ok(None) };
    let option = RescueOption {
        code: "thin_ends",
        action: format!(
            "thin the underside of the outer {:.0} mm of both ends by {:.1} mm, then lower the modes that are sharp",
            width_m * 1e3,
            depth_m * 1e3
        ),
        effect: format!("reads {} then; length and holes stay; the ends show it", listed(&after.cents)),
        predicted_cents: after.cents,
    };
    // Costs looks and balance: half again as dear as the same share of a usual trim.
    Ok(Some((0.3 + 1.5 * depth_m / most_m, option)))
}

fn lower_note(desk: &Desk<'_>, semitones: i32) -> Result<Option<(f64, RescueOption)>, MakingError> {
    let goal = Goal::of(desk.job, semitones);
    let predicted_cents: Vec<f64> = desk.now.cents.iter().map(|c| c + 100.0 * f64::from(semitones)).collect();
    if !goal.flat(&predicted_cents).is_empty() {
        return Ok(None);
    }
    let end = plan::reach(desk.belief, &goal, desk.job.limits)?;
    // Within twice the tolerance by computation is as much as a forecast can promise.
    let close = end.cents.iter().zip(&goal.modes).all(|(c, m)| m.above(*c).abs() <= 2.0 * m.tolerance_cents);
    let verdict = if close {
        format!("all tuned modes come to their aims with {:.1} mm left at the thinnest", end.thinnest_m * 1e3)
    } else {
        format!("computed to end at {} with {:.1} mm left: not in line", listed(&end.cents), end.thinnest_m * 1e3)
    };
    let option = RescueOption {
        code: "lower_note",
        action: format!(
            "let it serve the note {semitones} semitone{} lower ({:.1} Hz) and cut on",
            if semitones == 1 { "" } else { "s" },
            goal.modes[0].target_hz
        ),
        effect: format!(
            "reads {} against the new targets; {verdict}; check its length against the schedule",
            listed(&predicted_cents)
        ),
        predicted_cents,
    };
    let cost = if close { 1.5 } else { 6.0 } + 0.5 * f64::from(semitones);
    Ok(Some((cost, option)))
}

/// A flat overtone may be let be; the fundamental may not.
fn accept(desk: &Desk<'_>, flat: &[usize]) -> Option<(f64, RescueOption)> {
    let off = |i: usize| desk.goal.modes[i].above(desk.now.cents[i]);
    // Flat modes cannot be mended by cutting; without any, every mode that is off must be borne.
    let off_aim = |i: &usize| !desk.goal.modes[*i].met(desk.now.cents[*i]);
    let wrong: Vec<usize> =
        if flat.is_empty() { (0..desk.goal.modes.len()).filter(off_aim).collect() } else { flat.to_vec() };
    let fundamental_off = off(0).abs() / desk.goal.modes[0].tolerance_cents;
    if flat.contains(&0) || fundamental_off > 3.0 && flat.is_empty() {
        return None;
    }
    let tolerances = |i: &usize| off(*i).abs() / desk.goal.modes[*i].tolerance_cents;
    let worst = wrong.iter().map(tolerances).fold(0.0, f64::max);
    let named: Vec<String> = wrong.iter().map(|i| format!("mode {} at {}", i + 1, signed(off(*i)))).collect();
    // Mode 3 of a bar above about A3 (220 Hz) is faint. Memory.
    let soft = desk.job.note_hz > 220.0 && wrong.iter().all(|i| *i >= 2);
    let option = RescueOption {
        code: "accept",
        action: format!("accept {} and tune the others", named.join(", ")),
        effect: if soft {
            "mode 3 is soft at this pitch: few will hear it".to_owned()
        } else {
            "it will be heard beside its neighbours: compare before deciding".to_owned()
        },
        predicted_cents: desk.now.cents.clone(),
    };
    // Never dearer than a new bar.
    Some(((0.4 * worst * if soft { 0.5 } else { 1.0 }).min(9.0), option))
}

fn replace() -> RescueOption {
    RescueOption {
        code: "replace",
        action: "replace the bar and keep this one as a blank for a shorter bar".to_owned(),
        effect: "costs a new blank: match board, age and colour".to_owned(),
        // Nothing can be said of a bar that is not there yet.
        predicted_cents: Vec::new(),
    }
}

fn listed(cents: &[f64]) -> String {
    let parts: Vec<String> = cents.iter().map(|c| format!("{c:+.0}").replace('-', "−")).collect();
    format!("{} cents", parts.join(" / "))
}
