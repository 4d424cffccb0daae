//! Uniform free-free bar after Timoshenko, from the exact frequency equation.
//!
//! With b² = ρAL⁴ω²/(EI), r² = I/(AL²), s² = EI/(κGAL²) the shape has a hyperbolic wave number A and a
//! circular one B per length. Sources: T. C. Huang, J. Appl. Mech. 28 (1961) 579–584; Han, Benaroya &
//! Wei, J. Sound Vib. 225 (1999) 935–988; formula recalled and confirmed numerically.
use super::{BeamError, UniformBar, UniformShape, bisected, check_mode};
use std::f64::consts::PI;

/// Higher modes are not asked of a bar, and the search stays short.
const HIGHEST_MODE: usize = 1000;

/// One bending mode of a uniform Timoshenko bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UniformTimoshenkoMode {
    /// Frequency in hertz.
    pub hz: f64,
    /// Dimensionless pulsation b = ω L² √(ρA/EI).
    pub pulsation: f64,
    /// Shape of the deflection.
    pub shape: UniformShape,
}

/// Left side of the free-free frequency equation, divided by cosh A so that it stays finite:
/// 2/cosh A − 2 cos B + b/√(1 − b²r²s²) · (b²r²(r² − s²)² + 3r² − s²) · tanh A · sin B.
///
/// `rotary` is r², `shear` is s². Its positive zeros below b·r·s = 1 are the bending modes. NaN at and
/// above that cut-off. Sources as for the module: Huang 1961; formula recalled and confirmed numerically.
pub fn timoshenko_frequency_function(pulsation: f64, rotary: f64, shear: f64) -> f64 {
    let Some(waves) = Waves::at(pulsation, rotary, shear) else { return f64::NAN };
    let (a, b) = (waves.hyperbolic, waves.circular);
    let squared = pulsation * pulsation;
    let coefficient = pulsation / (1.0 - squared * rotary * shear).sqrt()
        * (squared * rotary * (rotary - shear).powi(2) + 3.0 * rotary - shear);
    2.0 / a.cosh() - 2.0 * b.cos() + coefficient * a.tanh() * b.sin()
}

impl UniformBar {
    /// Bending mode `mode` after Timoshenko, exact to rounding.
    ///
    /// Valid below the cut-off b²r²s² = 1, that is √(κGA/ρI)/2π.
    ///
    /// # Errors
    /// [`BeamError::NoSuchMode`] for mode 0 or above 1000; [`BeamError::BeyondCutoff`] if the mode does
    /// not lie below the cut-off.
    pub fn timoshenko(&self, mode: usize) -> Result<UniformTimoshenkoMode, BeamError> {
        check_mode(mode, HIGHEST_MODE)?;
        let (rotary, shear) = self.rotary_and_shear_squared();
        let cutoff = 1.0 / (rotary * shear).sqrt();
        // Shear and rotary inertia only lower a mode, so its pulsation lies below Euler–Bernoulli's z².
        let above = ((mode as f64 + 1.0) * PI).powi(2).min(cutoff * (1.0 - 4.0 * f64::EPSILON));
        let surplus = |b: f64| Waves::at(b, rotary, shear).map_or(f64::NAN, |w| w.phase_surplus(mode));
        let below_cutoff = surplus(above) > 0.0;
        if !below_cutoff {
            return Err(BeamError::BeyondCutoff { mode, cutoff_hz: cutoff * self.hz_per_pulsation() });
        }
        let pulsation = bisected(0.0, -1.0, above, surplus);
        let waves = Waves::at(pulsation, rotary, shear)
            .ok_or(BeamError::BeyondCutoff { mode, cutoff_hz: cutoff * self.hz_per_pulsation() })?;
        Ok(UniformTimoshenkoMode {
            hz: pulsation * self.hz_per_pulsation(),
            pulsation,
            shape: UniformShape::new(mode, waves.hyperbolic, waves.circular, waves.q / waves.p),
        })
    }
}

/// Wave numbers per length at one pulsation.
struct Waves {
    /// A.
    hyperbolic: f64,
    /// B.
    circular: f64,
    /// A² + b²s².
    p: f64,
    /// B² − b²s².
    q: f64,
}

impl Waves {
    /// `None` at and above the cut-off, where A is no longer real.
    fn at(pulsation: f64, rotary: f64, shear: f64) -> Option<Self> {
        let squared = pulsation * pulsation;
        let inside = 1.0 - squared * rotary * shear;
        if !(pulsation > 0.0 && inside > 0.0) {
            return None;
        }
        let mean = 0.5 * (rotary + shear);
        let root = (0.25 * (rotary - shear).powi(2) + 1.0 / squared).sqrt();
        // root − mean = (1 − b²r²s²)/(b²(root + mean)), free of cancellation.
        let hyperbolic_squared = inside / (root + mean);
        let circular_squared = squared * (root + mean);
        Some(Self {
            hyperbolic: hyperbolic_squared.sqrt(),
            circular: circular_squared.sqrt(),
            p: hyperbolic_squared + squared * shear,
            // B² − b²s² = b²(root + (r² − s²)/2) > 0.
            q: squared * (root + 0.5 * (rotary - shear)),
        })
    }

    /// How far the phase of the end condition is past bending mode `mode`; zero at the mode.
    ///
    /// The frequency equation splits by symmetry about the middle. Vanishing moment and shear at an end give
    /// tan(B/2) = −(qB/pA) tanh(A/2) for even shapes and tan(B/2) = (pA/qB) tanh(A/2) for odd ones.
    /// Written as B/2 ± atan(…) = kπ the left side is continuous and rises with b: one mode for every k,
    /// none can be skipped.
    fn phase_surplus(&self, mode: usize) -> f64 {
        let turns = mode.div_ceil(2) as f64 * PI;
        let (a, b) = (self.hyperbolic, self.circular);
        let half_tanh = (0.5 * a).tanh();
        let end_phase = if mode % 2 == 1 {
            (self.q * b / (self.p * a) * half_tanh).atan()
        } else {
            -(self.p * a / (self.q * b) * half_tanh).atan()
        };
        0.5 * b + end_phase - turns
    }
}
