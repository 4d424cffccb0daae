//! What this stage wants of each tuned mode, and how far one bout should go.
use crate::{Job, priors};

/// One tuned mode's aim.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct ModeGoal {
    /// Note × ratio.
    pub target_hz: f64,
    /// Wanted cents above the target.
    pub aim_cents: f64,
    /// Allowed distance from the aim.
    pub tolerance_cents: f64,
}

impl ModeGoal {
    /// Cents above the aim.
    pub fn above(&self, cents: f64) -> f64 {
        cents - self.aim_cents
    }

    /// Below this the mode is flat.
    pub fn floor_cents(&self) -> f64 {
        self.aim_cents - self.tolerance_cents
    }

    /// Where a mode is put down inside its tolerance.
    pub fn landing_cents(&self) -> f64 {
        self.aim_cents + priors::LANDING_SHARE * self.tolerance_cents
    }

    /// Whether a mode at `cents` is where this stage wants it.
    pub fn met(&self, cents: f64) -> bool {
        self.above(cents).abs() <= self.tolerance_cents
    }
}

/// All tuned modes' aims.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Goal {
    pub modes: Vec<ModeGoal>,
}

impl Goal {
    /// Of a job; `semitones` lowers the note (for retargeting).
    pub fn of(job: &Job, semitones: i32) -> Self {
        let note_hz = job.note_hz * (-f64::from(semitones) / 12.0).exp2();
        let headroom = job.targets.headroom_cents;
        let mode = |(i, ratio): (usize, &f64)| ModeGoal {
            target_hz: note_hz * ratio,
            aim_cents: headroom,
            tolerance_cents: priors::tolerance_cents(i + 1, headroom),
        };
        Self { modes: job.targets.ratios.iter().enumerate().map(mode).collect() }
    }

    /// Whether every mode is met.
    pub fn met(&self, cents: &[f64]) -> bool {
        self.modes.iter().zip(cents).all(|(mode, c)| mode.met(*c))
    }

    /// Modes (from 0) that are flat beyond their tolerance.
    pub fn flat(&self, cents: &[f64]) -> Vec<usize> {
        (0..cents.len()).filter(|i| cents[*i] < self.modes[*i].floor_cents()).collect()
    }

    /// Wanted fall of each mode in one bout: the same share of each one's way, so that all come down
    /// in step and their relation improves; near the aim at most half of what is left.
    pub fn falls(&self, cents: &[f64], share: f64) -> Vec<f64> {
        let fall = |(mode, c): (&ModeGoal, &f64)| {
            let above = mode.above(*c);
            let to_landing = (c - mode.landing_cents()).max(0.0);
            if above <= priors::NEAR_CENTS { to_landing.min(0.5 * above.max(0.0)) } else { to_landing * share }
        };
        self.modes.iter().zip(cents).map(fall).collect()
    }

    /// Whether `after` is worth a bout: the worst mode, in tolerances, comes at least 5 % nearer.
    pub fn nearer(&self, before: &[f64], after: &[f64]) -> bool {
        let worst = |cents: &[f64]| {
            let scaled = self.modes.iter().zip(cents).map(|(m, c)| m.above(*c).abs() / m.tolerance_cents);
            scaled.fold(0.0, f64::max)
        };
        worst(after) < 0.95 * worst(before)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn goal() -> Goal {
        let mode = |tolerance_cents| ModeGoal { target_hz: 100.0, aim_cents: 0.0, tolerance_cents };
        Goal { modes: vec![mode(2.0), mode(5.0), mode(10.0)] }
    }

    #[test]
    fn near_the_aim_at_most_half_is_taken() {
        let falls = goal().falls(&[3.8, 3.9, 4.0], 0.9);
        assert!((falls[0] - 1.9).abs() < 1e-12 && (falls[1] - 1.9).abs() < 1e-12);
        // Mode 3 already lies where it may be put down.
        assert!(falls[2].abs() < 1e-12);
    }

    #[test]
    fn far_from_the_aim_all_modes_go_the_same_share() {
        let falls = goal().falls(&[500.8, 402.0, 304.0], 0.5);
        assert!((falls[0] - 250.0).abs() < 1e-9 && (falls[1] - 200.0).abs() < 1e-9 && (falls[2] - 150.0).abs() < 1e-9);
    }

    #[test]
    fn flat_and_met_follow_the_tolerance() {
        assert_eq!(goal().flat(&[-1.9, -5.1, 0.0]), vec![1]);
        assert!(goal().met(&[2.0, -5.0, 10.0]) && !goal().met(&[2.1, 0.0, 0.0]));
    }
}
