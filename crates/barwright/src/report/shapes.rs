//! How the bar moves in each bending mode: a table for other programs and a picture.
use super::{pictures, units};
use crate::convert::{rounded, targets};
use crate::error::Refused;
use bar_physics::{Bar, Mode, Modes};
use paper::sheets::{Motion, Motions, Sheet, motions};
use records::BarFile;

/// Motion of the top face along the bar as CSV: place, then each bending mode at near edge, middle and far edge.
///
/// Motions are relative to the largest on the middle line of that mode.
pub fn to_csv(bar: &Bar, modes: &Modes) -> String {
    let mut out = "x_mm".to_owned();
    for mode in &modes.bending {
        for edge in ["near", "centre", "far"] {
            out.push_str(&format!(",bending_{}_{edge}", mode.number));
        }
    }
    out.push('\n');
    for x_m in &modes.grid_m {
        out.push_str(&rounded(x_m * 1e3, 3).to_string());
        for mode in &modes.bending {
            let unit = largest(mode);
            for across in [-0.5, 0.0, 0.5] {
                let height = mode.shape.at(*x_m, across * bar.width_m, 0.0)[2] / unit;
                out.push_str(&format!(",{}", rounded(height, 5)));
            }
        }
        out.push('\n');
    }
    out
}

/// The bending modes as a picture that stands alone.
///
/// # Errors
/// [`Refused`] if a value cannot be drawn.
pub fn to_svg(modes: &Modes, file: &BarFile) -> Result<String, Refused> {
    let view = motions(&Motions {
        name: file.note().map_or_else(|| "without a note".to_owned(), |note| note.to_string()),
        length_mm: modes.grid_m.last().copied().unwrap_or(0.0) * 1e3,
        motions: modes.bending.iter().map(|mode| motion(mode, &modes.grid_m, title(mode, file))).collect(),
        sheet: Sheet::WIDE,
    });
    pictures::alone(view, pictures::HINT)
}

/// One mode's motion along the middle of the top face.
pub fn motion(mode: &Mode, grid_m: &[f64], title: String) -> Motion {
    let unit = largest(mode);
    let length_mm = grid_m.last().copied().unwrap_or(0.0) * 1e3;
    Motion {
        title,
        curve: grid_m.iter().zip(&mode.top_centre_shape).map(|(x, h)| (x * 1e3, h / unit)).collect(),
        nodes_mm: mode.node_lines.iter().map(|n| (n.centre_m * 1e3).clamp(0.0, length_mm)).collect(),
    }
}

/// "mode 2 (×4), 1055.1 Hz".
pub fn title(mode: &Mode, file: &BarFile) -> String {
    let ratio = targets(file).and_then(|(_, t)| t.ratios.get(mode.number - 1).copied());
    let ratio = ratio.map_or_else(String::new, |r| format!(" ({})", units::ratio(r)));
    format!("mode {}{ratio}, {} Hz", mode.number, units::hz(mode.hz))
}

fn largest(mode: &Mode) -> f64 {
    // The sign that lifts the left end.
    let largest = mode.top_centre_shape.iter().fold(0.0_f64, |m, v| m.max(v.abs())).max(f64::MIN_POSITIVE);
    if mode.top_centre_shape.first().is_some_and(|v| *v < 0.0) { -largest } else { largest }
}
