//! The matrices themselves, for comparison with other solvers.
use super::envelope::Envelope;
use super::field::Space;
use super::mass::Mass;
use super::mesh::Mesh;
use super::{PhysicsError, Resolution, System, Wanted, error, lanczos, parities, section_of, shift_for};
use crate::Bar;

/// Stiffness K (N/m) and mass M (kg) of one symmetry class of a bar, as the solid of [`super::modes`] has them.
///
/// Kept public so that a general-purpose eigensolver can be given the very same problem K·v = ω²·M·v.
#[derive(Debug, Clone)]
pub struct Pencil {
    elastic: Envelope,
    mass: Mass,
    rigid: Vec<Vec<f64>>,
    shift: f64,
}

impl Pencil {
    /// One pencil per symmetry class: (bending, lengthwise) and (torsion, sideways) when the bar is symmetric
    /// across its width, one for all otherwise.
    ///
    /// # Errors
    /// [`PhysicsError`] if the bar or its wood is impossible.
    pub fn of(bar: &Bar, resolution: Resolution) -> Result<Vec<Self>, PhysicsError> {
        error::check(bar)?;
        let stiffness = bar.grain.turn(&bar.wood.stiffness().map_err(crate::GeometryError::Wood)?);
        let mesh = Mesh::new(bar, resolution.order_along, resolution.elements);
        let one = |parity| {
            let section = section_of(bar, resolution, parity, &stiffness);
            let space = Space { mesh: mesh.clone(), section, parity };
            let System { elastic, mass, rigid } = System::new(bar, &space);
            Self { elastic, mass, rigid, shift: shift_for(bar) }
        };
        Ok(parities(bar, Wanted::default()).iter().map(|parity| one(*parity)).collect())
    }

    /// Number of unknowns.
    pub fn size(&self) -> usize {
        self.mass.size()
    }

    /// Number of rigid motions: eigenvalues that are zero.
    pub fn rigid_motions(&self) -> usize {
        self.rigid.len()
    }

    /// The shift σ (rad²/s²) with which K + σM is factored.
    pub fn shift(&self) -> f64 {
        self.shift
    }

    /// Nonzero entries (row, column, value) of K, lower triangle, counted from 0.
    pub fn stiffness_lower(&self) -> Vec<(usize, usize, f64)> {
        let mut out = Vec::new();
        self.elastic.for_each_lower(|i, j, value| {
            if value != 0.0 {
                out.push((i, j, value));
            }
        });
        out
    }

    /// Nonzero entries (row, column, value) of M, lower triangle, counted from 0.
    pub fn mass_lower(&self) -> Vec<(usize, usize, f64)> {
        let mut out = Vec::new();
        self.mass.for_each_lower(|i, j, value| out.push((i, j, value)));
        out
    }

    /// The `count` lowest elastic ω² (rad²/s²): factorisation and iteration only, as a cold solve does them.
    ///
    /// # Errors
    /// [`PhysicsError`] if the factorisation or the iteration fails.
    pub fn lowest_omega_squared(&self, count: usize) -> Result<Vec<f64>, PhysicsError> {
        let shifted = self.elastic.clone().shifted(&self.mass, self.shift);
        let factor = shifted.cholesky().map_err(|e| PhysicsError::Indefinite { row: e.row })?;
        let pairs = lanczos::lowest(&self.mass, &factor, &self.rigid, self.shift, count)
            .map_err(|stalled| PhysicsError::NoConvergence { found: stalled.found, wanted: count })?;
        Ok(pairs.into_iter().map(|pair| pair.omega_squared).collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::solid::modes;
    use crate::{Grain, Underside, Wood};

    /// The exported problem is the one that is solved: same frequencies, and its matrix times a rigid rise is nothing.
    #[test]
    fn the_pencil_is_the_problem_that_is_solved() {
        let wood = Wood::generic_hardwood(800.0, 14e9);
        let bar = Bar::new(0.05, Underside::flat(0.36, 0.022).unwrap(), wood, Grain::default());
        let pencils = Pencil::of(&bar, Resolution::default()).unwrap();
        assert_eq!(pencils.len(), 2);
        let lowest = pencils[0].lowest_omega_squared(3).unwrap();
        let solved = modes(&bar, Wanted::bending(3)).unwrap();
        for (omega_squared, mode) in lowest.iter().zip(&solved.bending) {
            let hz = omega_squared.sqrt() / std::f64::consts::TAU;
            // Both stop at a relative residual of 1e-9: 1e-6 cent.
            assert!(crate::units::cents(hz, mode.hz).abs() < 1e-5);
        }
        // Symmetric product of the listed entries: the mass of a rigid motion normalised in M is 1.
        let v = &pencils[0].rigid[0];
        let both = |(i, j, a): &(usize, usize, f64)| if i == j { a * v[*i] * v[*j] } else { 2.0 * a * v[*i] * v[*j] };
        let kinetic: f64 = pencils[0].mass_lower().iter().map(both).sum();
        assert!((kinetic - 1.0).abs() < 1e-12, "{kinetic}");
    }
}
