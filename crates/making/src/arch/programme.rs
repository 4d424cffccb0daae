//! A quadratic programme with bounds and a few inequality rows.
//!
//! minimise ½ xᵀHx − gᵀx  subject to  low ≤ x ≤ high and a·x ≤ limit for each row. There are two rows at
//! most (wood at the centre, wood at the hole), so which of them are active is found by trying: a row
//! that is broken is held as an equality by a stiff spring, a row whose spring pushes the wrong way is
//! let go (Nocedal & Wright 2006, ch. 16 and 17.1).
use crate::qp::BoxQp;

/// One inequality a·x ≤ limit, in metres of depth.
#[derive(Debug, Clone, Copy)]
pub(super) struct Row<const N: usize> {
    pub a: [f64; N],
    pub limit_m: f64,
}

/// Softness of the spring that holds a row: it gives by load × this². Costs are of order 1 and rows of order
/// millimetres, so loads of some hundreds per metre give by less than a nanometre.
const SPRING_M: f64 = 1e-6;
/// A row passed by more than this counts as broken, metres.
const BROKEN_M: f64 = 1e-8;
/// A spring that pushes the wrong way by more than rounding: a load of one per metre.
const SLACK_M: f64 = SPRING_M * SPRING_M;

impl<const N: usize> Row<N> {
    fn over_m(&self, x: &[f64; N]) -> f64 {
        self.a.iter().zip(x).map(|(a, x)| a * x).sum::<f64>() - self.limit_m
    }
}

/// The minimiser of `qp` under `rows`.
pub(super) fn solve<const N: usize>(qp: &BoxQp<N>, rows: &[Row<N>]) -> [f64; N] {
    let mut held = vec![false; rows.len()];
    let mut x = qp.solve();
    // Every subset of rows once, and one round to see that the last is right.
    for _ in 0..=1 << rows.len() {
        let wrong = (0..rows.len()).find(|i| {
            let over_m = rows[*i].over_m(&x);
            // A spring under load is stretched past the limit; a slack one hangs below it.
            if held[*i] { over_m < -SLACK_M } else { over_m > BROKEN_M }
        });
        let Some(i) = wrong else { break };
        held[i] = !held[i];
        let mut sprung = *qp;
        for (row, _) in rows.iter().zip(&held).filter(|(_, held)| **held) {
            add_square(&mut sprung, &row.a, row.limit_m, SPRING_M);
        }
        x = sprung.solve();
    }
    x
}

/// Adds ½ ((a·x − wanted)/scale)² to the programme.
pub(super) fn add_square<const N: usize>(qp: &mut BoxQp<N>, a: &[f64; N], wanted: f64, scale: f64) {
    let weight = 1.0 / (scale * scale);
    for i in 0..N {
        qp.g[i] += weight * a[i] * wanted;
        for j in 0..N {
            qp.h[i][j] += weight * a[i] * a[j];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::oracle;
    use proptest::prelude::*;

    const N: usize = 6;

    proptest! {
        #[test]
        fn agrees_with_an_interior_point_solver(
            factor in prop::array::uniform8(prop::array::uniform6(-1.0_f64..1.0)),
            g in prop::array::uniform6(-2.0_f64..2.0),
            high in prop::array::uniform6(0.1_f64..1.0),
            row in prop::array::uniform2(prop::array::uniform6(0.0_f64..1.0)),
            limit in prop::array::uniform2(0.05_f64..1.5),
        ) {
            let mut h = [[0.0; N]; N];
            for i in 0..N {
                for j in 0..N {
                    h[i][j] = factor.iter().map(|r| r[i] * r[j]).sum::<f64>() + if i == j { 0.1 } else { 0.0 };
                }
            }
            let qp = BoxQp { h, g, low: [0.0; N], high };
            // Depth per slope is some millimetres, as in use.
            let rows = [0, 1].map(|k| Row { a: row[k].map(|a| 0.005 * a), limit_m: 0.005 * limit[k] });
            let ours = solve(&qp, &rows);
            for r in &rows {
                prop_assert!(r.over_m(&ours) < 2.0 * BROKEN_M, "{}", r.over_m(&ours));
            }
            let theirs = oracle::minimiser(&qp, &rows.map(|r| (r.a, r.limit_m))).expect("zero is feasible");
            // A row may be passed by 1e-8 m at loads of some hundreds per metre; such a gap is some 1e-3 wide in x.
            let gap = qp.value(&ours) - qp.value(&theirs);
            prop_assert!(gap.abs() < 1e-5, "objective {} against {}", qp.value(&ours), qp.value(&theirs));
            for (a, b) in ours.iter().zip(&theirs) {
                prop_assert!((a - b).abs() < 2e-3, "{ours:?} against {theirs:?}");
            }
        }
    }
}
