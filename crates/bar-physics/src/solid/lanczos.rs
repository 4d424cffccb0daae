//! Lowest elastic modes by shift-invert Lanczos with full reorthogonalisation in the mass product.
//!
//! Ericsson & Ruhe 1980, "The spectral transformation Lanczos method". The rigid motions are known
//! exactly and are projected out, so the shift only has to keep K + σM safely positive.
use super::envelope::{Factor, dot};
use super::mass::Mass;
use nalgebra::{DMatrix, SymmetricEigen};

/// Relative residual at which an eigenvalue counts as found: 1e-9 of ω² is 1e-6 cent.
const TOLERANCE: f64 = 1e-9;
/// Beyond this the iteration has stalled.
const MOST_STEPS: usize = 220;

/// An M-normalised eigenpair.
#[derive(Debug, Clone)]
pub(super) struct Pair {
    pub omega_squared: f64,
    pub vector: Vec<f64>,
}

/// The iteration stopped without an answer; carries the number of eigenvalues found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stalled {
    pub found: usize,
}

/// The `count` lowest pairs above the rigid motions; `factor` is that of K + `shift`·M.
pub(super) fn lowest(
    mass: &Mass,
    factor: &Factor,
    rigid: &[Vec<f64>],
    shift: f64,
    count: usize,
) -> Result<Vec<Pair>, Stalled> {
    let size = mass.size();
    let mut run = Run::new(mass, rigid, factor, scattered(size, 0));
    let most = MOST_STEPS.min(size.saturating_sub(rigid.len()));
    while run.alpha.len() < most {
        run.step();
        let steps = run.alpha.len();
        if steps >= count + 8 && steps.is_multiple_of(4) || run.exhausted {
            let ritz = Ritz::of(run.projected());
            let outside = [vec![run.beta.last().copied().unwrap_or(0.0)]];
            let good = |k: &usize| ritz.residual(&outside, *k) <= TOLERANCE * ritz.values[*k];
            let found = (0..count.min(steps)).take_while(good).count();
            if found >= count || run.exhausted {
                let pair = |k| Pair {
                    omega_squared: 1.0 / ritz.values[k] - shift,
                    vector: ritz.combine(k, &run.basis[rigid.len()..]),
                };
                return Ok((0..found).map(pair).collect());
            }
        }
    }
    Err(Stalled { found: 0 })
}

/// Deterministic start vectors that favour no symmetry (splitmix64, Steele et al. 2014).
pub(super) fn scattered(size: usize, which: usize) -> Vec<f64> {
    let mut state = 0x9E37_79B9_7F4A_7C15_u64.wrapping_mul(1 + which as u64);
    (0..size)
        .map(|_| {
            state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
            let mut z = state;
            z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
            z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
            (z >> 11) as f64 / (1u64 << 52) as f64 - 1.0
        })
        .collect()
}

struct Run<'a> {
    mass: &'a Mass,
    factor: &'a Factor,
    /// Basis vectors and their M-products; the rigid motions come first.
    basis: Vec<Vec<f64>>,
    mass_basis: Vec<Vec<f64>>,
    alpha: Vec<f64>,
    beta: Vec<f64>,
    exhausted: bool,
}

impl<'a> Run<'a> {
    fn new(mass: &'a Mass, rigid: &[Vec<f64>], factor: &'a Factor, mut start: Vec<f64>) -> Self {
        let mut run = Self {
            mass,
            factor,
            basis: rigid.to_vec(),
            mass_basis: rigid.iter().map(|r| mass.times(r)).collect(),
            alpha: Vec::new(),
            beta: Vec::new(),
            exhausted: false,
        };
        run.factor.solve(&mut start);
        run.project(&mut start);
        run.accept(start);
        run
    }

    /// Removes from `w` what lies along the basis; twice is enough (Parlett 1980).
    fn project(&self, w: &mut [f64]) {
        for _ in 0..2 {
            for (v, mv) in self.basis.iter().zip(&self.mass_basis) {
                let along = dot(w, mv);
                w.iter_mut().zip(v).for_each(|(a, b)| *a -= along * b);
            }
        }
    }

    /// Normalises `w` and appends it; returns its M-norm.
    fn accept(&mut self, mut w: Vec<f64>) -> f64 {
        let mut mw = self.mass.times(&w);
        let norm = dot(&w, &mw).max(0.0).sqrt();
        if norm > 0.0 {
            w.iter_mut().for_each(|a| *a /= norm);
            mw.iter_mut().for_each(|a| *a /= norm);
        }
        self.basis.push(w);
        self.mass_basis.push(mw);
        norm
    }

    fn step(&mut self) {
        let Some(last) = self.mass_basis.last() else { return };
        let mut w = last.clone();
        let before = last.clone();
        self.factor.solve(&mut w);
        let size_before = dot(&w, &before);
        self.alpha.push(size_before);
        self.project(&mut w);
        let norm = self.accept(w);
        // An invariant subspace: what is left is rounding.
        self.exhausted = norm <= 1e-14 * size_before.abs();
        self.beta.push(norm);
    }

    /// The inverse seen by the basis: tridiagonal.
    fn projected(&self) -> DMatrix<f64> {
        let n = self.alpha.len();
        let mut t = DMatrix::zeros(n, n);
        for i in 0..n {
            t[(i, i)] = self.alpha[i];
            if i + 1 < n {
                t[(i, i + 1)] = self.beta[i];
                t[(i + 1, i)] = self.beta[i];
            }
        }
        t
    }
}

/// Eigenvalues of the projected inverse, largest first, with their coordinates.
pub(super) struct Ritz {
    pub values: Vec<f64>,
    vectors: DMatrix<f64>,
}

impl Ritz {
    pub fn of(projected: DMatrix<f64>) -> Self {
        let eigen = SymmetricEigen::new(projected);
        let mut order: Vec<usize> = (0..eigen.eigenvalues.len()).collect();
        order.sort_by(|a, b| eigen.eigenvalues[*b].total_cmp(&eigen.eigenvalues[*a]));
        let values = order.iter().map(|k| eigen.eigenvalues[*k]).collect();
        let columns: Vec<_> = order.iter().map(|k| eigen.eigenvectors.column(*k).into_owned()).collect();
        Self { values, vectors: DMatrix::from_columns(&columns) }
    }

    /// Norm of the residual of pair `k`, given for each of the last basis vectors the coefficients of what
    /// its image has outside the basis.
    pub fn residual(&self, outside: &[Vec<f64>], k: usize) -> f64 {
        let first = self.values.len() - outside.len();
        let longest = outside.iter().map(Vec::len).max().unwrap_or(0);
        let along = |i: usize| -> f64 {
            let terms =
                outside.iter().enumerate().filter_map(|(j, c)| c.get(i).map(|c| c * self.vectors[(first + j, k)]));
            terms.sum()
        };
        (0..longest).map(|i| along(i).powi(2)).sum::<f64>().sqrt()
    }

    /// The vector of pair `k` in the given basis.
    pub fn combine(&self, k: usize, basis: &[Vec<f64>]) -> Vec<f64> {
        let mut vector = vec![0.0; basis.first().map_or(0, Vec::len)];
        for (i, v) in basis.iter().take(self.values.len()).enumerate() {
            let weight = self.vectors[(i, k)];
            vector.iter_mut().zip(v).for_each(|(a, b)| *a += weight * b);
        }
        vector
    }
}
