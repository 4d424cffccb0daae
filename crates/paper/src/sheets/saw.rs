//! The saw steps under the arch: what the blade takes off, and the line it stays away from.
use super::furniture::{self, Entry, Sample};
use super::{BarShape, Sheet};
use crate::error::within;
use crate::lettering::DESCENT;
use crate::measure::both;
use crate::{Anchor, Drawing, Fill, PaperError, Pen, Point};
use words::tell;

/// What the sheet of saw steps shows.
#[derive(Debug, Clone, PartialEq)]
pub struct SawView {
    /// The bar with its arch as drawn: the line.
    pub line: BarShape,
    /// Thickness of the blank, mm.
    pub blank_mm: f64,
    /// Wood left after sawing: (distance from the centre, thickness), centre first, stairs as doubled places.
    pub sawn_half_mm: Vec<(f64, f64)>,
    /// Blade heights with the farthest place each reaches from the centre, in the order of sawing.
    pub steps_mm: Vec<(f64, f64)>,
    /// Heights are drawn this many times too large (1…20); the sheet says so.
    pub height_factor: f64,
    /// The paper.
    pub sheet: Sheet,
}

/// How far the centre line runs past the wood.
const PAST_WOOD_MM: f64 = 1.6;
/// Hatching of the sawn wood.
const HATCH_MM: f64 = 1.2;

struct Frame {
    top: f64,
    scale: f64,
    rise: f64,
    half_mm: f64,
}

impl Frame {
    fn at(&self, from_centre_mm: f64, thickness_mm: f64) -> Point {
        Point::new((self.half_mm + from_centre_mm) * self.scale, self.top + thickness_mm * self.rise)
    }
}

/// The bar from the side, top face up: the arch's line in ink, the sawn wood hatched below it, each height named.
///
/// Lengths are to scale; heights are `height_factor` times too large and the sheet says so.
///
/// # Errors
/// [`PaperError`] naming a value that is not finite or out of range.
pub fn saw_view(view: &SawView) -> Result<Drawing, PaperError> {
    check(view)?;
    let (line, sheet) = (&view.line, view.sheet);
    let size = sheet.lettering_mm;
    let scale = sheet.width_mm / line.length_mm;
    let header = furniture::row_mm(size) + PAST_WOOD_MM;
    let frame = Frame { top: header, scale, rise: scale * view.height_factor, half_mm: 0.5 * line.length_mm };
    let mut drawing = Drawing::new(format!("Saw steps of bar {}", line.name), description(view));
    furniture::header_row(&mut drawing, view.sheet, view.height_factor, header - PAST_WOOD_MM - 0.7 - DESCENT * size);
    wood(&mut drawing, view, &frame);
    let under = frame.at(0.0, view.blank_mm).y + PAST_WOOD_MM;
    drawing.line(
        Pen::Centre,
        Point::new(frame.at(0.0, 0.0).x, header - PAST_WOOD_MM),
        Point::new(frame.at(0.0, 0.0).x, under),
    );
    let bottom = legend_of_heights(&mut drawing, view, under + 0.5);
    let (right, scale_bottom) =
        furniture::scale_bar(&mut drawing, 0.0, bottom + 1.5, 0.4 * sheet.width_mm, scale, size * 0.9);
    let beside = sheet.width_mm > 180.0;
    let (left, top) = if beside { (right + 8.0, bottom + 1.5) } else { (0.0, scale_bottom + 1.0) };
    furniture::legend(&mut drawing, (left, sheet.width_mm), top, size * 0.9, &entries());
    drawing.checked()
}

fn check(view: &SawView) -> Result<(), PaperError> {
    view.line.checked()?;
    view.sheet.checked()?;
    within("the height factor", view.height_factor, 1.0, 20.0)?;
    within("the thickness of the blank in mm", view.blank_mm, 1.0, 300.0)?;
    if view.sawn_half_mm.len() < 2 {
        return Err(PaperError::Empty { what: "the list of sawn places", least: 2 });
    }
    for (u, t) in &view.sawn_half_mm {
        within("a place of the sawn wood in mm", *u, 0.0, view.line.length_mm)?;
        within("a thickness of the sawn wood in mm", *t, 0.0, view.blank_mm)?;
    }
    for (height, reach) in &view.steps_mm {
        within("a blade height in mm", *height, 0.0, view.blank_mm)?;
        within("the reach of a saw step in mm", *reach, 0.0, view.line.length_mm)?;
    }
    Ok(())
}

/// The blank, the sawn wood hatched, the line of the arch.
fn wood(drawing: &mut Drawing, view: &SawView, frame: &Frame) {
    let both_sides = |half: &[(f64, f64)]| -> Vec<Point> {
        let left = half.iter().rev().map(|(u, t)| frame.at(-u, *t));
        left.chain(half.iter().map(|(u, t)| frame.at(*u, *t))).collect()
    };
    let h = frame.half_mm;
    let mut outline = vec![frame.at(-h, 0.0), frame.at(h, 0.0)];
    outline.extend(both_sides(&view.sawn_half_mm).into_iter().rev());
    drawing.polygon(Pen::Outline, outline, Fill::Sheet);
    // What is sawn: from the stairs down to the underside of the blank, as far as it was touched.
    let touched: Vec<(f64, f64)> =
        view.sawn_half_mm.iter().copied().filter(|(_, t)| *t < view.blank_mm - 1e-6).collect();
    if let Some((edge, _)) = touched.last().copied() {
        let mut removed = both_sides(&touched);
        removed.push(frame.at(edge, view.blank_mm));
        removed.push(frame.at(-edge, view.blank_mm));
        drawing.hatch(Pen::Cut, &removed, HATCH_MM);
        drawing.polygon(Pen::Cut, removed, Fill::None);
    }
    let line = view.line.underside_mm.iter().map(|(x, t)| frame.at(x - h, *t)).collect();
    drawing.polyline(Pen::Node, line);
}

/// Heights and reaches in words, as many columns as fit.
fn legend_of_heights(drawing: &mut Drawing, view: &SawView, top_y: f64) -> f64 {
    let size = view.sheet.lettering_mm * 0.9;
    let words: Vec<String> = view
        .steps_mm
        .iter()
        .enumerate()
        .map(|(i, (height, reach))| {
            tell!("saw-height", number = i + 1, height = height_words(*height), reach = words::number(both(*reach)))
        })
        .collect();
    let widest = words.iter().map(|w| crate::lettering::width_mm(w, size)).fold(1.0, f64::max) + 6.0;
    let columns = (view.sheet.width_mm / widest).floor().max(1.0) as usize;
    let rows = words.len().div_ceil(columns);
    for (i, text) in words.into_iter().enumerate() {
        let (column, row) = (i / rows.max(1), i % rows.max(1));
        let y = furniture::row_baseline(top_y + furniture::row_mm(size) * row as f64, size);
        drawing.text(Pen::Text, Point::new(widest * column as f64, y), Anchor::Start, size, text);
    }
    top_y + furniture::row_mm(size) * rows as f64
}

/// A blade height: inches as a decimal, for the nearest fraction might be deeper.
fn height_words(height_mm: f64) -> String {
    let mm = crate::number::number((height_mm * 100.0).round() / 100.0);
    words::number(format!("{mm} mm ({:.3} in)", height_mm / 25.4))
}

fn entries() -> Vec<Entry> {
    vec![
        Entry { pen: Pen::Cut, sample: Sample::Patch, words: tell!("legend-sawn") },
        Entry { pen: Pen::Node, sample: Sample::Line, words: tell!("legend-arch-line") },
    ]
}

/// The drawing in words.
fn description(view: &SawView) -> String {
    let mut words = format!(
        "A bar {} long from the side, top face up, its blank {} thick. The blade takes off steps below the line of the arch:",
        both(view.line.length_mm),
        both(view.blank_mm)
    );
    for (height, reach) in &view.steps_mm {
        words.push_str(&format!(" {} high up to {} from the centre;", height_words(*height), both(*reach)));
    }
    words.push_str(" then sanding goes on to the line.");
    words
}
