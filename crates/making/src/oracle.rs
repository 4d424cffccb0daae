//! Another solver's word on a small quadratic programme: clarabel 0.11 (interior point, homogeneous embedding:
//! another method altogether).
use crate::qp::BoxQp;
use clarabel::algebra::CscMatrix;
use clarabel::solver::{
    DefaultSettingsBuilder, DefaultSolver, IPSolver, NonnegativeConeT, SolverStatus, SupportedConeT,
};

/// The minimiser of `qp` under `rows` (a · x ≤ limit) besides its bounds; `None` if clarabel finds none.
pub(crate) fn minimiser<const N: usize>(qp: &BoxQp<N>, rows: &[([f64; N], f64)]) -> Option<[f64; N]> {
    let upper: Vec<[f64; N]> = (0..N).map(|i| std::array::from_fn(|j| if j >= i { qp.h[i][j] } else { 0.0 })).collect();
    let p = CscMatrix::from(&upper);
    let q: Vec<f64> = qp.g.iter().map(|g| -g).collect();
    let mut a: Vec<[f64; N]> = Vec::new();
    let mut b = Vec::new();
    for i in 0..N {
        for (sign, bound) in [(1.0, qp.high[i]), (-1.0, -qp.low[i])] {
            a.push(std::array::from_fn(|j| if i == j { sign } else { 0.0 }));
            b.push(bound);
        }
    }
    for (row, limit) in rows {
        a.push(*row);
        b.push(*limit);
    }
    let cones: [SupportedConeT<f64>; 1] = [NonnegativeConeT(b.len())];
    let settings = DefaultSettingsBuilder::default().verbose(false).build().unwrap();
    let mut solver = DefaultSolver::new(&p, &q, &CscMatrix::from(&a), &b, &cones, settings).unwrap();
    solver.solve();
    (solver.solution.status == SolverStatus::Solved).then(|| std::array::from_fn(|i| solver.solution.x[i]))
}
