//! The whole frame: both rows laid out, their rails fitted, the accidentals set over the naturals' ends.
use super::layout::{Gap, Layout, LayoutBar, lay_out};
use super::overlap::Overlap;
use super::symmetric::fit_symmetric;
use super::{BuiltRails, FitBar, FitTask, NodeLines, Row, RowFit, best_kink, fit_row, follow};
use crate::error::{MakingError, in_range};

/// A second segment is proposed only if it takes at least this share off the motion at the cords, and only where
/// straight rails are not good enough; a straight rail is easier to make.
const WORTH_A_BEND: f64 = 0.25;

/// Doubt of a rail that is drawn, not measured: none to speak of.
const DRAWN_SIGMA_M: f64 = 1e-5;

/// One bar of the instrument.
#[derive(Debug, Clone, PartialEq)]
pub struct FrameBar {
    /// How it is called, e.g. "C♯3".
    pub name: String,
    /// Semitones from any C.
    pub semitone: i32,
    /// Length.
    pub length_m: f64,
    /// Width.
    pub width_m: f64,
    /// Node lines in instrument view, if read.
    pub nodes: Option<NodeLines>,
    /// Standard uncertainty of each of their four numbers.
    pub sigma_m: f64,
    /// Motion at a cord relative to the centre per metre off the node, if known.
    pub motion_per_m: Option<f64>,
}

/// The maker's wishes.
#[derive(Debug, Clone, PartialEq)]
pub struct FrameTask {
    /// Bass to treble.
    pub bars: Vec<FrameBar>,
    /// Space between bars.
    pub gap: Gap,
    /// All bars in one row.
    pub one_row: bool,
    /// Least and most of the convergence that outer rails take.
    pub outer_share: (f64, f64),
    /// What unfair ends cost; see [`FitTask::fairness`].
    pub fairness: f64,
    /// How far the accidentals' ends lie over the naturals' ends, on average (0 to 20 mm; common practice, no source).
    pub overlap_m: f64,
    /// Indices of bars after which their row's rails may bend; at most one a row.
    pub bend_after: Vec<usize>,
    /// The outer rails of both rows lean alike.
    pub symmetric: bool,
    /// Rails set by hand: their rows are not fitted but follow them, where they are.
    pub by_hand: Vec<BuiltRow>,
}

impl FrameTask {
    /// Two rows of these bars at the usual gap and overlap, rails straight, ends free; outer rails take from half to all
    /// of the convergence.
    pub fn new(bars: Vec<FrameBar>) -> Self {
        Self {
            bars,
            gap: Gap::default(),
            one_row: false,
            outer_share: (0.5, 1.0),
            fairness: 0.0,
            overlap_m: 0.01,
            bend_after: Vec::new(),
            symmetric: false,
            by_hand: Vec::new(),
        }
    }
}

/// A second segment that would help: after which bar, and the row laid with it.
#[derive(Debug, Clone, PartialEq)]
pub struct Bend {
    /// The row.
    pub row: Row,
    /// The bar after which the rails bend.
    pub after: String,
    /// Root mean square of the motion at the cords with straight rails.
    pub straight: f64,
    /// The same with the bend.
    pub bent: f64,
}

/// The frame, in instrument view; y = 0 is the naturals' outer cord at the first natural's centre.
#[derive(Debug, Clone, PartialEq)]
pub struct FramePlan {
    /// Places along the frame.
    pub layout: Layout,
    /// Naturals, then accidentals where there are any.
    pub rows: Vec<RowFit>,
    /// Bends worth having.
    pub bends: Vec<Bend>,
    /// How the accidentals' ends lie over the naturals', if there are both.
    pub overlap: Option<Overlap>,
}

/// Rails of one row as they stand, in the frame's coordinates.
#[derive(Debug, Clone, PartialEq)]
pub struct BuiltRow {
    /// The row.
    pub row: Row,
    /// Its rails.
    pub rails: BuiltRails,
}

/// Lays the whole frame.
///
/// # Errors
/// As [`lay_out`] and [`fit_row`]; [`MakingError`] for an overlap out of range.
pub fn lay_frame(task: &FrameTask) -> Result<FramePlan, MakingError> {
    in_range(
        "the overlap of the rows",
        task.overlap_m * 1e3,
        -100.0,
        100.0,
        "mm",
        "0 to 20 mm is usual; 10 mm to begin with",
    )?;
    let layout = layout(task)?;
    let mut rows = Vec::new();
    let mut bends = Vec::new();
    let mut overlap = None;
    let tasks = fit_tasks(task, &layout)?;
    let by_hand = |row: Row| task.by_hand.iter().find(|hand| hand.row == row);
    match tasks.as_slice() {
        [naturals, accidentals] if task.symmetric && task.by_hand.is_empty() => {
            rows.extend(fit_symmetric(naturals, accidentals)?);
        }
        tasks => {
            for fit_task in tasks {
                rows.push(match by_hand(fit_task.row) {
                    Some(hand) => follow(fit_task, &hand.rails, DRAWN_SIGMA_M)?,
                    None => fit_row(fit_task)?,
                });
            }
        }
    }
    for (fit_task, fit) in tasks.iter().zip(&rows).filter(|_| !task.symmetric) {
        if by_hand(fit_task.row).is_none() {
            bends.extend(worth_bending(fit_task, fit)?);
        }
    }
    if let [naturals, accidentals] = rows.as_mut_slice() {
        if let Some(lies) = Overlap::of(naturals, accidentals).filter(|_| by_hand(Row::Accidental).is_none()) {
            *accidentals = accidentals.clone().moved(lies.mean_m - task.overlap_m);
        }
        overlap = Overlap::of(naturals, accidentals);
    }
    Ok(FramePlan { layout, rows, bends, overlap })
}

/// The same bars on the rails that stand; the plan is not needed, only the bars' places along the frame.
///
/// # Errors
/// As [`lay_out`] and [`follow`]; [`MakingError`] for a row without measured rails.
pub fn on_built(task: &FrameTask, built: &[BuiltRow], sigma_m: f64) -> Result<FramePlan, MakingError> {
    let layout = layout(task)?;
    let rows = fit_tasks(task, &layout)?.into_iter().map(|fit_task| {
        let rails = built.iter().find(|b| b.row == fit_task.row).ok_or_else(|| {
            MakingError::new(
                "rails_missing",
                format!("the rails of the {} have not been measured", fit_task.row.name()),
                "measure both rails of both rows on the standing frame",
            )
        })?;
        follow(&fit_task, &rails.rails, sigma_m)
    });
    let rows: Vec<RowFit> = rows.collect::<Result<_, _>>()?;
    let overlap = if let [naturals, accidentals] = rows.as_slice() { Overlap::of(naturals, accidentals) } else { None };
    Ok(FramePlan { rows, layout, bends: Vec::new(), overlap })
}

fn layout(task: &FrameTask) -> Result<Layout, MakingError> {
    let bars: Vec<LayoutBar> = task
        .bars
        .iter()
        .map(|b| LayoutBar { name: b.name.clone(), semitone: b.semitone, width_m: b.width_m })
        .collect();
    lay_out(&bars, task.gap, task.one_row)
}

/// One task a row that has bars.
fn fit_tasks(task: &FrameTask, layout: &Layout) -> Result<Vec<FitTask>, MakingError> {
    let mut tasks = Vec::new();
    for row in [Row::Natural, Row::Accidental] {
        let members: Vec<usize> = (0..task.bars.len()).filter(|i| layout.places[*i].row == row).collect();
        if members.is_empty() {
            continue;
        }
        let bars: Vec<FitBar> = members.iter().map(|i| fit_bar(&task.bars[*i], layout.places[*i].centre_x_m)).collect();
        let mut kink_x_m = None;
        for after in members.iter().enumerate().filter(|(_, i)| task.bend_after.contains(i)).map(|(at, _)| at) {
            let next = bars.get(after + 1).ok_or_else(|| {
                MakingError::new(
                    "kink_at_the_end",
                    format!("the rails cannot bend after {}, the last bar", bars[after].name),
                    "bend them at a post farther inside",
                )
            })?;
            if kink_x_m.replace(gap_middle_m(&bars[after], next)).is_some() {
                return Err(MakingError::new(
                    "two_bends",
                    "a row's rails can bend at one post only",
                    "choose the post that helps most",
                ));
            }
        }
        let (outer_share, fairness) = (task.outer_share, task.fairness);
        tasks.push(FitTask { row, bars, outer_share, outer_slope: None, kink_x_m, fairness });
    }
    Ok(tasks)
}

fn fit_bar(bar: &FrameBar, centre_x_m: f64) -> FitBar {
    FitBar {
        name: bar.name.clone(),
        centre_x_m,
        width_m: bar.width_m,
        length_m: bar.length_m,
        nodes: bar.nodes,
        sigma_m: bar.sigma_m,
        motion_per_m: bar.motion_per_m,
    }
}

/// x of the post between two neighbours of a row.
pub(super) fn gap_middle_m(bar: &FitBar, next: &FitBar) -> f64 {
    f64::midpoint(bar.centre_x_m + bar.width_m / 2.0, next.centre_x_m - next.width_m / 2.0)
}

/// A bend that takes a good share off what the straight rails of `fit` cost, where those miss by more than is tolerated.
fn worth_bending(task: &FitTask, fit: &RowFit) -> Result<Option<Bend>, MakingError> {
    let missed =
        |b: &super::FittedBar| !b.misread && !b.interpolated && b.worst_middle_m() > super::tolerated_m(b.bar.length_m);
    if task.kink_x_m.is_some() || !fit.bars.iter().any(missed) {
        return Ok(None);
    }
    let Some((x_m, bent)) = best_kink(task, fit)? else { return Ok(None) };
    let (before, after) = (fit.rms_motion(), bent.rms_motion());
    if after > (1.0 - WORTH_A_BEND) * before {
        return Ok(None);
    }
    let after_bar = task.bars.iter().rev().find(|b| b.centre_x_m < x_m).map_or_else(String::new, |b| b.name.clone());
    Ok(Some(Bend { row: task.row, after: after_bar, straight: before, bent: after }))
}
