//! The physics of a tuned wooden bar: wood, geometry, modes, nodes and sensitivities.
//!
//! Everything here is a pure function of its arguments: no files, no clock, no notes of the scale.
//! SI units throughout; every field and parameter carries its unit in its name.
//!
//! * [`Wood`], [`Grain`] — nine orthotropic constants and how the grain is turned in the bar
//! * [`Underside`], [`Bar`] — the shape
//! * [`solid::modes`] — modes of the bar as one mapped high-order solid
//! * [`beam`] — Euler–Bernoulli and Timoshenko limits, kept as reference and preview
pub mod air;
pub mod beam;
pub mod estimate;
mod geometry;
mod polynomial;
pub mod solid;
mod stand_out;
pub mod units;
mod wood;
pub mod woods;

pub use geometry::{Bar, Crook, GeometryError, MIN_SOLVABLE_THICKNESS_M, Underside, Unevenness};
pub use solid::{Mode, ModeKind, Modes, NodeLine, PhysicsError, Wanted};
pub use stand_out::modes_that_stand_out;
pub use wood::{Grain, StiffnessMatrix, Wood, WoodError};
