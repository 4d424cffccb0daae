//! The waveform with the blows marked.
use super::panel::{Panel, left_mm, multiples, round_step, seconds};
use super::{TakeAxes, TakePicture};
use crate::lettering::width_mm;
use crate::sheets::{Sheet, furniture};
use crate::{Anchor, Drawing, Fill, Pen, Point, Rect};

const HEIGHT_MM: f64 = 30.0;

/// Draws it; returns the bottom.
pub(super) fn draw(drawing: &mut Drawing, view: &TakePicture, axes: &TakeAxes, sheet: Sheet, top: f64) -> f64 {
    let size = 0.85 * sheet.lettering_mm;
    let marks = furniture::row_mm(size);
    let rect = Rect::new(left_mm(size), top + marks, sheet.width_mm, top + marks + HEIGHT_MM);
    let panel = Panel { rect, x: (0.0, axes.length_s), y: (-1.0, 1.0) };
    panel.frame(drawing);
    draw_sound(drawing, view, &panel);
    panel.ticks_left(drawing, &[-1.0, 0.0, 1.0], size);
    let mut free_from = f64::NEG_INFINITY;
    for (index, at_s) in view.blows_s.iter().enumerate() {
        panel.upright(drawing, Pen::Node, *at_s);
        let words = if index == 0 { "blow 1".to_owned() } else { (index + 1).to_string() };
        let half = width_mm(&words, size) / 2.0;
        let x = panel.at(*at_s, 0.0).x.clamp(rect.min.x + half, sheet.width_mm - half);
        if x - half > free_from {
            let base = furniture::row_baseline(top, size);
            drawing.text(Pen::Node, Point::new(x, base), Anchor::Middle, size, words);
            free_from = x + half + 0.6 * size;
        }
    }
    let step = round_step(axes.length_s, rect.width() / (6.0 * size));
    let ticks: Vec<(f64, String)> =
        multiples(0.0, axes.length_s, step).into_iter().map(|s| (s, seconds(s, step))).collect();
    panel.ticks_below(drawing, &ticks, sheet.width_mm, size)
}

/// The outline as one filled shape: its upper edge there, its lower edge back.
fn draw_sound(drawing: &mut Drawing, view: &TakePicture, panel: &Panel) {
    let count = view.outline.len();
    let at = |index: usize, value: f64| panel.at((index as f64 + 0.5) / count as f64 * view.length_s, value);
    // Silence would have no area: a fine line's half width keeps it visible.
    let least = 0.003;
    let upper = view.outline.iter().enumerate().map(|(i, (_, high))| at(i, *high + least));
    let lower = view.outline.iter().enumerate().rev().map(|(i, (low, _))| at(i, *low - least));
    let shape: Vec<Point> = upper.chain(lower).collect();
    if shape.len() > 2 {
        drawing.polygon(Pen::Text, shape, Fill::Solid);
    }
}
