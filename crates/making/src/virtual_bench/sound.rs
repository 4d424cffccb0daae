//! What a blow excites, so that a program can make the simulated bar's sound.
use super::VirtualBar;
use crate::error::MakingError;
use bar_physics::{Mode, ModeKind, Wanted, modes_that_stand_out};

/// Where the bar is struck.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StrikePlace {
    /// In the middle.
    Centre,
    /// At a quarter of the length.
    Quarter,
    /// Near the end, on the middle of the width.
    End,
    /// Near a corner.
    Corner,
}

impl StrikePlace {
    /// (share of the length from the left end, share of the half-width off the middle).
    fn place(self) -> (f64, f64) {
        match self {
            // Nobody hits the middle of the width exactly: 6 % off, so torsion is faint but there.
            Self::Centre => (0.5, 0.06),
            Self::Quarter => (0.25, 0.06),
            Self::End => (0.03, 0.06),
            Self::Corner => (0.03, 0.9),
        }
    }
}

/// One decaying partial of a struck bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StruckMode {
    /// Family.
    pub kind: ModeKind,
    /// Number inside the family, from 1.
    pub number: usize,
    /// Frequency.
    pub hz: f64,
    /// Time in which the amplitude falls to 1/e.
    pub decay_s: f64,
    /// Amplitude relative to the loudest partial, from 0 to 1.
    pub amplitude: f64,
}

/// Contact of a mallet of middling hardness. Memory: 0.5 to 2 ms on wooden bars.
const CONTACT_S: f64 = 0.8e-3;
/// Losses 1/Q of bending; torsion loses about twice that, through the softer shear. Invented values
/// of the size seen in dense hardwoods.
const BENDING_LOSS: f64 = 0.008;
const TORSION_LOSS: f64 = 0.016;

impl VirtualBar {
    /// The partials that a blow at `place` excites, loudest 1, in order of frequency.
    ///
    /// Rule: amplitude ∝ |mode shape at the blow| × exp(−(f·contact)²) (a Gaussian pulse of force), for
    /// torsion also × distance from the middle of the width; decay 1/(π f loss).
    ///
    /// # Errors
    /// [`MakingError`] if the bar has become impossible.
    pub fn strike(&self, place: StrikePlace) -> Result<Vec<StruckMode>, MakingError> {
        let modes = modes_that_stand_out(self.hidden(), Wanted { bending: 5, torsion: 2, sideways: 0 })?;
        let (share_x, share_y) = place.place();
        let mut out: Vec<StruckMode> = Vec::new();
        for mode in &modes.bending {
            let shape = at(&mode.top_centre_shape, share_x) / largest(&mode.top_centre_shape);
            out.push(partial(mode, shape.abs(), BENDING_LOSS));
        }
        for mode in &modes.torsion {
            // Torsion n turns most at the ends; cos(nπx/L) is the uniform bar's shape, enough for loudness.
            let turn = (std::f64::consts::PI * mode.number as f64 * share_x).cos();
            out.push(partial(mode, turn.abs() * share_y, TORSION_LOSS));
        }
        let loudest = out.iter().map(|m| m.amplitude).fold(1e-12, f64::max);
        out.iter_mut().for_each(|m| m.amplitude /= loudest);
        out.sort_by(|a, b| a.hz.total_cmp(&b.hz));
        Ok(out)
    }
}

fn partial(mode: &Mode, shape: f64, loss: f64) -> StruckMode {
    let pulse = (-(mode.hz * CONTACT_S).powi(2)).exp();
    // A hard core of the mallet keeps high partials from vanishing: a hundredth of the force.
    let amplitude = shape * (0.99 * pulse + 0.01);
    StruckMode {
        kind: mode.kind,
        number: mode.number,
        hz: mode.hz,
        decay_s: 1.0 / (std::f64::consts::PI * mode.hz * loss),
        amplitude,
    }
}

fn at(values: &[f64], share: f64) -> f64 {
    let s = share * (values.len() - 1) as f64;
    let i = (s.floor() as usize).min(values.len() - 2);
    values[i] + (s - i as f64) * (values[i + 1] - values[i])
}

fn largest(values: &[f64]) -> f64 {
    values.iter().fold(1e-12, |a: f64, b| a.max(b.abs()))
}
