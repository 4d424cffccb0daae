//! Pages as PDF: true to size, the face embedded as a subset, black on white.
//!
//! The same marks, pens and dashes as in [`crate::svg`]; the colours are the palette's for print.
use crate::document::{Document, Page, Placed};
use crate::palette::{self, GROUND};
use crate::{Anchor, Fill, Item, Lettering, PaperError, Pen, Point};
use krilla::color::rgb;
use krilla::destination::XyzDestination;
use krilla::geom::{Path, PathBuilder, Point as PdfPoint, Rect as PdfRect, Transform};
use krilla::metadata::Metadata;
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::paint::{Fill as PdfFill, FillRule, Stroke, StrokeDash};
use krilla::surface::Surface;
use krilla::text::{Font, TextDirection};

const REGULAR: &[u8] = include_bytes!("../font/barwright-sans-regular.ttf");
const BOLD: &[u8] = include_bytes!("../font/barwright-sans-bold.ttf");
/// Points to the millimetre (a PDF point is 1/72 in).
const PT_PER_MM: f64 = 72.0 / 25.4;
/// A circle by four cubics: handle over radius (4/3 (√2 − 1)); off by 0.03 % of the radius at most.
const QUARTER: f64 = 0.552_284_749_830_793;

/// Regular and bold: as they are written, and as they are measured.
struct Face {
    fonts: [Font; 2],
    measures: [ttf_parser::Face<'static>; 2],
}

impl Face {
    fn embedded() -> Result<Self, PaperError> {
        let font = |bytes: &'static [u8]| Font::new(bytes.into(), 0).ok_or_else(|| not_written("the face is damaged"));
        let measure = |bytes: &'static [u8]| {
            ttf_parser::Face::parse(bytes, 0).map_err(|error| not_written(format!("the face is damaged: {error}")))
        };
        Ok(Self { fonts: [font(REGULAR)?, font(BOLD)?], measures: [measure(REGULAR)?, measure(BOLD)?] })
    }

    /// Width of a line as it will be drawn, in em: advances of the face, kerning left out.
    fn width_em(&self, lettering: &Lettering) -> f64 {
        let face = &self.measures[usize::from(lettering.bold)];
        let advance = |letter: char| {
            let glyph = face.glyph_index(letter).unwrap_or(ttf_parser::GlyphId(0));
            f64::from(face.glyph_hor_advance(glyph).unwrap_or(0))
        };
        lettering.text.chars().map(advance).sum::<f64>() / f64::from(face.units_per_em())
    }
}

fn not_written(why: impl Into<String>) -> PaperError {
    PaperError::NotWritten { why: why.into() }
}

/// The document as the bytes of a PDF file.
///
/// # Errors
/// [`PaperError`] without pages, for a size that is no paper's, or where the writer refuses.
pub fn render(document: &Document) -> Result<Vec<u8>, PaperError> {
    let checked = document.checked()?;
    let face = Face::embedded()?;
    let mut pdf = krilla::Document::new();
    pdf.set_metadata(
        Metadata::new().title(checked.title.clone()).creator("barwright".to_owned()).language("en".to_owned()),
    );
    for page in &checked.pages {
        let [width, height] = page.size_mm.map(pt);
        let settings = PageSettings::from_wh(width, height).ok_or_else(|| not_written("a page has no size"))?;
        let mut sheet = pdf.start_page_with(settings);
        let mut surface = sheet.surface();
        draw_page(&mut surface, page, &face);
        surface.finish();
        sheet.finish();
    }
    let mut outline = Outline::new();
    for (name, page) in checked.bookmarks.iter().filter(|(_, page)| *page < checked.pages.len()) {
        let top = XyzDestination::new(*page, PdfPoint::from_xy(0.0, 0.0));
        outline.push_child(OutlineNode::new(name.clone(), top));
    }
    pdf.set_outline(outline);
    pdf.finish().map_err(|error| not_written(format!("{error:?}")))
}

fn pt(mm: f64) -> f32 {
    (mm * PT_PER_MM) as f32
}

fn draw_page(surface: &mut Surface<'_>, page: &Page, face: &Face) {
    for part in &page.parts {
        let mut pushed = 1;
        if let Some(clip) = part.clip.and_then(|clip| rectangle(clip.min, clip.max)) {
            surface.push_clip_path(&clip, &FillRule::NonZero);
            pushed += 1;
        }
        let [wide, high] = part.stretch.map(|stretch| stretch as f32);
        surface.push_transform(&Transform::from_row(wide, 0.0, 0.0, high, pt(part.at.x), pt(part.at.y)));
        draw_part(surface, part, face);
        (0..pushed).for_each(|_| surface.pop());
    }
}

fn draw_part(surface: &mut Surface<'_>, part: &Placed, face: &Face) {
    for item in part.drawing.items() {
        match item {
            Item::Line { pen, points } => stroke(surface, *pen, chain(points, false)),
            Item::Polygon { pen, points, fill } => closed(surface, *pen, *fill, chain(points, true)),
            Item::Arc { pen, centre, radius_mm, start_rad, sweep_rad, fill } => {
                let whole = sweep_rad.abs() >= std::f64::consts::TAU - 1e-9;
                let path = arc(*centre, *radius_mm, *start_rad, *sweep_rad);
                if whole { closed(surface, *pen, *fill, path) } else { stroke(surface, *pen, path) }
            }
            Item::Stripe { pen, points } => flat(surface, *pen, chain(points, true)),
            Item::Hatch { pen, lines } => {
                let mut path = PathBuilder::new();
                for (from, to) in lines {
                    path.move_to(pt(from.x), pt(from.y));
                    path.line_to(pt(to.x), pt(to.y));
                }
                fine(surface, *pen, path.finish());
            }
            Item::Text(lettering) => letter(surface, lettering, face),
        }
    }
}

fn colour(rgb_value: u32) -> rgb::Color {
    let channel = |shift: u32| ((rgb_value >> shift) & 0xFF) as u8;
    rgb::Color::new(channel(16), channel(8), channel(0))
}

fn ink(pen: Pen) -> rgb::Color {
    colour(palette::printed(&palette::token(pen)))
}

fn pen_stroke(pen: Pen, width_mm: f64, dash_mm: &[f64]) -> Stroke {
    Stroke {
        paint: ink(pen).into(),
        width: pt(width_mm),
        dash: (!dash_mm.is_empty())
            .then(|| StrokeDash { array: dash_mm.iter().map(|mm| pt(*mm)).collect(), offset: 0.0 }),
        ..Stroke::default()
    }
}

fn stroke(surface: &mut Surface<'_>, pen: Pen, path: Option<Path>) {
    surface.set_fill(None);
    surface.set_stroke(Some(pen_stroke(pen, pen.weight().width_mm(), pen.dash_mm())));
    if let Some(path) = path {
        surface.draw_path(&path);
    }
}

/// Hatching: unbroken fine lines.
fn fine(surface: &mut Surface<'_>, pen: Pen, path: Option<Path>) {
    surface.set_fill(None);
    surface.set_stroke(Some(pen_stroke(pen, crate::Weight::Fine.width_mm(), &[])));
    if let Some(path) = path {
        surface.draw_path(&path);
    }
}

fn closed(surface: &mut Surface<'_>, pen: Pen, fill: Fill, path: Option<Path>) {
    let paint = match fill {
        Fill::None => None,
        Fill::Sheet => Some(colour(palette::printed(&GROUND))),
        Fill::Solid => Some(ink(pen)),
    };
    surface.set_fill(paint.map(|paint| PdfFill { paint: paint.into(), ..PdfFill::default() }));
    surface.set_stroke(Some(pen_stroke(pen, pen.weight().width_mm(), pen.dash_mm())));
    if let Some(path) = path {
        surface.draw_path(&path);
    }
}

/// A filled shape without an edge.
fn flat(surface: &mut Surface<'_>, pen: Pen, path: Option<Path>) {
    surface.set_stroke(None);
    surface.set_fill(Some(PdfFill { paint: ink(pen).into(), ..PdfFill::default() }));
    if let Some(path) = path {
        surface.draw_path(&path);
    }
}

fn chain(points: &[Point], closed: bool) -> Option<Path> {
    let mut path = PathBuilder::new();
    let (first, rest) = points.split_first()?;
    path.move_to(pt(first.x), pt(first.y));
    rest.iter().for_each(|point| path.line_to(pt(point.x), pt(point.y)));
    if closed {
        path.close();
    }
    path.finish()
}

fn rectangle(min: Point, max: Point) -> Option<Path> {
    let mut path = PathBuilder::new();
    path.push_rect(PdfRect::from_ltrb(pt(min.x), pt(min.y), pt(max.x), pt(max.y))?);
    path.finish()
}

/// Part of a circle by cubics of at most a quarter each.
fn arc(centre: Point, radius_mm: f64, start_rad: f64, sweep_rad: f64) -> Option<Path> {
    let quarter = std::f64::consts::FRAC_PI_2;
    let pieces = (sweep_rad.abs() / quarter).ceil().clamp(1.0, 4.0);
    let step = sweep_rad.clamp(-4.0 * quarter, 4.0 * quarter) / pieces;
    // The handle of a cubic over an arc of that angle (4/3 tan(θ/4); QUARTER at a quarter).
    let handle =
        if (step.abs() - quarter).abs() < 1e-12 { QUARTER * step.signum() } else { 4.0 / 3.0 * (step / 4.0).tan() };
    let at = |angle: f64, along: f64| {
        let (sin, cos) = angle.sin_cos();
        let x = centre.x + radius_mm * (cos - along * sin);
        let y = centre.y + radius_mm * (sin + along * cos);
        (pt(x), pt(y))
    };
    let mut path = PathBuilder::new();
    let (x, y) = at(start_rad, 0.0);
    path.move_to(x, y);
    for piece in 0..pieces as usize {
        let from = start_rad + piece as f64 * step;
        let ((x1, y1), (x2, y2), (x, y)) = (at(from, handle), at(from + step, -handle), at(from + step, 0.0));
        path.cubic_to(x1, y1, x2, y2, x, y);
    }
    path.finish()
}

fn letter(surface: &mut Surface<'_>, lettering: &Lettering, face: &Face) {
    let width_mm = face.width_em(lettering) * lettering.size_mm;
    let left = match lettering.anchor {
        Anchor::Start => lettering.at.x,
        Anchor::Middle => lettering.at.x - 0.5 * width_mm,
        Anchor::End => lettering.at.x - width_mm,
    };
    surface.set_stroke(None);
    surface.set_fill(Some(PdfFill { paint: ink(lettering.pen).into(), ..PdfFill::default() }));
    let font = face.fonts[usize::from(lettering.bold)].clone();
    let start = PdfPoint::from_xy(pt(left), pt(lettering.at.y));
    surface.draw_text(start, font, pt(lettering.size_mm), &lettering.text, false, TextDirection::LeftToRight);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Drawing, Rect};

    fn page() -> Page {
        let mut drawing = Drawing::new("A page", "One line, one box, one circle, words.");
        drawing.line(Pen::Outline, Point::new(0.0, 0.0), Point::new(100.0, 0.0));
        drawing.rectangle(Pen::Cut, Rect::new(10.0, 10.0, 40.0, 20.0), Fill::None);
        drawing.circle(Pen::Node, Point::new(60.0, 20.0), 8.0, Fill::Sheet);
        drawing.text(Pen::Text, Point::new(0.0, 40.0), Anchor::Start, 4.3, "C♯3, B♭2: 12.5 mm ± 0.3");
        Page { size_mm: [210.0, 297.0], parts: vec![Placed::at(drawing, 20.0, 20.0)] }
    }

    #[test]
    fn a_document_is_a_pdf_with_its_pages_and_bookmarks() {
        let document = Document {
            title: "Invented".to_owned(),
            pages: vec![page(), page()],
            bookmarks: vec![("first".to_owned(), 0), ("second".to_owned(), 1)],
        };
        let bytes = render(&document).unwrap();
        assert!(bytes.starts_with(b"%PDF-1.") && bytes.ends_with(b"%%EOF"), "{} bytes", bytes.len());
        // Both cuts of the face are 65 kB; only what is used travels.
        assert!(bytes.len() < 30_000, "{} bytes", bytes.len());
        // The same pages give the same bytes: a sheet printed twice is the same sheet.
        assert_eq!(bytes, render(&document).unwrap());
    }

    #[test]
    fn what_is_no_paper_is_refused() {
        assert!(render(&Document::default()).is_err());
        let wide = Page { size_mm: [f64::NAN, 297.0], ..page() };
        assert!(render(&Document { pages: vec![wide], ..Document::default() }).is_err());
    }
}
