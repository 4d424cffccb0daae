//! How bending frequencies answer to a thin strip taken off the underside.
use super::{BeamError, BeamModes};
use crate::polynomial::gauss;
use crate::units::CENTS_PER_RELATIVE_OMEGA_SQUARED;

impl BeamModes<'_> {
    /// d ln f / d ln h at `x_m` per unit of x/L: positive where thinning flattens mode `mode`.
    ///
    /// From Rayleigh's quotient, to first order in the thickness (h³ in bending and rotary inertia, h in
    /// shear and mass): L·(3EIθ'² + κGAγ² − ω²(ρAw² + 3ρIθ²)) / (2ω²·modal mass). At a jump of the
    /// thickness it jumps too, and the value right of it is given.
    ///
    /// # Errors
    /// [`BeamError::NoSuchMode`] if the mode was not computed; [`BeamError::StripOffBar`] off the bar.
    pub fn thickness_kernel(&self, mode: usize, x_m: f64) -> Result<f64, BeamError> {
        let mode = self.mode(mode)?;
        self.check_on_bar(x_m, x_m)?;
        let (at, per_length) = (self.mode_fields(mode, x_m), self.per_length(x_m)?);
        let strain = 3.0 * per_length.bending * at.curvature.powi(2) + per_length.shear * at.shear.powi(2);
        let motion = per_length.mass * at.deflection.powi(2) + 3.0 * per_length.rotary * at.rotation.powi(2);
        Ok(0.5 * self.profile().length_m() * (strain / mode.pulsation_squared - motion))
    }

    /// Change of mode `mode` in cents when `depth_m` is taken off the underside from `from_m` to `to_m`,
    /// to first order in the depth; sharp is positive.
    ///
    /// # Errors
    /// As [`BeamModes::thickness_kernel`].
    pub fn cents_of_strip(&self, mode: usize, from_m: f64, to_m: f64, depth_m: f64) -> Result<f64, BeamError> {
        self.check_on_bar(from_m, to_m)?;
        let profile = self.profile();
        // Squares of polynomials of the element's order times h³, over h: exact for linear thickness.
        let (points, weights) = gauss(profile.order() + 4);
        let mut relative = 0.0;
        for piece in profile.smooth_pieces(from_m, to_m).windows(2) {
            let (middle, half_m) = (0.5 * (piece[0] + piece[1]), 0.5 * (piece[1] - piece[0]));
            for (point, weight) in points.iter().zip(&weights) {
                let x_m = middle + half_m * point;
                let thickness_m = profile.section_at(x_m)?.thickness_m;
                relative += weight * half_m * self.thickness_kernel(mode, x_m)? / thickness_m;
            }
        }
        Ok(-2.0 * CENTS_PER_RELATIVE_OMEGA_SQUARED * depth_m * relative / profile.length_m())
    }

    fn check_on_bar(&self, from_m: f64, to_m: f64) -> Result<(), BeamError> {
        let edges = self.profile().edges_m();
        let (first, last) = (edges[0], edges[edges.len() - 1]);
        // NaN is off the bar.
        if from_m >= first && from_m <= to_m && to_m <= last {
            return Ok(());
        }
        Err(BeamError::StripOffBar { from_mm: from_m * 1e3, to_mm: to_m * 1e3, length_mm: (last - first) * 1e3 })
    }
}
