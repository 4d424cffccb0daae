//! What each place of the bar does to a mode, from the energies of the mode itself.
//!
//! With an M-normalised mode u of pulsation ω, taking a layer δ off the surface changes ω² by
//! −∫(σ:ε − ω²ρ|u|²)·δ dA (first-order boundary perturbation; e.g. Rayleigh 1894 §90, Zolésio &
//! Sokołowski 1992): where strain energy density wins the pitch falls, where kinetic energy wins it rises.
use super::envelope::dot;
use super::field::{LengthPoint, Space};
use super::lanczos::Pair;
use super::sampling::{Motion, Sampler};
use super::section::Parity;
use crate::polynomial::gauss;
use crate::units::CENTS_PER_RELATIVE_OMEGA_SQUARED;
use crate::{Bar, StiffnessMatrix};

/// Section points and places prepared once for all modes of a space.
pub(super) struct Analysis<'a> {
    bar: &'a Bar,
    space: &'a Space,
    /// Nonzero constants: row, column ≥ row, value (doubled off the diagonal).
    stiffness: Vec<(usize, usize, f64)>,
    /// On the grid: the underside, the top, the section.
    underside: Sampler,
    top: Sampler,
    sections: Sampler,
    /// At the quadrature points of the elements: the section, and the length each stands for.
    volume: Sampler,
    length_m: Vec<f64>,
    grid_m: &'a [f64],
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
    pub fn new(bar: &'a Bar, space: &'a Space, stiffness: &StiffnessMatrix, grid_m: &'a [f64]) -> Self {
        let (mut eta, mut eta_weights) = gauss(space.section.order_across + 1);
        if space.parity != Parity::Both {
            // Energies are even across the width: the far half says it all.
            let far: Vec<(f64, f64)> = eta.into_iter().zip(eta_weights).filter(|(e, _)| *e > 0.0).collect();
            (eta, eta_weights) = far.into_iter().map(|(e, w)| (e, 2.0 * w)).unzip();
        }
        let across: Vec<(f64, f64)> = eta.into_iter().zip(eta_weights).collect();
        let (zeta, zeta_weights) = gauss(space.section.order_through + 1);
        let face = |zeta: f64| -> Vec<_> { across.iter().map(|(e, w)| (*e, zeta, *w)).collect() };
        let inside: Vec<_> = across
            .iter()
            .flat_map(|(e, we)| zeta.iter().zip(&zeta_weights).map(move |(z, wz)| (*e, *z, we * wz)))
            .collect();
        let grid = space.length_points(grid_m);
        let (places, length_m) = space.quadrature(bar, space.mesh.order + 1);
        Self {
            bar,
            space,
            stiffness: nonzero(stiffness),
            underside: Sampler::new(space, grid.clone(), &face(-1.0)),
            top: Sampler::new(space, grid.clone(), &face(1.0)),
            sections: Sampler::new(space, grid, &inside),
            volume: Sampler::new(space, places, &inside),
            length_m,
            grid_m,
        }
    }

    /// The places of the grid.
    pub fn grid(&self) -> &[LengthPoint] {
        &self.sections.places
    }

    /// Strain energy density, for even wood of factor 1, at every place of `motion`.
    fn energies(&self, motion: &Motion, out: &mut Vec<f64>) {
        out.clear();
        out.resize(motion.strain[0].len(), 0.0);
        for (i, j, c) in &self.stiffness {
            for ((out, a), b) in out.iter_mut().zip(&motion.strain[*i]).zip(&motion.strain[*j]) {
                *out += c * a * b;
            }
        }
    }

    /// Calls `visit(η, weight, place, strain energy, kinetic density)` at every point of `sampler`.
    fn for_each(&self, sampler: &Sampler, pair: &Pair, mut visit: impl FnMut(f64, f64, usize, f64, f64)) {
        let sampled = sampler.sample(&pair.vector);
        let (mut motion, mut energies) = (Motion::default(), Vec::new());
        for (index, point) in sampler.points.iter().enumerate() {
            sampler.motion(&sampled, index, &mut motion);
            self.energies(&motion, &mut energies);
            for (place, energy) in energies.iter().enumerate() {
                visit(point.eta, point.weight, place, *energy, motion.square(place));
            }
        }
    }

    /// Densities along the bar.
    pub fn densities(&self, pair: &Pair) -> Densities {
        let half_width_m = 0.5 * self.space.mesh.width_m;
        let omega2 = pair.omega_squared;
        let cents = -CENTS_PER_RELATIVE_OMEGA_SQUARED / omega2 * half_width_m;
        let count = self.grid_m.len();
        let wood: Vec<(f64, f64)> = self
            .grid_m
            .iter()
            .map(|x_m| {
                let (stiffness_factor, density_factor) = self.bar.unevenness.at(*x_m);
                (stiffness_factor, self.bar.wood.density_kg_m3 * density_factor)
            })
            .collect();
        // Moments across a face of what a unit of depth changes: even, and growing toward the far edge.
        let skin = |face: &Sampler| {
            let (mut even, mut tilt) = (vec![0.0; count], vec![0.0; count]);
            self.for_each(face, pair, |eta, weight, k, strain, kinetic| {
                let change = cents * weight * (wood[k].0 * strain - omega2 * wood[k].1 * kinetic);
                even[k] += change;
                tilt[k] += eta * change;
            });
            (even, tilt)
        };
        let (underside, mut underside_tilt) = skin(&self.underside);
        if self.space.parity != Parity::Both {
            underside_tilt.fill(0.0);
        }
        let (mut strain, mut kinetic) = (vec![0.0; count], vec![0.0; count]);
        let places = &self.sections.places;
        self.for_each(&self.sections, pair, |eta, weight, k, energy, square| {
            let area_m2 = weight * places[k].thickness_at(eta) * half_width_m * 0.5;
            strain[k] += area_m2 * wood[k].0 * energy / omega2;
            kinetic[k] += area_m2 * wood[k].1 * square;
        });
        Densities { underside, underside_tilt, top: skin(&self.top).0, strain, kinetic }
    }

    /// ∫ εₐεᵦ dV, weighted with the local stiffness factor, so that Σ Cₐᵦ Sₐᵦ = ω².
    pub fn strain_products(&self, pair: &Pair) -> StiffnessMatrix {
        let sampled = self.volume.sample(&pair.vector);
        let mut motion = Motion::default();
        let mut upper = [[0.0; 6]; 6];
        for (index, point) in self.volume.points.iter().enumerate() {
            self.volume.motion(&sampled, index, &mut motion);
            let volume = |(at, length_m): (&LengthPoint, &f64)| {
                0.25 * self.space.mesh.width_m * at.thickness_at(point.eta) * length_m * point.weight
            };
            let volumes: Vec<f64> = self.volume.places.iter().zip(&self.length_m).map(volume).collect();
            for (a, (row, strain)) in upper.iter_mut().zip(&motion.strain).enumerate() {
                let weighted: Vec<f64> = strain.iter().zip(&volumes).map(|(e, v)| e * v).collect();
                // Only the upper triangle is summed; the rest follows by symmetry.
                let other = row.iter_mut().zip(&motion.strain).skip(a);
                other.for_each(|(s, b)| *s += dot(&weighted, b));
            }
        }
        std::array::from_fn(|a| std::array::from_fn(|b| upper[a.min(b)][a.max(b)]))
    }
}

/// Rise in cents per metre sawn off each end: the end face carries no stress, only motion.
pub(super) fn end_trim(densities: &Densities) -> [f64; 2] {
    [densities.kinetic.first(), densities.kinetic.last()]
        .map(|kinetic| CENTS_PER_RELATIVE_OMEGA_SQUARED * kinetic.copied().unwrap_or(0.0))
}

fn nonzero(stiffness: &StiffnessMatrix) -> Vec<(usize, usize, f64)> {
    let entry = |i: usize, j: usize| (i, j, if i == j { stiffness[i][j] } else { stiffness[i][j] + stiffness[j][i] });
    (0..6).flat_map(|i| (i..6).map(move |j| entry(i, j))).filter(|(_, _, c)| *c != 0.0).collect()
}
