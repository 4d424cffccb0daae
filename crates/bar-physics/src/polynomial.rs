//! Legendre polynomials, Gauss and Gauss–Lobatto points, and Lagrange bases on −1…1.
//!
//! Recurrences and point formulas: Abramowitz & Stegun 1964, chapters 22 and 25.

/// Values and derivatives of the orthonormal Legendre polynomials 0…`order` at `x`.
pub(crate) fn orthonormal_legendre(order: usize, x: f64) -> (Vec<f64>, Vec<f64>) {
    let (values, derivatives) = legendre(order, x);
    let scale = |n: usize| (n as f64 + 0.5).sqrt();
    (
        values.iter().enumerate().map(|(n, v)| v * scale(n)).collect(),
        derivatives.iter().enumerate().map(|(n, d)| d * scale(n)).collect(),
    )
}

/// Values and derivatives of the Legendre polynomials 0…`order` at `x`.
fn legendre(order: usize, x: f64) -> (Vec<f64>, Vec<f64>) {
    let mut p = vec![1.0; order + 1];
    let mut d = vec![0.0; order + 1];
    if order >= 1 {
        (p[1], d[1]) = (x, 1.0);
    }
    for n in 2..=order {
        let nf = n as f64;
        p[n] = ((2.0 * nf - 1.0) * x * p[n - 1] - (nf - 1.0) * p[n - 2]) / nf;
        // P'ₙ = P'ₙ₋₂ + (2n − 1) Pₙ₋₁ holds at the ends too.
        d[n] = d[n - 2] + (2.0 * nf - 1.0) * p[n - 1];
    }
    (p, d)
}

/// Gauss–Legendre points and weights, exact to degree 2·`count` − 1.
pub(crate) fn gauss(count: usize) -> (Vec<f64>, Vec<f64>) {
    let mut points = vec![0.0; count];
    let mut weights = vec![0.0; count];
    for i in 0..count {
        let mut x = -((i as f64 + 0.75) / (count as f64 + 0.5) * std::f64::consts::PI).cos();
        for _ in 0..50 {
            let (p, d) = legendre(count, x);
            let step = p[count] / d[count];
            x -= step;
            if step.abs() < 1e-15 {
                break;
            }
        }
        let (_, d) = legendre(count, x);
        points[i] = x;
        weights[i] = 2.0 / ((1.0 - x * x) * d[count] * d[count]);
    }
    (points, weights)
}

/// Gauss–Lobatto points of a polynomial of degree `order` (`order` + 1 points, ends included).
pub(crate) fn lobatto_points(order: usize) -> Vec<f64> {
    let mut points = vec![-1.0; order + 1];
    points[order] = 1.0;
    for (i, point) in points.iter_mut().enumerate().take(order).skip(1) {
        let mut x = -(i as f64 / order as f64 * std::f64::consts::PI).cos();
        for _ in 0..50 {
            let (p, d) = legendre(order, x);
            // Legendre's equation gives P'' from P and P'.
            let second = (2.0 * x * d[order] - (order * (order + 1)) as f64 * p[order]) / (1.0 - x * x);
            let step = d[order] / second;
            x -= step;
            if step.abs() < 1e-15 {
                break;
            }
        }
        *point = x;
    }
    points
}

/// Values and derivatives at `x` of the Lagrange polynomials through `points`.
pub(crate) fn lagrange(points: &[f64], x: f64) -> (Vec<f64>, Vec<f64>) {
    let n = points.len();
    let mut values = vec![1.0; n];
    let mut derivatives = vec![0.0; n];
    for i in 0..n {
        for j in (0..n).filter(|j| *j != i) {
            values[i] *= (x - points[j]) / (points[i] - points[j]);
            let others: f64 =
                (0..n).filter(|k| *k != i && *k != j).map(|k| (x - points[k]) / (points[i] - points[k])).product();
            derivatives[i] += others / (points[i] - points[j]);
        }
    }
    (values, derivatives)
}

/// Values at `x` of the Lagrange polynomials through `points`.
pub(crate) fn lagrange_values(points: &[f64], x: f64) -> impl Iterator<Item = f64> {
    points.iter().enumerate().map(move |(i, own)| {
        let others = points.iter().enumerate().filter(|(j, _)| *j != i);
        others.map(|(_, other)| (x - other) / (own - other)).product()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gauss_is_exact_to_its_degree() {
        for count in 1..9 {
            let (points, weights) = gauss(count);
            for degree in 0..2 * count {
                let sum: f64 = points.iter().zip(&weights).map(|(x, w)| w * x.powi(degree as i32)).sum();
                let exact = if degree % 2 == 0 { 2.0 / (degree as f64 + 1.0) } else { 0.0 };
                assert!((sum - exact).abs() < 1e-13, "{count} points, degree {degree}: {sum} against {exact}");
            }
        }
    }

    #[test]
    fn legendre_polynomials_are_orthonormal() {
        let (points, weights) = gauss(8);
        let mut gram = vec![vec![0.0; 6]; 6];
        for (x, w) in points.iter().zip(&weights) {
            let (p, _) = orthonormal_legendre(5, *x);
            for i in 0..6 {
                for j in 0..6 {
                    gram[i][j] += w * p[i] * p[j];
                }
            }
        }
        for (i, row) in gram.iter().enumerate() {
            for (j, value) in row.iter().enumerate() {
                assert!((value - f64::from(u8::from(i == j))).abs() < 1e-13);
            }
        }
    }

    #[test]
    fn lagrange_reproduces_polynomials_and_slopes() {
        let points = lobatto_points(4);
        // Interior points of degree 4: 0 and ±√(3/7) (Abramowitz & Stegun, table 25.6).
        assert!((points[3] - (3.0_f64 / 7.0).sqrt()).abs() < 1e-15 && points[2].abs() < 1e-15);
        let (values, derivatives) = lagrange(&points, 0.3);
        let sample = |x: f64| 1.0 + x - 2.0 * x.powi(3) + 0.5 * x.powi(4);
        let value: f64 = points.iter().zip(&values).map(|(p, v)| sample(*p) * v).sum();
        let slope: f64 = points.iter().zip(&derivatives).map(|(p, d)| sample(*p) * d).sum();
        assert!((value - sample(0.3)).abs() < 1e-14);
        assert!((slope - (1.0 - 6.0 * 0.09 + 2.0 * 0.027)).abs() < 1e-13);
    }
}
