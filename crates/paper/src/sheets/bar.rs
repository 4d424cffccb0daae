//! Side view of a bar: what is there, what comes off next, and where the nodes lie.
use super::bar_words as words;
use super::furniture::{self, HATCH_SPACING_MM};
use super::{BarShape, Sheet};
use crate::dimension::{self, Dimension, Strip};
use crate::error::within;
use crate::lettering::DESCENT;
use crate::measure::both;
use crate::{Drawing, Fill, PaperError, Pen, Point};

/// Which half a band lies on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HalfMark {
    /// Both halves alike.
    Both,
    /// Left of the centre.
    Left,
    /// Right of the centre.
    Right,
}

/// Wood to take off the underside, at distances from the centre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BandMark {
    /// Nearer edge, mm from the centre.
    pub from_mm: f64,
    /// Farther edge, mm from the centre; drawn no farther than the end of the bar.
    pub to_mm: f64,
    /// Depth, mm.
    pub depth_mm: f64,
    /// Half.
    pub half: HalfMark,
}

/// What the side view shows.
#[derive(Debug, Clone, PartialEq)]
pub struct SideView {
    /// The bar.
    pub shape: BarShape,
    /// What comes off next, in the order to remove it.
    pub bands: Vec<BandMark>,
    /// Node places in the middle of the width, mm from the left end.
    pub nodes_mm: Vec<f64>,
    /// Thinnest wood allowed.
    pub least_mm: Option<f64>,
    /// Heights are drawn this many times too large (1…20); the sheet says so.
    pub height_factor: f64,
    /// The paper.
    pub sheet: Sheet,
}

/// A band is drawn at least this deep, else it could not be seen; the legend says so.
const SHALLOWEST_HATCH_MM: f64 = 2.4;

/// How far centre and node lines run past the wood.
const PAST_WOOD_MM: f64 = 1.6;

/// Where the view lies on the sheet.
struct Frame {
    left: f64,
    top: f64,
    /// Sheet millimetres per millimetre along the bar.
    scale: f64,
    /// Sheet millimetres per millimetre of height.
    rise: f64,
}

impl Frame {
    fn at(&self, x_mm: f64, depth_mm: f64) -> Point {
        Point::new(self.left + x_mm * self.scale, self.top + depth_mm * self.rise)
    }
}

/// The bar from the side, top face up, left end at the left, with the next cut hatched and measured from the centre.
///
/// Lengths are to scale; heights are `height_factor` times too large and the sheet says so.
///
/// # Errors
/// [`PaperError`] naming a value that is not finite or out of range.
pub fn side_view(view: &SideView) -> Result<Drawing, PaperError> {
    check(view)?;
    let (shape, sheet) = (&view.shape, view.sheet);
    let size = sheet.lettering_mm;
    let scale = sheet.width_mm / shape.length_mm;
    let header = furniture::row_mm(size) + PAST_WOOD_MM;
    let frame = Frame { left: 0.0, top: header, scale, rise: scale * view.height_factor };
    let mut drawing = Drawing::new(format!("Bar {} from the side", shape.name), words::description(view));
    furniture::header_row(&mut drawing, view.sheet, view.height_factor, header - PAST_WOOD_MM - 0.7 - DESCENT * size);
    body(&mut drawing, view, &frame);
    let enlarged = bands(&mut drawing, view, &frame);
    let wood_bottom = frame.at(0.0, shape.thickest_mm()).y + PAST_WOOD_MM;
    node_lines(&mut drawing, view, &frame, wood_bottom);
    let (line_end, bottom) = dimensions(&mut drawing, view, &frame, wood_bottom);
    let centre = frame.at(shape.length_mm / 2.0, 0.0).x;
    drawing.line(Pen::Centre, Point::new(centre, header - PAST_WOOD_MM), Point::new(centre, line_end));
    // On a wide sheet the legend stands beside the scale bar, on a narrow one below it.
    let beside = sheet.width_mm > 180.0;
    let room = if beside { 0.35 * sheet.width_mm } else { sheet.width_mm };
    let (right, scale_bottom) = furniture::scale_bar(&mut drawing, 0.0, bottom + 1.5, room, scale, size * 0.9);
    let (legend_left, legend_top) = if beside { (right + 8.0, bottom + 1.5) } else { (0.0, scale_bottom + 1.0) };
    furniture::legend(
        &mut drawing,
        (legend_left, sheet.width_mm),
        legend_top,
        size * 0.9,
        &words::entries(view, enlarged),
    );
    drawing.checked()
}

/// Refuses what cannot be drawn.
fn check(view: &SideView) -> Result<(), PaperError> {
    view.shape.checked()?;
    view.sheet.checked()?;
    within("the height factor", view.height_factor, 1.0, 20.0)?;
    for band in &view.bands {
        within("the nearer edge of a band in mm", band.from_mm, 0.0, view.shape.length_mm)?;
        within("the farther edge of a band in mm", band.to_mm, band.from_mm, view.shape.length_mm)?;
        within("the depth of a band in mm", band.depth_mm, 0.0, 300.0)?;
    }
    for node in &view.nodes_mm {
        within("the place of a node in mm", *node, 0.0, view.shape.length_mm)?;
    }
    if let Some(least) = view.least_mm {
        within("the least thickness in mm", least, 0.0, 300.0)?;
    }
    Ok(())
}

/// The wood and the line it must not be thinned beyond.
fn body(drawing: &mut Drawing, view: &SideView, frame: &Frame) {
    let shape = &view.shape;
    let mut points = vec![frame.at(0.0, 0.0), frame.at(shape.length_mm, 0.0)];
    points.extend(shape.stations_between(0.0, shape.length_mm).iter().rev().map(|(x, t)| frame.at(*x, *t)));
    drawing.polygon(Pen::Outline, points, Fill::Sheet);
    if let Some(least) = view.least_mm {
        drawing.line(Pen::Caution, frame.at(0.0, least), frame.at(shape.length_mm, least));
    }
}

/// The bands in red pencil; returns whether any is drawn deeper than it is.
fn bands(drawing: &mut Drawing, view: &SideView, frame: &Frame) -> bool {
    let half_length = view.shape.length_mm / 2.0;
    let mut enlarged = false;
    for band in &view.bands {
        let (from, to) = (band.from_mm.min(half_length), band.to_mm.min(half_length));
        let spans = [
            (HalfMark::Left, half_length - to, half_length - from),
            (HalfMark::Right, half_length + from, half_length + to),
        ];
        for (half, x0, x1) in spans {
            if band.half == half || band.half == HalfMark::Both {
                enlarged |= one_band(drawing, view, frame, (x0, x1), band.depth_mm);
            }
        }
    }
    enlarged
}

/// One hatched patch between two places; returns whether it is drawn deeper than it is.
fn one_band(drawing: &mut Drawing, view: &SideView, frame: &Frame, (from, to): (f64, f64), depth_mm: f64) -> bool {
    let least = SHALLOWEST_HATCH_MM / frame.rise;
    let drawn = depth_mm.max(least);
    let under = view.shape.stations_between(from, to);
    let mut points: Vec<Point> = under.iter().map(|(x, t)| frame.at(*x, *t)).collect();
    points.extend(under.iter().rev().map(|(x, t)| frame.at(*x, (t - drawn).max(0.0))));
    drawing.hatch(Pen::Cut, &points, HATCH_SPACING_MM);
    drawing.polygon(Pen::Cut, points, Fill::None);
    drawn > depth_mm
}

/// Node lines through the wood.
fn node_lines(drawing: &mut Drawing, view: &SideView, frame: &Frame, bottom: f64) {
    for node in &view.nodes_mm {
        let x = frame.at(*node, 0.0).x;
        drawing.line(Pen::Node, Point::new(x, frame.top - PAST_WOOD_MM), Point::new(x, bottom));
    }
}

/// Distances of the bands' edges from the centre; returns where the centre line may end, and the bottom.
fn dimensions(drawing: &mut Drawing, view: &SideView, frame: &Frame, top_y: f64) -> (f64, f64) {
    let centre = frame.at(view.shape.length_mm / 2.0, 0.0).x;
    let wanted = wanted_dimensions(view, frame, centre);
    if wanted.is_empty() {
        return (top_y, top_y);
    }
    let strip = Strip {
        top_y,
        over_view: false,
        limits: (0.0, view.sheet.width_mm),
        uprights: vec![centre],
        size_mm: view.sheet.lettering_mm,
    };
    match dimension::draw(drawing, &strip, Pen::Text, &wanted) {
        Some(placed) => (placed.bottom_y, placed.bottom_y),
        None => (top_y, dimension::rows(drawing, &strip, Pen::Text, &words::band_rows(view))),
    }
}

/// Every edge of a band once; edges of bands on both sides are measured on the right half.
fn wanted_dimensions(view: &SideView, frame: &Frame, centre: f64) -> Vec<Dimension> {
    let half_length = view.shape.length_mm / 2.0;
    let mut wanted: Vec<Dimension> = Vec::new();
    for band in &view.bands {
        let sign = if band.half == HalfMark::Left { -1.0 } else { 1.0 };
        for edge in [band.from_mm, band.to_mm] {
            let place_mm = half_length + sign * edge.min(half_length);
            let at = frame.at(place_mm, view.shape.thickness_at(place_mm));
            let drawn_already = wanted.iter().any(|d| (d.to_x - at.x).abs() < 0.3);
            if (at.x - centre).abs() > 0.3 && !drawn_already {
                let to_y = Some(at.y + 0.6);
                wanted.push(Dimension { from_x: centre, to_x: at.x, from_y: None, to_y, words: both(edge) });
            }
        }
    }
    wanted
}
