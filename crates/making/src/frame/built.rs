//! Rails as they were really built: the bars follow them, not the drawing.
use super::fit::{FitBar, FitTask, misread, place};
use super::{NodeLines, Rail, RowFit};
use crate::error::{MakingError, in_range};

/// Two rails measured on the standing frame, in the frame's own coordinates.
#[derive(Debug, Clone, PartialEq)]
pub struct BuiltRails {
    /// Points (x, y) on the cord line of the rail nearer the player, bass to treble; the ends and any bows.
    pub player: Vec<(f64, f64)>,
    /// The same for the far rail.
    pub away: Vec<(f64, f64)>,
}

/// The row on the rails as built: each bar slid to where its nodes lie best; rails themselves are not touched.
///
/// The doubt of the distance between the rails is `sigma_m` of each measured point, at both ends.
///
/// # Errors
/// [`MakingError`] for fewer than two points on a rail, points not in order, rails that cross, or values out of range.
pub fn follow(task: &FitTask, built: &BuiltRails, sigma_m: f64) -> Result<RowFit, MakingError> {
    in_range("the doubt of the measured rails", sigma_m * 1e3, 0.01, 20.0, "mm", "1 mm is usual for a rule")?;
    let rail = |name: &str, points: &[(f64, f64)]| {
        Rail::through(points.to_vec()).ok_or_else(|| {
            MakingError::new(
                "rail_points",
                format!("the {name} rail has {} points, or they are not in order", points.len()),
                "give at least both ends of the rail, from the bass to the treble, each with its distance from the datum",
            )
        })
    };
    let rails = [rail("player's", &built.player)?, rail("far", &built.away)?];
    if let Some(bar) = task.bars.iter().find(|b| rails[1].y_at(b.centre_x_m) <= rails[0].y_at(b.centre_x_m)) {
        return Err(MakingError::new(
            "rails_cross",
            format!("at {} the far rail lies nearer the player than the player's rail", bar.name),
            "measure both rails from one datum, and check which is which",
        ));
    }
    // The bars tell among themselves which of them was misread, wherever the rails were built.
    let known: Vec<(&FitBar, NodeLines)> = task.bars.iter().filter_map(|b| Some((b, b.nodes?))).collect();
    let mut doubted = misread(&known, None).into_iter();
    let bars = (0..task.bars.len()).filter_map(|index| {
        let misread = task.bars[index].nodes.is_some() && doubted.next().unwrap_or(false);
        place(task, &rails, index, None, misread)
    });
    let bars = bars.collect();
    let span_sigma_m = [sigma_m * std::f64::consts::SQRT_2; 2];
    Ok(RowFit { row: task.row, rails, span_sigma_m, outer_share: None, bars })
}
