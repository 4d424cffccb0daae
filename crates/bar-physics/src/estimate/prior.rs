//! What is believed of a wood before it is measured.
use super::state::{COUNT, slot};
use crate::Wood;
use crate::woods::{Figure, NamedWood, Sawn, woods};
use nalgebra::DMatrix;

/// A wood with the standard uncertainty of the logarithm of each quantity (0.1 is about 10 %).
///
/// Stiffness grows with density, so what is believed is E_L/ρ; all other constants are believed relative
/// to E_L, and the Poisson ratios through the symmetric coupling ν_ij √(E_j/E_i).
#[derive(Debug, Clone, PartialEq)]
pub struct WoodPrior {
    /// Most likely wood.
    pub mean: Wood,
    /// Of ρ.
    pub ln_density_sigma: f64,
    /// Of E_L/ρ.
    pub ln_specific_modulus_sigma: f64,
    /// Of G_LH/E_L.
    pub ln_g_lh_sigma: f64,
    /// Of G_LW/E_L.
    pub ln_g_lw_sigma: f64,
    /// Of E_W/E_L, E_H/E_L and G_WH/E_L, each.
    pub ln_other_ratio_sigma: f64,
    /// Of each Poisson coupling.
    pub ln_poisson_sigma: f64,
    /// Where the numbers come from.
    pub source: String,
}

/// Piece to piece within a species, of ln ρ and of ln E_L: coefficients of variation 10 % and 22 %
/// (Wood Handbook table 5-6, **from memory**).
const SPECIES_LN_DENSITY: f64 = 0.10;
const SPECIES_LN_E_L: f64 = 0.22;
/// Ratios G/E and E/E scatter between the eight hardwoods of Wood Handbook table 5-1 by 20 to 30 %
/// (see [`Wood::generic_hardwood`], **from memory**).
const LN_RATIO: f64 = 0.25;
/// Poisson couplings: judgement, published pairs miss reciprocity by up to 18 %.
const LN_POISSON: f64 = 0.20;

impl WoodPrior {
    /// A hardwood of unknown species: mean and scatter over the table of [`crate::woods`], and within a species.
    pub fn generic() -> Self {
        let density: Vec<f64> = woods().iter().map(|w| w.density_kg_m3.value.ln()).collect();
        let specific: Vec<f64> = woods().iter().map(|w| (w.e_l_pa.value / w.density_kg_m3.value).ln()).collect();
        let ((ln_density, between), (ln_specific, specific_between)) =
            (mean_and_spread(&density), mean_and_spread(&specific));
        let within_specific = (SPECIES_LN_E_L * SPECIES_LN_E_L - SPECIES_LN_DENSITY * SPECIES_LN_DENSITY).sqrt();
        Self {
            mean: Wood::generic_hardwood(ln_density.exp(), (ln_density + ln_specific).exp()),
            ln_density_sigma: between.hypot(SPECIES_LN_DENSITY),
            ln_specific_modulus_sigma: specific_between.hypot(within_specific),
            ln_g_lh_sigma: LN_RATIO,
            ln_g_lw_sigma: LN_RATIO,
            ln_other_ratio_sigma: LN_RATIO,
            ln_poisson_sigma: LN_POISSON,
            source: format!(
                "generic hardwood: density and stiffness from the scatter of {} woods of the table and within a \
                 species, ratios from a handbook table recalled from memory",
                woods().len()
            ),
        }
    }

    /// A wood of the table with its own spreads.
    pub fn named(named: &NamedWood, sawn: Sawn) -> Self {
        let (density, e_l) = (named.density_kg_m3.relative_sigma(), named.e_l_pa.relative_sigma());
        let r = &named.ratios;
        let (g_lh, g_lw) = match sawn {
            Sawn::Plain => (r.g_lr, r.g_lt),
            Sawn::Quarter => (r.g_lt, r.g_lr),
        };
        let largest = |figures: &[Figure]| figures.iter().map(Figure::relative_sigma).fold(0.0, f64::max);
        Self {
            mean: named.wood(sawn),
            ln_density_sigma: density,
            // The part of the spread of E_L that density does not explain, at least half of it.
            ln_specific_modulus_sigma: (e_l * e_l - density * density).max(0.25 * e_l * e_l).sqrt(),
            ln_g_lh_sigma: g_lh.relative_sigma(),
            ln_g_lw_sigma: g_lw.relative_sigma(),
            ln_other_ratio_sigma: largest(&[r.e_t, r.e_r, r.g_rt]),
            ln_poisson_sigma: largest(&[r.nu_lt, r.nu_lr, r.nu_tr]),
            source: format!("{}: table of woods; {}; {}", named.name, named.e_l_pa.source, r.g_lr.source),
        }
    }

    /// Covariance of the state.
    pub(super) fn covariance(&self) -> DMatrix<f64> {
        let mut out = DMatrix::zeros(COUNT, COUNT);
        let density = self.ln_density_sigma * self.ln_density_sigma;
        out[(slot::DENSITY, slot::DENSITY)] = density;
        // ln E_L = ln ρ + ln(E_L/ρ).
        out[(slot::E_L, slot::E_L)] = density + self.ln_specific_modulus_sigma * self.ln_specific_modulus_sigma;
        out[(slot::DENSITY, slot::E_L)] = density;
        out[(slot::E_L, slot::DENSITY)] = density;
        let mut set = |slot: usize, sigma: f64| out[(slot, slot)] = sigma * sigma;
        set(slot::G_LH, self.ln_g_lh_sigma);
        set(slot::G_LW, self.ln_g_lw_sigma);
        [slot::E_W, slot::E_H, slot::G_WH].into_iter().for_each(|s| set(s, self.ln_other_ratio_sigma));
        [slot::NU_LW, slot::NU_LH, slot::NU_WH].into_iter().for_each(|s| set(s, self.ln_poisson_sigma));
        out
    }

    /// Each spread with its name.
    pub(super) fn named_sigmas(&self) -> [(&'static str, f64); 6] {
        [
            ("the spread of density", self.ln_density_sigma),
            ("the spread of E_L/density", self.ln_specific_modulus_sigma),
            ("the spread of G_LH/E_L", self.ln_g_lh_sigma),
            ("the spread of G_LW/E_L", self.ln_g_lw_sigma),
            ("the spread of the other ratios", self.ln_other_ratio_sigma),
            ("the spread of the Poisson ratios", self.ln_poisson_sigma),
        ]
    }
}

/// Mean and sample standard deviation.
fn mean_and_spread(values: &[f64]) -> (f64, f64) {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let variance = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0).max(1.0);
    (mean, variance.sqrt())
}
