//! The bars themselves along the compass: their lengths with the node lines, and the wood left.
use super::{Columns, Compass, small, title};
use crate::{Anchor, Drawing, Fill, Pen, Point, Rect};

const LENGTHS_MM: f64 = 44.0;
const THICKNESS_MM: f64 = 18.0;

/// The bars upright, middles on one line, in one scale; their node lines across; returns the bottom.
pub(super) fn lengths(drawing: &mut Drawing, view: &Compass, columns: &Columns, top: f64) -> f64 {
    let words = if view.bars.iter().all(|bar| bar.nodes_mm.is_empty()) {
        "lengths (no node line known yet), mm from the middle"
    } else {
        "lengths and node lines, mm from the middle"
    };
    let top = title(drawing, view, top, words.to_owned());
    let longest = view.bars.iter().map(|bar| bar.length_mm).fold(1.0, f64::max);
    let scale = LENGTHS_MM / longest;
    let middle = top + LENGTHS_MM / 2.0;
    let half_tick = 0.36 * small(view.sheet);
    let step = step(longest / 2.0, (LENGTHS_MM / 2.0) / (1.7 * small(view.sheet)));
    for side in [-1.0, 1.0] {
        let mut mm = if side > 0.0 { 0.0 } else { step };
        while mm * scale + half_tick <= LENGTHS_MM / 2.0 + 0.5 {
            tick(drawing, view, columns, middle + side * mm * scale, &crate::number::number(mm));
            mm += step;
        }
    }
    let half = columns.half_mm();
    for (index, bar) in view.bars.iter().enumerate() {
        let (x, reach) = (columns.x(index), bar.length_mm * scale / 2.0);
        drawing.rectangle(
            columns.outline_pen(),
            Rect::new(x - half, middle - reach, x + half, middle + reach),
            Fill::Sheet,
        );
        for node_mm in &bar.nodes_mm {
            // The left end stands at the top: the quarter turn of an upright bar.
            let y = middle - reach + node_mm * scale;
            let over = (0.5 * columns.pitch_mm).min(half + 0.8);
            drawing.line(Pen::Node, Point::new(x - over, y), Point::new(x + over, y));
        }
    }
    top + LENGTHS_MM
}

/// The wood left at the thinnest place under the top face, with a tick at the full thickness; returns the bottom.
pub(super) fn thickness(drawing: &mut Drawing, view: &Compass, columns: &Columns, top: f64) -> f64 {
    let words = "wood left at the thinnest place (box) and at the thickest (tick), mm from the top face";
    let short = "thinnest (box) and thickest (tick), mm";
    let fits = crate::lettering::width_mm(words, small(view.sheet)) <= view.sheet.width_mm;
    let top = title(drawing, view, top, if fits { words } else { short }.to_owned());
    // The figure of the top face needs half its height above the line.
    let top = top + 0.36 * small(view.sheet);
    let thickest = view.bars.iter().map(|bar| bar.thickness_mm.0).fold(1.0, f64::max);
    let scale = THICKNESS_MM / thickest;
    let step = step(thickest, THICKNESS_MM / (1.7 * small(view.sheet)));
    let mut mm = 0.0;
    while mm * scale <= THICKNESS_MM {
        tick(drawing, view, columns, top + mm * scale, &crate::number::number(mm));
        mm += step;
    }
    drawing.line(Pen::Faint, Point::new(columns.left_mm, top), Point::new(columns.right_mm, top));
    let half = columns.half_mm();
    for (index, bar) in view.bars.iter().enumerate() {
        let (x, (thick, thin)) = (columns.x(index), bar.thickness_mm);
        drawing.rectangle(columns.outline_pen(), Rect::new(x - half, top, x + half, top + thin * scale), Fill::Sheet);
        let y = top + thick * scale;
        drawing.line(Pen::Text, Point::new(x - half, y), Point::new(x + half, y));
    }
    top + THICKNESS_MM + 1.0
}

fn tick(drawing: &mut Drawing, view: &Compass, columns: &Columns, y: f64, words: &str) {
    let size = small(view.sheet);
    drawing.line(Pen::Faint, Point::new(columns.left_mm - 1.0, y), Point::new(columns.left_mm, y));
    drawing.text(Pen::Faint, Point::new(columns.left_mm - 1.8, y + 0.36 * size), Anchor::End, size, words);
}

/// A round step with which `range_mm` has at most `most` ticks.
fn step(range_mm: f64, most: f64) -> f64 {
    let steps = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0];
    steps.into_iter().find(|step| range_mm / step <= most.max(1.0)).unwrap_or(2000.0)
}
