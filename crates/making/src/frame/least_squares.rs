//! The least-squares problem of a row: a few numbers of two rails, one shift per bar.
use super::fit::{FitBar, FitTask, motion_per_m};
use super::{NodeLines, Rail, Row};
use crate::error::MakingError;
use nalgebra::{DMatrix, DVector};

/// Convergence below this slope is no convergence: its share cannot be told.
const PARALLEL: f64 = 1e-4;

/// What is said beforehand of the outer rail's slope.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Outer {
    /// Nothing.
    Free,
    /// It takes this share of the convergence.
    Share(f64),
    /// It runs at this slope, player's rail rising and far rail falling if positive.
    Slope(f64),
}

/// The rails' numbers.
pub(super) struct Solved {
    /// Slopes of the player's and of the far rail: before the kink, and what the kink adds.
    slopes: [[f64; 2]; 2],
    /// Distance between the rails at the first bar.
    span_m: f64,
    pub(super) span_sigma_m: [f64; 2],
    /// Where each known bar's end lies that faces the player.
    pub(super) player_ends_y_m: Vec<f64>,
}

impl Solved {
    /// Share of the convergence taken by the outer rail, over the stretch before the kink.
    pub(super) fn outer_share(&self, row: Row) -> Option<f64> {
        let [player, away] = self.slopes.map(|s| s[0]);
        let converging = player - away;
        let outer = match row {
            Row::Natural => player,
            Row::Accidental => -away,
        };
        (converging.abs() > PARALLEL).then(|| outer / converging)
    }

    /// As lines from the row's bass edge to its treble edge; the player's rail has y = 0 at the first bar's centre.
    pub(super) fn rails(&self, task: &FitTask) -> Result<[Rail; 2], MakingError> {
        let (first, last) = ends(&task.bars);
        let origin = task.bars[0].centre_x_m;
        let line = |rail: usize| {
            let y = |x: f64| {
                let kink = task.kink_x_m.map_or(0.0, |kink| (x - kink).max(0.0));
                [0.0, self.span_m][rail] + self.slopes[rail][0] * (x - origin) + self.slopes[rail][1] * kink
            };
            let xs = [Some(first), task.kink_x_m, Some(last)];
            Rail::through(xs.into_iter().flatten().map(|x| (x, y(x))).collect())
        };
        match (line(0), line(1)) {
            (Some(player), Some(away)) => Ok([player, away]),
            _ => Err(MakingError::new(
                "no_rails",
                "no rails could be laid through these readings",
                "check the node numbers of every bar",
            )),
        }
    }
}

/// Bass edge of the first bar and treble edge of the last.
fn ends(bars: &[FitBar]) -> (f64, f64) {
    let edge = |bar: &FitBar, sign: f64| bar.centre_x_m + sign * bar.width_m / 2.0;
    (bars.first().map_or(0.0, |b| edge(b, -1.0)), bars.last().map_or(0.0, |b| edge(b, 1.0)))
}

/// Weighted least squares over: distance at the first bar, slopes, one shift per bar.
///
/// With a share the two rails' slopes are one convergence, shared; with a slope only the inner rail's is free.
pub(super) fn solve(
    task: &FitTask,
    known: &[(&FitBar, NodeLines)],
    misread: &[bool],
    outer: Outer,
) -> Result<Solved, MakingError> {
    let origin = task.bars[0].centre_x_m;
    let bends: usize = if task.kink_x_m.is_some() { 2 } else { 1 };
    // Columns: 0 the distance, then per bend either one convergence or two slopes, then the shifts.
    let outer_share = if let Outer::Share(share) = outer { Some(share) } else { None };
    let per_bend = if outer_share.is_some() { 1 } else { 2 };
    let rail_columns = 1 + bends * per_bend;
    let columns = rail_columns + known.len();
    let shares = outer_share.map(|outer| match task.row {
        Row::Natural => [outer, outer - 1.0],
        Row::Accidental => [1.0 - outer, -outer],
    });
    let rail_row = |rail: usize, x: f64| {
        let mut row = vec![0.0; rail_columns];
        row[0] = [0.0, 1.0][rail];
        let arms = [Some(x - origin), task.kink_x_m.map(|kink| (x - kink).max(0.0))];
        for (bend, arm) in arms.into_iter().flatten().enumerate() {
            match shares {
                Some(shares) => row[1 + bend] = shares[rail] * arm,
                None => row[1 + 2 * bend + rail] = arm,
            }
        }
        row
    };
    // A slope that is said is no unknown: its column is taken out of the problem below.
    let said_slope = if let Outer::Slope(slope) = outer { Some((task.row.outer(), slope)) } else { None };
    let said_slope = said_slope.map(|(rail, slope)| (rail, if rail == 0 { slope } else { -slope }));
    let mut normal = DMatrix::<f64>::zeros(columns, columns);
    let mut right = DVector::<f64>::zeros(columns);
    let mut noise = DMatrix::<f64>::zeros(columns, columns);
    let mut add = |entries: &[(usize, f64)], value: f64, weight: f64, sigma: f64| {
        for (i, a) in entries {
            right[*i] += weight * a * value;
            for (j, b) in entries {
                normal[(*i, *j)] += weight * a * b;
                noise[(*i, *j)] += (weight * sigma).powi(2) * a * b;
            }
        }
    };
    for (index, ((bar, nodes), misread)) in known.iter().zip(misread).enumerate() {
        // A bar left out of the rails still needs a place of its own.
        let weight = motion_per_m(bar).powi(2) * if *misread { 1e-9 } else { 1.0 };
        for (rail, line) in [nodes.player_m, nodes.away_m].into_iter().enumerate() {
            for (side, node) in [-1.0, 1.0].into_iter().zip(line) {
                let x = bar.centre_x_m + side * bar.width_m / 2.0;
                let mut entries: Vec<(usize, f64)> =
                    rail_row(rail, x).into_iter().enumerate().filter(|(_, a)| a.abs() > 0.0).collect();
                entries.push((rail_columns + index, -1.0));
                let mut node = node;
                if let Some((said, slope)) = said_slope {
                    entries.retain(|(column, _)| *column != 1 + said);
                    if rail == said {
                        node -= slope * (x - origin);
                    }
                }
                add(&entries, node, weight, bar.sigma_m);
            }
        }
    }
    add_fairness(task, known, rail_columns, &mut add);
    if let Some((said, slope)) = said_slope {
        normal[(1 + said, 1 + said)] = 1.0;
        right[1 + said] = slope;
    }
    let Some(inverse) = normal.try_inverse() else {
        return Err(MakingError::new(
            "no_rails",
            "these bars do not determine two rails",
            "read the node lines of more bars",
        ));
    };
    let found = &inverse * right;
    let covariance = &inverse * noise * &inverse;
    let span_sigma_m = [ends(&task.bars).0, ends(&task.bars).1].map(|x| {
        let mut row = DVector::<f64>::zeros(columns);
        for (i, (away, player)) in rail_row(1, x).into_iter().zip(rail_row(0, x)).enumerate() {
            row[i] = away - player;
        }
        (row.transpose() * &covariance * &row)[(0, 0)].max(0.0).sqrt()
    });
    let slope = |rail: usize, bend: usize| match (bend < bends, shares) {
        (false, _) => 0.0,
        (true, Some(shares)) => shares[rail] * found[1 + bend],
        (true, None) => found[1 + 2 * bend + rail],
    };
    Ok(Solved {
        slopes: [0, 1].map(|rail| [0, 1].map(|bend| slope(rail, bend))),
        span_m: found[0],
        span_sigma_m,
        player_ends_y_m: found.rows_range(rail_columns..).iter().copied().collect(),
    })
}

/// Rows that pull each bar's outer end towards its neighbours' line.
fn add_fairness(
    task: &FitTask,
    known: &[(&FitBar, NodeLines)],
    first_shift: usize,
    add: &mut impl FnMut(&[(usize, f64)], f64, f64, f64),
) {
    if task.fairness <= 0.0 {
        return;
    }
    // Shifts are of the end that faces the player; the far end lies a length beyond it.
    let beyond = |i: usize| match task.row {
        Row::Natural => 0.0,
        Row::Accidental => known[i].0.length_m,
    };
    for i in 1..known.len().saturating_sub(1) {
        let [a, b, c] = [known[i - 1].0, known[i].0, known[i + 1].0];
        let t = (b.centre_x_m - a.centre_x_m) / (c.centre_x_m - a.centre_x_m);
        let weight = task.fairness * 4.0 * motion_per_m(b).powi(2);
        let entries = [(first_shift + i - 1, t - 1.0), (first_shift + i, 1.0), (first_shift + i + 1, -t)];
        let value = -(beyond(i) - (1.0 - t) * beyond(i - 1) - t * beyond(i + 1));
        add(&entries, value, weight, 0.0);
    }
}
