//! What each place of the bar does to a mode, from the energies of the mode itself.
//!
//! With an M-normalised mode u of pulsation ω, taking a layer δ off the surface changes ω² by
//! −∫(σ:ε − ω²ρ|u|²)·δ dA (first-order boundary perturbation; e.g. Rayleigh 1894 §90, Zolésio &
//! Sokołowski 1992): where strain energy density wins the pitch falls, where kinetic energy wins it rises.
use super::field::{LengthPoint, Local, SectionPoint, Space};
use super::lanczos::Pair;
use super::section::Parity;
use crate::polynomial::gauss;
use crate::units::CENTS_PER_RELATIVE_OMEGA_SQUARED;
use crate::{Bar, StiffnessMatrix};

/// Section points and places prepared once for all modes of a space.
pub(super) struct Analysis<'a> {
    bar: &'a Bar,
    space: &'a Space,
    stiffness: &'a StiffnessMatrix,
    grid: Vec<LengthPoint>,
    grid_m: &'a [f64],
    /// Across the underside and the top: point, weight, η.
    underside: Vec<(SectionPoint, f64, f64)>,
    top: Vec<(SectionPoint, f64, f64)>,
    volume: Vec<(SectionPoint, f64)>,
}

/// Densities of one mode on the grid.
#[derive(Default)]
pub(super) struct Densities {
    pub underside: Vec<f64>,
    pub underside_tilt: Vec<f64>,
    pub top: Vec<f64>,
    pub strain: Vec<f64>,
    pub kinetic: Vec<f64>,
}

impl<'a> Analysis<'a> {
    pub fn new(bar: &'a Bar, space: &'a Space, stiffness: &'a StiffnessMatrix, grid_m: &'a [f64]) -> Self {
        let (mut eta, mut eta_weights) = gauss(space.section.order_across + 1);
        if space.parity != Parity::Both {
            // Energies are even across the width: the far half says it all.
            let far: Vec<(f64, f64)> = eta.into_iter().zip(eta_weights).filter(|(e, _)| *e > 0.0).collect();
            (eta, eta_weights) = far.into_iter().map(|(e, w)| (e, 2.0 * w)).unzip();
        }
        let (zeta, zeta_weights) = gauss(space.section.order_through + 1);
        let face = |zeta: f64| -> Vec<_> {
            eta.iter().zip(&eta_weights).map(|(e, w)| (space.section_point(*e, zeta), *w, *e)).collect()
        };
        let (underside, top) = (face(-1.0), face(1.0));
        let mut volume = Vec::new();
        for (e, we) in eta.iter().zip(&eta_weights) {
            for (z, wz) in zeta.iter().zip(&zeta_weights) {
                volume.push((space.section_point(*e, *z), we * wz));
            }
        }
        let grid = grid_m.iter().map(|x| space.length_point(*x)).collect();
        Self { bar, space, stiffness, grid, grid_m, underside, top, volume }
    }

    /// σ:ε at a point, for even wood of factor 1.
    fn energy(&self, local: &Local) -> f64 {
        let strain = strain(local);
        let stress = |i: usize| -> f64 { (0..6).map(|j| self.stiffness[i][j] * strain[j]).sum() };
        (0..6).map(|i| stress(i) * strain[i]).sum()
    }

    /// Densities along the bar.
    pub fn densities(&self, pair: &Pair) -> Densities {
        let half_width_m = 0.5 * self.space.mesh.width_m;
        let omega2 = pair.omega_squared;
        let cents = -CENTS_PER_RELATIVE_OMEGA_SQUARED / omega2 * half_width_m;
        let mut out = Densities::default();
        for (at, x_m) in self.grid.iter().zip(self.grid_m) {
            let amplitudes = self.space.amplitudes(&pair.vector, at);
            let (stiffness_factor, density_factor) = self.bar.unevenness.at(*x_m);
            let density = self.bar.wood.density_kg_m3 * density_factor;
            let energies = |point: &SectionPoint| {
                let local = self.space.local(&amplitudes, at, point);
                (stiffness_factor * self.energy(&local), density * square(&local))
            };
            // Moments across a face of what a unit of depth changes: even, and growing toward the far edge.
            let skin = |face: &[(SectionPoint, f64, f64)]| {
                face.iter().fold((0.0, 0.0), |(even, tilt), (point, weight, eta)| {
                    let (strain, kinetic) = energies(point);
                    let change = weight * (strain - omega2 * kinetic);
                    (even + change, tilt + eta * change)
                })
            };
            let (even, tilt) = skin(&self.underside);
            out.underside.push(cents * even);
            out.underside_tilt.push(if self.space.parity == Parity::Both { cents * tilt } else { 0.0 });
            out.top.push(cents * skin(&self.top).0);
            let (strain, kinetic) = self.volume.iter().fold((0.0, 0.0), |(s, k), (point, weight)| {
                let (strain, kinetic) = energies(point);
                let thickness_m = at.thickness_at(point.eta);
                (s + weight * thickness_m * strain, k + weight * thickness_m * kinetic)
            });
            let area = half_width_m * 0.5;
            out.strain.push(strain * area / omega2);
            out.kinetic.push(kinetic * area);
        }
        out
    }

    /// ∫ εₐεᵦ dV, weighted with the local stiffness factor, so that Σ Cₐᵦ Sₐᵦ = ω².
    pub fn strain_products(&self, pair: &Pair) -> StiffnessMatrix {
        let mesh = &self.space.mesh;
        let (points, weights) = gauss(mesh.order + 1);
        let mut out = [[0.0; 6]; 6];
        for (index, element) in mesh.elements.iter().enumerate() {
            for (s, w) in points.iter().zip(&weights) {
                let at = self.space.length_point_in(index, *s);
                let x_m = element.start_m + 0.5 * (s + 1.0) * element.length_m;
                let length = w * 0.5 * element.length_m * self.bar.unevenness.at(x_m).0;
                let amplitudes = self.space.amplitudes(&pair.vector, &at);
                for (point, weight) in &self.volume {
                    let e = strain(&self.space.local(&amplitudes, &at, point));
                    let volume = 0.25 * mesh.width_m * at.thickness_at(point.eta) * length * weight;
                    for (row, a) in out.iter_mut().zip(e) {
                        row.iter_mut().zip(e).for_each(|(s, b)| *s += volume * a * b);
                    }
                }
            }
        }
        out
    }

    /// Rise in cents per metre sawn off each end: the end face carries no stress, only motion.
    pub fn end_trim(&self, bar: &Bar, pair: &Pair) -> [f64; 2] {
        [0.0, bar.length_m()].map(|x_m| {
            let at = self.space.length_point(x_m);
            let density = bar.wood.density_kg_m3 * bar.unevenness.at(x_m).1;
            let amplitudes = self.space.amplitudes(&pair.vector, &at);
            let kinetic: f64 = self
                .volume
                .iter()
                .map(|(point, weight)| {
                    weight * at.thickness_at(point.eta) * square(&self.space.local(&amplitudes, &at, point))
                })
                .sum();
            CENTS_PER_RELATIVE_OMEGA_SQUARED * density * 0.25 * self.space.mesh.width_m * kinetic
        })
    }
}

fn square(local: &Local) -> f64 {
    local.displacement.iter().map(|u| u * u).sum()
}

/// Engineering strains, Voigt order.
fn strain(local: &Local) -> [f64; 6] {
    let g = &local.gradient;
    [g[0][0], g[1][1], g[2][2], g[1][2] + g[2][1], g[0][2] + g[2][0], g[0][1] + g[1][0]]
}
