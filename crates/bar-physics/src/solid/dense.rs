//! Dense kernels of the factorisation: A = L·S·Lᵀ with S = ±1, columns contiguous, lower triangle.
//!
//! The recursion halves matrices until they are small, so that nearly all work is done by the matrix
//! product of `nalgebra` (crate `matrixmultiply`), which uses the widest vectors the processor has.
//! Blocked factorisations: Golub & Van Loan 2013, §4.2 and §4.4.
use super::envelope::dot;
use nalgebra::{Dyn, MatrixView, MatrixViewMut};

/// Below this size columns are eliminated one by one: products this small gain nothing.
const LEAF: usize = 8;
/// Updates of a triangle are split into products no wider than this, to skip most of its upper half.
const TRIANGLE_LEAF: usize = 32;
/// Up to this size of any side `nalgebra` would not use the fast product; its own loop (0.35.0) crashed on
/// strided views when tried here (cause not found), so a plain loop of ours takes these.
const SMALL_PRODUCT: usize = 5;
/// A pivot this small against its diagonal entry leaves no digits to tell its sign by.
const SMALLEST_PIVOT: f64 = 1e-12;

/// Which pivots are accepted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Pivots {
    /// Cholesky: the matrix must be positive definite.
    Positive,
    /// Either sign, without interchanges; refused if a pivot is lost in rounding.
    AnySign,
}

/// A matrix by contiguous columns `stride` apart.
#[derive(Debug, Clone, Copy)]
pub(super) struct Columns<'a> {
    pub values: &'a [f64],
    pub stride: usize,
}

impl<'a> Columns<'a> {
    /// What begins at this row and column.
    fn from(self, row: usize, column: usize) -> Self {
        Self { values: &self.values[column * self.stride + row..], stride: self.stride }
    }
}

/// Factors the leading `n` × `n` lower triangle of `a` in place; `Err` carries the row of a bad pivot.
pub(super) fn factor(
    a: &mut [f64],
    stride: usize,
    n: usize,
    signs: &mut [f64],
    (pivots, diagonal): (Pivots, &[f64]),
) -> Result<(), usize> {
    if n <= LEAF {
        return factor_small(a, stride, n, signs, (pivots, diagonal));
    }
    let half = n / 2;
    let (left, right) = a.split_at_mut(half * stride);
    let (signs_left, signs_right) = signs.split_at_mut(half);
    factor(left, stride, half, signs_left, (pivots, &diagonal[..half]))?;
    // A copy: the triangle and the rows below it share columns.
    let top: Vec<f64> = (0..half).flat_map(|k| left[k * stride..k * stride + half].iter().copied()).collect();
    let triangle = Columns { values: &top, stride: half };
    solve_right(&mut left[half..], stride, (n - half, half), triangle, signs_left);
    let below = Columns { values: &left[half..], stride };
    update_triangle(&mut right[half..], stride, n - half, below, signs_left);
    factor(&mut right[half..], stride, n - half, signs_right, (pivots, &diagonal[half..])).map_err(|row| row + half)
}

fn factor_small(
    a: &mut [f64],
    stride: usize,
    n: usize,
    signs: &mut [f64],
    (pivots, diagonal): (Pivots, &[f64]),
) -> Result<(), usize> {
    for k in 0..n {
        // The last column may end before its stride does.
        let (done, rest) = a.split_at_mut(((k + 1) * stride).min(a.len()));
        let column = &mut done[k * stride + k..k * stride + n];
        let pivot = column[0];
        let refused = match pivots {
            Pivots::Positive => pivot.is_nan() || pivot <= 0.0,
            Pivots::AnySign => pivot.is_nan() || pivot.abs() <= SMALLEST_PIVOT * diagonal[k].abs(),
        };
        if refused {
            return Err(k);
        }
        let (sign, root) = (pivot.signum(), pivot.abs().sqrt());
        signs[k] = sign;
        column[0] = root;
        column[1..].iter_mut().for_each(|v| *v *= sign / root);
        for j in k + 1..n {
            let weight = sign * column[j - k];
            let target = &mut rest[(j - k - 1) * stride + j..(j - k - 1) * stride + n];
            subtract_multiple(target, weight, &column[j - k..]);
        }
    }
    Ok(())
}

/// X ← X·L⁻ᵀ·S for `size.0` rows and `size.1` columns of `x`.
pub(super) fn solve_right(
    x: &mut [f64],
    stride: usize,
    (rows, n): (usize, usize),
    triangle: Columns<'_>,
    signs: &[f64],
) {
    if n <= LEAF {
        for c in 0..n {
            let (done, rest) = x.split_at_mut(c * stride);
            let column = &mut rest[..rows];
            for k in 0..c {
                let weight = signs[k] * triangle.values[k * triangle.stride + c];
                subtract_multiple(column, weight, &done[k * stride..k * stride + rows]);
            }
            let scale = signs[c] / triangle.values[c * triangle.stride + c];
            column.iter_mut().for_each(|v| *v *= scale);
        }
        return;
    }
    let half = n / 2;
    let (left, right) = x.split_at_mut(half * stride);
    solve_right(left, stride, (rows, half), triangle, &signs[..half]);
    let solved = Columns { values: left, stride };
    subtract_product(right, stride, (rows, n - half), solved, triangle.from(half, 0), &signs[..half]);
    solve_right(right, stride, (rows, n - half), triangle.from(half, half), &signs[half..]);
}

/// C ← C − A·S·Aᵀ on the lower triangle of size `n`.
pub(super) fn update_triangle(c: &mut [f64], stride: usize, n: usize, a: Columns<'_>, signs: &[f64]) {
    if signs.is_empty() {
        return;
    }
    if n <= TRIANGLE_LEAF {
        subtract_product(c, stride, (n, n), a, a, signs);
        return;
    }
    let half = n / 2;
    let (left, right) = c.split_at_mut(half * stride);
    update_triangle(left, stride, half, a, signs);
    subtract_product(&mut left[half..], stride, (n - half, half), a.from(half, 0), a, signs);
    update_triangle(&mut right[half..], stride, n - half, a.from(half, 0), signs);
}

/// C ← C − A·S·Bᵀ for a C of `rows` × `columns`.
pub(super) fn subtract_product(
    c: &mut [f64],
    stride: usize,
    (rows, columns): (usize, usize),
    a: Columns<'_>,
    b: Columns<'_>,
    signs: &[f64],
) {
    let inner = signs.len();
    if rows.min(inner).min(columns) <= SMALL_PRODUCT {
        for (k, sign) in signs.iter().enumerate() {
            let column = &a.values[k * a.stride..k * a.stride + rows];
            for j in 0..columns {
                let weight = sign * b.values[k * b.stride + j];
                subtract_multiple(&mut c[j * stride..j * stride + rows], weight, column);
            }
        }
        return;
    }
    let left = MatrixView::<f64, Dyn, Dyn, Dyn, Dyn>::from_slice_with_strides(a.values, rows, inner, 1, a.stride);
    let right = MatrixView::<f64, Dyn, Dyn, Dyn, Dyn>::from_slice_with_strides(b.values, inner, columns, b.stride, 1);
    let mut target = MatrixViewMut::<f64, Dyn, Dyn, Dyn, Dyn>::from_slice_with_strides_mut(c, rows, columns, 1, stride);
    target.gemm(-1.0, &left, &right, 1.0);
    // Few pivots are negative: their share, taken with the wrong sign above, is put back twice.
    for (k, _) in signs.iter().enumerate().filter(|(_, sign)| **sign < 0.0) {
        let column = &a.values[k * a.stride..k * a.stride + rows];
        for j in 0..columns {
            let weight = -2.0 * b.values[k * b.stride + j];
            subtract_multiple(&mut c[j * stride..j * stride + rows], weight, column);
        }
    }
}

/// y ← y − weight·x.
pub(super) fn subtract_multiple(y: &mut [f64], weight: f64, x: &[f64]) {
    y.iter_mut().zip(x).for_each(|(y, x)| *y -= weight * x);
}

/// y ← y − columns·x, four columns at a time so that y is fetched and stored less often.
pub(super) fn subtract_columns(y: &mut [f64], columns: &[f64], stride: usize, x: &[f64]) {
    let n = y.len();
    let (fours, rest) = x.as_chunks::<4>();
    for (four, c) in fours.iter().zip(columns.chunks(4 * stride)) {
        let [c0, c1, c2, c3] = [0, 1, 2, 3].map(|k| &c[k * stride..k * stride + n]);
        for (i, y) in y.iter_mut().enumerate() {
            *y -= (four[0] * c0[i] + four[1] * c1[i]) + (four[2] * c2[i] + four[3] * c3[i]);
        }
    }
    for (k, value) in rest.iter().enumerate() {
        let start = (4 * fours.len() + k) * stride;
        subtract_multiple(y, *value, &columns[start..start + n]);
    }
}

/// x ← x − columnsᵀ·y, four columns at a time.
pub(super) fn subtract_dots(x: &mut [f64], columns: &[f64], stride: usize, y: &[f64]) {
    let n = y.len();
    let (fours, rest) = x.as_chunks_mut::<4>();
    let done = 4 * fours.len();
    for (four, c) in fours.iter_mut().zip(columns.chunks(4 * stride)) {
        let c = [0, 1, 2, 3].map(|k| &c[k * stride..k * stride + n]);
        let products = dot_four(c, y);
        four.iter_mut().zip(products).for_each(|(x, p)| *x -= p);
    }
    for (k, value) in rest.iter_mut().enumerate() {
        let start = (done + k) * stride;
        *value -= dot(&columns[start..start + n], y);
    }
}

/// x ← L⁻¹·x, L by contiguous columns of the length of x.
pub(super) fn solve_lower(triangle: &[f64], x: &mut [f64]) {
    let n = x.len();
    for start in (0..n).step_by(4) {
        let end = (start + 4).min(n);
        for k in start..end {
            let column = &triangle[k * n..(k + 1) * n];
            x[k] /= column[k];
            for i in k + 1..end {
                x[i] -= column[i] * x[k];
            }
        }
        let (head, tail) = x.split_at_mut(end);
        if !tail.is_empty() {
            subtract_columns(tail, &triangle[start * n + end..], n, &head[start..]);
        }
    }
}

/// x ← L⁻ᵀ·x, L by contiguous columns of the length of x.
pub(super) fn solve_lower_transposed(triangle: &[f64], x: &mut [f64]) {
    let n = x.len();
    for start in (0..n).step_by(4).rev() {
        let end = (start + 4).min(n);
        let (head, tail) = x.split_at_mut(end);
        if !tail.is_empty() {
            subtract_dots(&mut head[start..], &triangle[start * n + end..], n, tail);
        }
        for k in (start..end).rev() {
            let column = &triangle[k * n..(k + 1) * n];
            for i in k + 1..end {
                x[k] -= column[i] * x[i];
            }
            x[k] /= column[k];
        }
    }
}

/// Four inner products with the same vector.
fn dot_four(columns: [&[f64]; 4], y: &[f64]) -> [f64; 4] {
    let n = y.len();
    let [c0, c1, c2, c3] = columns.map(|c| c[..n].as_chunks::<4>());
    let (y4, y_rest) = y.as_chunks::<4>();
    let mut sums = [[0.0; 4]; 4];
    for (i, y) in y4.iter().enumerate() {
        for (sum, c) in sums.iter_mut().zip([c0.0[i], c1.0[i], c2.0[i], c3.0[i]]) {
            for k in 0..4 {
                sum[k] += c[k] * y[k];
            }
        }
    }
    let mut out = sums.map(|s| (s[0] + s[1]) + (s[2] + s[3]));
    for (out, c) in out.iter_mut().zip([c0.1, c1.1, c2.1, c3.1]) {
        *out += c.iter().zip(y_rest).map(|(a, b)| a * b).sum::<f64>();
    }
    out
}
