//! ESPRIT: the poles of a few damped exponentials in one narrow band.
//!
//! Roy & Kailath, IEEE Trans. ASSP 37 (1989) 984: signal subspace of the Hankel matrix, then the
//! rotation between its first and last rows. The number of poles is the one with the smallest
//! Bayesian information criterion (Schwarz 1978), computed from the residual of each order's own
//! least-squares fit. (Citations from memory.) The poles only start the fit on raw samples.

use crate::damped::Complex;
use nalgebra::{DMatrix, DVector, Schur, SymmetricEigen};

/// Most poles sought in one band.
const MOST_POLES: usize = 5;

/// Log-poles per band sample, none if the band holds no more than noise.
pub(crate) fn log_poles(band: &[Complex]) -> Vec<Complex> {
    let count = band.len();
    if count < 12 {
        return Vec::new();
    }
    let rows = (count * 2 / 5).min(36);
    let Some(vectors) = signal_vectors(band, rows) else {
        return Vec::new();
    };
    let energy: f64 = band.iter().map(Complex::norm_sqr).sum();
    if energy.is_nan() || energy <= 0.0 {
        return Vec::new();
    }
    let n = count as f64;
    let mut best = (n * energy.ln(), Vec::new());
    for order in 1..=MOST_POLES.min(rows - 1).min(count / 5) {
        let Some(poles) = poles_of_order(&vectors, order) else {
            continue;
        };
        let Some(residual) = residual_energy(band, &poles) else {
            continue;
        };
        // Four real parameters per pole, 2n real data.
        let floor = residual.max(energy * 1e-15);
        let score = n * floor.ln() + 2.0 * order as f64 * (2.0 * n).ln();
        if score < best.0 {
            best = (score, poles);
        }
    }
    best.1
}

/// Eigenvectors of the Hankel matrix's row covariance, largest eigenvalue first.
fn signal_vectors(band: &[Complex], rows: usize) -> Option<DMatrix<Complex>> {
    let columns = band.len() - rows + 1;
    let hankel = DMatrix::from_fn(rows, columns, |i, j| band[i + j]);
    let covariance = &hankel * hankel.adjoint();
    let eigen = SymmetricEigen::try_new(covariance, 1e-14, 500)?;
    let mut order: Vec<usize> = (0..rows).collect();
    order.sort_by(|a, b| eigen.eigenvalues[*b].total_cmp(&eigen.eigenvalues[*a]));
    Some(DMatrix::from_fn(rows, MOST_POLES.min(rows), |i, j| eigen.eigenvectors[(i, order[j])]))
}

fn poles_of_order(vectors: &DMatrix<Complex>, order: usize) -> Option<Vec<Complex>> {
    let rows = vectors.nrows();
    let upper = vectors.view((0, 0), (rows - 1, order));
    let lower = vectors.view((1, 0), (rows - 1, order));
    let normal = upper.adjoint() * upper;
    let rotation = normal.lu().solve(&(upper.adjoint() * lower))?;
    let (_, triangle) = Schur::try_new(rotation, 1e-13, 300)?.unpack();
    let poles: Vec<Complex> = triangle.diagonal().iter().map(|z| z.ln()).collect();
    poles.iter().all(|p| p.re.is_finite() && p.im.is_finite()).then_some(poles)
}

/// Residual energy of the least-squares amplitudes for these poles.
fn residual_energy(band: &[Complex], poles: &[Complex]) -> Option<f64> {
    // A growing pole would overflow; it is no ring anyway.
    let capped: Vec<Complex> = poles.iter().map(|p| Complex::new(p.re.min(0.1), p.im)).collect();
    let basis = DMatrix::from_fn(band.len(), poles.len(), |n, k| (capped[k] * n as f64).exp());
    let data = DVector::from_column_slice(band);
    let amplitudes = (basis.adjoint() * &basis).lu().solve(&(basis.adjoint() * &data))?;
    let rest = data - basis * amplitudes;
    let energy = rest.norm_squared();
    energy.is_finite().then_some(energy)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_close_poles_are_told_apart() {
        let truth = [Complex::new(-0.03, 0.10), Complex::new(-0.04, 0.25)];
        let band: Vec<Complex> = (0..90)
            .map(|n| {
                let t = f64::from(n);
                // A deterministic ripple of −80 dB stands for noise, so that the order is decided.
                let ripple = Complex::new((2.9 * t * t).sin(), (1.7 * t * t).cos()) * 1e-4;
                (truth[0] * t).exp() + (truth[1] * t).exp() * 0.5 + ripple
            })
            .collect();
        let mut poles = log_poles(&band);
        poles.sort_by(|a, b| a.im.total_cmp(&b.im));
        assert_eq!(poles.len(), 2, "{poles:?}");
        for (found, wanted) in poles.iter().zip(&truth) {
            // The ripple is −80 dB; the poles are a few line widths apart.
            assert!((found - wanted).norm() < 1e-3, "{found}");
        }
    }

    #[test]
    fn an_empty_band_has_no_poles() {
        assert!(log_poles(&[]).is_empty());
        assert!(log_poles(&[Complex::new(0.0, 0.0); 50]).is_empty());
    }
}
