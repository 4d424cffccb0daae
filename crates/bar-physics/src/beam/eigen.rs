//! Lowest eigenpairs of a free bar by subspace iteration.
use super::BeamError;
use super::banded::{Banded, dot};
use nalgebra::{DMatrix, SymmetricEigen};

/// An eigenvalue ω² and its vector, scaled to unit mass.
pub(super) struct Eigenpair {
    pub value: f64,
    pub vector: Vec<f64>,
}

const MOST_ITERATIONS: usize = 200;

/// The `count` lowest eigenpairs of stiffness·x = value·mass·x, lowest first.
///
/// Subspace iteration with Rayleigh–Ritz (Bathe 1996, *Finite Element Procedures*, §11.6) on
/// stiffness + `shift`·mass, which is positive definite though the free bar's stiffness is not.
///
/// # Errors
/// [`BeamError::NotSolved`] if the shifted matrix is not positive definite or the values do not settle.
pub(super) fn lowest(stiffness: &Banded, mass: &Banded, shift: f64, count: usize) -> Result<Vec<Eigenpair>, BeamError> {
    let size = stiffness.size();
    // Spare vectors speed up the last wanted ones: the error falls by value[count]/value[block] a round.
    let block = (2 * count + 4).min(size);
    let factor = stiffness
        .shifted(mass, shift)
        .cholesky()
        .ok_or_else(|| BeamError::NotSolved { detail: "stiffness is not positive definite".to_owned() })?;
    let mut loads = starting_loads(size, block);
    let (mut last_values, mut last_change) = (vec![0.0; count], f64::INFINITY);
    for _ in 0..MOST_ITERATIONS {
        for load in &mut loads {
            factor.solve(load);
        }
        let vectors = ritz(&orthonormal(loads, mass), stiffness);
        let values: Vec<f64> = vectors.iter().take(count).map(|v| dot(v, &stiffness.times(v))).collect();
        // Relative to value + shift, so that the rigid motions, whose value is zero, can settle too.
        let change = (0..count)
            .map(|i| (values[i] - last_values[i]).abs() / (values[i].abs() + shift))
            .fold(0.0, |a: f64, b| if b > a || b.is_nan() { b } else { a });
        if change < EXACT || (change < SETTLED && change > 0.5 * last_change) {
            return Ok(values.into_iter().zip(vectors).map(|(value, vector)| Eigenpair { value, vector }).collect());
        }
        (last_values, last_change) = (values, change);
        loads = vectors.iter().map(|v| mass.times(v)).collect();
    }
    Err(BeamError::NotSolved { detail: format!("frequencies did not settle in {MOST_ITERATIONS} rounds") })
}

/// Relative change of an eigenvalue that counts as none. The error of the vectors is about its root, 1e-7
/// before the round that showed it and some ten times less after.
const EXACT: f64 = 1e-14;
/// Below this a change that no longer halves from round to round is rounding: each round divides the true
/// error by ten or more.
const SETTLED: f64 = 1e-8;

/// Arbitrary but repeatable numbers in −½…½, which no mode is orthogonal to.
fn starting_loads(size: usize, block: usize) -> Vec<Vec<f64>> {
    // Knuth's 64-bit linear congruential generator (MMIX).
    let mut state = 1u64;
    let mut next = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1u64 << 53) as f64 - 0.5
    };
    (0..block).map(|_| (0..size).map(|_| next()).collect()).collect()
}

/// Gram–Schmidt in the mass product, twice over so that rounding does not matter.
fn orthonormal(mut vectors: Vec<Vec<f64>>, mass: &Banded) -> Vec<Vec<f64>> {
    for j in 0..vectors.len() {
        let (before, rest) = vectors.split_at_mut(j);
        let vector = &mut rest[0];
        for _ in 0..2 {
            let length = dot(vector, &mass.times(vector)).sqrt();
            vector.iter_mut().for_each(|v| *v /= length);
            let weighted = mass.times(vector);
            for other in before.iter() {
                let share = dot(other, &weighted);
                vector.iter_mut().zip(other).for_each(|(v, o)| *v -= share * o);
            }
        }
        let length = dot(vector, &mass.times(vector)).sqrt();
        vector.iter_mut().for_each(|v| *v /= length);
    }
    vectors
}

/// Best approximations in the span of `basis`, an orthonormal one: vectors in the order of rising values.
fn ritz(basis: &[Vec<f64>], stiffness: &Banded) -> Vec<Vec<f64>> {
    let forces: Vec<Vec<f64>> = basis.iter().map(|v| stiffness.times(v)).collect();
    let projected = DMatrix::from_fn(basis.len(), basis.len(), |i, j| {
        0.5 * (dot(&basis[i], &forces[j]) + dot(&basis[j], &forces[i]))
    });
    // QR iteration would not end on NaN; left as they are, the vectors never settle and that is reported.
    if projected.iter().any(|v| !v.is_finite()) {
        return basis.to_vec();
    }
    let eigen = SymmetricEigen::new(projected);
    let mut order: Vec<usize> = (0..basis.len()).collect();
    order.sort_by(|a, b| eigen.eigenvalues[*a].total_cmp(&eigen.eigenvalues[*b]));
    let combined = |k: usize| {
        let mut out = vec![0.0; basis[0].len()];
        for (i, vector) in basis.iter().enumerate() {
            let share = eigen.eigenvectors[(i, k)];
            out.iter_mut().zip(vector).for_each(|(o, v)| *o += share * v);
        }
        out
    };
    order.into_iter().map(combined).collect()
}
