//! One-dimensional limits of the bar: reference values for the solid, and an instant preview.
//!
//! * [`UniformBar`] — closed forms of a bar of even thickness: Euler–Bernoulli and Timoshenko
//! * [`Profile`] and [`BeamModes`] — bending of a bar of varying thickness, by finite elements
//! * [`torsional_rigidity_n_m2`], [`torsion_hz`] — twisting of a bar of even thickness
//!
//! A beam knows bending in the side view only, with the grain along the bar. On blanks it lies within a
//! few cents of the solid, on deeply arched short bars up to 200 cents off: use [`crate::solid`] for
//! advice in cents, and this module for checks, first drawings and limits.
mod banded;
mod eigen;
mod element;
mod profile;
mod sensitivity;
mod shape;
mod timoshenko;
mod torsion;
mod uniform;
mod variable;

pub use profile::{Profile, Section};
pub use shape::UniformShape;
pub use timoshenko::{UniformTimoshenkoMode, timoshenko_frequency_function};
pub use torsion::{saint_venant_constant_m4, torsion_hz, torsional_rigidity_n_m2};
pub use uniform::{UniformBar, euler_bernoulli_root};
pub use variable::{BeamMode, BeamModes, MAX_BEAM_MODES};

use crate::Wood;

/// Shear factor κ of a rectangle, 5/6 (Reissner 1945; Cowper 1966 gives it for ν = 0).
///
/// The reference bars use it; a solid of wood agrees better with κ = 0.85.
pub const SHEAR_FACTOR_RECTANGLE: f64 = 5.0 / 6.0;

/// Why a beam could not be computed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum BeamError {
    /// A quantity that must be positive and finite is not.
    #[error("{quantity} is {value} {unit}; it must be a positive number")]
    NotPositive {
        /// What was given.
        quantity: &'static str,
        /// Its value.
        value: f64,
        /// Its unit.
        unit: &'static str,
    },
    /// Modes are counted from 1, and only so many are computed.
    #[error("mode {mode} was asked for; modes are counted from 1 to {highest} here")]
    NoSuchMode {
        /// The number asked for.
        mode: usize,
        /// Highest number computed.
        highest: usize,
    },
    /// The mode lies at or above the cut-off of Timoshenko's theory, where a second family of waves begins.
    #[error(
        "bending mode {mode} lies above {cutoff_hz:.0} Hz, where the beam formula of a bar this thick ends (b²r²s² ≥ 1); ask for a lower mode, or use the solid model"
    )]
    BeyondCutoff {
        /// Mode asked for.
        mode: usize,
        /// Cut-off frequency.
        cutoff_hz: f64,
    },
    /// Element edges must be at least two finite numbers that rise.
    #[error(
        "element edge {index} at {x_mm} mm does not lie beyond the one before it; give at least two rising places, 0 and the length included"
    )]
    EdgesOutOfOrder {
        /// Index of the offending edge, from 0.
        index: usize,
        /// Its place in millimetres.
        x_mm: f64,
    },
    /// The polynomial order of the elements is outside what is implemented.
    #[error("elements of order {order} were asked for; use {low} to {high}")]
    Order {
        /// Order asked for.
        order: usize,
        /// Lowest.
        low: usize,
        /// Highest.
        high: usize,
    },
    /// Too little wood, or no number at all, somewhere along the bar.
    #[error("the bar is {thickness_mm} mm thick at {x_mm:.1} mm; at least {limit_mm} mm are needed")]
    TooThin {
        /// Thickness in millimetres.
        thickness_mm: f64,
        /// Place in millimetres.
        x_mm: f64,
        /// Limit in millimetres.
        limit_mm: f64,
    },
    /// Stiffness or density of uneven wood is not positive somewhere along the bar.
    #[error("the {factor} factor of the wood is {value} at {x_mm:.1} mm; it must be a positive number")]
    UnevenFactor {
        /// "stiffness" or "density".
        factor: &'static str,
        /// Its value.
        value: f64,
        /// Place in millimetres.
        x_mm: f64,
    },
    /// Unequal numbers of places and factors of uneven wood.
    #[error(
        "the uneven wood has {places} places, {stiffness} stiffness factors and {density} density factors; give equally many"
    )]
    UnevenStations {
        /// Number of places.
        places: usize,
        /// Number of stiffness factors.
        stiffness: usize,
        /// Number of density factors.
        density: usize,
    },
    /// A strip does not lie on the bar.
    #[error("a strip from {from_mm} to {to_mm} mm does not lie on a bar of {length_mm} mm")]
    StripOffBar {
        /// Start in millimetres.
        from_mm: f64,
        /// End in millimetres.
        to_mm: f64,
        /// Length of the bar in millimetres.
        length_mm: f64,
    },
    /// The equations could not be solved; the numbers given are too extreme for double precision.
    #[error(
        "the beam equations could not be solved ({detail}); check that length, thickness, stiffness and density are those of a bar"
    )]
    NotSolved {
        /// What went wrong.
        detail: String,
    },
}

/// Which beam theory.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Theory {
    /// Bending stiffness and mass only; the limit of a thin bar.
    EulerBernoulli,
    /// With shear deformation and rotary inertia.
    Timoshenko,
}

/// The wood as a beam sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BeamWood {
    /// Young's modulus along the bar.
    pub e_l_pa: f64,
    /// Shear modulus in the side view.
    pub g_lh_pa: f64,
    /// Density in kg/m³.
    pub density_kg_m3: f64,
    /// Shear factor κ of the cross-section.
    pub shear_factor: f64,
}

impl BeamWood {
    /// Wood with the shear factor of a rectangle.
    pub fn new(e_l_pa: f64, g_lh_pa: f64, density_kg_m3: f64) -> Self {
        Self { e_l_pa, g_lh_pa, density_kg_m3, shear_factor: SHEAR_FACTOR_RECTANGLE }
    }

    /// The beam constants of a wood whose grain runs along the bar.
    pub fn along_grain(wood: &Wood) -> Self {
        Self::new(wood.e_l_pa, wood.g_lh_pa, wood.density_kg_m3)
    }

    /// Checks that every constant is positive and finite.
    pub(crate) fn check(&self) -> Result<(), BeamError> {
        check_positive("Young's modulus along the bar", self.e_l_pa, "Pa")?;
        check_positive("shear modulus in the side view", self.g_lh_pa, "Pa")?;
        check_positive("density", self.density_kg_m3, "kg/m³")?;
        check_positive("shear factor", self.shear_factor, "")
    }
}

fn check_positive(quantity: &'static str, value: f64, unit: &'static str) -> Result<(), BeamError> {
    if value.is_finite() && value > 0.0 { Ok(()) } else { Err(BeamError::NotPositive { quantity, value, unit }) }
}

fn check_mode(mode: usize, highest: usize) -> Result<(), BeamError> {
    if (1..=highest).contains(&mode) { Ok(()) } else { Err(BeamError::NoSuchMode { mode, highest }) }
}

/// Zeros of `f` by sign changes between neighbouring `samples`, each bisected to the last bit.
///
/// A pair of zeros between two samples is not seen: sample finer than the zeros can lie.
fn zeros(samples: impl IntoIterator<Item = f64>, f: impl Fn(f64) -> f64) -> Vec<f64> {
    let mut found = Vec::new();
    let mut last: Option<(f64, f64)> = None;
    for x in samples {
        let value = f(x);
        if value == 0.0 {
            found.push(x);
            last = None;
            continue;
        }
        if let Some((x_last, value_last)) = last.filter(|(_, v)| (*v > 0.0) != (value > 0.0)) {
            found.push(bisected(x_last, value_last, x, &f));
        }
        last = Some((x, value));
    }
    found
}

/// The sign change of `f` between `low` (where it is `f_low`) and `high`, to the last bit.
fn bisected(mut low: f64, f_low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    loop {
        let middle = 0.5 * (low + high);
        // Written so that NaN ends the loop too.
        if !(middle > low && middle < high) {
            return middle;
        }
        if (f(middle) > 0.0) == (f_low > 0.0) { low = middle } else { high = middle }
    }
}
