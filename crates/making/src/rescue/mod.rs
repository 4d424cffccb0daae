//! Ways out when no removal from the arch helps, each played to its end with the solid: the step itself, cutting
//! on, and then nodes and holes.
//!
//! * [`rescue`] — the question "is this bar lost, and what could it still be?" by itself, holes included
//! * `options` — the same ways out as [`crate::next`] gives them
mod ends;
mod note;
mod outcome;

pub use outcome::{HoleOutcome, Rescue};

use crate::belief::{Belief, believe};
use crate::error::{MakingError, in_range};
use crate::next::Desk;
use crate::plan::{self, Goal, Outcome, Standing};
use crate::words::signed;
use crate::{Job, RescueOption, priors};
use outcome::Played;

/// Everything a rescue is judged by.
pub(crate) struct Ward<'a> {
    pub belief: &'a Belief,
    pub job: &'a Job,
    pub goal: &'a Goal,
    pub now: &'a Standing,
    /// Holes from the left end, if the bar is drilled.
    pub holes_m: &'a [f64],
}

/// Whether the bar is lost, and the ways out.
#[derive(Debug, Clone)]
pub struct RescueAdvice {
    /// One sentence: what is wrong and what to do first.
    pub verdict: String,
    /// Cents of each tuned mode above its target now, and their standard uncertainty.
    pub now: Vec<(f64, f64)>,
    /// Modes (from 1) that are flat of their aim by more than the tolerance.
    pub flat: Vec<usize>,
    /// Ways out, best first; empty if none is needed.
    pub options: Vec<Rescue>,
    /// Short cautions.
    pub cautions: Vec<String>,
}

/// Is this bar lost? Every way out, played to its end; `holes_m` are the cord holes from the left end, if drilled.
///
/// # Errors
/// [`MakingError`] for values out of range and logs that contradict themselves.
pub fn rescue(job: &Job, holes_m: &[f64]) -> Result<RescueAdvice, MakingError> {
    let belief = believe(job)?;
    for hole_m in holes_m {
        let hint = "give the middle of each hole from the left end of the bar as it is now";
        in_range("a hole", hole_m * 1e3, 1.0, belief.length_m() * 1e3 - 1.0, "mm from the left end", hint)?;
    }
    if !belief.diary.shaped && job.underside.is_none() {
        let message = "the bar has no arch yet: nothing can be lost";
        return Err(MakingError::new("not_sawn", message, "ask for the arch first, and enter the sawn shape"));
    }
    let goal = Goal::of(job, 0);
    let now = Standing::of(&belief, &goal)?;
    let ward = Ward { belief: &belief, job, goal: &goal, now: &now, holes_m };
    let flat = goal.flat(&now.cents);
    let stuck = flat.is_empty()
        && !goal.met(&now.cents)
        && matches!(plan::bout(&belief, &goal, job.limits, &now)?, Outcome::Stuck { .. });
    let options = if flat.is_empty() && !stuck { Vec::new() } else { ranked(&ward, &flat, false)? };
    Ok(RescueAdvice {
        verdict: verdict(&ward, &flat, &options),
        now: (0..now.cents.len()).map(|i| (now.cents[i], now.sigma(i))).collect(),
        flat: flat.iter().map(|i| i + 1).collect(),
        cautions: cautions(&ward, &options),
        options,
    })
}

/// The ways out, best first, for modes (from 0) that are flat, or for an arch that is too thin.
pub(crate) fn options(desk: &Desk<'_>, flat: &[usize], thin: bool) -> Result<Vec<RescueOption>, MakingError> {
    let ward = Ward { belief: desk.belief, job: desk.job, goal: desk.goal, now: desk.now, holes_m: &[] };
    Ok(ranked(&ward, flat, thin)?.into_iter().map(|rescue| rescue.option).collect())
}

fn ranked(ward: &Ward<'_>, flat: &[usize], thin: bool) -> Result<Vec<Rescue>, MakingError> {
    let lift = lift(ward, flat);
    let mut ranked: Vec<Rescue> = Vec::new();
    if !thin {
        ranked.extend(ends::trim(ward, &lift)?);
        ranked.extend(ends::thin(ward, &lift)?);
        for semitones in [1, 2, -1, -2] {
            ranked.extend(note::serve(ward, semitones)?);
        }
    }
    ranked.extend(accept(ward, flat)?);
    ranked.push(replace());
    ranked.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    Ok(ranked)
}

/// Cents each mode must rise: to its aim if it is flat; otherwise, when the relation of the modes is
/// what blocks, the lowest rises by half of what the highest is above, so that both can come down.
fn lift(ward: &Ward<'_>, flat: &[usize]) -> Vec<f64> {
    let above: Vec<f64> = ward.goal.modes.iter().zip(&ward.now.cents).map(|(m, c)| m.above(*c)).collect();
    if !flat.is_empty() {
        return above.iter().map(|a| (-a).max(0.0)).collect();
    }
    let highest = above.iter().copied().fold(0.0, f64::max);
    let lowest = above.iter().copied().fold(f64::INFINITY, f64::min);
    above.iter().map(|a| if *a <= lowest { 0.5 * highest } else { 0.0 }).collect()
}

/// A flat overtone may be let be; the fundamental may not.
fn accept(ward: &Ward<'_>, flat: &[usize]) -> Result<Option<Rescue>, MakingError> {
    let off = |i: usize| ward.goal.modes[i].above(ward.now.cents[i]);
    // Flat modes cannot be mended by cutting; without any, every mode that is off must be borne.
    let off_aim = |i: &usize| !ward.goal.modes[*i].met(ward.now.cents[*i]);
    let wrong: Vec<usize> =
        if flat.is_empty() { (0..ward.goal.modes.len()).filter(off_aim).collect() } else { flat.to_vec() };
    let fundamental_off = off(0).abs() / ward.goal.modes[0].tolerance_cents;
    if flat.contains(&0) || fundamental_off > 3.0 && flat.is_empty() {
        return Ok(None);
    }
    // Cutting on for the modes below the lowest wrong one may pull it farther down: that is played too.
    let kept = wrong.iter().copied().min().unwrap_or(0).max(1);
    let fewer = Goal { modes: ward.goal.modes[..kept].to_vec() };
    let end = outcome::play(ward, ward.belief, &fewer)?;
    let at_end = end.all_cents(ward.goal)?;
    let tolerances = |i: &usize| ward.goal.modes[*i].above(at_end[*i]).abs() / ward.goal.modes[*i].tolerance_cents;
    let worst = wrong.iter().map(tolerances).fold(0.0, f64::max);
    let named: Vec<String> = wrong.iter().map(|i| format!("mode {} at {}", i + 1, signed(off(*i)))).collect();
    // Mode 3 of a bar above about A3 (220 Hz) is faint. Memory.
    let soft = ward.job.note_hz > 220.0 && wrong.iter().all(|i| *i >= 2);
    let heard = if soft {
        "mode 3 is soft at this pitch: few will hear it"
    } else {
        "it will be heard beside its neighbours: compare before deciding"
    };
    let option = RescueOption {
        code: "accept",
        action: format!("accept {} and tune the others", named.join(", ")),
        effect: format!("{heard}; computed to end at {}", outcome::listed(&at_end)),
        amount_m: None,
        predicted_cents: ward.now.cents.clone(),
    };
    // Never dearer than a new bar.
    let cost = (0.4 * worst * if soft { 0.5 } else { 1.0 }).min(9.0);
    Ok(Some(outcome::told(option, cost, &Played { cents: at_end, ..end }, ward, 0.0)?))
}

fn replace() -> Rescue {
    let option = RescueOption {
        code: "replace",
        action: "replace the bar and keep this one as a blank for a shorter bar".to_owned(),
        effect: "costs a new blank: match board, age and colour".to_owned(),
        amount_m: None,
        // Nothing can be said of a bar that is not there yet.
        predicted_cents: Vec::new(),
    };
    Rescue {
        option,
        cost: 10.0,
        works: true,
        semitones: 0,
        final_cents: Vec::new(),
        thinnest_m: None,
        length_m: None,
        nodes_m: Vec::new(),
        holes: Vec::new(),
    }
}

fn verdict(ward: &Ward<'_>, flat: &[usize], options: &[Rescue]) -> String {
    let Some(best) = options.first() else {
        return "Not lost: no mode is flat, and cutting on reaches the targets. Ask for the next cut.".to_owned();
    };
    let named: Vec<String> = flat
        .iter()
        .map(|i| format!("mode {} is {} of its aim", i + 1, flatness(ward.goal.modes[*i].above(ward.now.cents[*i]))))
        .collect();
    let what = if named.is_empty() { "no cut brings the modes into line".to_owned() } else { named.join(", ") };
    let lost = best.option.code == "replace";
    format!(
        "{}: {what}. {}: {}.",
        if lost { "Lost for this note" } else { "Not lost" },
        if lost { "Best" } else { "First choice" },
        best.option.action
    )
}

fn flatness(cents: f64) -> String {
    format!("{:.0} cents flat", cents.abs())
}

fn cautions(ward: &Ward<'_>, options: &[Rescue]) -> Vec<String> {
    let mut out = Vec::new();
    if options.is_empty() {
        return out;
    }
    let latest = ward.belief.diary.latest.as_ref();
    match latest.and_then(|reading| reading.temperature_c) {
        Some(bar_c) if bar_c > priors::ROOM_C.1 => out.push(format!(
            "The bar was {bar_c:.0} °C when it was heard: let it cool for 10 minutes or more and strike again before you cut"
        )),
        Some(_) => {}
        None => out.push("If the bar was just sanded it reads flat while warm: wait 10 minutes, strike again, and only then decide".to_owned()),
    }
    out.push("Sawing cannot be undone: strike three times and look at the spread first".to_owned());
    if ward.holes_m.is_empty() {
        out.push("If the bar is drilled, give the holes: a rescue moves the node lines away from them".to_owned());
    }
    out
}
