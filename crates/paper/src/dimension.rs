//! Dimension lines: arrows, extension lines and figures.
use crate::lanes::{self, Span};
use crate::lettering::width_mm;
use crate::sheets::furniture;
use crate::{Anchor, Drawing, Fill, Pen, Point};

/// Length and half width of an arrowhead, in millimetres.
const ARROW: (f64, f64) = (2.2, 0.45);
/// How far an extension line runs past its dimension line.
const OVERSHOOT_MM: f64 = 0.6;
/// Gap between lettering and any line, in millimetres.
pub const CLEARANCE_MM: f64 = 0.5;

/// A distance to be shown between two places on a view.
#[derive(Debug, Clone, PartialEq)]
pub struct Dimension {
    /// One end on the sheet.
    pub from_x: f64,
    /// Other end.
    pub to_x: f64,
    /// Where each end's extension line leaves the view; `None` where another line already marks it.
    pub from_y: Option<f64>,
    /// As `from_y`, for the other end.
    pub to_y: Option<f64>,
    /// The figures.
    pub words: String,
}

/// A strip under or over a view that takes dimension lines.
#[derive(Debug, Clone, PartialEq)]
pub struct Strip {
    /// Top of the strip.
    pub top_y: f64,
    /// Whether the strip lies over its view; lane 0 is the one nearest the view.
    pub over_view: bool,
    /// Left and right limit of the lettering.
    pub limits: (f64, f64),
    /// Upright lines that cross the strip.
    pub uprights: Vec<f64>,
    /// Size of the lettering.
    pub size_mm: f64,
}

/// Where the dimensions of a strip came to lie.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// Lower edge of the strip.
    pub bottom_y: f64,
    /// Height of each dimension's line, in the order given.
    pub line_y: Vec<f64>,
}

/// Draws the dimensions under each other without collisions; `None`, with nothing drawn, where they do not fit.
pub fn draw(drawing: &mut Drawing, strip: &Strip, pen: Pen, dimensions: &[Dimension]) -> Option<Placed> {
    let spans: Vec<Span> = dimensions.iter().map(|d| span(d, strip.size_mm)).collect();
    let places = lanes::place(&spans, &strip.uprights, strip.limits, CLEARANCE_MM)?;
    let pitch = lanes::pitch_mm(strip.size_mm);
    let outermost = places.iter().map(|p| p.lane).max().unwrap_or(0);
    let mut placed = Placed { bottom_y: strip.top_y, line_y: Vec::new() };
    for ((dimension, span), place) in dimensions.iter().zip(&spans).zip(&places) {
        #[allow(clippy::cast_precision_loss)] // a few lanes
        let line_y =
            strip.top_y + (if strip.over_view { outermost - place.lane } else { place.lane } + 1) as f64 * pitch;
        placed.bottom_y = placed.bottom_y.max(line_y + OVERSHOOT_MM);
        placed.line_y.push(line_y);
        draw_line(drawing, span, *place, line_y);
        for (x, y) in [(dimension.from_x, dimension.from_y), (dimension.to_x, dimension.to_y)] {
            if let Some(y) = y {
                drawing.line(Pen::Faint, Point::new(x, y), Point::new(x, line_y + OVERSHOOT_MM));
            }
        }
        let at = Point::new(place.words_x, lanes::baseline(line_y, strip.size_mm));
        drawing.text(pen, at, Anchor::Middle, strip.size_mm, dimension.words.clone());
    }
    Some(placed)
}

/// The span of a dimension with its words.
fn span(dimension: &Dimension, size_mm: f64) -> Span {
    Span {
        from_x: dimension.from_x.min(dimension.to_x),
        to_x: dimension.from_x.max(dimension.to_x),
        words_mm: width_mm(&dimension.words, size_mm),
        tail_mm: tail_mm(dimension),
    }
}

/// Room for arrowheads that stand outside a span too short to hold them.
fn tail_mm(dimension: &Dimension) -> f64 {
    if (dimension.to_x - dimension.from_x).abs() > 2.5 * ARROW.0 { 0.0 } else { 1.5 * ARROW.0 }
}

/// Rows of words in place of dimension lines, for sheets too crowded for them; returns the bottom.
pub fn rows(drawing: &mut Drawing, strip: &Strip, pen: Pen, words: &[String]) -> f64 {
    let mut y = strip.top_y + 1.0;
    for line in words {
        let at = Point::new(strip.limits.0, furniture::row_baseline(y, strip.size_mm));
        drawing.text(pen, at, Anchor::Start, strip.size_mm, line.clone());
        y += furniture::row_mm(strip.size_mm);
    }
    y
}

/// The extension line from a view below its strip up past the dimension line.
pub fn extension_up(drawing: &mut Drawing, x: f64, view_y: f64, line_y: f64) {
    drawing.line(Pen::Faint, Point::new(x, line_y - OVERSHOOT_MM), Point::new(x, view_y));
}

/// The line with its two arrowheads, inside where there is room and outside where not.
fn draw_line(drawing: &mut Drawing, span: &Span, place: lanes::Place, line_y: f64) {
    let (left, right) = lanes::reach(span, place);
    drawing.line(Pen::Faint, Point::new(left, line_y), Point::new(right, line_y));
    let inward = if span.tail_mm > 0.0 { -1.0 } else { 1.0 };
    arrow(drawing, Point::new(span.from_x, line_y), inward);
    arrow(drawing, Point::new(span.to_x, line_y), -inward);
}

/// An arrowhead with its tip at `tip`, its body on the side of `towards` (+1 right, −1 left).
fn arrow(drawing: &mut Drawing, tip: Point, towards: f64) {
    let back = tip.x + towards * ARROW.0;
    let corners = vec![tip, Point::new(back, tip.y - ARROW.1), Point::new(back, tip.y + ARROW.1)];
    drawing.polygon(Pen::Faint, corners, Fill::Solid);
}
