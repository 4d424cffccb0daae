//! One bar from the saw to the end of its tuning, with an adviser and the clumsy maker, and what came of it.
use super::VirtualBar;
use super::greedy;
use crate::error::MakingError;
use crate::{Advice, Band, Decision, ModeOutlook};

/// Bouts after which even a patient maker gives up.
const MOST_BOUTS: usize = 16;
/// Times in a row that a maker strikes again because he is told to wait.
const MOST_WAITS: usize = 6;
/// Rescues that one bar is worth.
const MOST_RESCUES: usize = 2;
/// What a finished bar is judged by, cents from 1 : 4 : 10: mode 1, 2, 3.
pub const TOLERANCE_CENTS: [f64; 3] = [2.0, 5.0, 10.0];

/// Who says where to cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Adviser {
    /// [`crate::next`].
    Planner,
    /// The sharpest mode, the band that moves it most, half of what is left; see `greedy.rs`.
    Greedy,
}

/// One answer of the adviser and the bar it was given for.
#[derive(Debug, Clone)]
pub struct Step {
    /// What was advised.
    pub decision: Decision,
    /// True cents of each tuned mode at that moment.
    pub true_cents: Vec<f64>,
    /// What the adviser believed and expected.
    pub outlook: Vec<ModeOutlook>,
    /// Bands to take off.
    pub bands: Vec<Band>,
    /// Passes told, the fewest.
    pub passes: Option<u32>,
    /// What to saw off each end, if that is the first choice of a rescue.
    pub trim_m: Option<f64>,
    /// The instruction.
    pub said: String,
}

/// What came of one rehearsed bar.
#[derive(Debug, Clone)]
pub struct Run {
    /// Seed of the bar and of the hand.
    pub seed: u64,
    /// Its note.
    pub note_hz: f64,
    /// Mass of its blank, in kilograms.
    pub blank_kg: f64,
    /// True cents after sawing.
    pub start_cents: Vec<f64>,
    /// True cents in the end.
    pub end_cents: Vec<f64>,
    /// Bouts of sanding after sawing.
    pub bouts: usize,
    /// Rescues carried out (trimmed ends).
    pub rescues: usize,
    /// The last answer: finished, or the one that could not be followed any more.
    pub decision: Decision,
    /// Its instruction.
    pub said: String,
    /// Every answer in order.
    pub trail: Vec<Step>,
    /// (truth − belief) / σ of every tuned mode whenever advice was given.
    pub surprise_now: Vec<f64>,
    /// (truth − expectation) / σ of every tuned mode after a cut.
    pub surprise_after: Vec<f64>,
}

impl Run {
    /// Whether the adviser called it finished and every tuned mode truly is within [`TOLERANCE_CENTS`].
    pub fn within(&self) -> bool {
        self.decision == Decision::Finished && self.worst_tolerances() <= 1.0
    }

    /// Whether a tuned mode that was not flat after sawing ended flat beyond its tolerance.
    pub fn flat_through_advice(&self) -> bool {
        let flat = |(c, t): (&f64, f64)| *c < -t;
        !self.start_cents.iter().zip(TOLERANCE_CENTS).any(flat) && self.end_cents.iter().zip(TOLERANCE_CENTS).any(flat)
    }

    /// The farthest mode's distance in the end, in tolerances.
    pub fn worst_tolerances(&self) -> f64 {
        self.end_cents.iter().zip(TOLERANCE_CENTS).map(|(c, t)| c.abs() / t).fold(0.0, f64::max)
    }
}

/// Saws, strikes and sands the invented bar `seed` for `note_hz` as `adviser` says until it is finished or
/// the adviser knows no more.
///
/// # Errors
/// [`MakingError`] as [`VirtualBar::new`], or if the log becomes contradictory.
pub fn rehearse(seed: u64, note_hz: f64, adviser: Adviser) -> Result<Run, MakingError> {
    let mut bar = VirtualBar::new(seed, note_hz)?;
    let mut run = Run::of(seed, note_hz, bar.true_cents()?);
    run.blank_kg = bar.job().mass_kg.unwrap_or(0.0);
    let mut waits = 0;
    loop {
        let mut step = match adviser {
            Adviser::Planner => Step::of(bar.advise()?),
            Adviser::Greedy => {
                bar.catch_up()?;
                greedy::advise(bar.job(), bar.belief())?
            }
        };
        step.true_cents = bar.true_cents()?;
        run.note(&step);
        match step.decision {
            Decision::Cut if run.bouts < MOST_BOUTS => {
                bar.cut(&step.bands, step.passes)?;
                run.judge(&step, &bar.true_cents()?);
                (run.bouts, waits) = (run.bouts + 1, 0);
            }
            Decision::Wait if waits < MOST_WAITS => waits += 1,
            Decision::Rescue if run.rescues < MOST_RESCUES => match step.trim_m {
                Some(d_m) => {
                    bar.trim(d_m)?;
                    run.rescues += 1;
                }
                None => break,
            },
            _ => break,
        }
        bar.hear()?;
    }
    run.end_cents = bar.true_cents()?;
    Ok(run)
}

impl Run {
    fn of(seed: u64, note_hz: f64, start_cents: Vec<f64>) -> Self {
        Self {
            seed,
            note_hz,
            blank_kg: 0.0,
            end_cents: start_cents.clone(),
            start_cents,
            bouts: 0,
            rescues: 0,
            decision: Decision::Wait,
            said: String::new(),
            trail: Vec::new(),
            surprise_now: Vec::new(),
            surprise_after: Vec::new(),
        }
    }

    fn note(&mut self, step: &Step) {
        let off = |(o, c): (&ModeOutlook, &f64)| (c - o.now_cents) / o.now_sigma_cents;
        self.surprise_now.extend(step.outlook.iter().zip(&step.true_cents).map(off));
        (self.decision, self.said) = (step.decision, step.said.clone());
        self.trail.push(step.clone());
    }

    fn judge(&mut self, step: &Step, true_cents: &[f64]) {
        let off = |(o, c): (&ModeOutlook, &f64)| (c - o.expected_cents) / o.expected_sigma_cents;
        self.surprise_after.extend(step.outlook.iter().zip(true_cents).map(off));
    }
}

impl Step {
    fn of(advice: Advice) -> Self {
        Self {
            decision: advice.decision,
            true_cents: Vec::new(),
            passes: advice.passes.map(|p| p.0),
            outlook: advice.outlook,
            bands: advice.bands,
            trim_m: advice.options.first().filter(|o| o.code == "trim_ends").and_then(|o| o.amount_m),
            said: advice.instruction,
        }
    }
}
