//! The answer to "where do I cut next, and how much?".
use crate::belief::{Belief, believe};
use crate::error::MakingError;
use crate::plan::{self, Bout, Goal, Outcome, Standing};
use crate::{Advice, Band, Decision, Job, ModeOutlook, RescueOption, Stage, StopReading, priors, rescue, wait, words};
use bar_physics::units::shifted;

/// Everything a decision looks at.
pub(crate) struct Desk<'a> {
    pub job: &'a Job,
    pub belief: &'a Belief,
    pub goal: &'a Goal,
    pub now: &'a Standing,
}

/// What to do with the bar now, with the bands, the expected readings, the risk and the reasons.
///
/// The expected readings are those of the solid solved at the proposed shape. The risk counts what
/// this bout adds: a mode that may already be flat is told in the reasons instead.
///
/// # Errors
/// [`MakingError`] for values out of range and logs that contradict themselves.
pub fn next(job: &Job) -> Result<Advice, MakingError> {
    decide(job, &believe(job)?)
}

/// The same from a belief that has taken the whole log of `job`.
pub(crate) fn decide(job: &Job, belief: &Belief) -> Result<Advice, MakingError> {
    let goal = Goal::of(job, 0);
    let now = Standing::of(belief, &goal)?;
    let desk = Desk { job, belief, goal: &goal, now: &now };
    if let Some(instruction) = wait::reason(&desk) {
        return desk.advice(Decision::Wait, instruction);
    }
    if now.met(&goal) {
        return desk.finished();
    }
    if let Some(instruction) = wait::at_the_edge(&desk) {
        return desk.advice(Decision::Wait, instruction);
    }
    let flat = goal.flat(&now.cents);
    if !flat.is_empty() {
        if let Some(instruction) = wait::perhaps_flat(&desk, &flat) {
            return desk.advice(Decision::Wait, instruction);
        }
        let why = words::flat_modes(&desk, &flat);
        return desk.rescue(why, &flat, false);
    }
    let outcome = plan::bout(belief, &goal, job.limits, &now)?;
    match outcome {
        Outcome::Bout(bout) => desk.cut(&bout),
        // Within tolerance, only not surely so, and nothing left that is worth a bout.
        _ if goal.met(&now.cents) => desk.finished(),
        // After three readings it is not the reading that is unsure.
        Outcome::Unsure { risk } if now.readings < priors::UNMET_CHANCE.len() => {
            desk.advice(Decision::Wait, words::unsure(risk))
        }
        Outcome::Unsure { .. } => desk.rescue(words::stuck(&desk, false), &[], false),
        Outcome::Stuck { thin } => desk.rescue(words::stuck(&desk, thin), &[], thin),
    }
}

impl Desk<'_> {
    fn advice(&self, decision: Decision, instruction: String) -> Result<Advice, MakingError> {
        Ok(Advice {
            decision,
            instruction,
            stage: self.job.targets.stage(),
            pause: Vec::new(),
            reasons: words::reasons(self),
            learnt: self.belief.learnt().to_vec(),
            bands: Vec::new(),
            passes: None,
            outlook: self.outlook(self.now),
            risk_flat: 0.0,
            stop_when: None,
            belief: self.belief.summary()?,
            options: Vec::new(),
            cautions: words::cautions(self, decision, None),
        })
    }

    fn finished(&self) -> Result<Advice, MakingError> {
        let mut advice = self.advice(Decision::Finished, words::finished(self))?;
        if advice.stage == Stage::Rough {
            advice.pause = words::pause(self);
        }
        Ok(advice)
    }

    fn cut(&self, bout: &Bout) -> Result<Advice, MakingError> {
        let mut advice = self.advice(Decision::Cut, String::new())?;
        let stop = self.stop(&bout.after);
        let passes: Vec<(u32, u32)> = bout.bands.iter().map(|band| self.passes(band)).collect();
        advice.instruction = words::cut(&bout.bands, &passes, &stop);
        advice.reasons.extend(words::plan(self, bout));
        advice.bands = bout.bands.clone();
        advice.passes = Some(passes.iter().fold((0, 0), |sum, p| (sum.0 + p.0, sum.1 + p.1)));
        advice.outlook = self.outlook(&bout.after);
        advice.risk_flat = bout.risk;
        advice.stop_when = Some(stop);
        advice.cautions = words::cautions(self, Decision::Cut, Some(bout));
        Ok(advice)
    }

    fn rescue(&self, why: String, flat: &[usize], thin: bool) -> Result<Advice, MakingError> {
        let options: Vec<RescueOption> = rescue::options(self, flat, thin)?;
        let mut advice = self.advice(Decision::Rescue, words::rescue(&why, &options))?;
        advice.options = options;
        Ok(advice)
    }

    fn outlook(&self, after: &Standing) -> Vec<ModeOutlook> {
        let mode = |(i, goal): (usize, &plan::ModeGoal)| ModeOutlook {
            mode: i + 1,
            target_hz: goal.target_hz,
            now_cents: self.now.cents[i],
            now_sigma_cents: self.now.sigma(i),
            aim_cents: goal.aim_cents,
            expected_cents: after.cents[i],
            expected_sigma_cents: after.sigma(i),
            risk_flat: after.flat(self.goal, i),
        };
        self.goal.modes.iter().enumerate().map(mode).collect()
    }

    /// Watch the mode that comes nearest to its floor in σ among those this bout moves.
    fn stop(&self, after: &Standing) -> StopReading {
        let moved = |i: usize| {
            self.now.cents[i] - after.cents[i] > 0.2 * (self.now.cents[i] - self.goal.modes[i].aim_cents).abs()
        };
        let margin = |i: usize| (after.cents[i] - self.goal.modes[i].floor_cents()) / after.sigma(i).max(0.1);
        let all = 0..self.goal.modes.len();
        let watched = all.clone().filter(|i| moved(*i)).min_by(|a, b| margin(*a).total_cmp(&margin(*b))).unwrap_or(0);
        let cents = after.cents[watched];
        StopReading { mode: watched + 1, cents, hz: shifted(self.goal.modes[watched].target_hz, cents) }
    }

    /// Passes for a band, from the believed depth of a pass; never less than one.
    fn passes(&self, band: &Band) -> (u32, u32) {
        let (pass_m, ln_sigma) = self.belief.pass_depth();
        let actual_m = band.depth_m * self.belief.hand();
        let count = |pass_m: f64| (actual_m / pass_m).clamp(1.0, 1000.0);
        // One σ either way: the range a maker is likely to need.
        let few = count(pass_m * ln_sigma.exp()).floor() as u32;
        let many = count(pass_m * (-ln_sigma).exp()).ceil() as u32;
        (few, many)
    }

    /// Chance that mode `i` is flat already.
    pub fn flat_now(&self, i: usize) -> f64 {
        self.now.flat(self.goal, i)
    }

    /// Whether mode `i` is known too poorly to be judged: doubt wider than the tolerance, and a real
    /// chance of being flat already.
    pub fn unclear(&self, i: usize) -> bool {
        self.now.sigma(i) > self.goal.modes[i].tolerance_cents && self.flat_now(i) > priors::RISK_LIMIT
    }
}
