//! The spectrum with its modes, strangers and noise floor.
use super::panel::{Panel, left_mm, multiples};
use super::{TakeAxes, TakePicture, ToneMark};
use crate::lettering::{DESCENT, width_mm};
use crate::sheets::Sheet;
use crate::sheets::furniture::{self, Entry, Sample};
use crate::{Anchor, Drawing, Pen, Point, Rect};

const HEIGHT_MM: f64 = 62.0;
/// From the signs down to the panel: room for leaders that lean.
const LEADER_MM: f64 = 3.0;

/// Draws it with the list of tones under it; returns the bottom.
pub(super) fn draw(drawing: &mut Drawing, view: &TakePicture, axes: &TakeAxes, sheet: Sheet, top: f64) -> f64 {
    let size = 0.85 * sheet.lettering_mm;
    let panel_top = top + furniture::row_mm(size) + LEADER_MM;
    let rect = Rect::new(left_mm(size), panel_top, sheet.width_mm, panel_top + HEIGHT_MM);
    let (low_hz, high_hz) = axes.hz;
    // Up to a little above the loudest.
    let panel = Panel { rect, x: (low_hz.log10(), high_hz.log10()), y: (axes.bottom_db, 5.0) };
    panel.frame(drawing);
    let line = |points: &[(f64, f64)]| points.iter().map(|(hz, db)| panel.at(hz.log10(), *db)).collect();
    draw_marks(drawing, view, &panel, sheet, top);
    drawing.polyline(Pen::Hidden, line(&view.floor));
    drawing.polyline(Pen::Text, line(&view.spectrum));
    let step = if panel.y.0 < -90.0 { 40.0 } else { 20.0 };
    panel.ticks_left(drawing, &multiples(panel.y.0, 0.0, step), size);
    let bottom = panel.ticks_below(drawing, &frequency_ticks(low_hz, high_hz), sheet.width_mm, size);
    furniture::legend(drawing, (0.0, sheet.width_mm), bottom + 1.0, size, &entries(view))
}

/// 1, 2 and 5 of each decade.
fn frequency_ticks(low_hz: f64, high_hz: f64) -> Vec<(f64, String)> {
    let words = |hz: f64| if hz < 1000.0 { format!("{hz} Hz") } else { format!("{} kHz", hz / 1000.0) };
    let all = (0..6).flat_map(|decade| [1.0, 2.0, 5.0].map(|s| s * 10f64.powi(decade)));
    all.filter(|hz| (low_hz..=high_hz).contains(hz)).map(|hz| (hz.log10(), words(hz))).collect()
}

/// Upright lines at the tones, and their signs in one row above, pushed apart where they would touch.
fn draw_marks(drawing: &mut Drawing, view: &TakePicture, panel: &Panel, sheet: Sheet, top: f64) {
    let size = 0.85 * sheet.lettering_mm;
    let mut shown: Vec<&ToneMark> =
        view.tones.iter().filter(|t| (panel.x.0..=panel.x.1).contains(&t.hz.log10())).collect();
    shown.sort_by(|a, b| a.hz.total_cmp(&b.hz));
    let widths: Vec<f64> = shown.iter().map(|tone| width_mm(&tone.sign, size)).collect();
    let wanted: Vec<f64> = shown.iter().map(|tone| panel.at(tone.hz.log10(), 0.0).x).collect();
    let base = furniture::row_baseline(top, size);
    for ((tone, x), sign_x) in shown.iter().zip(&wanted).zip(spread(&wanted, &widths, size, sheet.width_mm)) {
        let pen = if tone.named { Pen::Node } else { Pen::Caution };
        drawing.line(pen, Point::new(*x, panel.rect.min.y), Point::new(*x, panel.rect.max.y));
        drawing.line(Pen::Faint, Point::new(sign_x, base + DESCENT * size + 0.4), Point::new(*x, panel.rect.min.y));
        drawing.text(pen, Point::new(sign_x, base), Anchor::Middle, size, tone.sign.clone());
    }
}

/// Middles of signs near the wanted ones, in order, with air between them and inside the sheet: pushed to the right
/// from the left, then back from the right edge.
fn spread(wanted: &[f64], widths: &[f64], size: f64, right_mm: f64) -> Vec<f64> {
    let air = 0.5 * size;
    let mut x = wanted.to_vec();
    for i in 1..x.len() {
        x[i] = x[i].max(x[i - 1] + (widths[i - 1] + widths[i]) / 2.0 + air);
    }
    for i in (0..x.len()).rev() {
        let limit = if i + 1 < x.len() {
            x[i + 1] - (widths[i] + widths[i + 1]) / 2.0 - air
        } else {
            right_mm - widths[i] / 2.0
        };
        x[i] = x[i].min(limit);
    }
    x
}

/// The list of tones: sign, then words; and what the lines mean.
fn entries(view: &TakePicture) -> Vec<Entry> {
    let line = |pen: Pen, words: &str| Entry { pen, sample: Sample::Line, words: words.to_owned() };
    let mut all: Vec<Entry> = view
        .tones
        .iter()
        .map(|tone| {
            let pen = if tone.named { Pen::Node } else { Pen::Caution };
            line(pen, &format!("{}: {}", tone.sign, tone.words))
        })
        .collect();
    all.push(line(Pen::Text, "level in dB below the loudest"));
    all.push(line(Pen::Hidden, "noise floor"));
    all
}
