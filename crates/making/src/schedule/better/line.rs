//! The straight line nearest to points, within bounds at each of them.

/// A place along the row, where the line should pass, and between what it must.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stop {
    /// Place along the row, in metres.
    pub x_m: f64,
    /// Where the line should pass, in metres.
    pub wanted_m: f64,
    /// What a metre off counts here.
    pub weight: f64,
    /// Least and most, in metres.
    pub within_m: [f64; 2],
}

/// A line by its height at the first and the last stop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Line {
    x_m: [f64; 2],
    y_m: [f64; 2],
}

impl Line {
    /// Its height at a place.
    pub(super) fn at_m(&self, x_m: f64) -> f64 {
        let [a, b] = shares(self.x_m, x_m);
        a * self.y_m[0] + b * self.y_m[1]
    }
}

/// How much the first and the last height count at a place.
fn shares([first, last]: [f64; 2], x_m: f64) -> [f64; 2] {
    let b = (x_m - first) / (last - first);
    [1.0 - b, b]
}

/// Heights are in metres; bounds are kept to this.
const SLACK_M: f64 = 1e-9;

/// The line of the least weighted squares within all bounds; `None` if there is none, or fewer than two places.
///
/// Two unknowns: the best line is the free one, or it touches one bound, or two. All of them are looked at, so that the answer is
/// exact (convex: the first of these that keeps all bounds and costs least).
pub(super) fn line_within(stops: &[Stop]) -> Option<Line> {
    let (first, last) = (stops.first()?.x_m, stops.last()?.x_m);
    if last - first < 1e-6 {
        return None;
    }
    let x_m = [first, last];
    let line = |y_m: [f64; 2]| Line { x_m, y_m };
    let keeps = |line: &Line| {
        stops.iter().all(|stop| {
            let y_m = line.at_m(stop.x_m);
            y_m >= stop.within_m[0] - SLACK_M && y_m <= stop.within_m[1] + SLACK_M
        })
    };
    let cost = |line: &Line| -> f64 {
        stops.iter().map(|stop| stop.weight * (line.at_m(stop.x_m) - stop.wanted_m).powi(2)).sum()
    };
    let free = line(least_squares(stops, x_m, None)?);
    if keeps(&free) {
        return Some(free);
    }
    let bounds: Vec<([f64; 2], f64)> =
        stops.iter().flat_map(|stop| stop.within_m.map(|y_m| (shares(x_m, stop.x_m), y_m))).collect();
    let one = bounds.iter().filter_map(|bound| least_squares(stops, x_m, Some(*bound)));
    let two = bounds.iter().enumerate().flat_map(|(i, a)| bounds[..i].iter().filter_map(|b| crossing(*a, *b)));
    one.chain(two).map(line).filter(keeps).min_by(|a, b| cost(a).total_cmp(&cost(b)))
}

/// Share of a metre off the wanted height against a metre beyond a bound, for [`line_nearest`].
const WISH_SHARE: f64 = 0.01;
/// Each step finds which bounds are passed; they are few, and settle in some steps.
const STEPS: usize = 60;

/// The line that passes the bounds by least (weighted squares), where none keeps them; wishes count little against that.
///
/// Convex and piecewise quadratic: bounds that are passed pull as points do, again until the same ones are passed (a minimiser if
/// that ends; else the best of the steps).
pub(super) fn line_nearest(stops: &[Stop]) -> Option<Line> {
    let (first, last) = (stops.first()?.x_m, stops.last()?.x_m);
    let x_m = [first, last];
    let pulls = |line: &Line| -> Vec<Stop> {
        let passed = stops.iter().filter_map(|stop| {
            let y_m = line.at_m(stop.x_m);
            let bound_m = y_m.clamp(stop.within_m[0], stop.within_m[1]);
            ((y_m - bound_m).abs() > SLACK_M).then_some(Stop { wanted_m: bound_m, ..*stop })
        });
        passed.chain(stops.iter().map(|stop| Stop { weight: WISH_SHARE * stop.weight, ..*stop })).collect()
    };
    let cost = |line: &Line| -> f64 {
        pulls(line).iter().map(|stop| stop.weight * (line.at_m(stop.x_m) - stop.wanted_m).powi(2)).sum()
    };
    let mut line = Line { x_m, y_m: least_squares(stops, x_m, None)? };
    let mut best = line;
    for _ in 0..STEPS {
        line = Line { x_m, y_m: least_squares(&pulls(&line), x_m, None)? };
        if cost(&line) < cost(&best) {
            best = line;
        }
    }
    Some(best)
}

/// Least squares, on a bound (shares · heights = y) if one is given.
fn least_squares(stops: &[Stop], x_m: [f64; 2], on: Option<([f64; 2], f64)>) -> Option<[f64; 2]> {
    let mut h = [[0.0; 2]; 2];
    let mut g = [0.0; 2];
    for stop in stops {
        let share = shares(x_m, stop.x_m);
        for i in 0..2 {
            g[i] += stop.weight * share[i] * stop.wanted_m;
            for j in 0..2 {
                h[i][j] += stop.weight * share[i] * share[j];
            }
        }
    }
    let Some(([a, b], y_m)) = on else { return solve(h, g) };
    // One unknown is left: along the bound's own direction from its nearest point to the origin.
    let square = a * a + b * b;
    let (at, along) = ([a * y_m / square, b * y_m / square], [-b, a]);
    let quadratic =
        |u: [f64; 2], v: [f64; 2]| -> f64 { (0..2).map(|i| u[i] * (h[i][0] * v[0] + h[i][1] * v[1])).sum() };
    let steepness = quadratic(along, along);
    if steepness <= 0.0 {
        return None;
    }
    let t = (along[0] * g[0] + along[1] * g[1] - quadratic(along, at)) / steepness;
    Some([at[0] + t * along[0], at[1] + t * along[1]])
}

fn crossing(([a, b], y): ([f64; 2], f64), ([c, d], z): ([f64; 2], f64)) -> Option<[f64; 2]> {
    solve([[a, b], [c, d]], [y, z])
}

fn solve(m: [[f64; 2]; 2], r: [f64; 2]) -> Option<[f64; 2]> {
    let determinant = m[0][0] * m[1][1] - m[0][1] * m[1][0];
    let answer = [(r[0] * m[1][1] - r[1] * m[0][1]) / determinant, (m[0][0] * r[1] - m[1][0] * r[0]) / determinant];
    answer.iter().all(|x| x.is_finite()).then_some(answer)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn stop(x_m: f64, wanted_m: f64, within_m: [f64; 2]) -> Stop {
        Stop { x_m, wanted_m, weight: 1.0, within_m }
    }

    const FREE: [f64; 2] = [-10.0, 10.0];

    #[test]
    fn points_on_a_line_are_the_line() {
        let stops: Vec<Stop> = [0.0, 0.4, 1.0, 2.0].map(|x| stop(x, 0.3 - 0.1 * x, FREE)).to_vec();
        let line = line_within(&stops).unwrap();
        assert!((line.at_m(1.5) - 0.15).abs() < 1e-12);
    }

    #[test]
    fn a_bound_is_touched_and_impossible_ones_are_told() {
        // Without bounds the line would be level at 0; the first must be at least 0.2, the last at most −0.1.
        let mut stops = [stop(0.0, 0.0, [0.2, 1.0]), stop(1.0, 0.0, FREE), stop(2.0, 0.0, [-1.0, -0.1])];
        let line = line_within(&stops).unwrap();
        assert!((line.at_m(0.0) - 0.2).abs() < 1e-9 && (line.at_m(2.0) + 0.1).abs() < 1e-9, "{line:?}");
        stops[1].within_m = [0.3, 0.4];
        // 0.3 in the middle and −0.1 at the last ask for 0.7 at the first, which may be that; but no more than 0.5 is not.
        assert!((line_within(&stops).unwrap().at_m(0.0) - 0.7).abs() < 1e-9);
        stops[0].within_m = [0.2, 0.5];
        assert!(line_within(&stops).is_none());
        assert!(line_within(&stops[..1]).is_none());
    }

    #[test]
    fn where_no_line_keeps_the_bounds_they_are_passed_evenly() {
        // The ends at 0, the middle at least 0.3: the line of least squares beyond them is level at 0.1 (the mean of 0, 0.3, 0).
        let stops = [stop(0.0, 0.0, [-1.0, 0.0]), stop(1.0, 0.3, [0.3, 1.0]), stop(2.0, 0.0, [-1.0, 0.0])];
        assert!(line_within(&stops).is_none());
        let line = line_nearest(&stops).unwrap();
        assert!([0.0, 1.0, 2.0].iter().all(|x| (line.at_m(*x) - 0.1).abs() < 1e-9), "{line:?}");
        // Where a line keeps them it is nearly that line: wishes count a hundredth.
        let kept = [stop(0.0, 0.0, [0.2, 1.0]), stop(1.0, 0.0, FREE), stop(2.0, 0.0, [-1.0, -0.1])];
        assert!((line_nearest(&kept).unwrap().at_m(0.0) - 0.2).abs() < 0.01);
    }

    proptest! {
        /// Convex: what no small step within the bounds betters is the best.
        #[test]
        fn no_line_within_the_bounds_is_better(
            points in prop::collection::vec((-0.1_f64..0.1, 0.0_f64..0.1, 0.0_f64..0.1, 0.2_f64..5.0), 3..12),
            steps in prop::collection::vec((-1.0_f64..1.0, -1.0_f64..1.0), 40),
        ) {
            let stops: Vec<Stop> = points.iter().enumerate().map(|(i, (y, below, above, weight))| Stop {
                x_m: i as f64 * 0.07, wanted_m: *y, weight: *weight, within_m: [-below, *above],
            }).collect();
            // Zero everywhere keeps every bound, so there is a line.
            let best = line_within(&stops).unwrap();
            let cost = |line: &Line| stops.iter().map(|s| s.weight * (line.at_m(s.x_m) - s.wanted_m).powi(2)).sum::<f64>();
            let keeps = |line: &Line| stops.iter().all(|s| (s.within_m[0] - 1e-9..=s.within_m[1] + 1e-9).contains(&line.at_m(s.x_m)));
            prop_assert!(keeps(&best));
            for (dy0, dy1) in steps {
                for size in [1e-4, 1e-3, 1e-2] {
                    let other = Line { y_m: [best.y_m[0] + size * dy0, best.y_m[1] + size * dy1], ..best };
                    // Bounds are kept to a nanometre, which is worth some 1e-9 of cost.
                    prop_assert!(!keeps(&other) || cost(&other) > cost(&best) - 1e-8);
                }
            }
        }
    }
}
