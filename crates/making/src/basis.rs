//! The smooth shapes that carry what is not known along the bar.
use crate::priors;
use nalgebra::{DMatrix, DVector};

/// Hat functions on equally spaced nodes along the bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Hats {
    pub length_m: f64,
    pub nodes: usize,
}

impl Hats {
    /// Nodes about [`priors::NODE_SPACING_M`] apart, an odd number so that one stands at the centre.
    pub fn new(length_m: f64) -> Self {
        let pieces = (length_m / priors::NODE_SPACING_M).round().clamp(8.0, 48.0) as usize;
        Self { length_m, nodes: pieces / 2 * 2 + 1 }
    }

    /// Place of node `i` from the left end.
    pub fn place(&self, i: usize) -> f64 {
        self.length_m * i as f64 / (self.nodes - 1) as f64
    }

    /// All places.
    pub fn places(&self) -> Vec<f64> {
        (0..self.nodes).map(|i| self.place(i)).collect()
    }

    /// The two nodes around `x_m` and their weights.
    pub fn weights(&self, x_m: f64) -> [(usize, f64); 2] {
        let s = (x_m / self.length_m).clamp(0.0, 1.0) * (self.nodes - 1) as f64;
        let i = (s.floor() as usize).min(self.nodes - 2);
        [(i, 1.0 - (s - i as f64)), (i + 1, s - i as f64)]
    }

    /// ∫ value(x) hatᵢ(x) dx for every i, `values` being given on `grid_m` (trapezoid rule).
    pub fn integrals(&self, grid_m: &[f64], values: &[f64]) -> DVector<f64> {
        let mut out = DVector::zeros(self.nodes);
        for k in 0..grid_m.len() {
            let left = if k > 0 { grid_m[k] - grid_m[k - 1] } else { 0.0 };
            let right = if k + 1 < grid_m.len() { grid_m[k + 1] - grid_m[k] } else { 0.0 };
            for (i, weight) in self.weights(grid_m[k]) {
                out[i] += values[k] * weight * 0.5 * (left + right);
            }
        }
        out
    }

    /// Heights of the hats that carry the same area as `depth_m(x)`, node by node.
    pub fn project(&self, depth_m: impl Fn(f64) -> f64) -> DVector<f64> {
        const STEP_M: f64 = 0.0005;
        let pieces = (self.length_m / STEP_M).ceil().clamp(100.0, 4000.0) as usize;
        let grid: Vec<f64> = (0..=pieces).map(|k| self.length_m * k as f64 / pieces as f64).collect();
        let values: Vec<f64> = grid.iter().map(|x| depth_m(*x)).collect();
        let area = self.integrals(&grid, &values);
        let weight = self.integrals(&grid, &vec![1.0; grid.len()]);
        area.component_div(&weight)
    }

    /// Prior covariance of a thickness error of standard deviation `sigma_m`: a part common to the
    /// whole bar and a smooth part (squared exponential; Rasmussen & Williams 2006, eq. 4.9).
    pub fn thickness_prior(&self, sigma_m: f64) -> DMatrix<f64> {
        let share = priors::THICKNESS_COMMON_SHARE;
        DMatrix::from_fn(self.nodes, self.nodes, |i, j| {
            let z = (self.place(i) - self.place(j)) / priors::THICKNESS_CORRELATION_M;
            let grain = if i == j { 1e-6 } else { 0.0 };
            sigma_m * sigma_m * (share + (1.0 - share) * (-0.5 * z * z).exp() + grain)
        })
    }

    /// Matrix that takes heights on these nodes to heights on `new`, whose left end lies at `left_m`.
    pub fn onto(&self, new: &Self, left_m: f64) -> DMatrix<f64> {
        let mut out = DMatrix::zeros(new.nodes, self.nodes);
        for row in 0..new.nodes {
            for (column, weight) in self.weights(left_m + new.place(row)) {
                out[(row, column)] += weight;
            }
        }
        out
    }
}

/// Lengthwise tilt of the stiffness at `x_m`: −1 at the left end, +1 at the right.
pub(crate) fn tilt(x_m: f64, length_m: f64) -> f64 {
    2.0 * x_m / length_m - 1.0
}

/// Symmetric bow of the stiffness: +1 at both ends, −1/2 at the centre, mean 0 (Legendre P₂).
pub(crate) fn bow(x_m: f64, length_m: f64) -> f64 {
    let xi = tilt(x_m, length_m);
    0.5 * (3.0 * xi * xi - 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hats_add_up_to_one_and_projection_keeps_the_area() {
        let hats = Hats::new(0.47);
        let depth = |x: f64| if (x - 0.2).abs() < 0.02 { 1e-3 } else { 0.0 };
        let heights = hats.project(depth);
        let weight = hats.integrals(&hats.places(), &vec![1.0; hats.nodes]);
        // Area 0.04 × 1e-3 to one quadrature step at each edge.
        assert!((heights.dot(&weight) - 4e-5).abs() < 1e-6);
        assert!((weight.sum() - 0.47).abs() < 1e-12);
    }

    #[test]
    fn mapping_onto_the_same_nodes_changes_nothing() {
        let hats = Hats::new(0.3);
        let same = hats.onto(&hats, 0.0);
        assert!((same - DMatrix::<f64>::identity(hats.nodes, hats.nodes)).norm() < 1e-9);
    }

    #[test]
    fn thickness_prior_has_the_stated_sigma() {
        let prior = Hats::new(0.5).thickness_prior(1e-4);
        assert!((prior[(3, 3)].sqrt() / 1e-4 - 1.0).abs() < 1e-5);
        assert!(prior[(0, 20)] > 0.0 && prior[(0, 20)] < prior[(0, 1)]);
    }
}
