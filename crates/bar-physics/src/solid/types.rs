//! What the solid is asked and what it answers.
use super::error::PhysicsError;
use super::field::{Shape, Space};
use super::kind::Share;
use super::section::Parity;
use crate::units::CENTS_PER_RELATIVE_OMEGA_SQUARED;
use crate::{Bar, GeometryError, StiffnessMatrix, Wood};

/// Family of a mode, by its largest share of kinetic energy.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum ModeKind {
    /// Up-and-down bending, the family that is tuned.
    Bending,
    /// Twisting about the length.
    Torsion,
    /// Bending in the plane of the top face.
    Sideways,
    /// Stretching along the bar.
    Lengthwise,
    /// Bending of the cross-section itself.
    Plate,
}

/// How many modes of each kind are wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wanted {
    /// Bending modes.
    pub bending: usize,
    /// Torsion modes.
    pub torsion: usize,
    /// Sideways modes.
    pub sideways: usize,
}

impl Default for Wanted {
    fn default() -> Self {
        Self { bending: 3, torsion: 2, sideways: 1 }
    }
}

impl Wanted {
    /// The first `bending` bending modes and nothing else.
    pub const fn bending(bending: usize) -> Self {
        Self { bending, torsion: 0, sideways: 0 }
    }

    pub(super) fn first_guess(self, parity: Parity) -> usize {
        match parity {
            Parity::Symmetric => self.bending + usize::from(self.bending > 3),
            Parity::Antisymmetric => self.torsion + self.sideways + 1,
            Parity::Both => self.bending + self.torsion + self.sideways + 2,
        }
    }

    pub(super) fn most(self, parity: Parity) -> usize {
        self.first_guess(parity) + 24
    }

    pub(super) fn of(self, kind: ModeKind) -> usize {
        match kind {
            ModeKind::Bending => self.bending,
            ModeKind::Torsion => self.torsion,
            ModeKind::Sideways => self.sideways,
            ModeKind::Lengthwise | ModeKind::Plate => 0,
        }
    }

    pub(super) fn met_by(self, parity: Parity, shares: &[Share]) -> bool {
        let count = |kind| shares.iter().filter(|s| s.largest().0 == kind).count();
        let enough = |kind| count(kind) >= self.of(kind);
        let symmetric = || enough(ModeKind::Bending);
        let antisymmetric = || enough(ModeKind::Torsion) && enough(ModeKind::Sideways);
        match parity {
            Parity::Symmetric => symmetric(),
            Parity::Antisymmetric => antisymmetric(),
            Parity::Both => symmetric() && antisymmetric(),
        }
    }

    pub(super) fn wants_more(self, kind: ModeKind, so_far: &Modes) -> bool {
        match kind {
            ModeKind::Lengthwise => self.torsion + self.sideways > 0,
            ModeKind::Plate => false,
            _ => so_far.of(kind).len() < self.of(kind),
        }
    }
}

/// Polynomial orders and number of elements.
///
/// The default was chosen by convergence against `reference/solid_bars.json`; see docs/physics.md.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Resolution {
    /// Order of the polynomials along the bar, at least 2.
    pub order_along: usize,
    /// Order across the width, at least 1.
    pub order_across: usize,
    /// Order through the thickness, at least 1.
    pub order_through: usize,
    /// Elements along the bar when it has no kinks.
    pub elements: usize,
}

impl Default for Resolution {
    fn default() -> Self {
        Self { order_along: 3, order_across: 5, order_through: 4, elements: 16 }
    }
}

/// Where a mode's motion vanishes on the top face, in metres from the left end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NodeLine {
    /// At the near edge (y < 0).
    pub near_m: f64,
    /// On the middle of the width.
    pub centre_m: f64,
    /// At the far edge.
    pub far_m: f64,
}

impl NodeLine {
    /// x at the far edge minus x at the near edge; positive leans "/" in bench view.
    pub fn tilt_m(&self) -> f64 {
        self.far_m - self.near_m
    }
}

/// One mode of a bar.
#[derive(Debug, Clone, PartialEq)]
pub struct Mode {
    /// Family.
    pub kind: ModeKind,
    /// Number inside the family, from 1.
    pub number: usize,
    /// Natural frequency.
    pub hz: f64,
    /// Share of the kinetic energy that belongs to `kind`.
    pub share: f64,
    /// Node lines on the top face, left to right (bending modes only).
    pub node_lines: Vec<NodeLine>,
    /// Vertical motion of the middle of the top face at [`Modes::grid_m`], for a modal mass of 1 kg.
    pub top_centre_shape: Vec<f64>,
    /// The whole motion.
    pub shape: Shape,
    /// S with ω² = Σ Cₐᵦ Sₐᵦ in bar axes, so that any stiffness derivative follows exactly (Rayleigh).
    pub strain_products: StiffnessMatrix,
    /// At [`Modes::grid_m`]: change in cents per m² of side view (depth × length) taken off the underside.
    pub underside_cents_per_m2: Vec<f64>,
    /// The same for a removal that grows from −1 at the near edge to +1 at the far edge (zero by symmetry
    /// when the grain does not turn in plan).
    pub underside_tilt_cents_per_m2: Vec<f64>,
    /// At [`Modes::grid_m`]: change in cents per m² of side view sanded off the top face.
    pub top_cents_per_m2: Vec<f64>,
    /// At [`Modes::grid_m`]: share of the strain energy per metre of length; integrates to 1.
    pub stiffness_share_per_m: Vec<f64>,
    /// At [`Modes::grid_m`]: share of the kinetic energy per metre of length; integrates to 1.
    pub kinetic_share_per_m: Vec<f64>,
    /// Rise in cents per metre sawn off the left and the right end.
    pub end_trim_cents_per_m: [f64; 2],
}

impl Mode {
    /// First-order change in cents when `depth_m(x)` is taken off the underside over the full width.
    pub fn removal_cents(&self, grid_m: &[f64], depth_m: impl Fn(f64) -> f64) -> f64 {
        trapezoid(grid_m, |i| self.underside_cents_per_m2[i] * depth_m(grid_m[i]))
    }

    /// First-order change in cents when different depths are taken at the near and the far edge, linear between.
    pub fn crooked_removal_cents(
        &self,
        grid_m: &[f64],
        near_m: impl Fn(f64) -> f64,
        far_m: impl Fn(f64) -> f64,
    ) -> f64 {
        trapezoid(grid_m, |i| {
            let (near, far) = (near_m(grid_m[i]), far_m(grid_m[i]));
            0.5 * (self.underside_cents_per_m2[i] * (near + far) + self.underside_tilt_cents_per_m2[i] * (far - near))
        })
    }

    /// First-order change in cents when `depth_m(x)` is sanded off the top face.
    pub fn top_removal_cents(&self, grid_m: &[f64], depth_m: impl Fn(f64) -> f64) -> f64 {
        trapezoid(grid_m, |i| self.top_cents_per_m2[i] * depth_m(grid_m[i]))
    }

    /// Vertical motion at a place of the top face relative to the motion at the middle of the bar
    /// (modes without motion there, such as bending 2, are taken relative to their largest on the top).
    pub fn relative_motion(&self, x_m: f64, y_m: f64) -> f64 {
        let largest = self.top_centre_shape.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
        let middle = self.shape.top_centre(0.5 * self.shape.mesh().length_m);
        let unit = if middle.abs() > 0.1 * largest { middle } else { largest };
        self.shape.at(x_m, y_m, 0.0)[2] / unit
    }

    /// First-order change in cents when local stiffness and density change by these relative amounts.
    pub fn uneven_cents(&self, grid_m: &[f64], stiffness: impl Fn(f64) -> f64, density: impl Fn(f64) -> f64) -> f64 {
        let integrand = |i: usize| {
            self.stiffness_share_per_m[i] * stiffness(grid_m[i]) - self.kinetic_share_per_m[i] * density(grid_m[i])
        };
        CENTS_PER_RELATIVE_OMEGA_SQUARED * trapezoid(grid_m, integrand)
    }

    /// First-order change in cents when the wood of `bar` becomes `changed`, shape and grain kept.
    ///
    /// # Errors
    /// [`PhysicsError::Geometry`] if either wood is impossible.
    pub fn stiffness_cents(&self, bar: &Bar, changed: &Wood) -> Result<f64, PhysicsError> {
        let stiffness = |wood: &Wood| wood.stiffness().map(|c| bar.grain.turn(&c)).map_err(GeometryError::Wood);
        let energy = |c: &StiffnessMatrix| -> f64 {
            c.iter().zip(&self.strain_products).flat_map(|(c, s)| c.iter().zip(s)).map(|(c, s)| c * s).sum()
        };
        let (before, after) = (energy(&stiffness(&bar.wood)?), energy(&stiffness(changed)?));
        let density = bar.wood.density_kg_m3 / changed.density_kg_m3;
        Ok(CENTS_PER_RELATIVE_OMEGA_SQUARED * (after / before * density).ln())
    }
}

/// Integral over a grid of places by the trapezoid rule.
fn trapezoid(grid_m: &[f64], value: impl Fn(usize) -> f64) -> f64 {
    (1..grid_m.len()).map(|i| 0.5 * (value(i - 1) + value(i)) * (grid_m[i] - grid_m[i - 1])).sum()
}

/// The modes of a bar, by kind, lowest first.
#[derive(Debug, Clone, PartialEq)]
pub struct Modes {
    /// Bending.
    pub bending: Vec<Mode>,
    /// Torsion.
    pub torsion: Vec<Mode>,
    /// Sideways.
    pub sideways: Vec<Mode>,
    /// Lengthwise modes met on the way.
    pub lengthwise: Vec<Mode>,
    /// Mass of the bar.
    pub mass_kg: f64,
    /// Places from the left end at which the densities of each mode are given, both ends included.
    pub grid_m: Vec<f64>,
}

impl Modes {
    pub(super) fn empty(mass_kg: f64, grid_m: Vec<f64>) -> Self {
        Self { bending: Vec::new(), torsion: Vec::new(), sideways: Vec::new(), lengthwise: Vec::new(), mass_kg, grid_m }
    }

    /// The modes of one kind; plate modes are not kept.
    pub fn of(&self, kind: ModeKind) -> &[Mode] {
        match kind {
            ModeKind::Bending => &self.bending,
            ModeKind::Torsion => &self.torsion,
            ModeKind::Sideways => &self.sideways,
            ModeKind::Lengthwise => &self.lengthwise,
            ModeKind::Plate => &[],
        }
    }

    /// The modes whose vectors can start an iteration in `space`.
    pub(super) fn in_space_like(&self, space: &Space) -> Vec<&Mode> {
        let all = [&self.bending, &self.torsion, &self.sideways, &self.lengthwise];
        all.into_iter().flatten().filter(|mode| mode.shape.fits(space)).collect()
    }

    pub(super) fn push(&mut self, mode: Mode) {
        match mode.kind {
            ModeKind::Bending => self.bending.push(mode),
            ModeKind::Torsion => self.torsion.push(mode),
            ModeKind::Sideways => self.sideways.push(mode),
            ModeKind::Lengthwise => self.lengthwise.push(mode),
            ModeKind::Plate => {}
        }
    }

    /// Whether every wanted mode was found.
    pub(super) fn complete(&self, bar: &Bar, wanted: Wanted) -> Result<(), PhysicsError> {
        let counts = [
            ("bending", self.bending.len(), wanted.bending),
            ("torsion", self.torsion.len(), wanted.torsion),
            ("sideways", self.sideways.len(), wanted.sideways),
        ];
        match counts.into_iter().find(|(_, found, wanted)| found < wanted) {
            Some((kind, found, wanted)) => Err(PhysicsError::NotABar {
                kind,
                found,
                wanted,
                length_mm: bar.length_m() * 1e3,
                width_mm: bar.width_m * 1e3,
            }),
            None => Ok(()),
        }
    }

    /// Gives each mode its number inside its kind.
    pub(super) fn number(&mut self) {
        for modes in [&mut self.bending, &mut self.torsion, &mut self.sideways, &mut self.lengthwise] {
            modes.sort_by(|a, b| a.hz.total_cmp(&b.hz));
            modes.iter_mut().enumerate().for_each(|(i, mode)| mode.number = i + 1);
        }
    }
}

/// Places for the densities: about 3 mm apart, at least 100 pieces.
pub(super) fn grid(length_m: f64) -> Vec<f64> {
    let pieces = ((length_m / 0.003).round() as usize).clamp(100, 400);
    (0..=pieces).map(|i| length_m * i as f64 / pieces as f64).collect()
}
