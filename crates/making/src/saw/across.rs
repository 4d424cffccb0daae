//! Cuts across the bar: flat kerfs side by side, the same on both halves from one stop.
use super::profile::Allowed;
use super::{SawSetup, SawStep};

/// The steps, blade only ever raised.
///
/// Every `pass_m` of depth all wood inside is cleared down to that height; between two such heights lie
/// stairs of `stair_m`, sawn only where the next whole pass does not reach. So no kerf is ever deeper
/// than a pass into wood, and each place ends at the highest stair allowed there.
pub(super) fn steps(allowed: &Allowed, setup: &SawSetup) -> Vec<SawStep> {
    let mut out: Vec<SawStep> = Vec::new();
    let heights = heights(allowed, setup);
    for (i, (height_m, whole)) in heights.iter().enumerate() {
        let Some(reach_m) = allowed.reach_m(*height_m) else { continue };
        // A whole pass starts at the centre; a stair where the next height takes over.
        let next = || heights[i + 1..].iter().find_map(|(h, _)| outer_edge(allowed, *h, setup));
        let from_m = if *whole { 0.0 } else { next().unwrap_or(0.0) };
        let before_m = heights[..i].iter().rev().find(|(_, whole)| *whole).map_or(0.0, |(h, _)| *h);
        if let Some(step) = step(allowed.half_m, setup, *height_m, from_m, reach_m, height_m - before_m) {
            out.push(SawStep { order: out.len() + 1, ..step });
        }
    }
    out
}

/// Blade heights with whether each clears all inside: whole passes, and stairs between them.
fn heights(allowed: &Allowed, setup: &SawSetup) -> Vec<(f64, bool)> {
    let deepest_m = setup.scale.down(allowed.deepest_m());
    let pass_m = setup.scale.down(setup.pass_m);
    let stair_m = setup.scale.down(setup.stair_m).max(setup.scale.finest_m());
    let mut out = Vec::new();
    let mut whole_m = 0.0;
    loop {
        // A last step of less than half a stair is not worth a setting and its kerfs.
        let least_m = if out.is_empty() { setup.scale.finest_m() } else { 0.5 * stair_m };
        if deepest_m - whole_m < least_m - 1e-9 {
            return out;
        }
        let next_m = (whole_m + pass_m).min(deepest_m);
        let mut stair = whole_m + stair_m;
        while stair < next_m - 1e-9 {
            out.push((stair, false));
            stair += stair_m;
        }
        out.push((next_m, true));
        whole_m = next_m;
    }
}

/// Outer edge of the outermost kerf at this height, its stop rounded.
fn outer_edge(allowed: &Allowed, height_m: f64, setup: &SawSetup) -> Option<f64> {
    let reach_m = allowed.reach_m(height_m)?;
    (reach_m >= 0.5 * setup.kerf_m).then(|| allowed.half_m - setup.scale.up(allowed.half_m - reach_m))
}

fn step(half_m: f64, setup: &SawSetup, height_m: f64, from_m: f64, reach_m: f64, bite_m: f64) -> Option<SawStep> {
    // The stop is measured from the end of the bar to the near face of the kerf: rounded up, towards the centre.
    let outermost_m = setup.scale.up(half_m - reach_m);
    let to_m = half_m - outermost_m;
    let stops_m = stops(half_m, setup, from_m, outermost_m)?;
    let last_m = stops_m.last().copied()?;
    // The innermost kerf on the centre line is one for both halves.
    let crosses = last_m + setup.kerf_m > half_m - 1e-9
        && stops_m.len() == 1
        && (half_m - last_m - 0.5 * setup.kerf_m).abs() < 0.25 * setup.kerf_m;
    let kerfs = if crosses { 1 } else { 2 * stops_m.len() };
    let minutes = setup.minutes_per_height + setup.minutes_per_kerf * kerfs as f64;
    Some(SawStep { order: 0, height_m, from_m, to_m, stops_m, kerfs, bite_m, minutes })
}

/// Stops from the outermost inward until the kerfs cover `from_m`, no farther apart than a kerf is wide.
fn stops(half_m: f64, setup: &SawSetup, from_m: f64, outermost_m: f64) -> Option<Vec<f64>> {
    let span_m = half_m - outermost_m - from_m;
    if span_m < 1e-9 {
        return None;
    }
    if from_m <= 1e-9 && span_m < 0.5 * setup.kerf_m {
        // Even a kerf on the centre line would reach past what is allowed.
        return None;
    }
    let pitch_m = setup.scale.down(setup.kerf_m).max(setup.scale.finest_m());
    let extra = ((span_m - setup.kerf_m) / pitch_m).ceil().max(0.0) as usize;
    let stops: Vec<f64> = (0..=extra).map(|k| outermost_m + pitch_m * k as f64).collect();
    // At the centre a kerf may cross the line, but not reach past what is allowed on the other side.
    let farthest_m = half_m + (half_m - outermost_m) - setup.kerf_m;
    Some(stops.into_iter().filter(|s| *s <= farthest_m + 1e-9).collect())
}
