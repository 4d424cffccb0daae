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

impl Wood {
    /// A hardwood of which only density and lengthwise stiffness are known.
    ///
    /// Ratios to `e_l_pa` are means over the eight hardwoods in Wood Handbook (USDA FPL-GTR-282)
    /// tables 5-1 and 5-2 as a public copy prints them (see [`crate::woods`]), for a plain-sawn bar (W
    /// tangential, H radial); ν_WH lies between the table's mean (0.341) and what reciprocity with its ν_RT
    /// gives (0.373). The species scatter by about 25 % of each ratio, and no bar wood is among them.
    pub fn generic_hardwood(density_kg_m3: f64, e_l_pa: f64) -> Self {
        Self {
            name: "generic hardwood".to_owned(),
            density_kg_m3,
            e_l_pa,
            e_w_pa: 0.065 * e_l_pa,
            e_h_pa: 0.125 * e_l_pa,
            g_lw_pa: 0.073 * e_l_pa,
            g_lh_pa: 0.102 * e_l_pa,
            g_wh_pa: 0.022 * e_l_pa,
            nu_lw: 0.51,
            nu_lh: 0.39,
            nu_wh: 0.36,
        }
    }

    /// An isotropic material, for checks against closed forms.
    pub fn isotropic(name: &str, density_kg_m3: f64, young_pa: f64, poisson: f64) -> Self {
        let shear_pa = young_pa / (2.0 * (1.0 + poisson));
        Self {
            name: name.to_owned(),
            density_kg_m3,
            e_l_pa: young_pa,
            e_w_pa: young_pa,
            e_h_pa: young_pa,
            g_lw_pa: shear_pa,
            g_lh_pa: shear_pa,
            g_wh_pa: shear_pa,
            nu_lw: poisson,
            nu_lh: poisson,
            nu_wh: poisson,
        }
    }

    /// Checks that the constants can belong to a solid.
    ///
    /// # Errors
    /// [`WoodError`] if a constant is not positive or the elastic energy is not positive for every strain.
    pub fn check(&self) -> Result<(), WoodError> {
        self.stiffness().map(|_| ())
    }

    /// Stiffness in the wood's own axes (x = L, y = W, z = H), the inverse of the compliance
    /// (e.g. Lekhnitskii 1963, orthotropic Hooke's law).
    ///
    /// # Errors
    /// As [`Wood::check`].
    pub fn stiffness(&self) -> Result<StiffnessMatrix, WoodError> {
        let positive = [
            ("density", self.density_kg_m3),
            ("E_L", self.e_l_pa),
            ("E_W", self.e_w_pa),
            ("E_H", self.e_h_pa),
            ("G_LW", self.g_lw_pa),
            ("G_LH", self.g_lh_pa),
            ("G_WH", self.g_wh_pa),
        ];
        if let Some((name, value)) = positive.into_iter().find(|(_, v)| !(v.is_finite() && *v > 0.0)) {
            return Err(WoodError::NotPositive { name, value });
        }
        let (s11, s22, s33) = (1.0 / self.e_l_pa, 1.0 / self.e_w_pa, 1.0 / self.e_h_pa);
        let (s12, s13, s23) = (-self.nu_lw * s11, -self.nu_lh * s11, -self.nu_wh * s22);
        let minor = s11 * s22 - s12 * s12;
        let det = s11 * (s22 * s33 - s23 * s23) - s12 * (s12 * s33 - s23 * s13) + s13 * (s12 * s23 - s22 * s13);
        // Sylvester: every leading minor of the compliance must be positive. NaN fails too.
        if !(minor > 0.0 && det > 0.0) {
            let detail =
                if minor > 0.0 { "nu_LW, nu_LH and nu_WH together are too large" } else { "nu_LW is too large" };
            return Err(WoodError::NotPositiveDefinite { detail });
        }
        let mut c = [[0.0; 6]; 6];
        c[0][0] = (s22 * s33 - s23 * s23) / det;
        c[1][1] = (s11 * s33 - s13 * s13) / det;
        c[2][2] = minor / det;
        c[0][1] = (s13 * s23 - s12 * s33) / det;
        c[0][2] = (s12 * s23 - s13 * s22) / det;
        c[1][2] = (s12 * s13 - s11 * s23) / det;
        (c[1][0], c[2][0], c[2][1]) = (c[0][1], c[0][2], c[1][2]);
        (c[3][3], c[4][4], c[5][5]) = (self.g_wh_pa, self.g_lh_pa, self.g_lw_pa);
        Ok(c)
    }
}

/// How the grain lies in the bar: `plan_rad` turns it from +x toward +y, `dip_rad` from +x toward +z.
///
/// The dip is applied first, about the width; then the plan turn, about the vertical.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Grain {
    /// Turn in plan.
    pub plan_rad: f64,
    /// Dip in the side view.
    pub dip_rad: f64,
}

impl Grain {
    /// From degrees.
    pub fn from_degrees(plan_deg: f64, dip_deg: f64) -> Self {
        Self { plan_rad: plan_deg.to_radians(), dip_rad: dip_deg.to_radians() }
    }

    /// Whether the wood is symmetric about the bar's vertical lengthwise middle plane.
    pub fn is_symmetric_across(&self) -> bool {
        self.plan_rad.abs() < 1e-9
    }

    /// Columns are the wood axes L, W, H in bar axes.
    fn axes(&self) -> [[f64; 3]; 3] {
        let (sp, cp) = self.plan_rad.sin_cos();
        let (sd, cd) = self.dip_rad.sin_cos();
        [[cd * cp, -sp, -sd * cp], [cd * sp, cp, -sd * sp], [sd, 0.0, cd]]
    }

    /// The stiffness seen in bar axes: C′ᵢⱼₖₗ = RᵢₚRⱼᵩRₖᵣRₗₛ Cₚᵩᵣₛ.
    pub fn turn(&self, wood: &StiffnessMatrix) -> StiffnessMatrix {
        let bond = self.strain_turn();
        // C' = T C Tᵀ with T = (strain turn)ᵀ, since energy is the same in both axes.
        let mut out = [[0.0; 6]; 6];
        for (i, row) in out.iter_mut().enumerate() {
            for (j, value) in row.iter_mut().enumerate() {
                for a in 0..6 {
                    for b in 0..6 {
                        *value += bond[a][i] * wood[a][b] * bond[b][j];
                    }
                }
            }
        }
        out
    }

    /// Engineering strains in wood axes from those in bar axes (Voigt; Auld 1973, Bond matrix N).
    fn strain_turn(&self) -> StiffnessMatrix {
        let r = self.axes();
        let mut out = [[0.0; 6]; 6];
        for (i, (p, q)) in VOIGT_PAIRS.into_iter().enumerate() {
            for (j, (k, l)) in VOIGT_PAIRS.into_iter().enumerate() {
                // strain'_pq = r_kp r_lq strain_kl, summed over kl and lk; engineering shear doubles.
                let both = r[k][p] * r[l][q] + r[l][p] * r[k][q];
                let tensor = if k == l { both / 2.0 } else { both };
                let from_engineering = if k == l { 1.0 } else { 0.5 };
                let to_engineering = if p == q { 1.0 } else { 2.0 };
                out[i][j] = to_engineering * tensor * from_engineering;
            }
        }
        out
    }
}

/// The axis pair of each Voigt index.
pub(crate) const VOIGT_PAIRS: [(usize, usize); 6] = [(0, 0), (1, 1), (2, 2), (1, 2), (0, 2), (0, 1)];

/// Voigt index of an axis pair.
pub(crate) fn voigt(a: usize, b: usize) -> usize {
    if a == b { a } else { 6 - a - b }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(a: &StiffnessMatrix, b: &StiffnessMatrix, tolerance: f64) {
        for i in 0..6 {
            for j in 0..6 {
                assert!((a[i][j] - b[i][j]).abs() <= tolerance, "[{i}][{j}]: {} against {}", a[i][j], b[i][j]);
            }
        }
    }

    #[test]
    fn turning_isotropic_material_changes_nothing() {
        let c = Wood::isotropic("steel", 7800.0, 2.0e11, 0.3).stiffness().unwrap();
        // Rounding of sums of about 1e11.
        close(&Grain::from_degrees(17.0, -33.0).turn(&c), &c, 1e-3);
    }

    #[test]
    fn a_quarter_turn_in_plan_exchanges_l_and_w() {
        let wood = Wood::generic_hardwood(800.0, 15e9);
        let turned = Grain::from_degrees(90.0, 0.0).turn(&wood.stiffness().unwrap());
        let c = wood.stiffness().unwrap();
        assert!((turned[1][1] - c[0][0]).abs() < 1e-3);
        assert!((turned[3][3] - c[4][4]).abs() < 1e-3);
        assert!((turned[0][2] - c[1][2]).abs() < 1e-3);
    }

    #[test]
    fn stiffness_inverts_compliance() {
        let wood = Wood::generic_hardwood(800.0, 15e9);
        let c = wood.stiffness().unwrap();
        // Uniaxial stress along L: strains from the compliance must give back that stress alone.
        let strain = [1.0 / wood.e_l_pa, -wood.nu_lw / wood.e_l_pa, -wood.nu_lh / wood.e_l_pa];
        let stress: Vec<f64> = (0..3).map(|i| (0..3).map(|j| c[i][j] * strain[j]).sum()).collect();
        assert!((stress[0] - 1.0).abs() < 1e-12 && stress[1].abs() < 1e-12 && stress[2].abs() < 1e-12);
    }

    #[test]
    fn impossible_constants_are_refused() {
        let mut wood = Wood::generic_hardwood(800.0, 15e9);
        wood.nu_lw = 5.0;
        assert!(matches!(wood.check(), Err(WoodError::NotPositiveDefinite { .. })));
        wood.e_l_pa = f64::NAN;
        assert!(matches!(wood.check(), Err(WoodError::NotPositive { name: "E_L", .. })));
    }
}
