//! Symmetric matrices stored by blocks of rows from their first entry to the diagonal, and their factors.
//!
//! In lengthwise order a bar's matrices are banded; a banded factorisation of our own beats a general
//! sparse one here because the band is dense. All rows that begin at the same column (three nodes of an
//! element of order 3) are one block, stored by columns, so that the work is products of dense matrices.

use super::dense::{self, Columns, Pivots};
use super::mass::Mass;

/// A symmetric matrix, lower triangle, each row stored from its first nonzero column.
#[derive(Debug, Clone)]
pub(super) struct Envelope {
    blocks: Vec<Block>,
    /// Block of each row.
    block_of: Vec<usize>,
    values: Vec<f64>,
}

/// Rows `begin..end`, stored by columns `first..end` from `start` on.
#[derive(Debug, Clone, Copy)]
struct Block {
    first: usize,
    begin: usize,
    end: usize,
    start: usize,
}

impl Block {
    fn rows(&self) -> usize {
        self.end - self.begin
    }

    /// Where the entry at this row and column is stored.
    fn at(&self, row: usize, column: usize) -> usize {
        self.start + (column - self.first) * self.rows() + row - self.begin
    }
}

/// Entries of one block from some row and column on.
pub(super) struct Part<'a> {
    values: &'a mut [f64],
    stride: usize,
}

impl Part<'_> {
    /// Adds to the entry at this row and column of the part.
    pub fn add(&mut self, row: usize, column: usize, value: f64) {
        self.values[column * self.stride + row] += value;
    }
}

/// The matrix was not positive definite at this row, or a pivot was lost in rounding.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct NotPositive {
    pub row: usize,
}

impl Envelope {
    /// A zero matrix whose row `i` begins at column `first[i]` ≤ `i`.
    pub fn zero(first: Vec<usize>) -> Self {
        let mut blocks: Vec<Block> = Vec::new();
        let mut block_of = Vec::with_capacity(first.len());
        for (i, f) in first.into_iter().enumerate() {
            match blocks.last_mut() {
                Some(block) if block.first == f => block.end = i + 1,
                _ => blocks.push(Block { first: f, begin: i, end: i + 1, start: 0 }),
            }
            block_of.push(blocks.len() - 1);
        }
        let mut total = 0;
        for block in &mut blocks {
            block.start = total;
            total += block.rows() * (block.end - block.first);
        }
        Self { blocks, block_of, values: vec![0.0; total] }
    }

    pub fn size(&self) -> usize {
        self.block_of.len()
    }

    /// Adds to entry (i, j), j ≤ i, inside the envelope.
    pub fn add(&mut self, i: usize, j: usize, value: f64) {
        self.values[self.blocks[self.block_of[i]].at(i, j)] += value;
    }

    /// The entries of `rows.1` rows from `rows.0`, which begin at the same column, from `column` on.
    pub fn part(&mut self, (row, rows): (usize, usize), column: usize) -> Part<'_> {
        let block = self.blocks[self.block_of[row]];
        let start = block.at(row, column);
        let end = block.start + block.rows() * (block.end - block.first);
        debug_assert!(row + rows <= block.end, "rows of one block");
        Part { values: &mut self.values[start..end], stride: block.rows() }
    }

    /// `self + shift · mass`, the mass inside this envelope.
    pub fn shifted(mut self, mass: &Mass, shift: f64) -> Self {
        mass.for_each_lower(|i, j, value| self.add(i, j, shift * value));
        self
    }

    /// Calls `visit(row, column, value)` for every stored entry of the lower triangle.
    pub fn for_each_lower(&self, mut visit: impl FnMut(usize, usize, f64)) {
        for block in &self.blocks {
            for column in block.first..block.end {
                for row in block.begin.max(column)..block.end {
                    visit(row, column, self.values[block.at(row, column)]);
                }
            }
        }
    }

    /// xᵀ·self·x.
    #[cfg(test)]
    pub fn energy(&self, x: &[f64]) -> f64 {
        let mut out = 0.0;
        self.for_each_lower(|i, j, value| out += if i == j { 1.0 } else { 2.0 } * x[i] * x[j] * value);
        out
    }

    /// Cholesky factor in place.
    ///
    /// # Errors
    /// [`NotPositive`] at the first row whose pivot is not positive.
    pub fn cholesky(self) -> Result<Factor, NotPositive> {
        self.factor(Pivots::Positive)
    }

    /// Factor with pivots of either sign, no interchanges; their signs tell the inertia (Sylvester).
    ///
    /// # Errors
    /// [`NotPositive`] at a row whose pivot is lost in rounding.
    pub fn signed(self) -> Result<Factor, NotPositive> {
        self.factor(Pivots::AnySign)
    }

    fn factor(mut self, pivots: Pivots) -> Result<Factor, NotPositive> {
        let mut signs = vec![1.0; self.size()];
        for index in 0..self.blocks.len() {
            let block = self.blocks[index];
            let (done, rest) = self.values.split_at_mut(block.start);
            let panel = &mut rest[..block.rows() * (block.end - block.first)];
            for before in &self.blocks[self.block_of[block.first]..index] {
                eliminate(panel, block, done, *before, &signs);
            }
            let (off, triangle) = panel.split_at_mut((block.begin - block.first) * block.rows());
            let diagonal: Vec<f64> = (0..block.rows()).map(|k| triangle[k * block.rows() + k]).collect();
            let off = Columns { values: off, stride: block.rows() };
            dense::update_triangle(triangle, block.rows(), block.rows(), off, &signs[block.first..block.begin]);
            let own = &mut signs[block.begin..block.end];
            dense::factor(triangle, block.rows(), block.rows(), own, (pivots, &diagonal))
                .map_err(|row| NotPositive { row: block.begin + row })?;
        }
        Ok(Factor { lower: self, signs })
    }
}

/// Finishes the columns of `panel` that lie under the triangle of the block `before`.
fn eliminate(panel: &mut [f64], block: Block, done: &[f64], before: Block, signs: &[f64]) {
    let rows = block.rows();
    let low = block.first.max(before.begin);
    let inner = block.first.max(before.first).min(low);
    let (left, right) = panel.split_at_mut((low - block.first) * rows);
    if inner < low {
        let left = Columns { values: &left[(inner - block.first) * rows..], stride: rows };
        let other = Columns { values: &done[before.at(low, inner)..], stride: before.rows() };
        dense::subtract_product(right, rows, (rows, before.end - low), left, other, &signs[inner..low]);
    }
    let triangle = Columns { values: &done[before.at(low, low)..], stride: before.rows() };
    dense::solve_right(right, rows, (rows, before.end - low), triangle, &signs[low..before.end]);
}

/// A factor L with A = L·S·Lᵀ, S = ±1 (all +1: Cholesky).
#[derive(Debug, Clone)]
pub(super) struct Factor {
    lower: Envelope,
    signs: Vec<f64>,
}

impl Factor {
    /// How many eigenvalues of A are negative (Sylvester's law of inertia).
    pub fn negatives(&self) -> usize {
        self.signs.iter().filter(|s| **s < 0.0).count()
    }

    /// Solves A·x = b in place.
    pub fn solve(&self, b: &mut [f64]) {
        self.solve_all(&mut [b]);
    }

    /// Solves A·x = b in place for several right sides: each block of the factor is fetched once for all.
    pub fn solve_all(&self, right_sides: &mut [&mut [f64]]) {
        for block in &self.lower.blocks {
            let (off, triangle) = self.parts(block);
            for b in &mut *right_sides {
                let (before, own) = b[block.first..block.end].split_at_mut(block.begin - block.first);
                dense::subtract_columns(own, off, block.rows(), before);
                dense::solve_lower(triangle, own);
            }
        }
        if self.negatives() > 0 {
            for b in &mut *right_sides {
                b.iter_mut().zip(&self.signs).for_each(|(v, sign)| *v *= sign);
            }
        }
        for block in self.lower.blocks.iter().rev() {
            let (off, triangle) = self.parts(block);
            for b in &mut *right_sides {
                let (before, own) = b[block.first..block.end].split_at_mut(block.begin - block.first);
                dense::solve_lower_transposed(triangle, own);
                dense::subtract_dots(before, off, block.rows(), own);
            }
        }
    }

    /// Columns left of the diagonal block, and the diagonal block.
    fn parts(&self, block: &Block) -> (&[f64], &[f64]) {
        let all = &self.lower.values[block.start..block.start + block.rows() * (block.end - block.first)];
        all.split_at((block.begin - block.first) * block.rows())
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
