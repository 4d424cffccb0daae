//! Two straight rails under a row of bars.
//!
//! A bar may slide along its own length until its nodes lie on the rails; what sliding cannot cure is the distance
//! between its two node lines. So the least-squares problem has the rails' few numbers and one shift per bar.
//! Distances alone cannot tell how the convergence is shared between the two rails (shearing the whole row changes
//! none of them); the lean of the node lines tells it, within the limits the maker sets.
use super::least_squares::{Outer, Solved, solve};
use super::{FittedBar, NodeLines, Rail, Row, RowFit, even_motion_per_m, robust};
use crate::error::{MakingError, in_range};

/// A miss below this is never called misread: lines of salt are 3–6 mm wide (common practice, no source).
const LEAST_OUTLIER_M: f64 = 0.003;
/// Greatest share of the convergence that an outer rail can be given; above 1 the inner rails close up too.
const MOST_SHARE: f64 = 2.0;
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
    /// Least and most of the convergence that the outer rail takes, 0 to 2; equal to set it.
    pub outer_share: (f64, f64),
    /// Slope of the outer rail, if it is set; positive closes in on the inner rail towards the treble. It goes before
    /// the share.
    pub outer_slope: Option<f64>,
    /// Where the rails may bend.
    pub kink_x_m: Option<f64>,
    /// What a bar's outer end off its neighbours' line costs, as a share of what the same miss at a node costs.
    pub fairness: f64,
}

impl FitTask {
    /// Straight rails; the outer one takes from half to all of the convergence (inner rails are nearly parallel to the
    /// instrument: common practice, no source).
    pub fn new(row: Row, bars: Vec<FitBar>) -> Self {
        Self { row, bars, outer_share: (0.5, 1.0), outer_slope: None, kink_x_m: None, fairness: 0.0 }
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
    let solved = solved_within(task, &known, &misread)?;
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

/// The rails within what is said of the outer one.
fn solved_within(task: &FitTask, known: &[(&FitBar, NodeLines)], misread: &[bool]) -> Result<Solved, MakingError> {
    if let Some(slope) = task.outer_slope {
        return solve(task, known, misread, Outer::Slope(slope));
    }
    let (low, high) = task.outer_share;
    let free = if low < high { Some(solve(task, known, misread, Outer::Free)?) } else { None };
    match free.map(|solved| (solved.outer_share(task.row), solved)) {
        Some((Some(share), solved)) if (low..=high).contains(&share) => Ok(solved),
        // Outside the limits the best permitted share is the nearer limit: the cost is a parabola over the share.
        Some((Some(share), _)) => solve(task, known, misread, Outer::Share(share.clamp(low, high))),
        _ => solve(task, known, misread, Outer::Share(f64::midpoint(low, high))),
    }
}

/// Where a second segment helps most against the `straight` fit of the same task: (x of the gap, the row fitted with it), if
/// it lowers the motion at the cords at all.
///
/// # Errors
/// As [`fit_row`].
pub fn best_kink(task: &FitTask, straight: &RowFit) -> Result<Option<(f64, RowFit)>, MakingError> {
    let mut best: Option<(f64, RowFit)> = None;
    for pair in task.bars.windows(2) {
        let kink_x_m = super::plan::gap_middle_m(&pair[0], &pair[1]);
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
pub(super) fn misread(known: &[(&FitBar, NodeLines)], kink_x_m: Option<f64>) -> Vec<bool> {
    let points: Vec<(f64, f64, f64)> =
        known.iter().map(|(bar, nodes)| (bar.centre_x_m, nodes.span_m(), motion_per_m(bar).powi(2))).collect();
    // Each span is the difference of two means of two readings, so its doubt is one reading's.
    let floor = known.iter().map(|(bar, _)| bar.sigma_m).fold(0.0, f64::max);
    robust::outliers(&points, kink_x_m, floor, LEAST_OUTLIER_M)
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
    let hint = "give the outer rail's share of the convergence; 0.5 shares it evenly, 1 leaves the inner rail square to the bars";
    in_range("the least share", low, 0.0, high.min(MOST_SHARE), "", hint)?;
    in_range("the greatest share", high, low.max(0.0), MOST_SHARE, "", hint)?;
    let hint = "0 leaves the outer rail square to the bars; 0.14 is the steepest hole that is usual";
    in_range("the slope of the outer rail", task.outer_slope.unwrap_or(0.0), -0.5, 0.5, "", hint)?;
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
