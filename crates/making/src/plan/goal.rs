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
    ///
    /// The share is the largest at which every mode keeps clear of its floor. `sigmas` are the doubts of the modes
    /// now, `gain_sigma` that of ln(actual / planned fall).
    pub fn falls(&self, cents: &[f64], sigmas: &[f64], gain_sigma: f64) -> Vec<f64> {
        let near = |mode: &ModeGoal, c: f64| mode.above(c) <= priors::NEAR_CENTS;
        let to_landing = |mode: &ModeGoal, c: f64| (c - mode.landing_cents()).max(0.0);
        let all = || self.modes.iter().zip(cents);
        let share = all()
            .zip(sigmas)
            .filter(|((mode, c), _)| !near(mode, **c) && to_landing(mode, **c) > 0.0)
            .map(|((mode, c), sigma)| safe_fall(c - mode.floor_cents(), *sigma, gain_sigma) / to_landing(mode, *c))
            .fold(1.0, f64::min);
        let fall = |(mode, c): (&ModeGoal, &f64)| {
            let whole = to_landing(mode, *c);
            if near(mode, *c) { whole.min(0.5 * mode.above(*c).max(0.0)) } else { whole * share }
        };
        all().map(fall).collect()
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

/// The largest fall F from `height` above the floor that ends on it only with the aimed risk:
/// height − F = z √(σ² + g² F²), solved for F.
fn safe_fall(height: f64, sigma: f64, gain_sigma: f64) -> f64 {
    const Z: f64 = priors::RISK_AIM_SIGMAS;
    // A hand errs by a factor: at two of its σ the fall is exp(2 g) times the planned one.
    let g = 0.5 * ((2.0 * gain_sigma).exp() - 1.0);
    let room = height * height - (Z * sigma).powi(2);
    if height <= Z * sigma {
        return 0.0;
    }
    let a = 1.0 - (Z * g).powi(2);
    if a.abs() < 1e-6 {
        return 0.5 * room / height;
    }
    (height - (height * height - a * room).sqrt()) / a
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
        let falls = goal().falls(&[2.8, 2.9, 4.0], &[0.1; 3], 0.05);
        assert!((falls[0] - 1.4).abs() < 1e-12 && (falls[1] - 1.45).abs() < 1e-12);
        // Mode 3 is beyond the last 3 cents and steady enough to go all its way to 2.5 above the aim.
        assert!((falls[2] - 1.5).abs() < 1e-12);
    }

    #[test]
    fn far_from_the_aim_all_modes_go_the_same_share() {
        let falls = goal().falls(&[500.5, 401.25, 302.5], &[0.5; 3], 0.2);
        let share = falls[0] / 500.0;
        assert!(share > 0.4 && share < 0.8, "{share}");
        // The ways to the landing places are 500, 400 and 300 cents; tolerance is rounding.
        assert!((falls[1] - 400.0 * share).abs() < 1e-9 && (falls[2] - 300.0 * share).abs() < 1e-9);
    }

    proptest::proptest! {
        #[test]
        fn a_safe_fall_keeps_the_aimed_distance_from_the_floor(
            height in 0.5_f64..900.0, sigma in 0.0_f64..3.0, gain in 0.01_f64..0.5,
        ) {
            let fall = safe_fall(height, sigma, gain);
            let g = 0.5 * ((2.0 * gain).exp() - 1.0);
            let left = height - fall - priors::RISK_AIM_SIGMAS * (sigma * sigma + (g * fall).powi(2)).sqrt();
            proptest::prop_assert!(fall >= 0.0 && fall < height + 1e-9);
            // Equality where there is room at all; tolerance is rounding.
            proptest::prop_assert!(left.abs() < 1e-6 * height || fall <= 0.0 && left <= 0.0);
        }
    }

    #[test]
    fn flat_and_met_follow_the_tolerance() {
        assert_eq!(goal().flat(&[-1.9, -5.1, 0.0]), vec![1]);
        assert!(goal().met(&[2.0, -5.0, 10.0]) && !goal().met(&[2.1, 0.0, 0.0]));
    }
}
