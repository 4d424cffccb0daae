//! Symmetric matrices stored by rows from their first entry to the diagonal, and their Cholesky factor.
//!
//! In lengthwise order a bar's matrices are banded; a banded factorisation of our own beats a general
//! sparse one here because the band is dense.

use super::mass::Mass;

/// A symmetric matrix, lower triangle, each row stored from its first nonzero column.
#[derive(Debug, Clone)]
pub(super) struct Envelope {
    first: Vec<usize>,
    start: Vec<usize>,
    values: Vec<f64>,
}

/// The matrix was not positive definite at this row.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct NotPositive {
    pub row: usize,
}

impl Envelope {
    /// A zero matrix whose row `i` begins at column `first[i]` ≤ `i`.
    pub fn zero(first: Vec<usize>) -> Self {
        let mut start = Vec::with_capacity(first.len() + 1);
        let mut total = 0;
        for (i, f) in first.iter().enumerate() {
            start.push(total);
            total += i - f + 1;
        }
        start.push(total);
        Self { first, start, values: vec![0.0; total] }
    }

    pub fn size(&self) -> usize {
        self.first.len()
    }

    fn row(&self, i: usize) -> &[f64] {
        &self.values[self.start[i]..self.start[i + 1]]
    }

    /// Adds to entry (i, j), j ≤ i, inside the envelope.
    pub fn add(&mut self, i: usize, j: usize, value: f64) {
        let at = self.start[i] + j - self.first[i];
        self.values[at] += value;
    }

    /// `self + shift · mass`, the mass inside this envelope.
    pub fn shifted(&self, mass: &Mass, shift: f64) -> Self {
        let mut out = self.clone();
        mass.for_each_lower(|i, j, value| out.add(i, j, shift * value));
        out
    }

    /// xᵀ·self·x.
    #[cfg(test)]
    pub fn energy(&self, x: &[f64]) -> f64 {
        (0..self.size())
            .map(|i| {
                let row = self.row(i);
                let off = dot(&row[..row.len() - 1], &x[self.first[i]..i]);
                x[i] * (2.0 * off + row[row.len() - 1] * x[i])
            })
            .sum()
    }

    /// Cholesky factor in place (row by row, inner products over contiguous rows).
    ///
    /// # Errors
    /// [`NotPositive`] at the first row whose pivot is not positive.
    pub fn cholesky(mut self) -> Result<Factor, NotPositive> {
        for i in 0..self.size() {
            let (done, rest) = self.values.split_at_mut(self.start[i]);
            let (first, length) = (self.first[i], i - self.first[i] + 1);
            let row = &mut rest[..length];
            let mut pivot = row[length - 1];
            for j in first..i {
                let first_j = self.first[j];
                let row_j = &done[self.start[j]..self.start[j + 1]];
                let from = first.max(first_j);
                let product = dot(&row[from - first..j - first], &row_j[from - first_j..j - first_j]);
                let value = (row[j - first] - product) / row_j[row_j.len() - 1];
                row[j - first] = value;
                pivot -= value * value;
            }
            if pivot.is_nan() || pivot <= 0.0 {
                return Err(NotPositive { row: i });
            }
            row[length - 1] = pivot.sqrt();
        }
        Ok(Factor(self))
    }
}

/// A Cholesky factor L with A = L·Lᵀ.
#[derive(Debug, Clone)]
pub(super) struct Factor(Envelope);

impl Factor {
    /// Solves A·x = b in place.
    pub fn solve(&self, b: &mut [f64]) {
        let l = &self.0;
        for i in 0..l.size() {
            let row = l.row(i);
            let (off, diagonal) = row.split_at(row.len() - 1);
            b[i] = (b[i] - dot(off, &b[l.first[i]..i])) / diagonal[0];
        }
        for i in (0..l.size()).rev() {
            let row = l.row(i);
            let (off, diagonal) = row.split_at(row.len() - 1);
            let value = b[i] / diagonal[0];
            b[i] = value;
            for (y, a) in b[l.first[i]..i].iter_mut().zip(off) {
                *y -= a * value;
            }
        }
    }
}

/// Inner product in eight running sums, which the compiler turns into vector instructions.
pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut sums = [0.0; 8];
    let (a8, a_rest) = a.as_chunks::<8>();
    let (b8, b_rest) = b.as_chunks::<8>();
    for (x, y) in a8.iter().zip(b8) {
        for k in 0..8 {
            sums[k] += x[k] * y[k];
        }
    }
    let rest: f64 = a_rest.iter().zip(b_rest).map(|(x, y)| x * y).sum();
    sums.iter().sum::<f64>() + rest
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn solves_a_banded_system() {
        // The second-difference matrix plus one: positive definite.
        let n = 50;
        let mut a = Envelope::zero((0..n).map(|i: usize| i.saturating_sub(2)).collect());
        for i in 0..n {
            a.add(i, i, 3.0);
            if i > 0 {
                a.add(i, i - 1, -1.0);
            }
        }
        let x: Vec<f64> = (0..n).map(|i| (i as f64).sin()).collect();
        let mut b: Vec<f64> = (0..n)
            .map(|i: usize| {
                let before = if i > 0 { x[i - 1] } else { 0.0 };
                let after = if i + 1 < n { x[i + 1] } else { 0.0 };
                3.0 * x[i] - before - after
            })
            .collect();
        a.cholesky().unwrap().solve(&mut b);
        assert!(b.iter().zip(&x).all(|(p, q)| (p - q).abs() < 1e-13));
    }

    #[test]
    fn an_indefinite_matrix_is_refused() {
        let mut a = Envelope::zero(vec![0, 0]);
        a.add(0, 0, 1.0);
        a.add(1, 0, 2.0);
        a.add(1, 1, 1.0);
        assert_eq!(a.cholesky().unwrap_err(), NotPositive { row: 1 });
    }
}
