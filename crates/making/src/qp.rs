//! A small convex quadratic programme with bounds, solved exactly by an active-set method.
//!
//! minimise ½ xᵀHx − gᵀx  subject to  low ≤ x ≤ high, H symmetric positive definite. Variables are
//! freed one at a time by the steepest multiplier and pinned when a step meets a bound (Lawson &
//! Hanson 1974 ch. 23; Stark & Parker 1995 for two-sided bounds). Every step lowers the objective,
//! so it ends; the cap on steps is for rounding only.

/// A programme of `N` variables.
#[derive(Debug, Clone, Copy)]
pub(crate) struct BoxQp<const N: usize> {
    pub h: [[f64; N]; N],
    pub g: [f64; N],
    pub low: [f64; N],
    pub high: [f64; N],
}

impl<const N: usize> BoxQp<N> {
    /// ½ xᵀHx − gᵀx.
    pub fn value(&self, x: &[f64; N]) -> f64 {
        (0..N).map(|i| x[i] * (0.5 * dot(&self.h[i], x) - self.g[i])).sum()
    }

    /// The minimiser.
    pub fn solve(&self) -> [f64; N] {
        let all_free = self.free_minimum(&[true; N], &self.low);
        if (0..N).all(|i| all_free[i] >= self.low[i] && all_free[i] <= self.high[i]) {
            return all_free;
        }
        let mut x = self.low;
        let mut free = [false; N];
        for _ in 0..8 * N + 8 {
            let Some(released) = self.steepest(&x, &free) else { break };
            free[released] = true;
            self.settle(&mut x, &mut free);
        }
        x
    }

    /// The pinned variable whose release lowers the objective fastest.
    fn steepest(&self, x: &[f64; N], free: &[bool; N]) -> Option<usize> {
        let pull = |i: usize| {
            let slope = self.g[i] - dot(&self.h[i], x);
            // Scaled by the diagonal, so that variables of any unit compare.
            let scaled = slope / self.h[i][i].sqrt();
            let inward = if x[i] <= self.low[i] { scaled } else { -scaled };
            if self.high[i] > self.low[i] { inward } else { 0.0 }
        };
        let threshold = 1e-10 * (0..N).map(|i| (self.g[i] / self.h[i][i].sqrt()).abs()).fold(1e-300, f64::max);
        (0..N).filter(|i| !free[*i] && pull(*i) > threshold).max_by(|a, b| pull(*a).total_cmp(&pull(*b)))
    }

    /// Moves to the minimum over the free variables, pinning those that meet a bound on the way.
    fn settle(&self, x: &mut [f64; N], free: &mut [bool; N]) {
        for _ in 0..=N {
            let wish = self.free_minimum(free, x);
            let mut share = 1.0;
            let mut hit = None;
            for i in (0..N).filter(|i| free[*i]) {
                let bound = if wish[i] < self.low[i] {
                    self.low[i]
                } else if wish[i] > self.high[i] {
                    self.high[i]
                } else {
                    continue;
                };
                let reached = (bound - x[i]) / (wish[i] - x[i]);
                if reached < share || hit.is_none() {
                    (share, hit) = (reached.clamp(0.0, 1.0), Some((i, bound)));
                }
            }
            for i in (0..N).filter(|i| free[*i]) {
                x[i] += share * (wish[i] - x[i]);
            }
            let Some((i, bound)) = hit else { return };
            x[i] = bound;
            free[i] = false;
        }
    }

    /// Minimum over the free variables, the others staying at `x` (Cholesky in place).
    fn free_minimum(&self, free: &[bool; N], x: &[f64; N]) -> [f64; N] {
        let mut l = [[0.0; N]; N];
        let mut y = *x;
        for i in (0..N).filter(|i| free[*i]) {
            let pinned: f64 = (0..N).filter(|j| !free[*j]).map(|j| self.h[i][j] * x[j]).sum();
            let mut right = self.g[i] - pinned;
            for j in (0..=i).filter(|j| free[*j]) {
                let mut sum = self.h[i][j];
                for k in (0..j).filter(|k| free[*k]) {
                    sum -= l[i][k] * l[j][k];
                }
                l[i][j] = if i == j { sum.max(1e-14 * self.h[i][i]).sqrt() } else { sum / l[j][j] };
                if j < i {
                    right -= l[i][j] * y[j];
                }
            }
            y[i] = right / l[i][i];
        }
        for i in (0..N).rev().filter(|i| free[*i]) {
            let above: f64 = (i + 1..N).filter(|k| free[*k]).map(|k| l[k][i] * y[k]).sum();
            y[i] = (y[i] - above) / l[i][i];
        }
        y
    }
}

fn dot<const N: usize>(a: &[f64; N], b: &[f64; N]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::oracle;
    use proptest::prelude::*;

    #[test]
    fn without_active_bounds_it_is_the_linear_solution() {
        let qp = BoxQp { h: [[2.0, 0.5], [0.5, 1.0]], g: [1.0, 1.0], low: [-9.0; 2], high: [9.0; 2] };
        // Cramer: x = (1·1 − 0.5·1, 2·1 − 0.5·1) / 1.75. Tolerance is rounding.
        let x = qp.solve();
        assert!((x[0] - 0.5 / 1.75).abs() < 1e-12 && (x[1] - 1.5 / 1.75).abs() < 1e-12);
    }

    #[test]
    fn a_diagonal_programme_is_clipped() {
        let qp = BoxQp { h: [[1.0, 0.0], [0.0, 4.0]], g: [-3.0, 40.0], low: [0.0; 2], high: [5.0; 2] };
        let x = qp.solve();
        assert!(x[0].abs() < 1e-12 && (x[1] - 5.0).abs() < 1e-12);
    }

    proptest! {
        /// Karush–Kuhn–Tucker: inside a bound the slope is zero, at a bound it points outward.
        #[test]
        fn solutions_satisfy_kkt(
            a in prop::array::uniform5(prop::array::uniform4(-1.0_f64..1.0)),
            g in prop::array::uniform4(-2.0_f64..2.0),
            high in prop::array::uniform4(0.0_f64..1.0),
        ) {
            let mut h = [[0.0; 4]; 4];
            for i in 0..4 {
                for j in 0..4 {
                    h[i][j] = a.iter().map(|row| row[i] * row[j]).sum::<f64>() + if i == j { 0.05 } else { 0.0 };
                }
            }
            let qp = BoxQp { h, g, low: [0.0; 4], high };
            let x = qp.solve();
            for i in 0..4 {
                prop_assert!(x[i] >= 0.0 && x[i] <= high[i]);
                let slope = dot(&h[i], &x) - g[i];
                // Slopes are of order 1 and the condition number below 1e3: 1e-8 is rounding.
                if x[i] > 1e-12 { prop_assert!(slope < 1e-8, "could grow: {slope}") }
                if x[i] < high[i] - 1e-12 { prop_assert!(slope > -1e-8, "should grow: {slope}") }
            }
        }

        /// … and are those of an interior-point solver, also with lower bounds below and above zero.
        #[test]
        fn solutions_agree_with_clarabel(
            a in prop::array::uniform5(prop::array::uniform4(-1.0_f64..1.0)),
            g in prop::array::uniform4(-2.0_f64..2.0),
            low in prop::array::uniform4(-0.5_f64..0.3),
            width in prop::array::uniform4(0.01_f64..1.0),
        ) {
            let mut h = [[0.0; 4]; 4];
            for i in 0..4 {
                for j in 0..4 {
                    h[i][j] = a.iter().map(|row| row[i] * row[j]).sum::<f64>() + if i == j { 0.05 } else { 0.0 };
                }
            }
            let high = std::array::from_fn(|i| low[i] + width[i]);
            let qp = BoxQp { h, g, low, high };
            let (ours, theirs) = (qp.solve(), oracle::minimiser(&qp, &[]).expect("a box is feasible"));
            // clarabel stops at a relative gap of 1e-8; with a smallest eigenvalue of 0.05 that is 1e-3 in x at most.
            prop_assert!(qp.value(&ours) <= qp.value(&theirs) + 1e-7, "{} above", qp.value(&ours) - qp.value(&theirs));
            for (a, b) in ours.iter().zip(&theirs) {
                prop_assert!((a - b).abs() < 1e-3, "{ours:?} against {theirs:?}");
            }
        }
    }
}
