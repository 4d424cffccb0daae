//! Warm restart: the modes of a slightly changed bar from those of the bar before.
//!
//! K − σM is factored with σ just above the last wanted ω². The one factor serves twice: it is the operator
//! of a block Lanczos iteration that starts from the old vectors (Ericsson & Ruhe 1980; Golub & Underwood
//! 1977), and its negative pivots count the eigenvalues below σ (Sylvester's law of inertia; Parlett 1980,
//! §3.3). The iteration ends only when it holds every one of them, so no mode can be skipped.
use super::envelope::{Factor, dot};
use super::lanczos::{Pair, Ritz, scattered};
use super::mass::Mass;
use nalgebra::DMatrix;

/// Residual, relative to the eigenvalue of the inverse, at which a pair is good: the vector is then right to
/// about 1e-5 and ω², whose error is the square, to 1e-5 cent even for the lowest mode, which σ is far from.
const TOLERANCE: f64 = 1e-5;
/// Blocks after which a cold solve is the cheaper way.
const MOST_BLOCKS: usize = 7;
/// More unknown modes than this below σ: the bar is not a near one.
const MOST_MISSING: usize = 3;
/// σ over the last wanted ω² of the bar before: above the drift of a small change (12 % is 100 cents), and
/// below most next modes.
pub(super) const SHIFT_ABOVE: f64 = 1.15;

/// Every pair below `shift` above the rigid motions, or `None` if the iteration does not hold them all.
///
/// `factor` is that of K − `shift`·M; `start` are vectors near the wanted ones.
pub(super) fn below(
    mass: &Mass,
    factor: &Factor,
    rigid: &[Vec<f64>],
    shift: f64,
    mut start: Vec<Vec<f64>>,
) -> Option<Vec<Pair>> {
    let expected = factor.negatives().checked_sub(rigid.len()).filter(|n| *n > 0)?;
    let missing = expected.saturating_sub(start.len());
    if missing > MOST_MISSING {
        return None;
    }
    start.extend((0..missing).map(|k| scattered(mass.size(), k)));
    let mut run = BlockRun::new(mass, rigid, start);
    for _ in 0..MOST_BLOCKS {
        let residual = run.step(factor)?;
        let ritz = Ritz::of(run.projected());
        // Below σ the inverse is negative; its most negative value lies nearest to σ.
        let low: Vec<usize> = (0..ritz.values.len()).filter(|k| ritz.values[*k] < 0.0).collect();
        let good = |k: &usize| ritz.residual(&residual, *k) <= TOLERANCE * ritz.values[*k].abs();
        if low.len() == expected && low.iter().all(good) {
            let pair = |k: usize| Pair {
                omega_squared: shift + 1.0 / ritz.values[k],
                vector: ritz.combine(k, &run.basis[rigid.len()..]),
            };
            let mut pairs: Vec<Pair> = low.into_iter().map(pair).collect();
            pairs.sort_by(|a, b| a.omega_squared.total_cmp(&b.omega_squared));
            return Some(pairs);
        }
    }
    None
}

struct BlockRun<'a> {
    mass: &'a Mass,
    /// Basis vectors and their M-products; the rigid motions come first.
    basis: Vec<Vec<f64>>,
    mass_basis: Vec<Vec<f64>>,
    rigid: usize,
    /// Where the newest block begins in the basis.
    newest: usize,
    /// Columns of the projected inverse, over the basis without the rigid motions.
    columns: Vec<Vec<f64>>,
}

impl<'a> BlockRun<'a> {
    fn new(mass: &'a Mass, rigid: &[Vec<f64>], start: Vec<Vec<f64>>) -> Self {
        let mut run = Self {
            mass,
            basis: rigid.to_vec(),
            mass_basis: rigid.iter().map(|r| mass.times(r)).collect(),
            rigid: rigid.len(),
            newest: rigid.len(),
            columns: Vec::new(),
        };
        for mut v in start {
            run.project(&mut v);
            run.accept(v, 0.0);
        }
        run
    }

    /// Removes what lies along the basis, twice (Parlett 1980); returns the first coefficients.
    fn project(&self, w: &mut [f64]) -> Vec<f64> {
        let once = |w: &mut [f64]| -> Vec<f64> {
            let pairs = self.basis.iter().zip(&self.mass_basis);
            pairs
                .map(|(v, mv)| {
                    let along = dot(w, mv);
                    w.iter_mut().zip(v).for_each(|(a, b)| *a -= along * b);
                    along
                })
                .collect()
        };
        let along = once(w);
        once(w);
        along
    }

    /// Normalises and appends `w` unless its M-norm is no more than `negligible`; returns the norm.
    fn accept(&mut self, mut w: Vec<f64>, negligible: f64) -> f64 {
        let mut mw = self.mass.times(&w);
        let norm = dot(&w, &mw).max(0.0).sqrt();
        if norm > negligible {
            w.iter_mut().for_each(|a| *a /= norm);
            mw.iter_mut().for_each(|a| *a /= norm);
            self.basis.push(w);
            self.mass_basis.push(mw);
        }
        norm
    }

    /// Applies the inverse to the newest block; returns the coefficients of the images along the next block
    /// (one list per vector of the old one). `None` when the space is exhausted.
    fn step(&mut self, factor: &Factor) -> Option<Vec<Vec<f64>>> {
        let block = self.newest..self.basis.len();
        if block.is_empty() {
            return None;
        }
        let mut images: Vec<Vec<f64>> = self.mass_basis[block.clone()].to_vec();
        let mut slices: Vec<&mut [f64]> = images.iter_mut().map(Vec::as_mut_slice).collect();
        factor.solve_all(&mut slices);
        self.newest = self.basis.len();
        let mut outside = Vec::new();
        for mut image in images {
            let along = self.project(&mut image);
            let (old, new) = along.split_at(self.newest);
            self.columns.push(old[self.rigid..].to_vec());
            let mut rest = new.to_vec();
            let size = old.iter().map(|a| a * a).sum::<f64>().sqrt();
            rest.push(self.accept(image, 1e-14 * size));
            outside.push(rest);
        }
        Some(outside)
    }

    /// The inverse seen by the basis whose images are known.
    fn projected(&self) -> DMatrix<f64> {
        let n = self.columns.len();
        let mut out = DMatrix::zeros(n, n);
        for (j, column) in self.columns.iter().enumerate() {
            for (i, value) in column.iter().enumerate() {
                out[(i, j)] = *value;
                out[(j, i)] = *value;
            }
        }
        out
    }
}
