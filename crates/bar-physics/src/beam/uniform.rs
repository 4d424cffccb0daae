//! Uniform free-free bar after Euler and Bernoulli, in closed form.
use super::{BeamError, BeamWood, UniformShape, check_mode, check_positive};
use std::f64::consts::{PI, TAU};

/// Root z of cos z · cosh z = 1 for bending mode `mode` (1, 2, …) of a uniform free-free bar.
///
/// Newton's method to the last bits, from (n + ½)π. Source: e.g. Blevins 1979, *Formulas for Natural
/// Frequency and Mode Shape*, table 8-1. Dimensionless.
///
/// # Errors
/// [`BeamError::NoSuchMode`] for mode 0.
pub fn euler_bernoulli_root(mode: usize) -> Result<f64, BeamError> {
    check_mode(mode, usize::MAX)?;
    let mut z = (mode as f64 + 0.5) * PI;
    // cos z − 1/cosh z has the same roots and does not overflow. Newton doubles the digits each time:
    // from an error below 0.02 five steps are plenty.
    for _ in 0..6 {
        let reciprocal = 1.0 / z.cosh();
        z -= (z.cos() - reciprocal) / (reciprocal * z.tanh() - z.sin());
    }
    Ok(z)
}

/// A bar of even thickness and free ends. Its width cancels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UniformBar {
    length_m: f64,
    thickness_m: f64,
    wood: BeamWood,
}

impl UniformBar {
    /// A uniform bar.
    ///
    /// # Errors
    /// [`BeamError::NotPositive`] naming the first value that is not a positive number.
    pub fn new(length_m: f64, thickness_m: f64, wood: BeamWood) -> Result<Self, BeamError> {
        check_positive("length", length_m, "m")?;
        check_positive("thickness", thickness_m, "m")?;
        wood.check()?;
        Ok(Self { length_m, thickness_m, wood })
    }

    /// Length.
    pub fn length_m(&self) -> f64 {
        self.length_m
    }

    /// Wood.
    pub fn wood(&self) -> &BeamWood {
        &self.wood
    }

    /// Frequency of bending mode `mode` after Euler and Bernoulli, in hertz:
    /// z² / (2π√12) · h/L² · √(E/ρ) (e.g. Blevins 1979, table 8-1).
    ///
    /// Valid for a thin bar: shear and rotary inertia make a wooden blank 36 to 244 cents flatter in mode 1.
    ///
    /// # Errors
    /// [`BeamError::NoSuchMode`] for mode 0.
    pub fn euler_bernoulli_hz(&self, mode: usize) -> Result<f64, BeamError> {
        let z = euler_bernoulli_root(mode)?;
        Ok(z * z * self.hz_per_pulsation())
    }

    /// Shape of bending mode `mode` after Euler and Bernoulli.
    ///
    /// # Errors
    /// [`BeamError::NoSuchMode`] for mode 0.
    pub fn euler_bernoulli_shape(mode: usize) -> Result<UniformShape, BeamError> {
        let z = euler_bernoulli_root(mode)?;
        Ok(UniformShape::new(mode, z, z, 1.0))
    }

    /// d ln f / d ln h at x/L per unit of x/L for bending mode `mode` after Euler and Bernoulli:
    /// ½(3(φ''/z²)² − φ²) with φ scaled to a mean square of 1, that is to 2 at the ends.
    ///
    /// Its integral over the bar is 1, since f ∝ h. Derived from Rayleigh's quotient (Rayleigh 1894,
    /// *Theory of Sound*, §88–89).
    ///
    /// # Errors
    /// [`BeamError::NoSuchMode`] for mode 0.
    pub fn euler_bernoulli_kernel(mode: usize, x_over_length: f64) -> Result<f64, BeamError> {
        let z = euler_bernoulli_root(mode)?;
        let shape = UniformShape::new(mode, z, z, 1.0);
        let (deflection, curvature) =
            (2.0 * shape.at(x_over_length), 2.0 * shape.curvature_at(x_over_length) / (z * z));
        Ok(0.5 * (3.0 * curvature * curvature - deflection * deflection))
    }

    /// Hertz per unit of the dimensionless pulsation b = ω L² √(ρA/EI).
    pub(super) fn hz_per_pulsation(&self) -> f64 {
        let speed_m_s = (self.wood.e_l_pa / self.wood.density_kg_m3).sqrt();
        self.thickness_m / (self.length_m * self.length_m) * speed_m_s / (TAU * 12f64.sqrt())
    }

    /// Timoshenko's r² = I/(AL²) and s² = EI/(κGAL²).
    pub(super) fn rotary_and_shear_squared(&self) -> (f64, f64) {
        let rotary = (self.thickness_m / self.length_m).powi(2) / 12.0;
        (rotary, rotary * self.wood.e_l_pa / (self.wood.shear_factor * self.wood.g_lh_pa))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn roots_of_any_mode_satisfy_the_equation() {
        for mode in (1..200).chain([1_000, 1_000_000]) {
            let z = euler_bernoulli_root(mode).unwrap();
            // cos z inherits the rounding of z itself, half a unit in its last place.
            let rounding = z * f64::EPSILON;
            assert!((z.cos() - 1.0 / z.cosh()).abs() <= rounding, "mode {mode}: {z}");
            assert!((z - (mode as f64 + 0.5) * PI).abs() < 0.02);
        }
        assert_eq!(euler_bernoulli_root(0), Err(BeamError::NoSuchMode { mode: 0, highest: usize::MAX }));
    }

    #[test]
    fn the_kernel_integrates_to_one() {
        for mode in 1..6 {
            const PIECES: usize = 2000;
            let sum: f64 = (0..PIECES)
                .map(|i| UniformBar::euler_bernoulli_kernel(mode, (i as f64 + 0.5) / PIECES as f64).unwrap())
                .sum();
            // Midpoint rule: error about (S'(1) − S'(0)) / (24 · 2000²), with S' below 150 at the ends.
            assert!((sum / PIECES as f64 - 1.0).abs() < 4e-6);
        }
    }

    #[test]
    fn impossible_bars_are_refused_by_name() {
        let wood = BeamWood::new(12e9, 1.2e9, 740.0);
        for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            let error = UniformBar::new(bad, 0.02, wood).unwrap_err();
            assert!(matches!(error, BeamError::NotPositive { quantity: "length", unit: "m", .. }));
            assert!(UniformBar::new(0.3, bad, wood).is_err());
            assert!(UniformBar::new(0.3, 0.02, BeamWood { g_lh_pa: bad, ..wood }).is_err());
        }
    }
}
