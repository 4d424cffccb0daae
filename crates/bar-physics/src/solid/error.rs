//! Why a bar's modes cannot be computed, and what is checked before trying.
use crate::{Bar, GeometryError, MIN_SOLVABLE_THICKNESS_M};

/// Why a bar's modes cannot be computed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PhysicsError {
    /// The bar is impossible.
    #[error(transparent)]
    Geometry(#[from] GeometryError),
    /// The eigenvalue iteration did not converge.
    #[error("the computation found {found} of {wanted} modes before it stalled")]
    NoConvergence {
        /// Modes found.
        found: usize,
        /// Modes wanted.
        wanted: usize,
    },
    /// The bar is so stubby that plate and mixed motions hide the wanted modes.
    #[error(
        "only {found} of {wanted} {kind} modes stand out: at {length_mm:.0} × {width_mm:.0} mm this is a block, not a bar; \
         make it longer or narrower"
    )]
    NotABar {
        /// The kind that is missing.
        kind: &'static str,
        /// Modes found.
        found: usize,
        /// Modes wanted.
        wanted: usize,
        /// Length in millimetres.
        length_mm: f64,
        /// Width in millimetres.
        width_mm: f64,
    },
    /// The stiffness matrix is not positive: the shape is too extreme for the mesh.
    #[error("the stiffness of the bar is not positive at unknown {row}: the shape is too extreme")]
    Indefinite {
        /// Unknown at which it failed.
        row: usize,
    },
}

/// Checks what the geometry's own constructors cannot know.
pub(super) fn check(bar: &Bar) -> Result<(), PhysicsError> {
    let range = |what, value_m: f64, low_mm: f64, high_mm: f64| {
        let value_mm = value_m * 1e3;
        if value_mm >= low_mm && value_mm <= high_mm {
            Ok(())
        } else {
            Err(GeometryError::OutOfRange { what, value_mm, low_mm, high_mm })
        }
    };
    range("length", bar.length_m(), 30.0, 3000.0)?;
    range("width", bar.width_m, 3.0, 500.0)?;
    bar.wood.check().map_err(GeometryError::Wood)?;
    let uneven = &bar.unevenness;
    let stations = uneven.x_m.len();
    if stations != uneven.stiffness_factor.len() || stations != uneven.density_factor.len() {
        let thicknesses = uneven.stiffness_factor.len().min(uneven.density_factor.len());
        return Err(GeometryError::StationCount { stations, thicknesses }.into());
    }
    if bar.crook.x_m.len() != bar.crook.far_minus_near_m.len() {
        let (stations, thicknesses) = (bar.crook.x_m.len(), bar.crook.far_minus_near_m.len());
        return Err(GeometryError::StationCount { stations, thicknesses }.into());
    }
    let places = bar.underside.x_m().iter().chain(&bar.crook.x_m);
    let thin = places
        .map(|x| (*x, bar.underside.thickness_at(*x) - 0.5 * bar.crook.at(*x).abs()))
        .find(|(_, left_m)| left_m.is_nan() || *left_m < MIN_SOLVABLE_THICKNESS_M);
    match thin {
        Some((x_m, left_m)) => {
            let limit_mm = MIN_SOLVABLE_THICKNESS_M * 1e3;
            Err(GeometryError::TooThin { left_mm: left_m * 1e3, x_mm: x_m * 1e3, limit_mm }.into())
        }
        None => Ok(()),
    }
}
