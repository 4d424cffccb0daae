//! The clumsy maker: he saws a little off the line, sands deeper or shallower than he means, and
//! does not hold the edges.
use super::wood::{smooth, stations};
use crate::error::MakingError;
use crate::gaussian::standard_normal;
use crate::{Band, Side, bands};
use bar_physics::Underside;

/// A simulated hand with its own random numbers.
#[derive(Debug, Clone)]
pub(super) struct Maker {
    pub random: fastrand::Rng,
    /// Actual over intended depth, this maker's habit.
    hand: f64,
}

impl Maker {
    /// A maker whose habit lies between 0.8 and 1.25.
    pub fn new(mut random: fastrand::Rng) -> Self {
        let hand = (0.8_f64.ln() + (1.25_f64 / 0.8).ln() * random.f64()).exp();
        Self { random, hand }
    }

    /// Depth taken over depth intended.
    #[cfg(test)]
    pub fn hand(&self) -> f64 {
        self.hand
    }

    /// Saws `margin_m` above the line of `arch`, within about 0.3 mm, never outside the blank.
    pub fn saw(&mut self, blank: &Underside, arch: &Underside, margin_m: f64) -> Result<Underside, MakingError> {
        let (length_m, drawn_m) = (blank.length_m(), arch.length_m());
        let wander = smooth(&mut self.random, length_m, 0.25e-3);
        let x_m = crate::smooth::grid(length_m);
        // What is sawn off, as a smooth hump: nothing where the arch has not begun.
        let removed: Vec<f64> = x_m
            .iter()
            .map(|x| {
                (blank.thickness_at(*x) - arch.thickness_at(x * drawn_m / length_m) - margin_m - wander(*x)).max(0.0)
            })
            .collect();
        lower(blank, &removed)
    }

    /// Calipers the shape every 5 mm, with an error of about 0.2 mm in common and 0.1 mm each time.
    pub fn caliper(&mut self, truth: &Underside, length_m: f64) -> Result<Underside, MakingError> {
        let x_m = stations(length_m, 0.005);
        let zero_m = 0.2e-3 * standard_normal(&mut self.random);
        let t_m = x_m
            .iter()
            .map(|x| {
                truth.thickness_at(x * truth.length_m() / length_m)
                    + zero_m
                    + 0.1e-3 * standard_normal(&mut self.random)
            })
            .collect();
        Ok(Underside::new(x_m, t_m, Vec::new())?)
    }

    /// Takes off `intended` in his own way: habit × 15 % per cut and patch, edges ±4 mm, uneven by a tenth.
    pub fn sand(&mut self, before: &Underside, intended: &[Band]) -> Result<Underside, MakingError> {
        let length_m = before.length_m();
        let cut_gain = (0.12 * standard_normal(&mut self.random)).exp();
        let mut real = Vec::new();
        for band in intended {
            for side in sides(band) {
                let patch_gain = (0.09 * standard_normal(&mut self.random)).exp();
                let mut edge = || 0.008 * (self.random.f64() - 0.5);
                let from_m = if band.from_m <= 0.0 { 0.0 } else { (band.from_m + edge()).max(0.0) };
                let to_m = (band.to_m + edge()).clamp(from_m + 0.002, 0.5 * length_m);
                let depth_m = band.depth_m * self.hand * cut_gain * patch_gain;
                real.push(Band { from_m, to_m, depth_m, side });
            }
        }
        let wave = smooth(&mut self.random, length_m, 0.1);
        let grid = crate::smooth::grid(length_m);
        let depth = |x: &f64| bands::depth_at(&real, length_m, *x) * (1.0 + wave(*x)).max(0.0);
        lower(before, &grid.iter().map(depth).collect::<Vec<f64>>())
    }
}

/// Takes off a removal given on the uniform grid, its corners rounded as a belt rounds them.
fn lower(before: &Underside, removed: &[f64]) -> Result<Underside, MakingError> {
    let length_m = before.length_m();
    let rounded = crate::smooth::triangle(removed);
    Ok(before.lowered(&crate::smooth::grid(length_m), |x| crate::smooth::at(&rounded, length_m, x))?)
}

/// A band on both sides is sanded as two patches, a middle one as one.
fn sides(band: &Band) -> Vec<Side> {
    if band.side == Side::Both && band.from_m > 0.0 { vec![Side::Left, Side::Right] } else { vec![band.side] }
}
