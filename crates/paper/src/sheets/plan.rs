//! Plan of a bar: its node lines, tilted as the grain tilts them.
use super::{BarShape, Sheet, furniture};
use crate::dimension::{self, Dimension, Strip};
use crate::error::within;
use crate::lettering::DESCENT;
use crate::measure::both;
use crate::{Anchor, Drawing, Fill, PaperError, Pen, Point, Rect};

/// A node line on the top face: places at the near edge, in the middle and at the far edge, mm from the left end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NodeMark {
    /// At the near edge.
    pub near_mm: f64,
    /// In the middle of the width.
    pub centre_mm: f64,
    /// At the far edge.
    pub far_mm: f64,
}

/// What the plan shows.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanView {
    /// The bar.
    pub shape: BarShape,
    /// Node lines of mode 1.
    pub nodes: Vec<NodeMark>,
    /// The paper.
    pub sheet: Sheet,
}

/// A tilt smaller than this cannot be read from salt (a line of it is 3–6 mm wide) and is not measured twice on the sheet.
const READABLE_TILT_MM: f64 = 0.5;

/// The bar from above in bench view: left end at the left, near edge at the bottom, node lines in blue.
///
/// Nodes in the left half are measured from the left end, others from the right end; where a line tilts
/// by half a millimetre or more, at the far edge (above) and at the near edge (below).
///
/// # Errors
/// [`PaperError`] naming a value that is not finite or out of range.
pub fn plan_view(view: &PlanView) -> Result<Drawing, PaperError> {
    let (shape, sheet) = (view.shape.checked()?, view.sheet.checked()?);
    for node in &view.nodes {
        for place in [node.near_mm, node.centre_mm, node.far_mm] {
            within("the place of a node in mm", place, 0.0, shape.length_mm)?;
        }
    }
    let size = sheet.lettering_mm;
    let scale = sheet.width_mm / shape.length_mm;
    let mut drawing = Drawing::new(format!("Bar {} from above", shape.name), description(view));
    let base = furniture::row_baseline(0.0, size);
    drawing.text(Pen::Faint, Point::new(0.0, base), Anchor::Start, size, "left end");
    drawing.text(Pen::Faint, Point::new(sheet.width_mm / 2.0, base), Anchor::Middle, size, "far edge");
    let tilted = view.nodes.iter().any(|n| (n.far_mm - n.near_mm).abs() >= READABLE_TILT_MM);
    let strip_top = base + DESCENT * size + 0.5;
    let far = strip(&mut drawing, view, scale, strip_top, |n| tilted.then_some(n.far_mm), None);
    let top = far.bottom_y + 1.5;
    for (x, line_y) in &far.ends {
        dimension::extension_up(&mut drawing, *x, top - 0.5, *line_y);
    }
    let body = Rect::new(0.0, top, sheet.width_mm, top + shape.width_mm * scale);
    drawing.rectangle(Pen::Outline, body, Fill::Sheet);
    let centre = sheet.width_mm / 2.0;
    drawing.line(Pen::Centre, Point::new(centre, body.min.y), Point::new(centre, body.max.y));
    for node in &view.nodes {
        let at = |x_mm: f64, y: f64| Point::new(x_mm * scale, y);
        drawing.polyline(
            Pen::Node,
            vec![
                at(node.near_mm, body.max.y),
                at(node.centre_mm, (body.min.y + body.max.y) / 2.0),
                at(node.far_mm, body.min.y),
            ],
        );
    }
    let near = strip(
        &mut drawing,
        view,
        scale,
        body.max.y + 0.5,
        |n| Some(if tilted { n.near_mm } else { n.centre_mm }),
        Some(body.max.y + 0.6),
    );
    let base = furniture::row_baseline(near.bottom_y + 0.5, size);
    drawing.text(Pen::Faint, Point::new(sheet.width_mm / 2.0, base), Anchor::Middle, size, "near edge");
    drawing.checked()
}

/// A strip of node distances.
struct NodeStrip {
    bottom_y: f64,
    /// Both ends of each dimension with the height of its line.
    ends: Vec<(f64, f64)>,
}

/// Draws the distances of the nodes from the nearer end, where `place` gives one.
fn strip(
    drawing: &mut Drawing,
    view: &PlanView,
    scale: f64,
    top_y: f64,
    place: impl Fn(&NodeMark) -> Option<f64>,
    view_y: Option<f64>,
) -> NodeStrip {
    let length = view.shape.length_mm;
    let wanted: Vec<Dimension> = view
        .nodes
        .iter()
        .filter_map(|node| {
            let at_mm = place(node)?;
            let end_mm = if node.centre_mm <= length / 2.0 { 0.0 } else { length };
            let words = both((at_mm - end_mm).abs());
            Some(Dimension { from_x: end_mm * scale, to_x: at_mm * scale, from_y: view_y, to_y: view_y, words })
        })
        .collect();
    let frame = Strip {
        top_y,
        over_view: view_y.is_none(),
        limits: (0.0, view.sheet.width_mm),
        uprights: Vec::new(),
        size_mm: view.sheet.lettering_mm,
    };
    let Some(placed) = dimension::draw(drawing, &frame, Pen::Node, &wanted) else {
        let from_end = |d: &Dimension| if d.from_x > 0.0 { "right" } else { "left" };
        let rows: Vec<String> = wanted.iter().map(|d| format!("{} from the {} end", d.words, from_end(d))).collect();
        let bottom_y = dimension::rows(drawing, &frame, Pen::Node, &rows);
        return NodeStrip { bottom_y, ends: Vec::new() };
    };
    let ends = wanted.iter().zip(&placed.line_y).flat_map(|(d, y)| [(d.from_x, *y), (d.to_x, *y)]).collect();
    NodeStrip { bottom_y: placed.bottom_y, ends }
}

/// The drawing in words.
fn description(view: &PlanView) -> String {
    let shape = &view.shape;
    let mut words = format!(
        "A bar {} long and {} wide from above, left end at the left, near edge at the bottom.",
        both(shape.length_mm),
        both(shape.width_mm)
    );
    for node in &view.nodes {
        let tilt = node.far_mm - node.near_mm;
        let lean = if tilt.abs() < READABLE_TILT_MM {
            "square to the bar".to_owned()
        } else {
            format!("at the far edge {} farther {}", both(tilt.abs()), if tilt > 0.0 { "right" } else { "left" })
        };
        words.push_str(&format!(" A node line {} from the left end, {lean}.", both(node.centre_mm)));
    }
    words
}
