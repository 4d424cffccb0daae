//! Hatching at 45°, worked out as lines so that every writer draws the same.
use crate::Point;

/// Most lines one hatch may have; a finer spacing is widened to this many.
const MOST_LINES: f64 = 2000.0;

/// Lines at 45° ("/" on the sheet) inside the polygon through `points`, `spacing_mm` apart.
///
/// Inside is decided by the even–odd rule. The lines lie on a grid fixed to the sheet, so that
/// neighbouring hatches meet without a jog. No lines for fewer than three points, for a spacing that is
/// not positive, or for non-finite points.
pub fn hatch_lines(points: &[Point], spacing_mm: f64) -> Vec<(Point, Point)> {
    let usable = points.len() >= 3 && spacing_mm > 0.0 && points.iter().all(|p| p.x.is_finite() && p.y.is_finite());
    if !usable {
        return Vec::new();
    }
    // Along a "/" line x + y is constant on a sheet with y down; neighbours differ by spacing × √2.
    let sums = points.iter().map(|p| p.x + p.y);
    let (low, high) = sums.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), s| (l.min(s), h.max(s)));
    let step = (spacing_mm * std::f64::consts::SQRT_2).max((high - low) / MOST_LINES);
    if step <= 0.0 || step.is_nan() {
        return Vec::new();
    }
    let mut lines = Vec::new();
    let mut index = (low / step).floor() + 1.0;
    while index * step < high {
        lines.extend(spans_on(points, index * step));
        index += 1.0;
    }
    lines
}

/// The parts of the line x + y = `sum` that lie inside the polygon.
fn spans_on(points: &[Point], sum: f64) -> Vec<(Point, Point)> {
    let mut crossings: Vec<f64> = Vec::new();
    for (i, a) in points.iter().enumerate() {
        let b = points[(i + 1) % points.len()];
        let (sa, sb) = (a.x + a.y - sum, b.x + b.y - sum);
        // Half-open test: a corner exactly on the line counts once.
        if (sa < 0.0) != (sb < 0.0) {
            crossings.push(a.x + (b.x - a.x) * sa / (sa - sb));
        }
    }
    crossings.sort_by(f64::total_cmp);
    crossings
        .chunks_exact(2)
        .map(|pair| (Point::new(pair[0], sum - pair[0]), Point::new(pair[1], sum - pair[1])))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(side: f64) -> Vec<Point> {
        vec![Point::new(0.0, 0.0), Point::new(side, 0.0), Point::new(side, side), Point::new(0.0, side)]
    }

    #[test]
    fn the_lines_of_a_square_fill_it_evenly() {
        let spacing = 0.5;
        let lines = hatch_lines(&square(20.0), spacing);
        // Total length × spacing is the hatched area, up to the two corners' part lines.
        let length: f64 = lines.iter().map(|(a, b)| (a.x - b.x).hypot(a.y - b.y)).sum();
        // The sum is a trapezium rule over a triangle-shaped function: exact to about spacing²
        // at its three kinks.
        assert!((length * spacing - 400.0).abs() < 3.0 * spacing * spacing, "{}", length * spacing);
    }

    #[test]
    fn a_notch_is_left_clear() {
        let notched =
            [(0.0, 0.0), (30.0, 0.0), (30.0, 10.0), (20.0, 10.0), (20.0, 2.0), (10.0, 2.0), (10.0, 10.0), (0.0, 10.0)]
                .map(|(x, y)| Point::new(x, y));
        for (a, b) in hatch_lines(&notched, 1.0) {
            let middle = Point::new((a.x + b.x) / 2.0, (a.y + b.y) / 2.0);
            assert!(!(middle.x > 10.0 && middle.x < 20.0 && middle.y > 2.0), "{middle:?} is in the notch");
        }
    }

    #[test]
    fn nothing_is_hatched_without_an_area_or_a_spacing() {
        assert!(hatch_lines(&square(0.0), 1.0).is_empty());
        assert!(hatch_lines(&square(5.0), 0.0).is_empty());
        assert!(hatch_lines(&square(f64::NAN), 1.0).is_empty());
        assert!(hatch_lines(&square(5.0)[..2], 1.0).is_empty());
    }
}
