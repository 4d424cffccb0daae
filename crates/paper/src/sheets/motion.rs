//! How a bar moves in each of its modes: the top line bent, greatly exaggerated, with its nodes.
use super::{Sheet, furniture};
use crate::error::within;
use crate::lettering::DESCENT;
use crate::{Anchor, Drawing, PaperError, Pen, Point};

/// One mode's motion along the bar.
#[derive(Debug, Clone, PartialEq)]
pub struct Motion {
    /// What stands over it: "mode 2 (first overtone, ×4), 1055 Hz".
    pub title: String,
    /// Places from the left end, mm, and motion there, −1…1.
    pub curve: Vec<(f64, f64)>,
    /// Where it stands still, mm from the left end.
    pub nodes_mm: Vec<f64>,
}

/// What the sheet shows.
#[derive(Debug, Clone, PartialEq)]
pub struct Motions {
    /// Name of the bar.
    pub name: String,
    /// Length of the bar in millimetres.
    pub length_mm: f64,
    /// The modes, top to bottom.
    pub motions: Vec<Motion>,
    /// The paper.
    pub sheet: Sheet,
}

/// Largest motion as a share of the width of the sheet: enough to see, and plainly not true to scale.
const SWING_SHARE: f64 = 0.05;

/// Each mode's motion over the bar at rest.
///
/// # Errors
/// [`PaperError`] naming a value that is not finite or out of range.
pub fn motions(view: &Motions) -> Result<Drawing, PaperError> {
    let sheet = view.sheet.checked()?;
    within("the length of the bar in mm", view.length_mm, 10.0, 5000.0)?;
    for motion in &view.motions {
        for (x_mm, height) in &motion.curve {
            within("a place along the bar in mm", *x_mm, 0.0, view.length_mm)?;
            within("the motion there", *height, -1.0, 1.0)?;
        }
        for node_mm in &motion.nodes_mm {
            within("the place of a node in mm", *node_mm, 0.0, view.length_mm)?;
        }
    }
    let size = sheet.lettering_mm;
    let scale = sheet.width_mm / view.length_mm;
    let swing_mm = SWING_SHARE * sheet.width_mm;
    let mut drawing = Drawing::new(format!("Modes of bar {}", view.name), description(view));
    let mut y = 0.0;
    for motion in &view.motions {
        let base = furniture::row_baseline(y, size);
        drawing.text(Pen::Text, Point::new(0.0, base), Anchor::Start, size, motion.title.clone());
        let rest = base + DESCENT * size + 1.0 + swing_mm;
        drawing.line(Pen::Faint, Point::new(0.0, rest), Point::new(sheet.width_mm, rest));
        let point = |(x_mm, height): &(f64, f64)| Point::new(x_mm * scale, rest - height * swing_mm);
        drawing.polyline(Pen::Outline, motion.curve.iter().map(point).collect());
        for node_mm in &motion.nodes_mm {
            let x = node_mm * scale;
            drawing.line(Pen::Node, Point::new(x, rest - swing_mm), Point::new(x, rest + swing_mm));
        }
        y = rest + swing_mm + 2.0;
    }
    let base = furniture::row_baseline(y, size);
    drawing.text(Pen::Faint, Point::new(0.0, base), Anchor::Start, size, "motion greatly exaggerated");
    drawing.checked()
}

fn description(view: &Motions) -> String {
    let part = |motion: &Motion| {
        let nodes: Vec<String> = motion.nodes_mm.iter().map(|n| format!("{n:.0}")).collect();
        format!("{}: still at {} mm from the left end", motion.title, nodes.join(", "))
    };
    view.motions.iter().map(part).collect::<Vec<_>>().join(". ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn view(sheet: Sheet) -> Motions {
        let curve = |k: f64| (0..=40).map(|i| (f64::from(i) * 10.0, (k * f64::from(i) / 40.0).cos())).collect();
        let motion = |n: usize| Motion {
            title: format!("mode {n}, {} Hz", 262 * n),
            curve: curve(3.1 * n as f64),
            nodes_mm: vec![80.0, 320.0],
        };
        Motions { name: "C4".into(), length_mm: 400.0, motions: (1..=3).map(motion).collect(), sheet }
    }

    #[test]
    fn letters_stay_clear_of_lines_on_both_sheets() {
        for sheet in [Sheet::NARROW, Sheet::WIDE] {
            let drawing = motions(&view(sheet)).unwrap();
            assert!(drawing.collisions(0.3).is_empty(), "{:?}", drawing.collisions(0.3));
        }
    }

    #[test]
    fn a_motion_off_the_bar_is_refused() {
        let mut off = view(Sheet::WIDE);
        off.motions[1].nodes_mm.push(401.0);
        assert!(motions(&off).is_err());
    }
}
