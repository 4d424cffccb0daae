//! An arch in its true size, to be traced or cut out.
use super::furniture;
use super::shape::BarShape;
use crate::error::within;
use crate::lettering::{ASCENT, DESCENT, width_mm};
use crate::{Anchor, Drawing, PaperError, Pen, Point, Rect};
use words::tell;

/// What the template shows.
#[derive(Debug, Clone, PartialEq)]
pub struct TemplateView {
    /// The bar: its name, length, and the wood left under its flat top face, from the left end.
    pub shape: BarShape,
    /// Node lines of mode 1 from the left end, in millimetres.
    pub nodes_mm: Vec<f64>,
    /// Distance between depth figures from the centre, in millimetres.
    pub station_mm: f64,
    /// A line of words under its name: job, face, wood.
    pub words: String,
}

/// Lettering of a template: 12 pt.
const SIZE: f64 = 4.3;

/// The side view in its true size, top face up as the datum: the underside's line, centre and node lines, the wood left every so many millimetres from the centre,
/// and check bars of 100 mm and 4 in in both directions.
///
/// # Errors
/// [`PaperError`] naming a value that is not finite or out of range.
pub fn template_view(view: &TemplateView) -> Result<Drawing, PaperError> {
    let shape = view.shape.checked()?;
    within("the distance of stations in mm", view.station_mm, 5.0, 200.0)?;
    for node in &view.nodes_mm {
        within("the place of a node in mm", *node, 0.0, shape.length_mm)?;
    }
    let long = shape.length_mm;
    let mut drawing = Drawing::new(tell!("template-title", name = shape.name.as_str()), description(view));
    let mut y = furniture::row_baseline(0.0, SIZE);
    drawing.text(Pen::Text, Point::new(0.0, y), Anchor::Start, SIZE, format!("{}: {}", shape.name, view.words));
    y += furniture::row_mm(SIZE);
    drawing.text(Pen::Faint, Point::new(0.0, y), Anchor::Start, SIZE, tell!("template-left-end"));
    let top = y + DESCENT * SIZE + 2.0;
    let thickest = shape.underside_mm.iter().map(|(_, thickness)| *thickness).fold(0.0, f64::max);
    outline(&mut drawing, view, top);
    let stations = stations(&mut drawing, view, top, thickest);
    let bottom = top + thickest;
    drawing.line(Pen::Centre, Point::new(0.5 * long, top - 2.0), Point::new(0.5 * long, bottom + 3.0));
    for node in &view.nodes_mm {
        drawing.line(Pen::Node, Point::new(*node, top), Point::new(*node, bottom + 3.0));
    }
    let mut y = stations + 2.0;
    y = furniture::legend(
        &mut drawing,
        (0.0, long.max(190.0)),
        y,
        SIZE,
        &[
            entry(Pen::Outline, tell!("legend-wood-edge")),
            entry(Pen::Centre, tell!("legend-centre")),
            entry(Pen::Node, tell!("legend-node-of-mode-1")),
        ],
    );
    check_bars(&mut drawing, y + 3.0);
    drawing.checked()
}

fn entry(pen: Pen, words: String) -> furniture::Entry {
    furniture::Entry { pen, sample: furniture::Sample::Line, words }
}

/// Top face, ends, underside.
fn outline(drawing: &mut Drawing, view: &TemplateView, top: f64) {
    let mut points = vec![Point::new(0.0, top), Point::new(view.shape.length_mm, top)];
    points.extend(view.shape.underside_mm.iter().rev().map(|(x, thickness)| Point::new(*x, top + thickness)));
    drawing.polygon(Pen::Outline, points, crate::Fill::None);
}

/// Ticks on the underside with the wood left there, its figures on rows where they do not touch; returns the bottom.
fn stations(drawing: &mut Drawing, view: &TemplateView, top: f64, thickest: f64) -> f64 {
    let half = 0.5 * view.shape.length_mm;
    let count = (half / view.station_mm).floor() as i32;
    let row = furniture::row_mm(SIZE);
    let mut ends: Vec<f64> = Vec::new();
    let first = top + thickest + 5.0;
    for number in -count..=count {
        let x = half + f64::from(number) * view.station_mm;
        let thickness = view.shape.thickness_at(x);
        let words = words::number(format!("{thickness:.1}"));
        let wide = 0.5 * width_mm(&words, SIZE);
        let line = ends.iter().position(|end| x - wide > end + 1.0).unwrap_or(ends.len());
        if line == ends.len() {
            ends.push(0.0);
        }
        ends[line] = x + wide;
        let base = furniture::row_baseline(first + line as f64 * row, SIZE);
        drawing.line(Pen::Faint, Point::new(x, top + thickness), Point::new(x, base - ASCENT * SIZE - 0.5));
        // A figure on a lower row stands under its line; those above leave it room.
        drawing.text(Pen::Text, Point::new(x, base), Anchor::Middle, SIZE, words);
    }
    first + ends.len() as f64 * row
}

/// 100 mm and 4 in, lying and upright.
fn check_bars(drawing: &mut Drawing, top: f64) {
    let bar = |drawing: &mut Drawing, from: Point, to: Point| {
        drawing.line(Pen::Outline, from, to);
        let across = if (to.x - from.x).abs() > (to.y - from.y).abs() { (0.0, 2.0) } else { (2.0, 0.0) };
        for end in [from, to] {
            let (dx, dy) = across;
            drawing.line(Pen::Outline, Point::new(end.x - dx, end.y - dy), Point::new(end.x + dx, end.y + dy));
        }
    };
    let words = |drawing: &mut Drawing, x: f64, y: f64, text: String| {
        drawing.text(Pen::Text, Point::new(x, y), Anchor::Start, SIZE, text);
    };
    bar(drawing, Point::new(30.0, top + 4.0), Point::new(130.0, top + 4.0));
    words(drawing, 133.0, top + 5.5, "100 mm".to_owned());
    bar(drawing, Point::new(30.0, top + 14.0), Point::new(131.6, top + 14.0));
    words(drawing, 135.0, top + 15.5, "4 in".to_owned());
    bar(drawing, Point::new(5.0, top + 4.0), Point::new(5.0, top + 104.0));
    bar(drawing, Point::new(17.0, top + 4.0), Point::new(17.0, top + 105.6));
    words(drawing, 30.0, top + 26.0, tell!("template-upright"));
    words(drawing, 30.0, top + 34.0, tell!("template-not-right"));
    words(drawing, 30.0, top + 42.0, tell!("template-give-figures"));
}

fn description(view: &TemplateView) -> String {
    let shape = &view.shape;
    let thinnest = shape.underside_mm.iter().min_by(|a, b| a.1.total_cmp(&b.1));
    let thinnest =
        thinnest.map_or_else(String::new, |(x, t)| format!(" Thinnest {t:.1} mm at {x:.0} mm from the left end."));
    format!("The side of {} in its true size, {:.1} mm long, top face up.{thinnest}", shape.name, shape.length_mm)
}

/// A page to be printed and measured: a square of 100 mm and rulers, whose size tells a printer's correction.
///
/// # Errors
/// [`PaperError`] never for this fixed drawing; the type is that of all sheets.
pub fn check_page() -> Result<Drawing, PaperError> {
    let mut drawing = Drawing::new(
        tell!("check-title"),
        "A square of 100 mm, a line of 150 mm lying and one of 200 mm upright, to be measured.",
    );
    let mut y = 0.0;
    for words in [tell!("check-print"), tell!("check-give")] {
        drawing.text(Pen::Text, Point::new(0.0, furniture::row_baseline(y, SIZE)), Anchor::Start, SIZE, words);
        y += furniture::row_mm(SIZE);
    }
    y += 4.0;
    drawing.rectangle(Pen::Outline, Rect::new(0.0, y, 100.0, y + 100.0), crate::Fill::None);
    let middle = Point::new(50.0, y + 50.0);
    drawing.text(Pen::Text, middle, Anchor::Middle, SIZE, "100 mm × 100 mm");
    drawing.line(Pen::Outline, Point::new(0.0, y + 110.0), Point::new(150.0, y + 110.0));
    drawing.text(Pen::Text, Point::new(0.0, y + 117.0), Anchor::Start, SIZE, "150 mm");
    drawing.line(Pen::Outline, Point::new(160.0, y), Point::new(160.0, y + 200.0));
    drawing.text(Pen::Text, Point::new(140.0, y + 206.0), Anchor::Start, SIZE, "200 mm");
    drawing.checked()
}

/// The contour alone, for a laser or a router: closed, on the pen of a cut, with centre, nodes and its name inside.
///
/// # Errors
/// As [`template_view`].
pub fn contour_view(view: &TemplateView) -> Result<Drawing, PaperError> {
    let shape = view.shape.checked()?;
    let mut drawing = Drawing::new(format!("Contour of {}", shape.name), description(view));
    let mut points = vec![Point::new(0.0, 0.0), Point::new(shape.length_mm, 0.0)];
    points.extend(shape.underside_mm.iter().rev().map(|(x, thickness)| Point::new(*x, *thickness)));
    drawing.polygon(Pen::Cut, points, crate::Fill::None);
    let centre = 0.5 * shape.length_mm;
    drawing.line(Pen::Centre, Point::new(centre, 0.0), Point::new(centre, shape.thickness_at(centre)));
    for node in &view.nodes_mm {
        within("the place of a node in mm", *node, 0.0, shape.length_mm)?;
        drawing.line(Pen::Node, Point::new(*node, 0.0), Point::new(*node, shape.thickness_at(*node)));
    }
    drawing.text(Pen::Text, Point::new(3.0, 5.0), Anchor::Start, 3.0, format!("{} {}", shape.name, view.words));
    drawing.checked()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn view(long: f64) -> TemplateView {
        let at = |i: i32| {
            let u = (f64::from(i) / 50.0 - 1.0).abs().min(1.0);
            (long * f64::from(i) / 100.0, 7.0 + 15.0 * (1.6 * u).min(1.0).powi(4))
        };
        TemplateView {
            shape: BarShape {
                name: "C3".to_owned(),
                length_mm: long,
                width_mm: 50.0,
                underside_mm: (0..=100).map(at).collect(),
            },
            nodes_mm: vec![0.19 * long, 0.81 * long],
            station_mm: 20.0,
            words: "Invented marimba".to_owned(),
        }
    }

    #[test]
    fn a_template_is_true_to_size_and_its_figures_stand_clear() {
        for long in [160.0, 470.0, 580.0] {
            let drawing = template_view(&view(long)).unwrap();
            let outline = drawing.items().iter().find_map(|item| match item {
                crate::Item::Polygon { points, .. } => Some(points.clone()),
                _ => None,
            });
            let outline = outline.unwrap();
            let wide = outline.iter().map(|point| point.x).fold(0.0, f64::max);
            assert!((wide - long).abs() < 1e-12);
            let high = outline.iter().map(|point| point.y).fold(0.0, f64::max) - outline[0].y;
            assert!((high - 22.0).abs() < 1e-9, "{high}");
            let lettering: Vec<String> = drawing
                .collisions(0.1)
                .into_iter()
                .filter(|c| c.with == "text" || !c.with.contains("faint"))
                .map(|c| format!("{c:?}"))
                .collect();
            assert!(lettering.is_empty(), "{long}: {lettering:?}");
        }
    }

    #[test]
    fn a_contour_is_closed_on_the_cuts_pen() {
        let drawing = contour_view(&view(470.0)).unwrap();
        assert!(
            matches!(&drawing.items()[0], crate::Item::Polygon { pen: Pen::Cut, points, .. } if points.len() == 103)
        );
        assert!(template_view(&TemplateView { nodes_mm: vec![f64::NAN], ..view(470.0) }).is_err());
        assert!(check_page().is_ok());
    }
}
