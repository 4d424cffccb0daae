//! Cuts along the bar: the round blade leaves a circular end, so it must stop short of the line.
use super::profile::{Allowed, round_depth};
use super::{SawSetup, SawStep};

/// The steps, blade only ever raised: each height runs as far as its round end may go.
pub(super) fn steps(allowed: &Allowed, setup: &SawSetup, radius_m: f64, width_m: f64) -> Vec<SawStep> {
    let rows = (width_m / setup.kerf_m).ceil() as usize;
    let stair_m = setup.scale.down(setup.stair_m).max(setup.scale.finest_m());
    let deepest_m = setup.scale.down(allowed.deepest_m());
    // A hair less, so that rounding makes no last step of nothing.
    let count = (deepest_m / stair_m - 1e-6).ceil() as usize;
    let mut out: Vec<SawStep> = Vec::new();
    let mut before_m = 0.0;
    for k in 1..=count {
        let height_m = (stair_m * k as f64).min(deepest_m);
        let Some(axle_m) = farthest_axle(allowed, height_m, radius_m) else { continue };
        // Both stops are the same distance from their end: rounded up, towards the centre.
        let stop_m = setup.scale.up(allowed.half_m - axle_m);
        if stop_m > allowed.half_m + 1e-9 {
            continue;
        }
        let axle_m = allowed.half_m - stop_m;
        let run_out_m = (radius_m * radius_m - (radius_m - height_m).powi(2)).sqrt();
        out.push(SawStep {
            order: out.len() + 1,
            height_m,
            from_m: 0.0,
            to_m: (axle_m + run_out_m).min(allowed.half_m),
            stops_m: vec![stop_m],
            kerfs: rows,
            bite_m: height_m - before_m,
            minutes: setup.minutes_per_height + setup.minutes_per_kerf * rows as f64,
        });
        before_m = height_m;
    }
    out
}

/// Farthest place of the axle from the centre at which the round end stays inside what is allowed; bisected,
/// for the farther out the axle, the more the end takes. `None` if not even at the centre.
fn farthest_axle(allowed: &Allowed, height_m: f64, radius_m: f64) -> Option<f64> {
    const TRIES: usize = 40;
    let fits = |axle_m: f64| {
        let run_out_m = (radius_m * radius_m - (radius_m - height_m).max(0.0).powi(2)).sqrt();
        // Half a millimetre apart, and the allowed depth is the least around each place.
        let places = ((axle_m + run_out_m) / 0.25e-3).ceil() as usize;
        (0..=places).all(|k| {
            let u = (0.25e-3 * k as f64).min(allowed.half_m);
            // The deepest within a step of this place.
            round_depth(height_m, radius_m, u - 0.25e-3 - axle_m) <= allowed.at(u) + 1e-9
        })
    };
    if !fits(0.0) {
        return None;
    }
    let (mut low, mut high) = (0.0, allowed.half_m);
    for _ in 0..TRIES {
        let middle = 0.5 * (low + high);
        if fits(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(low)
}
