//! How deep may be sawn where, and what is left after the steps.
use super::{Blade, SawSetup, SawStep};
use bar_physics::Underside;

/// Places looked at on half a bar: closer than any scale.
const PLACES: usize = 4000;

/// The depth allowed at each distance from the centre, from the underside of the blank.
#[derive(Debug, Clone)]
pub(super) struct Allowed {
    pub half_m: f64,
    depth_m: Vec<f64>,
}

impl Allowed {
    /// Line plus margin, the thicker side counting where the line differs between left and right; no deeper
    /// outward than inward, so that a cut allowed somewhere is allowed everywhere nearer to the centre.
    pub fn new(line: &Underside, thickness_m: f64, min_thickness_m: f64, margin_m: f64) -> Self {
        let half_m = 0.5 * line.length_m();
        let depth = |k: usize| {
            let u = half_m * k as f64 / PLACES as f64;
            let left_over = line.thickness_at(half_m - u).max(line.thickness_at(half_m + u)).max(min_thickness_m);
            (thickness_m - left_over - margin_m).max(0.0)
        };
        let depth_m: Vec<f64> = (0..=PLACES).map(depth).collect();
        Self { half_m, depth_m }
    }

    pub fn deepest_m(&self) -> f64 {
        self.depth_m.iter().copied().fold(0.0, f64::max)
    }

    /// Depth allowed at `u_m`: the least of the two places around it.
    pub fn at(&self, u_m: f64) -> f64 {
        let s = (u_m / self.half_m * PLACES as f64).clamp(0.0, PLACES as f64);
        let (i, j) = (s.floor() as usize, s.ceil() as usize);
        self.depth_m[i].min(self.depth_m[j])
    }

    /// Farthest place up to which all wood from the centre on may be sawn to `depth_m`; `None` if not even there.
    pub fn reach_m(&self, depth_m: f64) -> Option<f64> {
        let first_not = self.depth_m.iter().position(|d| *d < depth_m - 1e-9).unwrap_or(PLACES + 1);
        (first_not > 0).then(|| self.half_m * (first_not - 1) as f64 / PLACES as f64)
    }
}

/// What is left after the steps.
#[derive(Debug, Clone, PartialEq)]
pub struct Sawn {
    /// (distance from the centre, wood left): corners of the stairs, or points of the round ends, centre first.
    pub half: Vec<(f64, f64)>,
    /// The same as an underside, stairs as slopes a tenth of a millimetre wide.
    pub underside: Option<Underside>,
}

impl Sawn {
    pub(super) fn new(steps: &[SawStep], length_m: f64, thickness_m: f64, setup: &SawSetup) -> Self {
        let half_m = 0.5 * length_m;
        let depth = |u: f64| steps.iter().map(|s| depth_of(s, u, half_m, setup)).fold(0.0, f64::max);
        let half = match setup.blade {
            Blade::Across => stairs(steps, half_m, thickness_m, depth),
            Blade::Along { .. } => {
                let u = |k: usize| half_m * k as f64 / 600.0;
                (0..=600).map(|k| (u(k), thickness_m - depth(u(k)))).collect()
            }
        };
        let underside = both_sides(&half, half_m);
        Self { half, underside }
    }

    /// Wood left at `u_m` from the centre.
    pub fn thickness_at(&self, u_m: f64) -> f64 {
        let i = self.half.partition_point(|p| p.0 <= u_m).clamp(1, self.half.len() - 1);
        let ((u0, t0), (u1, t1)) = (self.half[i - 1], self.half[i]);
        if u1 <= u0 { t1 } else { t0 + ((u_m - u0) / (u1 - u0)).clamp(0.0, 1.0) * (t1 - t0) }
    }
}

/// Depth that one step leaves at `u_m` from the centre.
pub(super) fn depth_of(step: &SawStep, u_m: f64, half_m: f64, setup: &SawSetup) -> f64 {
    match setup.blade {
        Blade::Across => {
            if u_m >= step.from_m - 1e-9 && u_m <= step.to_m + 1e-9 {
                step.height_m
            } else {
                0.0
            }
        }
        Blade::Along { radius_m } => {
            let axle_m = half_m - step.stops_m.first().copied().unwrap_or(half_m);
            round_depth(step.height_m, radius_m, u_m - axle_m)
        }
    }
}

/// Depth left by a blade of `radius_m` set to `height_m`, `beyond_m` past the last place of its axle.
pub(super) fn round_depth(height_m: f64, radius_m: f64, beyond_m: f64) -> f64 {
    if beyond_m <= 0.0 {
        return height_m;
    }
    if beyond_m >= radius_m {
        return 0.0;
    }
    (height_m - radius_m + (radius_m * radius_m - beyond_m * beyond_m).sqrt()).max(0.0)
}

/// Corners of the stairs.
fn stairs(steps: &[SawStep], half_m: f64, thickness_m: f64, depth: impl Fn(f64) -> f64) -> Vec<(f64, f64)> {
    let mut edges: Vec<f64> = steps.iter().map(|s| s.to_m).filter(|u| *u < half_m).collect();
    edges.sort_by(f64::total_cmp);
    edges.dedup_by(|b, a| *b - *a < 1e-7);
    let mut out = vec![(0.0, thickness_m - depth(0.0))];
    for edge in edges {
        out.push((edge, thickness_m - depth(edge - 1e-6)));
        out.push((edge, thickness_m - depth(edge + 1e-6)));
    }
    out.push((half_m, thickness_m - depth(half_m)));
    out
}

/// Both halves as one underside; a stair becomes a slope a tenth of a millimetre wide, towards more wood.
fn both_sides(half: &[(f64, f64)], half_m: f64) -> Option<Underside> {
    let mut points: Vec<(f64, f64)> = Vec::new();
    for (u, t) in half {
        let u = match points.last() {
            Some((before, thinner)) if *u - before < 1e-7 && t > thinner => {
                let last = points.len() - 1;
                points[last].0 = (*u - 1e-4).max(if last > 0 { points[last - 1].0 + 1e-6 } else { 0.0 });
                *u
            }
            _ => *u,
        };
        points.push((u, *t));
    }
    let left = points.iter().skip(1).rev().map(|(u, t)| (half_m - u, *t));
    let right = points.iter().map(|(u, t)| (half_m + u, *t));
    let (x_m, t_m): (Vec<f64>, Vec<f64>) = left.chain(right).unzip();
    Underside::new(x_m, t_m, Vec::new()).ok()
}
