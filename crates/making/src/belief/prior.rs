//! Where the belief starts: the checks of a job and the prior Gaussian.
use super::{Belief, Diary, slot};
use crate::basis::Hats;
use crate::error::{MakingError, in_range};
use crate::gaussian::Gaussian;
use crate::{Hand, Job, priors, smooth};
use bar_physics::{MIN_SOLVABLE_THICKNESS_M, Underside, Wood};
use nalgebra::{DMatrix, DVector};

/// Refuses a job whose numbers cannot be a bar or a task.
pub(super) fn check(job: &Job) -> Result<(), MakingError> {
    let sizes = "give sizes in the unit the field names";
    in_range("the note", job.note_hz, 10.0, 10_000.0, "Hz", "check the note and the pitch standard")?;
    in_range("the length", job.length_m * 1e3, 60.0, 1500.0, "mm", sizes)?;
    in_range("the width", job.width_m * 1e3, 8.0, 200.0, "mm", sizes)?;
    in_range("the thickness", job.thickness_m * 1e3, 3.0, 80.0, "mm", sizes)?;
    in_range(
        "the smallest allowed thickness",
        job.limits.min_thickness_m * 1e3,
        MIN_SOLVABLE_THICKNESS_M * 1e3,
        job.thickness_m * 1e3,
        "mm",
        "5 to 6.5 mm is usual; it must be thinner than the blank",
    )?;
    let targets = &job.targets;
    in_range(
        "the headroom",
        targets.headroom_cents,
        -100.0,
        1200.0,
        "cents",
        "100 for rough tuning, 0 for fine tuning",
    )?;
    in_range("the number of tuned modes", targets.ratios.len() as f64, 1.0, 5.0, "", "for example 1, 4, 10")?;
    let rising = targets.ratios.windows(2).all(|w| w[1] > w[0]);
    let possible = targets.ratios.iter().all(|r| r.is_finite() && *r > 0.0 && *r < 100.0);
    if !(rising && possible) {
        return Err(MakingError::new(
            "bad_ratios",
            format!("the ratios {:?} must rise and lie between 0 and 100", targets.ratios),
            "for example 1, 4, 10",
        ));
    }
    if let Some(hand) = &job.hand {
        check_hand(hand)?;
    }
    for (name, turn_rad) in [("plan", job.grain.plan_rad), ("dip", job.grain.dip_rad)] {
        in_range(
            &format!("the grain's {name} angle"),
            turn_rad.to_degrees(),
            -45.0,
            45.0,
            "degrees",
            "check the angle",
        )?;
    }
    Ok(())
}

/// Refuses a hand that is none.
fn check_hand(hand: &Hand) -> Result<(), MakingError> {
    let hint = "leave the hand out to start from common practice";
    in_range("the hand", hand.gain, 0.2, 5.0, "× intended depth", hint)?;
    in_range("the doubt of the hand", hand.gain_ln_sigma, 0.01, 1.0, "(of its logarithm)", hint)?;
    in_range("the depth of a pass", hand.pass_m * 1e3, 0.001, 5.0, "mm", hint)?;
    in_range("the doubt of a pass", hand.pass_ln_sigma, 0.01, 1.0, "(of its logarithm)", hint)
}

/// The belief before the first log entry.
pub(super) fn belief(job: &Job) -> Result<Belief, MakingError> {
    let (underside, thickness_sigma_m) = match &job.underside {
        Some(given) => (given.clone(), priors::GIVEN_UNDERSIDE_SIGMA_M),
        None => (Underside::flat(job.length_m, job.thickness_m)?, priors::BLANK_THICKNESS_SIGMA_M),
    };
    same_length(&underside, job.length_m)?;
    let hats = Hats::new(underside.length_m());
    let (template, gaussian) = wood_prior(job, &hats)?;
    let mut belief = Belief {
        gaussian,
        hats,
        base: underside.clone(),
        smooth_base: smooth::given(&underside),
        underside,
        width_m: job.width_m,
        grain: job.grain,
        template,
        first_hand: job.hand.unwrap_or_default(),
        counted_passes: Vec::new(),
        settled: None,
        diary: Diary { shaped: job.underside.is_some(), ..Diary::default() },
    };
    belief.forget_thickness(thickness_sigma_m);
    if let Some(mass_kg) = job.mass_kg {
        belief.weigh(mass_kg)?;
    }
    Ok(belief)
}

/// Refuses an underside that is not as long as the bar (1 mm: the rounding of two rulers).
pub(super) fn same_length(underside: &Underside, length_m: f64) -> Result<(), MakingError> {
    if (underside.length_m() - length_m).abs() <= 1e-3 {
        return Ok(());
    }
    Err(MakingError::new(
        "length_mismatch",
        format!(
            "the underside ends at {:.1} mm but the bar is {:.1} mm long",
            underside.length_m() * 1e3,
            length_m * 1e3
        ),
        "give the underside over the whole length as it is now, after any trim",
    ))
}

/// Mean and covariance of wood, hand and model error; thickness is filled in by the caller.
fn wood_prior(job: &Job, hats: &Hats) -> Result<(Wood, Gaussian), MakingError> {
    let dimension = slot::THICKNESS + hats.nodes;
    let mut mean = DVector::zeros(dimension);
    let mut sigma = DVector::zeros(dimension);
    let template = match &job.wood {
        Some(wood) => {
            wood.check().map_err(bar_physics::GeometryError::Wood)?;
            wood.clone()
        }
        None => Wood::generic_hardwood(priors::DENSITY_KG_M3, priors::SPECIFIC_MODULUS_M2_S2 * priors::DENSITY_KG_M3),
    };
    mean[slot::LN_E] = template.e_l_pa.ln();
    mean[slot::LN_G_LH] = (template.g_lh_pa / template.e_l_pa).ln();
    mean[slot::LN_G_LW] = (template.g_lw_pa / template.e_l_pa).ln();
    mean[slot::LN_DENSITY] = template.density_kg_m3.ln();
    let known = job.wood.is_some();
    let pick = |if_known, otherwise| if known { if_known } else { otherwise };
    sigma[slot::LN_DENSITY] = pick(priors::KNOWN_WOOD_LN_DENSITY_SIGMA, priors::LN_DENSITY_SIGMA);
    sigma[slot::LN_G_LH] = pick(priors::KNOWN_WOOD_LN_SHEAR_RATIO_SIGMA, priors::LN_SHEAR_RATIO_SIGMA);
    sigma[slot::LN_G_LW] = sigma[slot::LN_G_LH];
    sigma[slot::TILT] = priors::TILT_SIGMA;
    sigma[slot::BOW] = priors::BOW_SIGMA;
    let hand = job.hand.unwrap_or_default();
    mean[slot::LN_HAND] = hand.gain.ln();
    sigma[slot::LN_HAND] = hand.gain_ln_sigma;
    for (i, cents) in priors::BENDING_MODEL_CENTS.into_iter().enumerate() {
        sigma[slot::BENDING_BIAS + i] = cents;
    }
    for (i, cents) in priors::TORSION_MODEL_CENTS.into_iter().enumerate() {
        sigma[slot::TORSION_BIAS + i] = cents;
    }
    let mut covariance = DMatrix::from_diagonal(&sigma.component_mul(&sigma));
    // The specific modulus is what is known: ln E = ln ρ + ln(E/ρ), so E and ρ go together.
    let specific = pick(priors::KNOWN_WOOD_LN_E_SIGMA, priors::LN_SPECIFIC_MODULUS_SIGMA);
    let density_variance = covariance[(slot::LN_DENSITY, slot::LN_DENSITY)];
    covariance[(slot::LN_E, slot::LN_E)] = density_variance + specific * specific;
    covariance[(slot::LN_E, slot::LN_DENSITY)] = density_variance;
    covariance[(slot::LN_DENSITY, slot::LN_E)] = density_variance;
    Ok((template, Gaussian::new(mean, covariance)))
}
