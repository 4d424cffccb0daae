//! A frame whose outer rails lean alike.
use super::{FitTask, RowFit, fit_row};
use crate::error::MakingError;

/// The slopes tried to find the parabola; any two beside zero would do, these are about what rails have.
const PROBE: f64 = 0.1;

/// Both rows with outer rails of one slope, which costs least at the cords of both together, within the shares of both.
///
/// For a given slope each row's cost is a least-squares minimum, so the cost over the slope is a parabola: three values tell
/// its lowest point exactly (as far as unfair ends are not weighed).
///
/// # Errors
/// As [`fit_row`].
pub(super) fn fit_symmetric(naturals: &FitTask, accidentals: &FitTask) -> Result<[RowFit; 2], MakingError> {
    let rows = [naturals, accidentals];
    let at = |slope: f64| -> Result<[RowFit; 2], MakingError> {
        let fit = |task: &FitTask| fit_row(&FitTask { outer_slope: Some(slope), ..task.clone() });
        Ok([fit(naturals)?, fit(accidentals)?])
    };
    let cost = |fits: &[RowFit; 2]| fits.iter().map(RowFit::cost).sum::<f64>();
    let [below, middle, above] = [at(-PROBE)?, at(0.0)?, at(PROBE)?].map(|fits| cost(&fits));
    let curvature = below - 2.0 * middle + above;
    let lowest = if curvature > 0.0 { 0.5 * PROBE * (below - above) / curvature } else { 0.0 };
    let limits = rows.map(|task| limits(task, lowest));
    let [(low_a, high_a), (low_b, high_b)] = [limits[0].clone()?, limits[1].clone()?];
    let (low, high) = (low_a.max(low_b), high_a.min(high_b));
    // Where no slope satisfies both rows' shares, neither is favoured.
    at(if low <= high { lowest.clamp(low, high) } else { f64::midpoint(low, high) })
}

/// Least and greatest slope of a row's outer rail that its shares allow, by the row's convergence at about that slope.
fn limits(task: &FitTask, slope: f64) -> Result<(f64, f64), MakingError> {
    let fit = fit_row(&FitTask { outer_slope: Some(slope), ..task.clone() })?;
    let converging = fit.converging();
    let (least, most) = task.outer_share;
    let [a, b] = [least * converging, most * converging];
    Ok((a.min(b), a.max(b)))
}
