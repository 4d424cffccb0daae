//! Cents per metre of depth for a pair of bands, from the solid's sensitivity along the bar.
use bar_physics::Modes;

/// Running integrals of each tuned mode's sensitivity, both halves folded together.
#[derive(Debug, Clone)]
pub(crate) struct Kernel {
    step_m: f64,
    half_m: f64,
    /// `running[mode][k]` = ∫₀^{k·step} (k(c+u) + k(c−u)) du, cents per metre of depth.
    running: Vec<Vec<f64>>,
}

impl Kernel {
    /// From the first `tuned` bending modes.
    pub fn new(modes: &Modes, tuned: usize) -> Self {
        let grid = &modes.grid_m;
        let half_m = 0.5 * grid[grid.len() - 1];
        let pieces = (half_m / 0.001).ceil() as usize;
        let step_m = half_m / pieces as f64;
        let running = modes.bending.iter().take(tuned).map(|mode| {
            let at = |x: f64| interpolate(grid, &mode.underside_cents_per_m2, x);
            let folded = |k: usize| at(half_m + k as f64 * step_m) + at(half_m - k as f64 * step_m);
            let mut sum = vec![0.0];
            for k in 1..=pieces {
                sum.push(sum[k - 1] + 0.5 * step_m * (folded(k - 1) + folded(k)));
            }
            sum
        });
        Self { step_m, half_m, running: running.collect() }
    }

    /// Half the length of the bar.
    pub fn half_m(&self) -> f64 {
        self.half_m
    }

    /// Number of modes.
    pub fn modes(&self) -> usize {
        self.running.len()
    }

    /// Cents of `mode` (from 0) per metre of depth taken from `from_m` to `to_m` from the centre, both sides.
    pub fn cents_per_m(&self, mode: usize, from_m: f64, to_m: f64) -> f64 {
        self.up_to(mode, to_m) - self.up_to(mode, from_m)
    }

    fn up_to(&self, mode: usize, u_m: f64) -> f64 {
        let row = &self.running[mode];
        let s = (u_m / self.step_m).clamp(0.0, (row.len() - 1) as f64);
        let i = (s.floor() as usize).min(row.len() - 2);
        row[i] + (s - i as f64) * (row[i + 1] - row[i])
    }

    /// The mean of two kernels: the chord of a cut between the bar before and after it.
    pub fn mean(&self, other: &Self) -> Self {
        let blend = |(a, b): (&Vec<f64>, &Vec<f64>)| a.iter().zip(b).map(|(a, b)| 0.5 * (a + b)).collect();
        Self { running: self.running.iter().zip(&other.running).map(blend).collect(), ..*self }
    }
}

fn interpolate(grid: &[f64], values: &[f64], x: f64) -> f64 {
    let i = grid.partition_point(|g| *g <= x).clamp(1, grid.len() - 1);
    let fraction = ((x - grid[i - 1]) / (grid[i] - grid[i - 1])).clamp(0.0, 1.0);
    values[i - 1] + fraction * (values[i] - values[i - 1])
}
