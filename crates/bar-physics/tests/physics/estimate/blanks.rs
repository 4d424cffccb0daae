//! Invented blanks, their true modes as readings, and how far an estimate is off.
use bar_physics::estimate::*;
use bar_physics::{Bar, Grain, Modes, Underside, Wanted, Wood};

/// Reproducible normal deviates: splitmix64 (Steele, Lea & Flood 2014) and Box–Muller.
pub struct Dice(pub u64);

impl Dice {
    pub fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64 + 1e-17
    }

    pub fn normal(&mut self) -> f64 {
        (-2.0 * self.uniform().ln()).sqrt() * (std::f64::consts::TAU * self.uniform()).cos()
    }
}

pub const ALL_MODES: Wanted = Wanted { bending: 3, torsion: 2, sideways: 0 };

/// Sizes in millimetres with their errors, and the error of the scale in grams.
#[derive(Clone, Copy)]
pub struct Errors {
    pub length_mm: f64,
    pub width_mm: f64,
    pub thickness_mm: f64,
    pub mass_g: f64,
}

/// A tape, a caliper and a kitchen scale.
pub const SHOP: Errors = Errors { length_mm: 0.3, width_mm: 0.1, thickness_mm: 0.05, mass_g: 1.0 };
/// Nothing wrong but the reading; 0.01 g because a weight is never exact.
pub const EXACT: Errors = Errors { length_mm: 0.0, width_mm: 0.0, thickness_mm: 0.0, mass_g: 0.01 };

pub fn blank([length, width, thickness]: [f64; 3], errors: Errors, mass_kg: Option<f64>) -> KnownBar {
    let known = KnownBar::blank(
        Size::from_mm(length, errors.length_mm),
        Size::from_mm(width, errors.width_mm),
        Size::from_mm(thickness, errors.thickness_mm),
    )
    .unwrap();
    match mass_kg {
        Some(kg) => known.weighed(kg, errors.mass_g * 1e-3),
        None => known,
    }
}

pub fn bar_of([length, width, thickness]: [f64; 3], wood: &Wood) -> Bar {
    let underside = Underside::flat(length * 1e-3, thickness * 1e-3).unwrap();
    Bar::new(width * 1e-3, underside, wood.clone(), Grain::default())
}

/// The first so many bending and torsion modes as readings.
pub fn heard(modes: &Modes, bending: usize, torsion: usize, sigma_cents: f64) -> Readings {
    let pitch = |mode: &bar_physics::Mode| PitchReading { hz: mode.hz, sigma_cents };
    let mut out = Readings::default();
    out.bending.iter_mut().zip(modes.bending.iter().take(bending)).for_each(|(r, m)| *r = Some(pitch(m)));
    out.torsion.iter_mut().zip(modes.torsion.iter().take(torsion)).for_each(|(r, m)| *r = Some(pitch(m)));
    out
}

/// An invented wood, away from the prior's mean by about one spread in every direction.
pub fn hidden() -> Wood {
    let mut wood = Wood::generic_hardwood(905.0, 15.2e9);
    wood.g_lh_pa *= 0.8;
    wood.g_lw_pa *= 1.25;
    wood.e_h_pa *= 1.2;
    wood
}

pub fn truth(wood: &Wood) -> [f64; 4] {
    [wood.density_kg_m3, wood.e_l_pa, wood.g_lh_pa, wood.g_lw_pa]
}

/// Departure of each constant from the truth in its standard uncertainty, of the logarithms.
pub fn departures(estimate: &WoodEstimate, wood: &Wood) -> [f64; 4] {
    let truth = truth(wood);
    std::array::from_fn(|i| (estimate.parameters[i].value / truth[i]).ln() / estimate.parameters[i].ln_sigma)
}

/// xᵀ R⁻¹ x with the correlations R, by elimination: chi-square with four degrees of freedom.
pub fn chi_squared(x: [f64; 4], correlations: [[f64; 4]; 4]) -> f64 {
    let (mut a, mut b) = (correlations, x);
    for i in 0..4 {
        for j in i + 1..4 {
            let factor = a[j][i] / a[i][i];
            (i..4).for_each(|k| a[j][k] -= factor * a[i][k]);
            b[j] -= factor * b[i];
        }
    }
    // With LDLᵀ the eliminated b is L⁻¹x and the pivots are D.
    (0..4).map(|i| b[i] * b[i] / a[i][i]).sum()
}

pub fn determined(estimate: &WoodEstimate) -> [bool; 4] {
    Quantity::ALL.map(|q| estimate.parameter(q).determined)
}

/// A wood drawn from the prior, all ten quantities.
pub fn drawn(prior: &WoodPrior, dice: &mut Dice) -> Wood {
    let mean = &prior.mean;
    let mut factor = |sigma: f64| (sigma * dice.normal()).exp();
    let density = factor(prior.ln_density_sigma);
    let e = mean.e_l_pa * density * factor(prior.ln_specific_modulus_sigma);
    let (lh, lw) = (factor(prior.ln_g_lh_sigma), factor(prior.ln_g_lw_sigma));
    let (w, h, wh) =
        (factor(prior.ln_other_ratio_sigma), factor(prior.ln_other_ratio_sigma), factor(prior.ln_other_ratio_sigma));
    let mut poisson = || factor(prior.ln_poisson_sigma);
    let times_e = |value: f64| e * value / mean.e_l_pa;
    Wood {
        name: "drawn".into(),
        density_kg_m3: mean.density_kg_m3 * density,
        e_l_pa: e,
        e_w_pa: times_e(mean.e_w_pa) * w,
        e_h_pa: times_e(mean.e_h_pa) * h,
        g_lw_pa: times_e(mean.g_lw_pa) * lw,
        g_lh_pa: times_e(mean.g_lh_pa) * lh,
        g_wh_pa: times_e(mean.g_wh_pa) * wh,
        // The couplings ν √(E_j/E_i) are what is drawn.
        nu_lw: mean.nu_lw * poisson() / w.sqrt(),
        nu_lh: mean.nu_lh * poisson() / h.sqrt(),
        nu_wh: mean.nu_wh * poisson() * (w / h).sqrt(),
    }
}
