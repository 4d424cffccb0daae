//! The believed shape as the solid is to see it: free of steps that its elements cannot follow.
//!
//! Shoulders of sanded bands are a few millimetres wide, the solid's elements a few centimetres. Left
//! sharp, they would shift element edges from cut to cut and make the computed pitch jump by cents.
//! A twiced triangular filter (Tukey 1977, "twicing") keeps cubics exactly, so pitch, which depends
//! on the shape through smooth sensitivities, keeps its value.
use bar_physics::Underside;

/// Pieces of the uniform grid along the bar.
pub(crate) const PIECES: usize = 800;
/// Half-support of the triangular filter, in pieces: a fifty-seventh of the length, a third of an element.
const HALF_SUPPORT: usize = 14;
/// Slope jumps from here on count as real corners of a coarse shape; the solid uses the same figure.
const CORNER_SLOPE: f64 = 0.05;

/// The uniform grid along a bar.
pub(crate) fn grid(length_m: f64) -> Vec<f64> {
    (0..=PIECES).map(|i| length_m * i as f64 / PIECES as f64).collect()
}

/// Twiced triangular filter over values on the uniform grid; straight lines pass to the very ends.
pub(crate) fn twiced(values: &[f64]) -> Vec<f64> {
    let once = triangle(values);
    let twice = triangle(&once);
    once.iter().zip(&twice).map(|(a, b)| 2.0 * a - b).collect()
}

/// Plain triangular filter.
pub(crate) fn triangle(values: &[f64]) -> Vec<f64> {
    let last = values.len() as isize - 1;
    let half = HALF_SUPPORT as isize;
    // Beyond an end the values are mirrored through it, so that a slope goes on.
    let at = |i: isize| {
        if i < 0 {
            2.0 * values[0] - values[(-i).min(last) as usize]
        } else if i > last {
            2.0 * values[last as usize] - values[(2 * last - i).max(0) as usize]
        } else {
            values[i as usize]
        }
    };
    let weight = |j: isize| (half - j.abs()) as f64 / (half * half) as f64;
    (0..=last).map(|i| (1 - half..half).map(|j| weight(j) * at(i + j)).sum()).collect()
}

/// Smooths a removal given on the uniform grid: twiced, and then rounded on until no slope jump comes
/// near what the solid would take for a corner (half of it, as the base has slopes of its own).
pub(crate) fn removal(values: &[f64], length_m: f64) -> Vec<f64> {
    let step_m = length_m / PIECES as f64;
    let sharpest = |v: &[f64]| v.windows(3).map(|w| ((w[2] - 2.0 * w[1] + w[0]) / step_m).abs()).fold(0.0, f64::max);
    let mut out = twiced(values);
    for _ in 0..10 {
        if sharpest(&out) < 0.5 * CORNER_SLOPE {
            break;
        }
        out = triangle(&out);
    }
    out
}

/// Value at `x_m` of values on the uniform grid.
pub(crate) fn at(values: &[f64], length_m: f64, x_m: f64) -> f64 {
    let s = (x_m / length_m).clamp(0.0, 1.0) * PIECES as f64;
    let i = (s.floor() as usize).min(PIECES - 1);
    values[i] + (s - i as f64) * (values[i + 1] - values[i])
}

/// A given shape as the solid is to see it: a drawing by a few stations keeps its corners, a shape
/// measured at many stations loses the scatter of the caliper.
pub(crate) fn given(underside: &Underside) -> Underside {
    let length_m = underside.length_m();
    if underside.x_m().len() < 30 {
        return with_corners(underside);
    }
    let raw: Vec<f64> = grid(length_m).iter().map(|x| underside.thickness_at(*x)).collect();
    let smooth = twiced(&raw);
    let reach_m = length_m * HALF_SUPPORT as f64 / PIECES as f64;
    // Near a named corner the shape is taken as given.
    let share = |x: f64| {
        let nearest = underside.kinks_m().iter().map(|k| (k - x).abs()).fold(f64::INFINITY, f64::min);
        (nearest / reach_m - 0.5).clamp(0.0, 1.0)
    };
    let mut x_m = grid(length_m);
    x_m.extend(underside.kinks_m());
    x_m.sort_by(f64::total_cmp);
    x_m.dedup_by(|b, a| *b - *a < 1e-6);
    if let Some(last) = x_m.last_mut() {
        *last = length_m;
    }
    let thickness = |x: &f64| {
        let s = share(*x);
        s * at(&smooth, length_m, *x) + (1.0 - s) * underside.thickness_at(*x)
    };
    let t_m = x_m.iter().map(thickness).collect();
    Underside::new(x_m, t_m, underside.kinks_m().to_vec()).unwrap_or_else(|_| underside.clone())
}

/// The same shape with its corners named, so that they stay where they are whatever is sanded later.
fn with_corners(underside: &Underside) -> Underside {
    let (x, t) = (underside.x_m(), underside.thickness_m());
    let slope = |i: usize| (t[i + 1] - t[i]) / (x[i + 1] - x[i]);
    let corners = (1..x.len() - 1).filter(|i| (slope(*i) - slope(i - 1)).abs() > CORNER_SLOPE).map(|i| x[i]);
    let mut kinks: Vec<f64> = underside.kinks_m().iter().copied().chain(corners).collect();
    kinks.sort_by(f64::total_cmp);
    kinks.dedup_by(|b, a| *b - *a < 1e-6);
    Underside::new(x.to_vec(), t.to_vec(), kinks).unwrap_or_else(|_| underside.clone())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cubics_pass_unchanged_and_steps_keep_their_area() {
        let cubic: Vec<f64> = grid(1.0).iter().map(|x| 1.0 + x - 3.0 * x * x + 2.0 * x * x * x).collect();
        let passed = twiced(&cubic);
        for i in 2 * HALF_SUPPORT..=PIECES - 2 * HALF_SUPPORT {
            // Rounding only.
            assert!((passed[i] - cubic[i]).abs() < 1e-12);
        }
        let step: Vec<f64> = (0..=PIECES).map(|i| if (300..400).contains(&i) { 1.0 } else { 0.0 }).collect();
        assert!((twiced(&step).iter().sum::<f64>() - 100.0).abs() < 1e-9);
    }

    #[test]
    fn a_drawing_keeps_its_corners() {
        let x = vec![0.0, 0.15, 0.235, 0.32, 0.47];
        let drawn = Underside::new(x, vec![0.023, 0.023, 0.011, 0.023, 0.023], Vec::new()).unwrap();
        assert_eq!(given(&drawn).kinks_m(), &[0.15, 0.235, 0.32]);
        assert_eq!(given(&drawn).thickness_m(), drawn.thickness_m());
    }
}
