//! What every sheet carries: the scale bar in both units and the legend of its pens.
use super::Sheet;
use crate::dimension::CLEARANCE_MM;
use crate::lettering::{ASCENT, DESCENT, width_mm};
use crate::{Anchor, Drawing, Fill, Pen, Point, Rect};
use words::tell;

/// One entry of a legend: a sample of the pen and what it means here.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// The pen.
    pub pen: Pen,
    /// What stands before the words.
    pub sample: Sample,
    /// What it means.
    pub words: String,
}

/// What a legend shows of a pen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sample {
    /// A stretch of its line.
    Line,
    /// A hatched patch.
    Patch,
    /// Nothing: the words belong to the entry before.
    None,
}

/// Length of a sample line: one whole dash-dot and a half.
const SAMPLE_MM: f64 = 9.0;

/// Space between entries of a legend.
const ENTRY_GAP_MM: f64 = 6.0;

/// Left end, top face and the height factor above a side view.
pub fn header_row(drawing: &mut Drawing, sheet: Sheet, height_factor: f64, baseline: f64) {
    let (width, size) = (sheet.width_mm, sheet.lettering_mm);
    let heights = if height_factor > 1.0 {
        tell!("heights-times", factor = words::number(crate::number::number(height_factor)))
    } else {
        tell!("true-heights")
    };
    drawing.text(Pen::Faint, Point::new(0.0, baseline), Anchor::Start, size, tell!("left-end"));
    drawing.text(Pen::Faint, Point::new(width / 2.0, baseline), Anchor::Middle, size, tell!("top-face"));
    drawing.text(Pen::Faint, Point::new(width, baseline), Anchor::End, size, heights);
}

/// Height of a row of lettering with its spacing.
pub fn row_mm(size_mm: f64) -> f64 {
    (ASCENT + DESCENT) * size_mm + 1.4
}

/// Baseline of a row that begins at `top_y`.
pub fn row_baseline(top_y: f64, size_mm: f64) -> f64 {
    top_y + ASCENT * size_mm + 0.7
}

/// Draws the entries left to right from `left`, in rows no wider than `right`; returns the bottom.
pub fn legend(drawing: &mut Drawing, (left, right): (f64, f64), top_y: f64, size_mm: f64, entries: &[Entry]) -> f64 {
    let (mut x, mut y) = (left, top_y);
    for entry in entries {
        let words = width_mm(&entry.words, size_mm);
        let lead = if entry.sample == Sample::None { 0.0 } else { SAMPLE_MM + 2.0 };
        let width = lead + words;
        if entry.sample == Sample::None && x > left {
            // Back to a word's space after the entry it belongs to.
            x -= ENTRY_GAP_MM - 0.3 * size_mm;
        }
        if x > left && x + width > right {
            x = left;
            y += row_mm(size_mm);
        }
        let base = row_baseline(y, size_mm);
        draw_sample(drawing, entry, x, base - 0.36 * size_mm, size_mm);
        drawing.text(Pen::Text, Point::new(x + lead, base), Anchor::Start, size_mm, entry.words.clone());
        x += width + ENTRY_GAP_MM;
    }
    if entries.is_empty() { y } else { y + row_mm(size_mm) }
}

/// A sample of a pen around the height `y`.
fn draw_sample(drawing: &mut Drawing, entry: &Entry, x: f64, y: f64, size_mm: f64) {
    match entry.sample {
        Sample::None => {}
        Sample::Line => drawing.line(entry.pen, Point::new(x, y), Point::new(x + SAMPLE_MM, y)),
        Sample::Patch => {
            let patch = Rect::new(x, y - 0.36 * size_mm, x + SAMPLE_MM, y + 0.36 * size_mm);
            drawing.rectangle(entry.pen, patch, Fill::None);
            let (a, b) = (patch.min, patch.max);
            drawing.hatch(entry.pen, &[a, Point::new(b.x, a.y), b, Point::new(a.x, b.y)], HATCH_SPACING_MM);
        }
    }
}

/// Distance between hatch lines.
pub const HATCH_SPACING_MM: f64 = 0.9;

/// Draws a rule in millimetres and one in inches, `scale` sheet millimetres to the millimetre, at most
/// `room_mm` wide with their words; returns (right edge, bottom).
pub fn scale_bar(drawing: &mut Drawing, left: f64, top_y: f64, room_mm: f64, scale: f64, size_mm: f64) -> (f64, f64) {
    let words_room = width_mm("100 mm", size_mm) + 2.0;
    let longest = |lengths: &[f64], unit: f64| {
        let fits = lengths.iter().copied().filter(|l| l * unit * scale <= (room_mm - words_room).max(0.0));
        fits.fold(lengths[0], f64::max)
    };
    let millimetres = longest(&[10.0, 20.0, 50.0, 100.0], 1.0);
    let inch_count = longest(&[0.5, 1.0, 2.0, 4.0], 25.4);
    let inch_words = if inch_count < 1.0 { "1/2 in".to_owned() } else { format!("{inch_count} in") };
    let mut right = left;
    let mut y = top_y;
    for (length_mm, parts, words) in [(millimetres, 5, format!("{millimetres} mm")), (inch_count * 25.4, 4, inch_words)]
    {
        let base = row_baseline(y, size_mm);
        let end = left + length_mm * scale;
        rule(drawing, left, end, base, parts);
        drawing.text(Pen::Faint, Point::new(end + 2.0, base), Anchor::Start, size_mm, words.clone());
        right = right.max(end + 2.0 + width_mm(&words, size_mm));
        y += row_mm(size_mm);
    }
    (right + CLEARANCE_MM, y)
}

/// A line with `parts` equal parts ticked upwards.
fn rule(drawing: &mut Drawing, from: f64, to: f64, y: f64, parts: u32) {
    drawing.line(Pen::Faint, Point::new(from, y), Point::new(to, y));
    for part in 0..=parts {
        let x = from + (to - from) * f64::from(part) / f64::from(parts);
        let height = if part == 0 || part == parts { 2.2 } else { 1.2 };
        drawing.line(Pen::Faint, Point::new(x, y), Point::new(x, y - height));
    }
}
