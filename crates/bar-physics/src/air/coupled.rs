//! A bar over its tube: how long it rings and how loud it is, by how far the tube stands off.
use super::{AirError, StoppedTube};
use std::f64::consts::TAU;

/// Natural logarithm of a fall by 60 dB.
const LN_60_DB: f64 = 6.907_755_278_982_137;

impl StoppedTube {
    /// Rate, in 1/s, at which the amplitude in the tube falls by what the walls take and the mouth radiates: c/(2L)·((ka)²/2 + 2αL) with
    /// α = 3·10⁻⁵ √f / a (Fletcher & Rossing, The Physics of Musical Instruments, 2nd ed. 1998, ch. 8; from memory). Smooth dry walls and a
    /// tight stopper; a leak takes more.
    ///
    /// # Errors
    /// As [`StoppedTube::length_m`].
    pub fn decay_per_s(&self, hz: f64, sound_m_s: f64) -> Result<f64, AirError> {
        self.length_m(hz, sound_m_s)?;
        // The air that swings ends where the end correction ends.
        let length_m = sound_m_s / (4.0 * hz);
        let ka = TAU * hz / sound_m_s * self.radius_m;
        let wall_per_m = 3e-5 * hz.sqrt() / self.radius_m;
        Ok(sound_m_s / (2.0 * length_m) * (0.5 * ka * ka + 2.0 * wall_per_m * length_m))
    }
}

/// Two weakly coupled, damped oscillators, the bar's first mode and the air in its tube, near a common frequency.
///
/// ȧ = −β a + iκ p, ṗ = (iδ − γ) p + iκ a, written in the frame that turns with the bar: a and p are scaled so that their squares are energies.
/// The usual picture of coupled modes (e.g. Weinreich, J. Acoust. Soc. Am. 62 (1977) 1474, for strings over a bridge); κ is fitted to how
/// long a bar rings with its tube in tune.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BarOverTube {
    /// β: rate at which the bar's amplitude falls without a tube, in 1/s.
    pub bar_per_s: f64,
    /// γ: rate at which the tube's amplitude falls by itself, in 1/s.
    pub tube_per_s: f64,
    /// κ, in 1/s.
    pub coupling_per_s: f64,
}

impl BarOverTube {
    /// From the seconds a bar takes to fall by 60 dB without a tube and over one in tune, and the tube's own rate.
    ///
    /// # Errors
    /// [`AirError::OutOfRange`]; the ring over a tube cannot be longer than without, nor shorter than the coupling allows (both rates' mean).
    pub fn from_rings(without_s: f64, in_tune_s: f64, tube_per_s: f64) -> Result<Self, AirError> {
        AirError::within("the ring without a tube", without_s, 0.02, 60.0, "s")?;
        AirError::within("the tube's own rate", tube_per_s, 0.1, 1e4, "1/s")?;
        let bar_per_s = LN_60_DB / without_s;
        // A tube that is duller than the bar is what the picture is about.
        AirError::within("the tube's own rate", tube_per_s, bar_per_s, 1e4, "1/s")?;
        let shortest_s = LN_60_DB / (0.5 * (bar_per_s + tube_per_s));
        AirError::within("the ring over the tube", in_tune_s, shortest_s, without_s, "s")?;
        // In tune both rates λ solve (λ − β)(λ − γ) + κ² = 0; the slow one is given.
        let slow = LN_60_DB / in_tune_s;
        let coupling_per_s = ((slow - bar_per_s) * (tube_per_s - slow)).max(0.0).sqrt();
        Ok(Self { bar_per_s, tube_per_s, coupling_per_s })
    }

    /// Seconds in which what rings longest falls by 60 dB, with the tube tuned off by `detuned_hz`.
    pub fn ring_s(&self, detuned_hz: f64) -> f64 {
        LN_60_DB / self.rates(detuned_hz)[0]
    }

    /// Both rates of fall, the slow one first.
    pub fn rates(&self, detuned_hz: f64) -> [f64; 2] {
        // λ = −(β+γ)/2 + iδ/2 ± √(((γ−β) − iδ)²/4 − κ²).
        let (re, im) = (0.5 * (self.tube_per_s - self.bar_per_s), -0.5 * TAU * detuned_hz);
        let (square_re, square_im) = (re * re - im * im - self.coupling_per_s * self.coupling_per_s, 2.0 * re * im);
        let root_re = (0.5 * (square_re.hypot(square_im) + square_re)).max(0.0).sqrt();
        let mean = 0.5 * (self.bar_per_s + self.tube_per_s);
        [mean - root_re, mean + root_re]
    }

    /// Share of the blow's energy that the tube takes and gives on to air and walls, the rest being lost in bar and cords; from 0 to 1.
    ///
    /// ∫2γ|p|² over all time, from the stationary balance of the two energies and their product.
    pub fn tube_share(&self, detuned_hz: f64) -> f64 {
        let (b, g, k, d) = (self.bar_per_s, self.tube_per_s, self.coupling_per_s, TAU * detuned_hz);
        // With A, P, Y the integrals of |a|², |p|² and Im(p a*), and |a|² = 1 at first: 2βA + 2κY = 1, γP = κY,
        // Y = κ (A − P)(β + γ)/((β + γ)² + δ²).
        let across = k * k * (b + g) / ((b + g) * (b + g) + d * d);
        let ratio = across / (g + across);
        let kept_s = 0.5 / (b + g * ratio);
        2.0 * g * ratio * kept_s
    }

    /// Level of the tube's sound against a tube in tune, in dB, just after the blow: |p/a|² as it stands soon, (γ² + δ²)⁻¹.
    pub fn early_db(&self, detuned_hz: f64) -> f64 {
        let (faster, d) = (self.tube_per_s - self.bar_per_s, TAU * detuned_hz);
        10.0 * (faster * faster / (faster * faster + d * d)).log10()
    }

    /// Energy of the tube's sound over the whole ring against a tube in tune, in dB.
    pub fn energy_db(&self, detuned_hz: f64) -> f64 {
        if self.coupling_per_s <= 0.0 {
            return 0.0;
        }
        10.0 * (self.tube_share(detuned_hz) / self.tube_share(0.0)).log10()
    }
}
