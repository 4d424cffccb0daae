//! A ruled rectangle with figures at its edges.
use crate::lettering::{ASCENT, DESCENT, width_mm};
use crate::{Anchor, Drawing, Fill, Pen, Point, Rect};

/// A panel: a rectangle on the sheet and the values at its edges.
#[derive(Debug, Clone, Copy)]
pub(super) struct Panel {
    pub rect: Rect,
    /// Value at the left and right edge.
    pub x: (f64, f64),
    /// Value at the bottom and top edge.
    pub y: (f64, f64),
}

impl Panel {
    /// Place of a value, kept inside the panel.
    pub fn at(&self, x: f64, y: f64) -> Point {
        let share = |value: f64, (from, to): (f64, f64)| ((value - from) / (to - from)).clamp(0.0, 1.0);
        Point::new(
            self.rect.min.x + share(x, self.x) * self.rect.width(),
            self.rect.max.y - share(y, self.y) * self.rect.height(),
        )
    }

    pub fn frame(&self, drawing: &mut Drawing) {
        drawing.rectangle(Pen::Faint, self.rect, Fill::None);
    }

    /// An upright line from edge to edge.
    pub fn upright(&self, drawing: &mut Drawing, pen: Pen, x: f64) {
        drawing.line(pen, self.at(x, self.y.0), self.at(x, self.y.1));
    }

    /// Ticks under the panel with their figures, left out where they would touch; returns the bottom.
    pub fn ticks_below(&self, drawing: &mut Drawing, ticks: &[(f64, String)], right_mm: f64, size: f64) -> f64 {
        let base = self.rect.max.y + 1.6 + ASCENT * size;
        let mut free_from = f64::NEG_INFINITY;
        for (value, words) in ticks {
            let at = self.at(*value, self.y.0);
            drawing.line(Pen::Faint, at, Point::new(at.x, at.y + 1.0));
            let half = width_mm(words, size) / 2.0;
            // The first figure stands inside the edge: left of it are the figures of the other axis.
            let x = at.x.max(self.rect.min.x + half);
            if x - half > free_from && x + half <= right_mm {
                drawing.text(Pen::Faint, Point::new(x, base), Anchor::Middle, size, words.clone());
                free_from = x + half + size;
            }
        }
        base + DESCENT * size
    }

    /// Ticks at the left edge with their figures.
    pub fn ticks_left(&self, drawing: &mut Drawing, values: &[f64], size: f64) {
        for value in values {
            let at = self.at(self.x.0, *value);
            drawing.line(Pen::Faint, Point::new(at.x - 1.0, at.y), at);
            let words = if *value < 0.0 { format!("\u{2212}{}", -value) } else { format!("{value}") };
            // Capitals and figures are centred on the tick.
            let base = at.y + 0.36 * size;
            drawing.text(Pen::Faint, Point::new(at.x - 1.8, base), Anchor::End, size, words);
        }
    }
}

/// Room at the left of a panel for figures like "−100".
pub(super) fn left_mm(size: f64) -> f64 {
    width_mm("\u{2212}100", size) + 2.4
}

/// Round steps that cut `span` into at most `most` parts.
pub(super) fn round_step(span: f64, most: f64) -> f64 {
    let least = span / most.max(1.0);
    let decade = 10f64.powf(least.log10().floor());
    [1.0, 2.0, 5.0, 10.0].into_iter().map(|s| s * decade).find(|s| *s >= least * 0.999_999).unwrap_or(10.0 * decade)
}

/// Multiples of `step` from `low` to `high`.
pub(super) fn multiples(low: f64, high: f64, step: f64) -> Vec<f64> {
    let first = (low / step - 1e-9).ceil();
    let count = ((high / step + 1e-9).floor() - first + 1.0).clamp(0.0, 1000.0) as usize;
    // Adding nought turns −0 into 0.
    (0..count).map(|i| (first + i as f64) * step + 0.0).collect()
}

/// Seconds as short as the step allows.
pub(super) fn seconds(value: f64, step: f64) -> String {
    let digits = (-step.log10().floor()).clamp(0.0, 4.0) as usize;
    format!("{value:.digits$} s")
}
