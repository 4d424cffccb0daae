//! Ten logarithms that make a wood, and how its stiffness moves with each.
use crate::{StiffnessMatrix, Wood, WoodError};
use nalgebra::DVector;

/// Number of logarithms.
pub(super) const COUNT: usize = 10;

/// Places of the logarithms: of ρ, E_L, then of ratios to E_L, then of the Poisson couplings.
pub(super) mod slot {
    pub const DENSITY: usize = 0;
    pub const E_L: usize = 1;
    pub const G_LH: usize = 2;
    pub const G_LW: usize = 3;
    pub const E_W: usize = 4;
    pub const E_H: usize = 5;
    pub const G_WH: usize = 6;
    pub const NU_LW: usize = 7;
    pub const NU_LH: usize = 8;
    pub const NU_WH: usize = 9;
}

/// The state that describes `wood`.
pub(super) fn from_wood(wood: &Wood) -> DVector<f64> {
    let coupling = |nu: f64, e_i: f64, e_j: f64| (nu * (e_j / e_i).sqrt()).abs().max(1e-6).ln();
    let e = wood.e_l_pa;
    DVector::from_vec(vec![
        wood.density_kg_m3.ln(),
        e.ln(),
        (wood.g_lh_pa / e).ln(),
        (wood.g_lw_pa / e).ln(),
        (wood.e_w_pa / e).ln(),
        (wood.e_h_pa / e).ln(),
        (wood.g_wh_pa / e).ln(),
        coupling(wood.nu_lw, e, wood.e_w_pa),
        coupling(wood.nu_lh, e, wood.e_h_pa),
        coupling(wood.nu_wh, wood.e_w_pa, wood.e_h_pa),
    ])
}

/// The wood that a state describes.
pub(super) fn to_wood(state: &DVector<f64>, name: &str) -> Wood {
    let e = state[slot::E_L].exp();
    let times_e = |slot: usize| e * state[slot].exp();
    let (e_w, e_h) = (times_e(slot::E_W), times_e(slot::E_H));
    Wood {
        name: name.to_owned(),
        density_kg_m3: state[slot::DENSITY].exp(),
        e_l_pa: e,
        e_w_pa: e_w,
        e_h_pa: e_h,
        g_lw_pa: times_e(slot::G_LW),
        g_lh_pa: times_e(slot::G_LH),
        g_wh_pa: times_e(slot::G_WH),
        nu_lw: state[slot::NU_LW].exp() * (e / e_w).sqrt(),
        nu_lh: state[slot::NU_LH].exp() * (e / e_h).sqrt(),
        nu_wh: state[slot::NU_WH].exp() * (e_w / e_h).sqrt(),
    }
}

/// ∂C/∂(state) in wood axes, for every slot but the density's (which stays zero).
///
/// The shears stand alone on the diagonal; for the rest dC = −C dS C with the compliance S.
pub(super) fn stiffness_slopes(wood: &Wood) -> Result<[StiffnessMatrix; COUNT], WoodError> {
    let c = wood.stiffness()?;
    let mut out = [[[0.0; 6]; 6]; COUNT];
    out[slot::E_L] = c;
    out[slot::G_WH][3][3] = c[3][3];
    out[slot::G_LH][4][4] = c[4][4];
    out[slot::G_LW][5][5] = c[5][5];
    let (s22, s33) = (1.0 / wood.e_w_pa, 1.0 / wood.e_h_pa);
    let (s12, s13) = (-wood.nu_lw / wood.e_l_pa, -wood.nu_lh / wood.e_l_pa);
    let s23 = -wood.nu_wh * s22;
    // Couplings are kept, so s_ij = −c_ij √(s_ii s_jj) goes with half the power of each modulus.
    out[slot::E_W] = through_compliance(&c, &[(1, 1, -s22), (0, 1, -0.5 * s12), (1, 2, -0.5 * s23)]);
    out[slot::E_H] = through_compliance(&c, &[(2, 2, -s33), (0, 2, -0.5 * s13), (1, 2, -0.5 * s23)]);
    out[slot::NU_LW] = through_compliance(&c, &[(0, 1, s12)]);
    out[slot::NU_LH] = through_compliance(&c, &[(0, 2, s13)]);
    out[slot::NU_WH] = through_compliance(&c, &[(1, 2, s23)]);
    Ok(out)
}

/// −C dS C for a change of the compliance given by its upper entries.
fn through_compliance(c: &StiffnessMatrix, changes: &[(usize, usize, f64)]) -> StiffnessMatrix {
    let mut out = [[0.0; 6]; 6];
    for (i, row) in out.iter_mut().enumerate() {
        for (j, value) in row.iter_mut().enumerate() {
            for &(a, b, change) in changes {
                let mirrored = if a == b { 0.0 } else { c[i][b] * c[a][j] };
                *value -= change * (c[i][a] * c[b][j] + mirrored);
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wood_survives_the_way_through_its_logarithms() {
        let wood = Wood::generic_hardwood(812.0, 13.7e9);
        let back = to_wood(&from_wood(&wood), &wood.name);
        let pairs = [(back.e_w_pa, wood.e_w_pa), (back.nu_wh, wood.nu_wh), (back.nu_lh, wood.nu_lh)];
        // Rounding of a few exponentials.
        assert!(pairs.into_iter().all(|(a, b)| (a / b - 1.0).abs() < 1e-13));
    }

    #[test]
    fn slopes_are_those_of_the_closed_form_stiffness() {
        let wood = Wood::generic_hardwood(812.0, 13.7e9);
        let state = from_wood(&wood);
        let slopes = stiffness_slopes(&wood).unwrap();
        const STEP: f64 = 1e-5;
        for (slot, slope) in slopes.iter().enumerate() {
            let at = |h: f64| {
                let mut moved = state.clone();
                moved[slot] += h;
                to_wood(&moved, "").stiffness().unwrap()
            };
            let (up, down) = (at(STEP), at(-STEP));
            for i in 0..6 {
                for j in 0..6 {
                    let difference = (up[i][j] - down[i][j]) / (2.0 * STEP);
                    // Central difference: STEP² relative, and rounding of 1e-16/STEP; 1e-8 of E_L.
                    assert!((slope[i][j] - difference).abs() < 1e-8 * wood.e_l_pa, "slot {slot} [{i}][{j}]");
                }
            }
        }
    }
}
