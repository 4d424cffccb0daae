//! Modes of a bar as one mapped, high-order, orthotropic solid.
//!
//! The bar is a prism mapped by (x, y, ζ), ζ = 1 + 2z/t(x): ζ = 1 is the flat top face, ζ = −1 the
//! underside. Displacements are Lagrange polynomials on Gauss–Lobatto points along x, with element
//! edges on the kinks of the underside, times Legendre polynomials across the width and through the
//! thickness (spectral elements, Patera 1984). Free-free: the six rigid motions are held exactly and
//! projected out. When the grain does not turn in plan the symmetric (bending, lengthwise) and
//! antisymmetric (torsion, sideways) motions are solved apart.
mod additions;
mod assembly;
mod dense;
mod envelope;
mod error;
mod field;
mod kind;
mod lanczos;
mod mass;
mod mesh;
mod node_lines;
mod pencil;
mod restart;
mod rigid;
mod sampling;
mod section;
mod sensitivity;
mod table;
mod tracking;
mod types;

pub use additions::{Hole, PointMass};
pub use error::PhysicsError;
pub use field::Shape;
pub use pencil::Pencil;
pub use table::{SensitivityRow, sensitivity_table};
pub use tracking::{likeness, track};
pub use types::{Mode, ModeKind, Modes, NodeLine, Resolution, Wanted};

use crate::{Bar, units};
use assembly::{Assembled, assemble};
use envelope::Envelope;
use field::Space;
use lanczos::Pair;
use mass::Mass;
use mesh::Mesh;
use section::{Parity, Section};
use std::sync::Arc;

/// Modes of `bar` at the default resolution; see [`modes_at`].
///
/// # Errors
/// [`PhysicsError`] if the bar or its wood is impossible or the iteration fails.
pub fn modes(bar: &Bar, wanted: Wanted) -> Result<Modes, PhysicsError> {
    modes_at(bar, wanted, Resolution::default())
}

/// Modes of `bar`, lowest first within each kind, with node lines and sensitivities.
///
/// Valid for free-free bars of length 2 to 60 times their thickness. See docs/physics.md for the
/// accuracy reached against converged solids.
///
/// # Errors
/// [`PhysicsError`] if the bar or its wood is impossible or the iteration fails.
pub fn modes_at(bar: &Bar, wanted: Wanted, resolution: Resolution) -> Result<Modes, PhysicsError> {
    solve(bar, wanted, resolution, None)
}

/// Modes of a bar a little changed from the one of `previous` (some wood less, another arch).
///
/// The same as [`modes`] within a thousandth of a cent, in about four fifths of its time: the iteration starts
/// from the vectors of `previous`, and a count of the eigenvalues below the last wanted one makes sure that no
/// mode was skipped. Where that does not succeed (other element count, other grain symmetry, too large a
/// change) it solves anew. Only the list of lengthwise modes met on the way may differ.
///
/// # Errors
/// As [`modes`].
pub fn modes_near(bar: &Bar, wanted: Wanted, previous: &Modes) -> Result<Modes, PhysicsError> {
    solve(bar, wanted, Resolution::default(), Some(previous))
}

fn solve(bar: &Bar, wanted: Wanted, resolution: Resolution, previous: Option<&Modes>) -> Result<Modes, PhysicsError> {
    error::check(bar)?;
    let stiffness = bar.grain.turn(&bar.wood.stiffness().map_err(crate::GeometryError::Wood)?);
    let grid_m = types::grid(bar.length_m());
    let mut out = Modes::empty(bar.mass_kg(), grid_m);
    let mesh = Mesh::new(bar, resolution.order_along, resolution.elements);
    for parity in parities(bar, wanted) {
        let section = section_of(bar, resolution, *parity, &stiffness);
        let space = Arc::new(Space { mesh: mesh.clone(), section, parity: *parity });
        let system = System::new(bar, &space);
        let found = match previous.and_then(|p| near_pairs(bar, &space, &system, wanted, p)) {
            Some(found) => found,
            None => cold_pairs(bar, &space, system, wanted)?,
        };
        let grid_m = out.grid_m.clone();
        let analysis = sensitivity::Analysis::new(bar, &space, &stiffness, &grid_m);
        for (pair, share) in &found {
            if let Some(mode) = describe(&space, &analysis, pair, *share, wanted, &out) {
                out.push(mode);
            }
        }
    }
    out.complete(bar, wanted)?;
    out.number();
    Ok(out)
}

/// The symmetry classes that hold the wanted modes.
fn parities(bar: &Bar, wanted: Wanted) -> &'static [Parity] {
    if !bar.grain.is_symmetric_across() || !bar.crook.is_level() {
        &[Parity::Both]
    } else if wanted.torsion + wanted.sideways == 0 {
        &[Parity::Symmetric]
    } else {
        &[Parity::Symmetric, Parity::Antisymmetric]
    }
}

fn section_of(bar: &Bar, resolution: Resolution, parity: Parity, stiffness: &crate::StiffnessMatrix) -> Section {
    let (across, through) = (resolution.order_across, resolution.order_through);
    Section::new(parity, across, through, stiffness, bar.crook.is_level())
}

/// One symmetry class, assembled: stiffness, mass and the orthonormal rigid motions.
struct System {
    elastic: Envelope,
    mass: Mass,
    rigid: Vec<Vec<f64>>,
}

impl System {
    fn new(bar: &Bar, space: &Space) -> Self {
        let Assembled { stiffness: elastic, mass } = assemble(bar, &space.mesh, &space.section);
        let rigid = orthonormal(&mass, rigid::motions(space));
        Self { elastic, mass, rigid }
    }
}

type Classified = Vec<(Pair, kind::Share)>;

fn classified(bar: &Bar, space: &Space, pairs: Vec<Pair>) -> Classified {
    let with_kind = |pair: Pair| {
        let share = kind::classify(bar, space, &pair.vector);
        (pair, share)
    };
    pairs.into_iter().map(with_kind).collect()
}

fn is_enough(found: &Classified, wanted: Wanted, parity: Parity) -> bool {
    let kinds: Vec<_> = found.iter().map(|(_, share)| *share).collect();
    wanted.met_by(parity, &kinds)
}

/// Solves one symmetry class until it holds the wanted modes.
fn cold_pairs(bar: &Bar, space: &Space, system: System, wanted: Wanted) -> Result<Classified, PhysicsError> {
    let System { elastic, mass, rigid } = system;
    let shift = shift_for(bar);
    let factor = elastic.shifted(&mass, shift).cholesky().map_err(|e| PhysicsError::Indefinite { row: e.row })?;
    let mut count = wanted.first_guess(space.parity);
    loop {
        let pairs = lanczos::lowest(&mass, &factor, &rigid, shift, count)
            .map_err(|stalled| PhysicsError::NoConvergence { found: stalled.found, wanted: count })?;
        let exhausted = pairs.len() < count;
        let found = classified(bar, space, pairs);
        // Rare: a heavy arch pushes plate and lengthwise modes below the wanted ones.
        if is_enough(&found, wanted, space.parity) || count >= wanted.most(space.parity) || exhausted {
            return Ok(found);
        }
        count += 3;
    }
}

/// The wanted modes of one symmetry class from those of a near bar, if that succeeds.
fn near_pairs(bar: &Bar, space: &Space, system: &System, wanted: Wanted, previous: &Modes) -> Option<Classified> {
    let old = previous.in_space_like(space);
    let last = old.iter().filter(|m| m.number <= wanted.of(m.kind)).map(|m| m.hz).fold(0.0, f64::max);
    if last <= 0.0 {
        return None;
    }
    let shift = restart::SHIFT_ABOVE * (std::f64::consts::TAU * last).powi(2);
    let start: Vec<Vec<f64>> = old.into_iter().filter(|m| m.hz <= last).map(|m| m.shape.vector().to_vec()).collect();
    let factor = system.elastic.clone().shifted(&system.mass, -shift).signed().ok()?;
    let pairs = restart::below(&system.mass, &factor, &system.rigid, shift, start)?;
    let found = classified(bar, space, pairs);
    is_enough(&found, wanted, space.parity).then_some(found)
}

/// Everything told of one mode; `None` if it is beyond what was wanted.
fn describe(
    space: &Arc<Space>,
    analysis: &sensitivity::Analysis,
    pair: &Pair,
    share: kind::Share,
    wanted: Wanted,
    so_far: &Modes,
) -> Option<Mode> {
    let (kind, share) = share.largest();
    if !wanted.wants_more(kind, so_far) {
        return None;
    }
    let densities = analysis.densities(pair);
    let end_trim_cents_per_m = sensitivity::end_trim(&densities);
    Some(Mode {
        kind,
        number: 0,
        hz: pair.omega_squared.max(0.0).sqrt() / std::f64::consts::TAU,
        share,
        node_lines: if kind == ModeKind::Bending { node_lines::on_top_face(space, &pair.vector) } else { Vec::new() },
        top_centre_shape: node_lines::top_centre(space, &pair.vector, analysis.grid()),
        shape: Shape::new(space, &pair.vector),
        strain_products: analysis.strain_products(pair),
        underside_cents_per_m2: densities.underside,
        underside_tilt_cents_per_m2: densities.underside_tilt,
        top_cents_per_m2: densities.top,
        stiffness_share_per_m: densities.strain,
        kinetic_share_per_m: densities.kinetic,
        end_trim_cents_per_m,
    })
}

/// M-orthonormal rigid motions (modified Gram–Schmidt).
fn orthonormal(mass: &Mass, motions: Vec<Vec<f64>>) -> Vec<Vec<f64>> {
    let mut out: Vec<Vec<f64>> = Vec::new();
    for mut v in motions {
        for _ in 0..2 {
            for u in &out {
                let along = envelope::dot(&mass.times(u), &v);
                v.iter_mut().zip(u).for_each(|(a, b)| *a -= along * b);
            }
        }
        let norm = envelope::dot(&mass.times(&v), &v).sqrt();
        v.iter_mut().for_each(|a| *a /= norm);
        out.push(v);
    }
    out
}

/// A positive shift well below the square of the first elastic pulsation: Euler–Bernoulli at the mean
/// thickness of the bar, lowered by a factor of about five.
fn shift_for(bar: &Bar) -> f64 {
    let length_m = bar.length_m();
    let (_, thinnest_m) = bar.underside.thinnest();
    let speed = (bar.wood.e_l_pa / bar.wood.density_kg_m3).sqrt();
    let omega = std::f64::consts::TAU * 1.028 * thinnest_m / (length_m * length_m) * speed;
    (omega * omega).max(units::shifted(1.0, 0.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Crook, Grain, Underside, Wood};

    /// Rigid motions store no energy, whatever the shape: checked through the stiffness itself.
    #[test]
    fn rigid_motions_store_no_energy() {
        let underside =
            Underside::new(vec![0.0, 0.1, 0.2, 0.28, 0.4], vec![0.022, 0.02, 0.009, 0.015, 0.021], vec![]).unwrap();
        let mut bar = Bar::new(0.05, underside, Wood::generic_hardwood(800.0, 14e9), Grain::from_degrees(3.0, -2.0));
        bar.crook = Crook { x_m: vec![0.0, 0.2, 0.4], far_minus_near_m: vec![0.0, 0.002, -0.001] };
        let stiffness = bar.grain.turn(&bar.wood.stiffness().unwrap());
        let mesh = Mesh::new(&bar, 3, 10);
        let section = Section::new(Parity::Both, 5, 4, &stiffness, false);
        let space = Space { mesh, section, parity: Parity::Both };
        let system = assemble(&bar, &space.mesh, &space.section);
        let rigid = orthonormal(&system.mass, rigid::motions(&space));
        assert_eq!(rigid.len(), 6);
        let first = modes(&bar, Wanted::bending(1)).unwrap().bending[0].hz;
        let omega_squared = (std::f64::consts::TAU * first).powi(2);
        for v in &rigid {
            // Rounding of stiffnesses of 1e13 N/m against ω² of 1e6: a relative 1e-6 is 0.001 cent.
            assert!(system.stiffness.energy(v).abs() < 1e-6 * omega_squared, "{}", system.stiffness.energy(v));
        }
    }

    /// The warm path itself, not its fallback: it must succeed after a small change, and hold every mode even
    /// where the start lacks some.
    #[test]
    fn the_restart_succeeds_and_finds_what_its_start_lacks() {
        let wood = Wood::generic_hardwood(800.0, 14e9);
        let arch = |depth_m: f64| {
            let x_m: Vec<f64> = (0..=90).map(|i| 0.36 * f64::from(i) / 90.0).collect();
            let t = x_m.iter().map(|x| 0.022 - depth_m * (1.0 - ((x - 0.18) / 0.1).abs().min(1.0).powi(3))).collect();
            let underside = Underside::new(x_m, t, vec![0.08, 0.28]).unwrap();
            Bar::new(0.05, underside, wood.clone(), Grain::default())
        };
        let (before, after) = (arch(0.012), arch(0.0121));
        let wanted = Wanted::default();
        let stiffness = after.grain.turn(&after.wood.stiffness().unwrap());
        let resolution = Resolution::default();
        let mesh = Mesh::new(&after, resolution.order_along, resolution.elements);
        let section =
            Section::new(Parity::Symmetric, resolution.order_across, resolution.order_through, &stiffness, true);
        let space = Space { mesh, section, parity: Parity::Symmetric };
        let cold = cold_pairs(&after, &space, System::new(&after, &space), wanted).unwrap();
        let complete = modes(&before, wanted).unwrap();
        let mut lacking = complete.clone();
        lacking.bending.remove(1);
        for start in [complete, lacking] {
            let warm = near_pairs(&after, &space, &System::new(&after, &space), wanted, &start)
                .expect("a small change restarts");
            for ((a, _), (b, _)) in warm.iter().zip(&cold) {
                assert!(units::cents(a.omega_squared, b.omega_squared).abs() < 1e-3);
            }
            assert!(warm.len() >= wanted.bending);
        }
    }
}
