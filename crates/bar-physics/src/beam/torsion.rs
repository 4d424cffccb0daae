//! Twisting of a uniform rectangular bar after Saint-Venant, ends free to warp.
use super::{BeamError, check_mode, check_positive};
use std::f64::consts::PI;

/// Σ 1/n⁵ over odd n, that is 31/32 · ζ(5) (Abramowitz & Stegun 1964, 23.2.20).
const ODD_FIFTH_POWERS: f64 = 31.0 / 32.0 * 1.036_927_755_143_37;

/// Saint-Venant torsion constant J of a rectangle, in m⁴, for equal shear moduli in both planes.
///
/// J = b h³ (1/3 − 64/π⁵ · h/b · Σ tanh(nπb/2h)/n⁵), n odd, h the shorter side (Timoshenko & Goodier,
/// *Theory of Elasticity*, torsion of a rectangular bar). Summed to rounding for any sides.
///
/// # Errors
/// [`BeamError::NotPositive`] if a side is not a positive number.
pub fn saint_venant_constant_m4(width_m: f64, thickness_m: f64) -> Result<f64, BeamError> {
    check_positive("width", width_m, "m")?;
    check_positive("thickness", thickness_m, "m")?;
    let (long, short) = if width_m >= thickness_m { (width_m, thickness_m) } else { (thickness_m, width_m) };
    let aspect = long / short;
    // tanh t = 1 − 2/(e^{2t} + 1): the ones sum in closed form, the rest falls as e^{−nπ} or faster.
    let rest: f64 =
        (0..8).map(|i| f64::from(2 * i + 1)).map(|n| 2.0 / (n.powi(5) * ((n * PI * aspect).exp() + 1.0))).sum();
    Ok(long * short.powi(3) * (1.0 / 3.0 - 64.0 / PI.powi(5) / aspect * (ODD_FIFTH_POWERS - rest)))
}

/// Torsional rigidity (torque per twist per length) of a rectangular bar of wood, in N·m².
///
/// `g_lw_pa` is the shear modulus in the plane of the top face, `g_lh_pa` that in the side view; equal
/// moduli give G·J. Unequal ones are brought to equal by stretching the cross-section: Prandtl's equation
/// φ_yy/G_LH + φ_zz/G_LW = −2 becomes that of an isotropic rectangle of sides width·(G_LH/G_LW)^¼ and
/// thickness·(G_LW/G_LH)^¼ with G = √(G_LW·G_LH) (e.g. Lekhnitskii 1963; derived here).
///
/// # Errors
/// [`BeamError::NotPositive`] naming the value that is not a positive number.
pub fn torsional_rigidity_n_m2(width_m: f64, thickness_m: f64, g_lw_pa: f64, g_lh_pa: f64) -> Result<f64, BeamError> {
    check_positive("shear modulus in the plane of the top face", g_lw_pa, "Pa")?;
    check_positive("shear modulus in the side view", g_lh_pa, "Pa")?;
    check_positive("width", width_m, "m")?;
    check_positive("thickness", thickness_m, "m")?;
    let stretch = (g_lh_pa / g_lw_pa).sqrt().sqrt();
    Ok((g_lw_pa.sqrt() * g_lh_pa.sqrt()) * saint_venant_constant_m4(width_m * stretch, thickness_m / stretch)?)
}

/// Frequency of torsion mode `mode` (1, 2, …) of a uniform free bar, in hertz:
/// n/(2L) · √(rigidity / (ρ I_p)), I_p = b h (b² + h²)/12 (e.g. Blevins 1979, torsion of uniform shafts).
///
/// Valid for bars much longer than wide; restrained warping and bending of the cross-section, which
/// this leaves out, move a wide short bar by several per cent.
///
/// # Errors
/// [`BeamError::NotPositive`] naming a value that is not positive; [`BeamError::NoSuchMode`] for mode 0.
pub fn torsion_hz(
    mode: usize,
    length_m: f64,
    width_m: f64,
    thickness_m: f64,
    rigidity_n_m2: f64,
    density_kg_m3: f64,
) -> Result<f64, BeamError> {
    check_mode(mode, usize::MAX)?;
    check_positive("length", length_m, "m")?;
    check_positive("width", width_m, "m")?;
    check_positive("thickness", thickness_m, "m")?;
    check_positive("torsional rigidity", rigidity_n_m2, "N·m²")?;
    check_positive("density", density_kg_m3, "kg/m³")?;
    let polar_m4 = width_m * thickness_m * (width_m * width_m + thickness_m * thickness_m) / 12.0;
    Ok(mode as f64 / (2.0 * length_m) * (rigidity_n_m2 / (density_kg_m3 * polar_m4)).sqrt())
}
