//! Wood as an orthotropic solid, and its grain turned in the bar.
//!
//! Wood axes: L along the grain, W across the width, H through the thickness.

/// A 6 × 6 stiffness matrix in pascals, Voigt order xx, yy, zz, yz, xz, xy with engineering shears.
pub type StiffnessMatrix = [[f64; 6]; 6];

/// Why nine constants cannot be a wood.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum WoodError {
    /// A constant is not a positive finite number.
    #[error("{name} is {value}; it must be a positive number")]
    NotPositive {
        /// Name of the constant.
        name: &'static str,
        /// Value given.
        value: f64,
    },
    /// The elastic energy would be negative for some strain.
    #[error("the Poisson ratios and moduli contradict each other: {detail}")]
    NotPositiveDefinite {
        /// Which condition fails.
        detail: &'static str,
    },
}

/// Nine elastic constants and the density of a wood.
#[derive(Debug, Clone, PartialEq)]
pub struct Wood {
    /// Name, for people.
    pub name: String,
    /// Density in kg/m³.
    pub density_kg_m3: f64,
    /// Young's modulus along the grain.
    pub e_l_pa: f64,
    /// Young's modulus across the width.
    pub e_w_pa: f64,
    /// Young's modulus through the thickness.
    pub e_h_pa: f64,
    /// Shear modulus in the plane of the top face.
    pub g_lw_pa: f64,
    /// Shear modulus in the side view, the one that bending feels.
    pub g_lh_pa: f64,
    /// Rolling shear modulus in the end grain.
    pub g_wh_pa: f64,
    /// Poisson ratio: stretch along L, shrink along W.
    pub nu_lw: f64,
    /// Poisson ratio: stretch along L, shrink along H.
    pub nu_lh: f64,
    /// Poisson ratio: stretch along W, shrink along H.
    pub nu_wh: f64,
}
