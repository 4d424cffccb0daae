//! Small things added to a bar: a cord hole, a lump of wax, a screw.
use super::types::{Mode, Modes};
use crate::Bar;
use crate::units::CENTS_PER_RELATIVE_OMEGA_SQUARED;
use nalgebra::{DMatrix, SymmetricEigen};

/// A round hole drilled across the bar, from the near to the far edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hole {
    /// Place of its axis at the near edge, from the left end.
    pub near_m: f64,
    /// Place of its axis at the far edge.
    pub far_m: f64,
    /// Depth of its axis below the top face.
    pub below_top_m: f64,
    /// Diameter.
    pub diameter_m: f64,
}

impl Hole {
    /// First-order change in cents of `mode` when this hole is drilled.
    ///
    /// The wood goes, and the stress has to flow round the hole: for lengthwise stress the strain energy
    /// released is three times, for shear four times that of the wood removed (topological derivative of
    /// a circular hole in isotropic plane stress; Novotny & Sokołowski 2013, §4.1, from memory). Wood's
    /// anisotropy raises these factors and is **not** modelled: trust the size to about half.
    pub fn cents(&self, bar: &Bar, mode: &Mode) -> f64 {
        const PIECES: usize = 16;
        let area_m2 = std::f64::consts::FRAC_PI_4 * self.diameter_m * self.diameter_m;
        let omega2 = (std::f64::consts::TAU * mode.hz).powi(2);
        let mut change = 0.0;
        for i in 0..PIECES {
            let across = (i as f64 + 0.5) / PIECES as f64;
            let x_m = self.near_m + across * (self.far_m - self.near_m);
            let local = mode.shape.local(x_m, (across - 0.5) * bar.width_m, self.below_top_m);
            let (stiffness, density) = bar.unevenness.at(x_m);
            let g = &local.gradient;
            let stretch = stiffness * bar.wood.e_l_pa * g[0][0] * g[0][0];
            let shear = stiffness * bar.wood.g_lh_pa * (g[0][2] + g[2][0]).powi(2);
            let motion: f64 = local.displacement.iter().map(|u| u * u).sum();
            let kinetic = omega2 * bar.wood.density_kg_m3 * density * motion;
            change += (kinetic - 3.0 * stretch - 4.0 * shear) * area_m2 * bar.width_m / PIECES as f64;
        }
        CENTS_PER_RELATIVE_OMEGA_SQUARED * change / omega2
    }
}

/// A small mass fixed to the bar (wax, a screw, finish on one spot).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PointMass {
    /// Place from the left end.
    pub x_m: f64,
    /// Place from the middle of the width; far is positive.
    pub y_m: f64,
    /// Depth below the top face.
    pub below_top_m: f64,
    /// Mass.
    pub mass_kg: f64,
}

impl Modes {
    /// Bending frequencies with small masses fixed to the bar, in hertz.
    ///
    /// Rayleigh–Ritz in the space of the modes at hand (bending, torsion, sideways, lengthwise); good to
    /// a cent while the masses are below 2 % of the bar's and five or more bending modes are at hand.
    pub fn bending_with_masses(&self, masses: &[PointMass]) -> Vec<f64> {
        let all: Vec<&Mode> =
            [&self.bending, &self.torsion, &self.sideways, &self.lengthwise].into_iter().flatten().collect();
        let size = all.len();
        let mut mass = DMatrix::<f64>::identity(size, size);
        for m in masses {
            let motion: Vec<[f64; 3]> = all.iter().map(|mode| mode.shape.at(m.x_m, m.y_m, m.below_top_m)).collect();
            for i in 0..size {
                for j in 0..size {
                    mass[(i, j)] += m.mass_kg * motion[i].iter().zip(&motion[j]).map(|(a, b)| a * b).sum::<f64>();
                }
            }
        }
        // ω⁻² are the eigenvalues of Ω⁻¹ M Ω⁻¹; its large ones are the low modes.
        let omega: Vec<f64> = all.iter().map(|m| std::f64::consts::TAU * m.hz).collect();
        let scaled = DMatrix::from_fn(size, size, |i, j| mass[(i, j)] / (omega[i] * omega[j]));
        let eigen = SymmetricEigen::new(scaled);
        let share_of = |k: usize, i: usize| eigen.eigenvectors[(i, k)].powi(2);
        (0..self.bending.len())
            .map(|i| {
                let k = (0..size).max_by(|a, b| share_of(*a, i).total_cmp(&share_of(*b, i))).unwrap_or(i);
                eigen.eigenvalues[k].recip().sqrt() / std::f64::consts::TAU
            })
            .collect()
    }
}
