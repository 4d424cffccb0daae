//! The drill chart: where each cord hole enters and leaves, its angle, and the wood left around it.
use super::{FacesPlayer, NodeLines, Row, RowFit, Slant};
use crate::error::{MakingError, in_range};

/// Least wood over and under a hole (TRADE: "check at least 4 mm"; common practice, no source).
pub const LEAST_WOOD_M: f64 = 0.004;
/// Steepest hole that is usual, in radians (0–8°; common practice, no source).
pub const STEEPEST_RAD: f64 = 8.0 * std::f64::consts::PI / 180.0;

/// How to drill.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DrillTask {
    /// Axis of the holes below the top face, the same in a whole row so that the tops are level.
    pub below_top_m: f64,
    /// Diameter of the drill.
    pub diameter_m: f64,
    /// Which end of each bar, in bench view, faces the player.
    pub faces: FacesPlayer,
}

/// One cord hole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hole {
    /// From the end that faces the player: on the left side and on the right side.
    pub from_player_end_m: [f64; 2],
    /// In bench view, from the left end: at the near edge and at the far edge.
    pub bench_m: [f64; 2],
    /// Angle off square, radians, positive leans "/" in instrument view.
    pub angle_rad: f64,
    /// Wood over the hole.
    pub over_m: f64,
    /// Wood under the hole, if the thickness there is known.
    pub under_m: Option<f64>,
}

impl Hole {
    /// How it leans in instrument view.
    pub fn slant(&self) -> Slant {
        Slant::of(self.angle_rad.tan())
    }

    /// Whether less wood than [`LEAST_WOOD_M`] is left anywhere around it.
    pub fn is_weak(&self) -> bool {
        self.over_m < LEAST_WOOD_M || self.under_m.is_some_and(|under| under < LEAST_WOOD_M)
    }

    /// Whether it is steeper than is usual.
    pub fn is_steep(&self) -> bool {
        self.angle_rad.abs() > STEEPEST_RAD
    }
}

/// A bar with its holes.
#[derive(Debug, Clone, PartialEq)]
pub struct DrilledBar {
    /// How it is called.
    pub name: String,
    /// Its row.
    pub row: Row,
    /// The hole on the player's rail, and on the far rail.
    pub holes: [Hole; 2],
    /// True if its node lines were not read but taken from its neighbours: it must not be drilled yet.
    pub interpolated: bool,
    /// True if its node lines do not belong to the row: read them again before drilling.
    pub misread: bool,
}

/// The holes of a row. `thickness_m` tells the least thickness along the player's and the far hole of a bar, by its
/// index in the row, where it is known.
///
/// # Errors
/// [`MakingError`] for a hole that would break out of the top face, or a diameter out of range.
pub fn drill(
    fit: &RowFit,
    task: DrillTask,
    thickness_m: impl Fn(usize, [f64; 2]) -> Option<f64>,
) -> Result<Vec<DrilledBar>, MakingError> {
    check(task)?;
    let bars = fit.bars.iter().enumerate().map(|(index, bar)| DrilledBar {
        name: bar.bar.name.clone(),
        row: fit.row,
        holes: bar
            .cords_m
            .map(|cord| hole(cord, [bar.bar.length_m, bar.bar.width_m], task, |at| thickness_m(index, at))),
        interpolated: bar.interpolated,
        misread: bar.misread,
    });
    Ok(bars.collect())
}

/// The holes of a bar that was marked on the standing frame itself: the marks are drilled, wherever the rails are.
///
/// `size_m` is its length and width; `marks` are the cords' places on its sides; `thickness_m` as in [`drill`].
///
/// # Errors
/// As [`drill`]; [`MakingError`] for marks that cannot lie near the nodes of a bar of that length.
pub fn drill_marked(
    (name, row): (&str, Row),
    size_m: [f64; 2],
    marks: NodeLines,
    task: DrillTask,
    thickness_m: impl Fn([f64; 2]) -> Option<f64>,
) -> Result<DrilledBar, MakingError> {
    check(task)?;
    let marks = marks.checked(name, size_m[0])?;
    let holes = [marks.player_m, marks.away_m].map(|mark| hole(mark, size_m, task, &thickness_m));
    Ok(DrilledBar { name: name.to_owned(), row, holes, interpolated: false, misread: false })
}

fn check(task: DrillTask) -> Result<(), MakingError> {
    let hint = "5 to 6.5 mm is usual for 3 to 4 mm cord, 4.5 to 5 mm in the treble";
    in_range("the drill's diameter", task.diameter_m * 1e3, 1.0, 15.0, "mm", hint)?;
    let least_mm = task.diameter_m * 5e2 + 1.0;
    let hint = "8 to 11 mm below the top is usual, about the middle of the wood that is left";
    in_range("the hole's axis below the top face", task.below_top_m * 1e3, least_mm, 40.0, "mm", hint)
}

fn hole(
    cord: [f64; 2],
    [length_m, width_m]: [f64; 2],
    task: DrillTask,
    thickness_m: impl Fn([f64; 2]) -> Option<f64>,
) -> Hole {
    let bench_m = bench(length_m, cord, task.faces);
    let half = task.diameter_m / 2.0;
    Hole {
        from_player_end_m: cord,
        bench_m,
        angle_rad: ((cord[1] - cord[0]) / width_m).atan(),
        over_m: task.below_top_m - half,
        under_m: thickness_m(bench_m).map(|t| t - task.below_top_m - half),
    }
}

/// The same hole in bench view: the inverse of [`super::BenchNodes::on_instrument`].
fn bench(length_m: f64, [left, right]: [f64; 2], faces: FacesPlayer) -> [f64; 2] {
    match faces {
        FacesPlayer::LeftEnd => [right, left],
        FacesPlayer::RightEnd => [length_m - left, length_m - right],
    }
}
