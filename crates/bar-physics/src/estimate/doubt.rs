//! Which observations contradict the rest, and what would explain it.
use super::observe::{self, LENGTH, THICKNESS, WIDTH};
use super::outcome::{Check, Culprit, Observed};
use super::solve::{self, Fit};
use super::{CONTRADICTION_SIGMAS, EstimateError, KnownBar, Readings, state};
use crate::ModeKind;
use crate::units::{CENTS_PER_RELATIVE_OMEGA_SQUARED as CENTS, cents, shifted};
use nalgebra::DVector;

/// Explanations whose gain in χ² is this near the best one's cannot be told from it (3 σ).
const AS_GOOD_CHI_SQUARED: f64 = 9.0;
/// A reading may be another mode if it lies this near to it in standard uncertainties.
const MISTAKEN_SIGMAS: f64 = 3.0;

/// νᵀ S⁻¹ ν over all observations.
pub(super) fn chi_squared(fit: &Fit) -> f64 {
    let (weighted, _) = weighted(fit);
    surprise(fit).dot(&weighted)
}

fn surprise(fit: &Fit) -> DVector<f64> {
    solve::surprise(&fit.prior_state, &fit.state, &fit.comparison)
}

/// S⁻¹ν and S⁻¹.
fn weighted(fit: &Fit) -> (DVector<f64>, nalgebra::DMatrix<f64>) {
    let inverse = solve::inverse(&solve::scatter(&fit.comparison.slopes, &fit.prior, &fit.comparison.noise));
    (&inverse * surprise(fit), inverse)
}

/// Holds each observation against the prior and all the others.
///
/// With S = H P Hᵀ + R, leaving observation i out predicts it with an error of (S⁻¹ν)ᵢ/(S⁻¹)ᵢᵢ and variance
/// 1/(S⁻¹)ᵢᵢ: the inverse of a partitioned matrix.
pub(super) fn checks(known: &KnownBar, readings: &Readings, fit: &Fit) -> Vec<Check> {
    let (weighted, inverse) = weighted(fit);
    fit.comparison
        .what
        .iter()
        .enumerate()
        .map(|(i, observed)| {
            let (off, sigma) = (weighted[i] / inverse[(i, i)], 1.0 / inverse[(i, i)].sqrt());
            let (given, left_over) = (given(known, readings, *observed), fit.comparison.difference[i]);
            let is_mass = *observed == Observed::Mass;
            Check {
                observed: *observed,
                given,
                expected: if is_mass { given * (-off / CENTS).exp() } else { shifted(given, -off) },
                relative_sigma: if is_mass { sigma / CENTS } else { 0.5 * sigma / CENTS },
                sigmas: off / sigma,
                left_over: if is_mass { left_over / CENTS } else { left_over },
                contradicts: (off / sigma).abs() > CONTRADICTION_SIGMAS,
            }
        })
        .collect()
}

fn given(known: &KnownBar, readings: &Readings, observed: Observed) -> f64 {
    match observed {
        Observed::Mass => known.mass.map_or(f64::NAN, |m| m.kg),
        _ => readings.heard().find(|(o, _)| *o == observed).map_or(f64::NAN, |(_, r)| r.hz),
    }
}

/// What would explain a contradiction, likeliest first; empty without one.
///
/// Readings that agree with each other may still contradict together, when a size was entered wrong or the wood
/// is no such wood. Each explanation frees one direction d in the space of the data; it takes (dᵀS⁻¹ν)²/(dᵀS⁻¹d) off χ².
pub(super) fn culprits(known: &KnownBar, readings: &Readings, fit: &Fit, checks: &[Check]) -> Vec<Culprit> {
    let (weighted, inverse) = weighted(fit);
    let mut found: Vec<(f64, Culprit)> = Vec::new();
    let mut consider = |direction: DVector<f64>, culprit: &dyn Fn(f64) -> Culprit| {
        let (along, curvature) = (direction.dot(&weighted), direction.dot(&(&inverse * &direction)));
        if curvature > 0.0 {
            found.push((along * along / curvature, culprit(along / curvature)));
        }
    };
    for (i, check) in checks.iter().enumerate() {
        let direction = DVector::from_fn(checks.len(), |j, _| f64::from(u8::from(i == j)));
        let (observed, given, expected) = (check.observed, check.given, check.expected);
        consider(direction, &|_| Culprit::Observation { observed, given, expected, rather: None });
    }
    let length_m = known.underside.length_m();
    let mean_m = known.underside.side_area_m2() / length_m;
    // The observations speak of sizes as they are: predictions must rise by the surprise.
    let sizes = &fit.comparison.size_slopes;
    let size = |which, given_m, likely_m| Culprit::Size { which, given_m, likely_m };
    consider(sizes.column(LENGTH).into(), &|by| size("length", length_m, length_m * by.exp()));
    consider(sizes.column(WIDTH).into(), &|by| size("width", known.width.m, known.width.m * by.exp()));
    consider(sizes.column(THICKNESS).into(), &|by| size("thickness", mean_m, mean_m * (by / mean_m).exp()));
    let stiffness = fit.comparison.slopes.column(state::slot::E_L).into();
    consider(stiffness, &|_| Culprit::Wood { prior: known.prior.mean.name.clone() });
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    let best = found.first().map_or(0.0, |(gain, _)| *gain);
    if best <= CONTRADICTION_SIGMAS * CONTRADICTION_SIGMAS {
        return Vec::new();
    }
    let as_good = found.into_iter().filter(|(gain, _)| *gain >= best - AS_GOOD_CHI_SQUARED).map(|(_, c)| c);
    as_good.map(|culprit| with_other_mode(known, readings, culprit)).collect()
}

/// Names the mode that a doubtful reading may be instead, from an estimate without it.
fn with_other_mode(known: &KnownBar, readings: &Readings, mut culprit: Culprit) -> Culprit {
    let Culprit::Observation { observed: Observed::Pitch { kind, number }, given, rather, .. } = &mut culprit else {
        return culprit;
    };
    let mut others = *readings;
    match kind {
        ModeKind::Torsion => others.torsion[*number - 1] = None,
        _ => others.bending[*number - 1] = None,
    }
    if others.heard().next().is_some() {
        // No name is given if the bar cannot be computed without the reading.
        *rather =
            nearest_mode(known, &others, Observed::Pitch { kind: *kind, number: *number }, *given).unwrap_or_default();
    }
    culprit
}

/// The mode, other than `named` and those heard, that lies nearest to `hz` in standard uncertainties.
fn nearest_mode(
    known: &KnownBar,
    others: &Readings,
    named: Observed,
    hz: f64,
) -> Result<Option<Observed>, EstimateError> {
    let fit = solve::fit(known, others)?;
    let modes = observe::modes_for_report(known, &fit.state, others.wanted())?;
    let slopes = observe::Slopes::new(&observe::bar_at(known, &fit.state))?;
    let wood = solve::posterior(&fit.prior, &fit.comparison.slopes, &fit.comparison.noise);
    let sizes = observe::size_variances(known);
    let all = [&modes.bending, &modes.torsion, &modes.sideways].into_iter().flatten();
    let distance = |mode: &crate::Mode| {
        let row = slopes.of(&modes, mode);
        let by_wood = DVector::from_row_slice(&row.state);
        let by_sizes: f64 = row.sizes.iter().zip(sizes.iter()).map(|(slope, v)| slope * slope * v).sum();
        let variance = by_wood.dot(&(&wood * &by_wood)) + by_sizes + observe::model_variance(known, mode.kind, &row);
        cents(hz, mode.hz).abs() / variance.sqrt()
    };
    let free = |o: &Observed| *o != named && !others.heard().any(|(heard, _)| heard == *o);
    let near = all
        .map(|mode| (distance(mode), Observed::Pitch { kind: mode.kind, number: mode.number }))
        .filter(|(distance, observed)| *distance < MISTAKEN_SIGMAS && free(observed))
        .min_by(|a, b| a.0.total_cmp(&b.0));
    Ok(near.map(|(_, observed)| observed))
}
