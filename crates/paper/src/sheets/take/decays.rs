//! One small panel a mode: its level over time, and the fall that was fitted.
use super::panel::{Panel, left_mm, multiples, round_step, seconds};
use super::{DecayCurve, TakeAxes, TakePicture};
use crate::sheets::Sheet;
use crate::sheets::furniture::{self, Entry, Sample};
use crate::{Anchor, Drawing, Pen, Point, Rect};

const HEIGHT_MM: f64 = 26.0;
/// Panels beside each other are at least this wide.
const LEAST_WIDTH_MM: f64 = 46.0;
const BETWEEN_MM: f64 = 4.0;
/// Levels are drawn down to this far below the start.
const DEEPEST_DB: f64 = -60.0;

/// Draws them in rows; returns the bottom.
pub(super) fn draw(drawing: &mut Drawing, view: &TakePicture, axes: &TakeAxes, sheet: Sheet, top: f64) -> f64 {
    let size = 0.85 * sheet.lettering_mm;
    let left = left_mm(size);
    let room = sheet.width_mm - left;
    let most = ((room + BETWEEN_MM) / (LEAST_WIDTH_MM + BETWEEN_MM)).floor().max(1.0) as usize;
    let columns = view.decays.len().min(most);
    let width = (room - BETWEEN_MM * (columns - 1) as f64) / columns as f64;
    let last_s = axes.decay_s;
    let mut y = top;
    for row in view.decays.chunks(columns) {
        let rect_top = y + furniture::row_mm(size);
        let mut bottom = rect_top + HEIGHT_MM;
        for (column, curve) in row.iter().enumerate() {
            let x = left + column as f64 * (width + BETWEEN_MM);
            let rect = Rect::new(x, rect_top, x + width, rect_top + HEIGHT_MM);
            let panel = Panel { rect, x: (0.0, last_s), y: (DEEPEST_DB, 3.0) };
            let base = furniture::row_baseline(y, size);
            drawing.text(Pen::Text, Point::new(x, base), Anchor::Start, size, curve.title.clone());
            draw_curve(drawing, curve, &panel);
            if column == 0 {
                panel.ticks_left(drawing, &[-60.0, -40.0, -20.0, 0.0], size);
            }
            let step = round_step(last_s, width / (5.5 * size));
            let ticks: Vec<(f64, String)> =
                multiples(0.0, last_s, step).into_iter().map(|s| (s, seconds(s, step))).collect();
            bottom = panel.ticks_below(drawing, &ticks[1.min(ticks.len())..], x + width, size);
        }
        y = bottom + 1.5;
    }
    let words = |pen: Pen, words: &str| Entry { pen, sample: Sample::Line, words: words.to_owned() };
    let entries = [words(Pen::Text, "level in dB from the mode's start"), words(Pen::Hidden, "fall that was fitted")];
    furniture::legend(drawing, (0.0, sheet.width_mm), y, size, &entries)
}

fn draw_curve(drawing: &mut Drawing, curve: &DecayCurve, panel: &Panel) {
    panel.frame(drawing);
    // The fitted line runs through the first level measured: the curve's own start is what both are told from.
    let Some((from_s, start_db)) = curve.measured.first().copied() else { return };
    let db_per_s = -20.0 / std::f64::consts::LN_10 / curve.decay_s;
    let end_s = (from_s + DEEPEST_DB / db_per_s).min(panel.x.1);
    drawing.line(Pen::Hidden, panel.at(from_s, 0.0), panel.at(end_s, (end_s - from_s) * db_per_s));
    let points = curve.measured.iter().map(|(s, db)| panel.at(*s, db - start_db)).collect();
    drawing.polyline(Pen::Text, points);
}
