//! The salt test: the tilt of a blank's node lines tells how the grain turns in plan.
use crate::error::{MakingError, in_range};
use bar_physics::{Bar, Grain, Wanted, solid};

/// Largest tilt that is still taken for turned grain, as a share of the width.
const MOST_TILT_SHARE: f64 = 2.0;

/// Tilt of the left node line of bending 1, in metres: x at the far edge less x at the near edge.
///
/// # Errors
/// [`MakingError`] if the bar cannot be computed.
pub fn node_tilt_m(bar: &Bar) -> Result<f64, MakingError> {
    let modes = solid::modes(bar, Wanted::bending(1))?;
    Ok(modes.bending.first().and_then(|m| m.node_lines.first()).map_or(0.0, |line| line.tilt_m()))
}

/// Plan angle of the grain in radians at which `bar` has this tilt of its left node line (secant on the solid; the
/// tilt grows nearly in proportion to the angle up to some 10°).
///
/// # Errors
/// [`MakingError`] if the tilt is more than twice the width or the bar cannot be computed.
pub fn plan_angle_rad(bar: &Bar, tilt_m: f64) -> Result<f64, MakingError> {
    let most_mm = MOST_TILT_SHARE * bar.width_m * 1e3;
    let hint = "measure x at the far and at the near edge of one line of salt, and take their difference";
    in_range("the tilt of the node line", tilt_m * 1e3, -most_mm, most_mm, "mm", hint)?;
    let at = |plan_rad: f64| {
        let turned = Bar { grain: Grain { plan_rad, ..bar.grain }, ..bar.clone() };
        node_tilt_m(&turned)
    };
    let first_rad = 1.5_f64.to_radians();
    let per_rad = at(first_rad)? / first_rad;
    let guess_rad = (tilt_m / per_rad).clamp(-0.3, 0.3);
    if guess_rad.abs() < 1e-4 {
        return Ok(guess_rad);
    }
    let miss_m = tilt_m - at(guess_rad)?;
    Ok(guess_rad + miss_m / per_rad)
}

#[cfg(test)]
mod tests {
    use super::*;
    use bar_physics::{Underside, Wood};

    #[test]
    fn the_angle_comes_back_from_the_solids_own_tilt() {
        let flat = Underside::flat(0.25, 0.02)
            .map(|flat| Bar::new(0.042, flat, Wood::generic_hardwood(900.0, 17e9), Grain::default()));
        let straight = flat.unwrap_or_else(|error| panic!("{error}"));
        for plan_deg in [-3.0_f64, 0.0, 0.7, 2.5] {
            let turned = Bar { grain: Grain::from_degrees(plan_deg, 0.0), ..straight.clone() };
            let tilt_m = node_tilt_m(&turned).unwrap_or_else(|error| panic!("{error}"));
            let found = plan_angle_rad(&straight, tilt_m).unwrap_or_else(|error| panic!("{error}"));
            // The secant's second step leaves the curvature: a twentieth of a degree, a third of a millimetre of tilt.
            assert!((found.to_degrees() - plan_deg).abs() < 0.05, "{plan_deg}: {}", found.to_degrees());
        }
        assert!(plan_angle_rad(&straight, 0.1).is_err());
    }
}
