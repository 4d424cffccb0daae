//! Which spans do not belong: a line that a few misread bars cannot turn.

/// A bar this many scales off the line counts for nothing (Tukey's bisquare; 4.685 keeps 95 % efficiency on clean
/// readings: Holland & Welsch 1977).
const BISQUARE: f64 = 4.685;
/// Median absolute deviation to standard deviation of a normal distribution: 1/Φ⁻¹(3/4).
const MAD_TO_SIGMA: f64 = 1.4826;
/// Rounds of reweighting; the weights of clean readings stand still after three or four.
const ROUNDS: usize = 12;
/// Below this weight (beyond some four scales) a point does not belong.
const OUTLIER_WEIGHT: f64 = 0.1;
/// Fewer bars cannot tell which of them is wrong.
const FEWEST: usize = 5;

/// Which of the points (x, value, cost weight) do not belong to a line, bent at `kink_x` if given.
///
/// `floor` is the least scale in the unit of the values, the doubt of a single value; a point no farther than `least`
/// from the line always belongs.
pub(super) fn outliers(points: &[(f64, f64, f64)], kink_x: Option<f64>, floor: f64, least: f64) -> Vec<bool> {
    if points.len() < FEWEST {
        return vec![false; points.len()];
    }
    let mut weights = vec![1.0; points.len()];
    let mut misses = misses_of_median_line(points);
    for _ in 0..ROUNDS {
        let scale = (MAD_TO_SIGMA * median(misses.iter().map(|m| m.abs()))).max(floor);
        weights = misses.iter().map(|miss| bisquare(miss / (BISQUARE * scale))).collect();
        misses = misses_of_fit(points, &weights, kink_x);
    }
    misses.iter().zip(weights).map(|(miss, weight)| weight < OUTLIER_WEIGHT && miss.abs() > least).collect()
}

fn bisquare(u: f64) -> f64 {
    if u.abs() >= 1.0 { 0.0 } else { (1.0 - u * u).powi(2) }
}

/// Distances from the line with the median of all pairs' slopes (Theil 1950, Sen 1968).
fn misses_of_median_line(points: &[(f64, f64, f64)]) -> Vec<f64> {
    let pairs = points.iter().enumerate().flat_map(|(i, a)| points[i + 1..].iter().map(move |b| (a, b)));
    let slope = median(pairs.map(|(a, b)| (b.1 - a.1) / (b.0 - a.0)));
    let level = median(points.iter().map(|p| p.1 - slope * p.0));
    points.iter().map(|p| p.1 - level - slope * p.0).collect()
}

/// Distances from the weighted least-squares line.
fn misses_of_fit(points: &[(f64, f64, f64)], weights: &[f64], kink_x: Option<f64>) -> Vec<f64> {
    let basis = |x: f64| {
        let mut row = vec![1.0, x];
        row.extend(kink_x.map(|kink| (x - kink).max(0.0)));
        row
    };
    let columns = basis(0.0).len();
    let mut normal = nalgebra::DMatrix::<f64>::zeros(columns, columns);
    let mut right = nalgebra::DVector::<f64>::zeros(columns);
    for (point, weight) in points.iter().zip(weights) {
        let row = nalgebra::DVector::from_vec(basis(point.0));
        normal += &row * row.transpose() * (weight * point.2);
        right += row * (weight * point.2 * point.1);
    }
    let solved = normal.lu().solve(&right).unwrap_or_else(|| nalgebra::DVector::zeros(columns));
    points.iter().map(|p| p.1 - nalgebra::DVector::from_vec(basis(p.0)).dot(&solved)).collect()
}

/// Middle value; 0 of nothing.
fn median(values: impl Iterator<Item = f64>) -> f64 {
    let mut sorted: Vec<f64> = values.collect();
    sorted.sort_by(f64::total_cmp);
    match sorted.len() {
        0 => 0.0,
        n if n % 2 == 1 => sorted[n / 2],
        n => f64::midpoint(sorted[n / 2 - 1], sorted[n / 2]),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_misread_bars_of_thirty_are_found_and_no_other() {
        let points: Vec<(f64, f64, f64)> = (0..30)
            .map(|i| {
                let x = f64::from(i) * 0.05;
                // A ripple of half the floor in place of noise; bars 4, 17 and 18 read 25 mm too long.
                let wrong = if [4, 17, 18].contains(&i) { 0.025 } else { 0.0 };
                (x, 0.38 - 0.2 * x + 0.0005 * f64::from(i % 3 - 1) + wrong, 1.0 + x)
            })
            .collect();
        for (index, outlier) in outliers(&points, None, 0.001, 0.003).into_iter().enumerate() {
            assert_eq!(outlier, [4, 17, 18].contains(&index), "{index}");
        }
    }

    #[test]
    fn too_few_bars_are_all_believed() {
        let points = [(0.0, 0.3, 1.0), (0.1, 0.9, 1.0), (0.2, 0.28, 1.0)];
        assert!(!outliers(&points, None, 0.001, 0.003).contains(&true));
    }
}
