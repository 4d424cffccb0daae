//! The arch as slopes: rising from the centre to the shoulder, smooth, and the same on both sides.
//!
//! With u the distance from the centre and a the longest half-length allowed, the slope of the underside
//! is linear between [`NODES`] places, nothing at the centre and at a, and never negative; the
//! thickness is t(u) = H − ∫ᵤᵃ slope. So every arch is cut from the underside only, thinnest at the
//! centre, without a corner anywhere; it begins where the slope begins, at a or nearer.
use crate::error::MakingError;
use bar_physics::Underside;

/// Places with a slope of their own, centre and shoulder included.
pub(super) const NODES: usize = 28;
/// Stations of the underside lie about this far apart, metres: slopes of a 25 mm radius change by less
/// than the 0.05 the solid takes for a corner.
const STATION_M: f64 = 0.001;

/// Slopes at the nodes; first and last are nothing.
pub(super) type Slopes = [f64; NODES];

/// Where the nodes lie and what they carry.
#[derive(Debug, Clone, Copy)]
pub(super) struct Grid {
    pub half_m: f64,
    pub longest_m: f64,
    pub thickness_m: f64,
}

impl Grid {
    pub fn spacing_m(&self) -> f64 {
        self.longest_m / (NODES - 1) as f64
    }

    /// Slope at `u_m` from the centre.
    pub fn slope(&self, slopes: &Slopes, u_m: f64) -> f64 {
        let s = u_m / self.spacing_m();
        let i = s.floor() as usize;
        if i + 1 >= NODES {
            return 0.0;
        }
        slopes[i] + (s - i as f64) * (slopes[i + 1] - slopes[i])
    }

    /// Depth taken off at `u_m` from the centre per unit of slope at each node: ∫ᵤᵃ of its hat.
    pub fn depths(&self, u_m: f64) -> Slopes {
        let h = self.spacing_m();
        let mut out = [0.0; NODES];
        for (i, out) in out.iter_mut().enumerate() {
            let s = u_m / h - i as f64;
            // Whole area of the inner and outer half of a hat, less what lies inside u.
            let outer = if i + 1 == NODES { 0.0 } else { outer_half(s) };
            let inner = if i == 0 { 0.0 } else { inner_half(s) };
            *out = h * (outer + inner);
        }
        out
    }

    /// Thickness at `u_m` from the centre.
    pub fn thickness(&self, slopes: &Slopes, u_m: f64) -> f64 {
        self.thickness_m - self.depths(u_m).iter().zip(slopes).map(|(d, s)| d * s).sum::<f64>()
    }

    /// The underside, never thinner than `least_m` (rounding apart the slopes see to that).
    pub fn underside(&self, slopes: &Slopes, least_m: f64) -> Result<Underside, MakingError> {
        let per_node = (self.spacing_m() / STATION_M).ceil().max(1.0) as usize;
        let pieces = per_node * (NODES - 1);
        let step_m = self.longest_m / pieces as f64;
        let mut inward_m = vec![self.thickness_m; pieces + 1];
        let slope = |k: usize| self.slope(slopes, step_m * k as f64);
        for k in (0..pieces).rev() {
            // Exact: the slope is linear inside a step.
            inward_m[k] = inward_m[k + 1] - 0.5 * step_m * (slope(k) + slope(k + 1));
        }
        let t = |k: usize| inward_m[k].clamp(least_m.min(self.thickness_m), self.thickness_m);
        let u = |k: usize| if k == pieces { self.longest_m } else { step_m * k as f64 };
        let left = (0..=pieces).rev().map(|k| (self.half_m - u(k), t(k)));
        let right = (1..=pieces).map(|k| (self.half_m + u(k), t(k)));
        let end = |x: f64| std::iter::once((x, self.thickness_m));
        let (x_m, t_m) = end(0.0).chain(left).chain(right).chain(end(2.0 * self.half_m)).unzip();
        Ok(Underside::new(x_m, t_m, Vec::new())?)
    }

    /// Slopes that come nearest to thickness `t(u)`: its mean slope around each node.
    pub fn like(&self, t: impl Fn(f64) -> f64) -> Slopes {
        let h = self.spacing_m();
        let mut out = [0.0; NODES];
        for (i, out) in out.iter_mut().enumerate().take(NODES - 1).skip(1) {
            let u = h * i as f64;
            *out = ((t(u + 0.5 * h) - t(u - 0.5 * h)) / h).max(0.0);
        }
        // The wood at the centre counts most: the slopes are scaled to leave it as it was.
        let (wanted, got) = (self.thickness_m - t(0.0), self.thickness_m - self.thickness(&out, 0.0));
        if got > 1e-6 && wanted > 0.0 {
            out.iter_mut().for_each(|s| *s *= wanted / got);
        }
        out
    }
}

/// ∫ from s to 1 of (1 − v) over the outer half of a hat, in spacings.
fn outer_half(s: f64) -> f64 {
    let s = s.clamp(0.0, 1.0);
    0.5 * (1.0 - s) * (1.0 - s)
}

/// ∫ from s to 0 of (1 + v) over the inner half of a hat, in spacings.
fn inner_half(s: f64) -> f64 {
    let s = s.clamp(-1.0, 0.0);
    0.5 - 0.5 * (1.0 + s) * (1.0 + s)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thickness_by_hats_is_that_of_the_stations() {
        let grid = Grid { half_m: 0.235, longest_m: 0.2, thickness_m: 0.023 };
        let mut slopes = [0.0; NODES];
        for (i, s) in slopes.iter_mut().enumerate().take(NODES - 1).skip(1) {
            *s = 0.1 + 0.05 * (i as f64).sin();
        }
        let underside = grid.underside(&slopes, 0.001).unwrap();
        for u in [0.0, 0.0123, 0.05, 0.1, 0.17, 0.199, 0.21] {
            // Between stations the underside is straight: a sag of slope change × step / 8, some 2 µm.
            let (a, b) = (grid.thickness(&slopes, u), underside.thickness_at(0.235 + u));
            assert!((a - b).abs() < 3e-6, "{u}: {a} against {b}");
            assert!((underside.thickness_at(0.235 - u) - b).abs() < 1e-9);
        }
    }

    #[test]
    fn slopes_like_an_arch_give_that_arch() {
        let grid = Grid { half_m: 0.235, longest_m: 0.2, thickness_m: 0.023 };
        let wanted = |u: f64| 0.0065 + 0.0165 * (u.abs() / 0.15).min(1.0).powi(3);
        let slopes = grid.like(wanted);
        assert!((grid.thickness(&slopes, 0.0) - 0.0065).abs() < 1e-9);
        for u in [0.02, 0.06, 0.1, 0.14] {
            // A corner of slope 0.33 is rounded over two spacings of 7 mm: 0.3 mm.
            assert!((grid.thickness(&slopes, u) - wanted(u)).abs() < 4e-4, "{u}");
        }
    }
}
