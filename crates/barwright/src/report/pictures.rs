//! Pictures of arch and saw steps that stand alone.
use crate::error::Refused;
use making::ArchAdvice;
use making::saw::SawPlan;
use paper::sheets::{BarShape, SawView, Sheet, SideView, saw_view, side_view};
use paper::svg::{self, Options};
use paper::{Drawing, PaperError};
use records::BarFile;

/// Heights are drawn so many times too large: a bar is some twenty times longer than thick.
const HEIGHT_FACTOR: f64 = 3.0;

/// The bar with its arch and node lines.
///
/// # Errors
/// [`Refused`] if a value cannot be drawn.
pub fn arch(advice: &ArchAdvice, file: &BarFile) -> Result<String, Refused> {
    let nodes = advice.modes.bending.first().map_or(&[][..], |m| m.node_lines.as_slice());
    let view = side_view(&SideView {
        shape: shape(advice, file),
        bands: Vec::new(),
        nodes_mm: nodes.iter().map(|n| n.centre_m * 1e3).collect(),
        least_mm: Some(advice.task.limits.min_thickness_m * 1e3),
        height_factor: HEIGHT_FACTOR,
        sheet: Sheet::WIDE,
    });
    alone(view, HINT)
}

/// The saw steps under the line of the arch, alone in a file.
///
/// # Errors
/// As [`arch`].
pub fn saw(plan: &SawPlan, advice: &ArchAdvice, file: &BarFile) -> Result<String, Refused> {
    alone(saw_drawing(plan, advice, file, Sheet::WIDE), HINT)
}

/// The saw steps under the line of the arch.
///
/// # Errors
/// [`PaperError`] if a value cannot be drawn.
pub fn saw_drawing(plan: &SawPlan, advice: &ArchAdvice, file: &BarFile, sheet: Sheet) -> Result<Drawing, PaperError> {
    let mm = |points: &[(f64, f64)]| points.iter().map(|(u, t)| (u * 1e3, t * 1e3)).collect::<Vec<_>>();
    saw_view(&SawView {
        line: shape(advice, file),
        blank_mm: advice.task.blank.underside.thickness_at(0.0) * 1e3,
        sawn_half_mm: mm(&plan.sawn.half),
        steps_mm: plan.steps.iter().map(|s| (s.height_m * 1e3, s.to_m * 1e3)).collect(),
        height_factor: HEIGHT_FACTOR,
        sheet,
    })
}

fn shape(advice: &ArchAdvice, file: &BarFile) -> BarShape {
    let underside = &advice.arch.underside;
    let stations = underside.x_m().iter().zip(underside.thickness_m());
    BarShape {
        name: file.note().map_or_else(|| "without a note".to_owned(), |note| note.to_string()),
        length_mm: underside.length_m() * 1e3,
        width_mm: advice.task.blank.width_m * 1e3,
        underside_mm: stations.map(|(x, t)| (x * 1e3, t * 1e3)).collect(),
    }
}

/// Values of a bar file were checked before they come here.
pub(super) const HINT: &str = "report this bar file: it should not happen";

/// A drawing as a picture that stands alone; `hint` says what to do about a value that cannot be drawn.
///
/// # Errors
/// [`Refused`] `not_drawable`.
pub(super) fn alone(drawing: Result<Drawing, PaperError>, hint: &str) -> Result<String, Refused> {
    let drawing = drawing.map_err(|error| Refused::new("not_drawable", error.to_string(), hint))?;
    Ok(svg::render(&drawing, &Options::picture()))
}
