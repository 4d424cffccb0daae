//! Two straight rails under a row of bars.
//!
//! A bar may slide along its own length until its nodes lie on the rails; what sliding cannot cure is the distance
//! between its two node lines. So the least-squares problem has the rails' few numbers and one shift per bar.
//! Distances alone cannot tell how the convergence is shared between the two rails (shearing the whole row changes
//! none of them); the lean of the node lines tells it, within the limits the maker sets.
use super::{NodeLines, Rail, Row, even_motion_per_m, robust};
use crate::error::{MakingError, in_range};
use nalgebra::{DMatrix, DVector};

/// A miss below this is never called misread: lines of salt are 3–6 mm wide (common practice, no source).
const LEAST_OUTLIER_M: f64 = 0.003;
/// Convergence below this slope is no convergence: its share cannot be told.
const PARALLEL: f64 = 1e-4;
/// Bars with node lines on each side of a kink, at least.
const KINK_SIDE: usize = 3;

/// One bar of a row, as laid out.
#[derive(Debug, Clone, PartialEq)]
pub struct FitBar {
    /// How it is called.
    pub name: String,
    /// Middle of its width along the frame.
    pub centre_x_m: f64,
    /// Width.
    pub width_m: f64,
    /// Length.
    pub length_m: f64,
    /// Its node lines; `None` if it has not been read yet.
    pub nodes: Option<NodeLines>,
    /// Standard uncertainty of each of the four numbers.
    pub sigma_m: f64,
    /// Motion at a cord relative to the centre per metre off the node; `None` for an even bar's.
    pub motion_per_m: Option<f64>,
}

/// What to fit.
#[derive(Debug, Clone, PartialEq)]
pub struct FitTask {
    /// The row.
    pub row: Row,
    /// Its bars, bass to treble.
    pub bars: Vec<FitBar>,
    /// Least and most of the convergence that the outer rail takes, 0 to 1; equal to set it.
    pub outer_share: (f64, f64),
    /// Where the rails may bend.
    pub kink_x_m: Option<f64>,
    /// What a bar's outer end off its neighbours' line costs, as a share of what the same miss at a node costs.
    pub fairness: f64,
}

impl FitTask {
    /// Straight rails; the outer one takes from half to all of the convergence (inner rails are nearly parallel to the
    /// instrument: common practice, no source).
    pub fn new(row: Row, bars: Vec<FitBar>) -> Self {
        Self { row, bars, outer_share: (0.5, 1.0), kink_x_m: None, fairness: 0.0 }
    }
}

/// A bar on its rails.
#[derive(Debug, Clone, PartialEq)]
pub struct FittedBar {
    /// As it was given.
    pub bar: FitBar,
    /// Its node lines, as read or interpolated.
    pub nodes: NodeLines,
    /// True if they were not read but taken from its neighbours' shares of length.
    pub interpolated: bool,
    /// True if its span does not belong to the row; it had next to no say in the rails.
    pub misread: bool,
    /// y of its middle.
    pub centre_y_m: f64,
    /// Where the cords cross its sides, from the end facing the player: (player's rail, far rail) × (left, right).
    pub cords_m: [[f64; 2]; 2],
}

impl FittedBar {
    /// Cord less node: (player's rail, far rail) × (left, right).
    pub fn misses_m(&self) -> [[f64; 2]; 2] {
        let nodes = [self.nodes.player_m, self.nodes.away_m];
        [0, 1].map(|rail| [0, 1].map(|side| self.cords_m[rail][side] - nodes[rail][side]))
    }

    /// The largest miss in the middle of the bar, without its sign.
    pub fn worst_middle_m(&self) -> f64 {
        self.misses_m().iter().map(|[left, right]| f64::midpoint(*left, *right).abs()).fold(0.0, f64::max)
    }

    /// The largest miss anywhere, without its sign.
    pub fn worst_m(&self) -> f64 {
        self.misses_m().iter().flatten().fold(0.0, |worst, miss| worst.max(miss.abs()))
    }

    /// Motion at the worst cord relative to the motion of the centre.
    pub fn motion(&self) -> f64 {
        self.worst_m() * motion_per_m(&self.bar)
    }

    /// y of the end that faces the player and of the far end.
    pub fn ends_y_m(&self) -> [f64; 2] {
        [self.centre_y_m - self.bar.length_m / 2.0, self.centre_y_m + self.bar.length_m / 2.0]
    }
}

/// Rails of a row, with every bar on them.
#[derive(Debug, Clone, PartialEq)]
pub struct RowFit {
    /// The row.
    pub row: Row,
    /// The rail nearer the player, and the far one.
    pub rails: [Rail; 2],
    /// Standard uncertainty of the distance between the rails at the bass end and at the treble end, from the readings'.
    pub span_sigma_m: [f64; 2],
    /// Share of the convergence that the outer rail takes; `None` for rails as good as parallel, and for built ones.
    pub outer_share: Option<f64>,
    /// Bass to treble.
    pub bars: Vec<FittedBar>,
}

impl RowFit {
    /// Root mean square of the motion at the cords, misread and interpolated bars left out.
    pub fn rms_motion(&self) -> f64 {
        let counted = self.bars.iter().filter(|b| !b.misread && !b.interpolated);
        let squares: Vec<f64> = counted
            .flat_map(|b| b.misses_m().concat().into_iter().map(|m| (m * motion_per_m(&b.bar)).powi(2)))
            .collect();
        #[allow(clippy::cast_precision_loss)] // a row of bars
        let count = squares.len().max(1) as f64;
        (squares.iter().sum::<f64>() / count).sqrt()
    }

    /// How far each bar's outer end is off the line through its neighbours' ends; 0 for the first and the last.
    pub fn unfair_m(&self) -> Vec<f64> {
        let end = |bar: &FittedBar| (bar.bar.centre_x_m, bar.ends_y_m()[self.row.outer()]);
        let mut unfair = vec![0.0; self.bars.len()];
        for (index, three) in self.bars.windows(3).enumerate() {
            let [(xa, ya), (x, y), (xb, yb)] = [end(&three[0]), end(&three[1]), end(&three[2])];
            unfair[index + 1] = y - (ya + (yb - ya) * (x - xa) / (xb - xa));
        }
        unfair
    }
}

/// Fits the rails of a row (weighted linear least squares; weights by what a miss costs in motion at the cord).
///
/// # Errors
/// [`MakingError`] for fewer than two bars with node lines, bars out of order, or a value out of range.
pub fn fit_row(task: &FitTask) -> Result<RowFit, MakingError> {
    check(task)?;
    let known: Vec<(&FitBar, NodeLines)> = task.bars.iter().filter_map(|b| Some((b, b.nodes?))).collect();
    let misread = misread(&known, task.kink_x_m);
    let (low, high) = task.outer_share;
    let free = if low < high { Some(solve(task, &known, &misread, None)?) } else { None };
    let solved = match free.map(|solved| (solved.outer_share(task.row), solved)) {
        Some((Some(share), solved)) if (low..=high).contains(&share) => solved,
        // Outside the limits the best permitted share is the nearer limit: the cost is a parabola over the share.
        Some((Some(share), _)) => solve(task, &known, &misread, Some(share.clamp(low, high)))?,
        _ => solve(task, &known, &misread, Some(f64::midpoint(low, high)))?,
    };
    let rails = solved.rails(task)?;
    let mut said = misread.iter().zip(&solved.player_ends_y_m);
    let bars = task.bars.iter().enumerate().filter_map(|(index, bar)| {
        let (misread, player_end) =
            if bar.nodes.is_some() { said.next().map(|(m, y)| (*m, Some(*y)))? } else { (false, None) };
        place(task, &rails, index, player_end.filter(|_| !misread), misread)
    });
    let bars = bars.collect();
    Ok(RowFit {
        row: task.row,
        outer_share: solved.outer_share(task.row),
        span_sigma_m: solved.span_sigma_m,
        rails,
        bars,
    })
}

/// Where a second segment helps most: (x of the gap, the row fitted with it), if it lowers the motion at the cords at all.
///
/// # Errors
/// As [`fit_row`].
pub fn best_kink(task: &FitTask) -> Result<Option<(f64, RowFit)>, MakingError> {
    let straight = fit_row(&FitTask { kink_x_m: None, ..task.clone() })?;
    let mut best: Option<(f64, RowFit)> = None;
    for pair in task.bars.windows(2) {
        let kink_x_m =
            f64::midpoint(pair[0].centre_x_m + pair[0].width_m / 2.0, pair[1].centre_x_m - pair[1].width_m / 2.0);
        let read = task.bars.iter().filter(|b| b.nodes.is_some());
        let (bass, treble): (Vec<&FitBar>, Vec<&FitBar>) = read.partition(|b| b.centre_x_m < kink_x_m);
        if bass.len() < KINK_SIDE || treble.len() < KINK_SIDE {
            continue;
        }
        let bent = fit_row(&FitTask { kink_x_m: Some(kink_x_m), ..task.clone() })?;
        let least = best.as_ref().map_or(straight.rms_motion(), |(_, fit)| fit.rms_motion());
        if bent.rms_motion() < least {
            best = Some((kink_x_m, bent));
        }
    }
    Ok(best)
}

pub(super) fn motion_per_m(bar: &FitBar) -> f64 {
    bar.motion_per_m.unwrap_or_else(|| even_motion_per_m(bar.length_m))
}

/// Puts a bar on rails: with its end where the fit wants it, or slid to where its four misses are least (their mean,
/// as they weigh alike). `None` if its node lines are neither read nor to be taken from neighbours.
pub(super) fn place(
    task: &FitTask,
    rails: &[Rail; 2],
    index: usize,
    player_end_y_m: Option<f64>,
    misread: bool,
) -> Option<FittedBar> {
    let bar = &task.bars[index];
    let nodes = bar.nodes.or_else(|| interpolated(&task.bars, index))?;
    let crossing = |rail: &Rail, side: f64| rail.y_at(bar.centre_x_m + side * bar.width_m / 2.0);
    let cords_y = [0, 1].map(|i| [crossing(&rails[i], -1.0), crossing(&rails[i], 1.0)]);
    let nodes_y = [nodes.player_m, nodes.away_m].concat();
    let slid = || cords_y.concat().iter().zip(&nodes_y).map(|(y, node)| y - node).sum::<f64>() / 4.0;
    let player_end_y_m = player_end_y_m.unwrap_or_else(slid);
    Some(FittedBar {
        bar: bar.clone(),
        nodes,
        interpolated: bar.nodes.is_none(),
        misread,
        centre_y_m: player_end_y_m + bar.length_m / 2.0,
        cords_m: cords_y.map(|rail| rail.map(|y| y - player_end_y_m)),
    })
}

/// Node lines of a bar not yet read, from its neighbours' shares of length; square to the bar.
fn interpolated(bars: &[FitBar], index: usize) -> Option<NodeLines> {
    let shares = |b: &FitBar| b.nodes.map(|n| (b.centre_x_m, n.middles_m().map(|y| y / b.length_m)));
    let below = bars[..index].iter().rev().find_map(shares);
    let above = bars[index + 1..].iter().find_map(shares);
    let bar = &bars[index];
    let [player, away] = match (below, above) {
        (Some((xa, a)), Some((xb, b))) => {
            let t = (bar.centre_x_m - xa) / (xb - xa);
            [0, 1].map(|i| a[i] + t * (b[i] - a[i]))
        }
        (Some((_, shares)), None) | (None, Some((_, shares))) => shares,
        (None, None) => return None,
    };
    Some(NodeLines { player_m: [player * bar.length_m; 2], away_m: [away * bar.length_m; 2] })
}

/// Which known bars have spans that do not belong to the row.
fn misread(known: &[(&FitBar, NodeLines)], kink_x_m: Option<f64>) -> Vec<bool> {
    let points: Vec<(f64, f64, f64)> =
        known.iter().map(|(bar, nodes)| (bar.centre_x_m, nodes.span_m(), motion_per_m(bar).powi(2))).collect();
    // Each span is the difference of two means of two readings, so its doubt is one reading's.
    let floor = known.iter().map(|(bar, _)| bar.sigma_m).fold(0.0, f64::max);
    robust::outliers(&points, kink_x_m, floor, LEAST_OUTLIER_M)
}

/// The rails' numbers.
struct Solved {
    /// Slopes of the player's and of the far rail: before the kink, and what the kink adds.
    slopes: [[f64; 2]; 2],
    /// Distance between the rails at the first bar.
    span_m: f64,
    span_sigma_m: [f64; 2],
    /// Where each known bar's end lies that faces the player.
    player_ends_y_m: Vec<f64>,
}

impl Solved {
    /// Share of the convergence taken by the outer rail, over the stretch before the kink.
    fn outer_share(&self, row: Row) -> Option<f64> {
        let [player, away] = self.slopes.map(|s| s[0]);
        let converging = player - away;
        let outer = match row {
            Row::Natural => player,
            Row::Accidental => -away,
        };
        (converging.abs() > PARALLEL).then(|| outer / converging)
    }

    /// As lines from the row's bass edge to its treble edge; the player's rail has y = 0 at the first bar's centre.
    fn rails(&self, task: &FitTask) -> Result<[Rail; 2], MakingError> {
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
/// With `outer_share` the two rails' slopes are one convergence, shared; without it they are free.
fn solve(
    task: &FitTask,
    known: &[(&FitBar, NodeLines)],
    misread: &[bool],
    outer_share: Option<f64>,
) -> Result<Solved, MakingError> {
    let origin = task.bars[0].centre_x_m;
    let bends: usize = if task.kink_x_m.is_some() { 2 } else { 1 };
    // Columns: 0 the distance, then per bend either one convergence or two slopes, then the shifts.
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
                add(&entries, node, weight, bar.sigma_m);
            }
        }
    }
    add_fairness(task, known, rail_columns, &mut add);
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

fn check(task: &FitTask) -> Result<(), MakingError> {
    let read = task.bars.iter().filter(|b| b.nodes.is_some()).count();
    if read < 2 {
        return Err(MakingError::new(
            "too_few_bars",
            format!("node lines of {read} bars are known in this row; rails need at least two"),
            "read the node lines of more bars with salt",
        ));
    }
    let (low, high) = task.outer_share;
    let hint = "give the outer rail's share of the convergence between 0 and 1; 0.5 shares it evenly";
    in_range("the least share", low, 0.0, high.min(1.0), "", hint)?;
    in_range("the greatest share", high, low.max(0.0), 1.0, "", hint)?;
    in_range("the weight of fair ends", task.fairness, 0.0, 100.0, "", "0 leaves the ends free")?;
    for bar in &task.bars {
        in_range(
            &format!("the length of {}", bar.name),
            bar.length_m * 1e3,
            60.0,
            1200.0,
            "mm",
            "give the length in millimetres",
        )?;
        in_range(
            &format!("the doubt of {}'s node lines", bar.name),
            bar.sigma_m * 1e3,
            0.01,
            20.0,
            "mm",
            "1 mm is usual for salt",
        )?;
        if let Some(nodes) = bar.nodes {
            nodes.checked(&bar.name, bar.length_m)?;
        }
    }
    match task.bars.windows(2).find(|pair| pair[1].centre_x_m <= pair[0].centre_x_m) {
        Some(pair) => Err(MakingError::new(
            "not_in_order",
            format!("{} lies before {}", pair[1].name, pair[0].name),
            "list the bars from the bass to the treble",
        )),
        None => check_kink(task),
    }
}

fn check_kink(task: &FitTask) -> Result<(), MakingError> {
    let Some(kink) = task.kink_x_m else { return Ok(()) };
    let read = || task.bars.iter().filter(|b| b.nodes.is_some());
    let (bass, all) = (read().filter(|b| b.centre_x_m < kink).count(), read().count());
    if bass >= 2 && all - bass >= 2 {
        return Ok(());
    }
    Err(MakingError::new(
        "kink_at_the_end",
        format!("the bend has {bass} bars with node lines before it and {} after it; each side needs two", all - bass),
        "bend the rails at a post farther inside, or not at all",
    ))
}
