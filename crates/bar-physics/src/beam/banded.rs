//! Symmetric banded matrices and their Cholesky factor: elements in lengthwise order couple only neighbours.

/// A symmetric matrix; row `i` holds the entries of columns `i − half_band` … `i`.
#[derive(Debug, Clone)]
pub(super) struct Banded {
    half_band: usize,
    rows: Vec<f64>,
}

impl Banded {
    /// A zero matrix of `size` rows whose entries (i, j) vanish for |i − j| > `half_band`.
    pub fn zero(size: usize, half_band: usize) -> Self {
        Self { half_band, rows: vec![0.0; size * (half_band + 1)] }
    }

    pub fn size(&self) -> usize {
        self.rows.len() / (self.half_band + 1)
    }

    /// Entries of row `i` from column `self.first(i)` to the diagonal.
    fn row(&self, i: usize) -> &[f64] {
        let end = (i + 1) * (self.half_band + 1);
        &self.rows[end - 1 - (i - self.first(i))..end]
    }

    fn first(&self, i: usize) -> usize {
        i.saturating_sub(self.half_band)
    }

    /// Adds to entry (i, j), j ≤ i ≤ j + half band.
    pub fn add(&mut self, i: usize, j: usize, value: f64) {
        let diagonal = (i + 1) * (self.half_band + 1) - 1;
        self.rows[diagonal - (i - j)] += value;
    }

    /// `self + shift · other`, both of one shape.
    pub fn shifted(&self, other: &Self, shift: f64) -> Self {
        let rows = self.rows.iter().zip(&other.rows).map(|(a, b)| a + shift * b).collect();
        Self { half_band: self.half_band, rows }
    }

    /// `self · x`.
    pub fn times(&self, x: &[f64]) -> Vec<f64> {
        let mut out = vec![0.0; x.len()];
        for i in 0..x.len() {
            let first = self.first(i);
            let (off, diagonal) = self.row(i).split_at(i - first);
            for (a, yj) in off.iter().zip(&mut out[first..i]) {
                *yj += a * x[i];
            }
            out[i] += dot(off, &x[first..i]) + diagonal[0] * x[i];
        }
        out
    }

    /// Cholesky factor L with L·Lᵀ = `self`, in place; `None` if a pivot is not positive.
    pub fn cholesky(mut self) -> Option<Factor> {
        let width = self.half_band + 1;
        for i in 0..self.size() {
            let first = self.first(i);
            let (done, rest) = self.rows.split_at_mut(i * width);
            let row = &mut rest[width - 1 - (i - first)..width];
            for j in first..i {
                let from = first.max(j.saturating_sub(self.half_band));
                let row_j = &done[(j + 1) * width - 1 - (j - from)..(j + 1) * width];
                let (left, pivot) = row_j.split_at(j - from);
                row[j - first] = (row[j - first] - dot(left, &row[from - first..j - first])) / pivot[0];
            }
            let (left, pivot) = row.split_at_mut(i - first);
            let remainder = pivot[0] - dot(left, left);
            // NaN is not positive either.
            if !(remainder > 0.0 && remainder.is_finite()) {
                return None;
            }
            pivot[0] = remainder.sqrt();
        }
        Some(Factor(self))
    }
}

/// A Cholesky factor.
pub(super) struct Factor(Banded);

impl Factor {
    /// Solves L·Lᵀ·x = b in place.
    pub fn solve(&self, b: &mut [f64]) {
        let lower = &self.0;
        for i in 0..b.len() {
            let first = lower.first(i);
            let (off, diagonal) = lower.row(i).split_at(i - first);
            b[i] = (b[i] - dot(off, &b[first..i])) / diagonal[0];
        }
        for i in (0..b.len()).rev() {
            let first = lower.first(i);
            let (off, diagonal) = lower.row(i).split_at(i - first);
            let value = b[i] / diagonal[0];
            b[i] = value;
            for (y, a) in b[first..i].iter_mut().zip(off) {
                *y -= a * value;
            }
        }
    }
}

/// Inner product.
pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Second differences plus one: positive definite, eigenvalues 1 to 5.
    fn second_differences(size: usize, diagonal: f64) -> Banded {
        let mut matrix = Banded::zero(size, 3);
        for i in 0..size {
            matrix.add(i, i, diagonal);
            if i > 0 {
                matrix.add(i, i - 1, -1.0);
            }
        }
        matrix
    }

    #[test]
    fn solve_undoes_times() {
        let matrix = second_differences(40, 3.0);
        let x: Vec<f64> = (0..40).map(|i| f64::from(i).sin()).collect();
        let mut b = matrix.times(&x);
        matrix.cholesky().unwrap().solve(&mut b);
        // Condition number 5: a few units in the last place of numbers near 1.
        assert!(b.iter().zip(&x).all(|(p, q)| (p - q).abs() < 1e-14));
    }

    #[test]
    fn an_indefinite_matrix_has_no_factor() {
        assert!(second_differences(40, 1.9).cholesky().is_none());
        assert!(second_differences(4, f64::NAN).cholesky().is_none());
    }
}
