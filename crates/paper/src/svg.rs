//! A drawing as SVG: for the page (colours from its style sheet) or as a picture of its own.
use crate::number::number;
use crate::palette::{self, GROUND, Token};
use crate::{Anchor, Drawing, Fill, Item, Lettering, Pen, Point, Rect, Weight};
use std::fmt::Write as _;

/// Where the colours come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Colours {
    /// Only class names (`pen-cut`, `fill-cut`, …); the page's style sheet, see [`style_rules`], gives the colours.
    FromPage,
    /// The style sheet travels inside the picture and follows the reader's light or dark ground.
    Own,
}

/// How to show a drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// Prefix of the ids inside the picture; two pictures on one page need two prefixes. Letters, figures and `-` only; others are dropped.
    pub id: String,
    /// The part to show, in millimetres; what lies outside is clipped. `None` shows all with a small margin.
    pub view: Option<Rect>,
    /// Where the colours come from.
    pub colours: Colours,
}

impl Options {
    /// The whole drawing, coloured by the page, with ids that begin with `id`.
    pub fn on_page(id: &str) -> Self {
        Self { id: id.to_owned(), view: None, colours: Colours::FromPage }
    }

    /// The whole drawing as a picture of its own.
    pub fn picture() -> Self {
        Self { id: "drawing".to_owned(), view: None, colours: Colours::Own }
    }
}

/// Margin around a whole drawing, in millimetres.
const MARGIN_MM: f64 = 1.0;

/// The drawing as one `<svg>` element, sized in millimetres, with title and description for screen readers.
pub fn render(drawing: &Drawing, options: &Options) -> String {
    let whole = drawing.bounds().map_or(Rect::new(0.0, 0.0, 1.0, 1.0), |b| b.grown(MARGIN_MM));
    let view = options.view.unwrap_or(whole);
    let id: String = options.id.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').collect();
    let [x, y, width, height] = [view.min.x, view.min.y, view.width(), view.height()].map(number);
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = writeln!(
        out,
        r#"<svg xmlns="http://www.w3.org/2000/svg" class="drawing" role="img" aria-labelledby="{id}-title {id}-desc" width="{width}mm" height="{height}mm" viewBox="{x} {y} {width} {height}">"#
    );
    let _ = writeln!(out, r#"<title id="{id}-title">{}</title>"#, escaped(&drawing.title));
    let _ = writeln!(out, r#"<desc id="{id}-desc">{}</desc>"#, escaped(&drawing.description));
    if options.colours == Colours::Own {
        let _ = writeln!(out, "<style>{}</style>", own_style());
        let _ = writeln!(out, r#"<rect class="fill-sheet" x="{x}" y="{y}" width="{width}" height="{height}"/>"#);
    }
    for item in drawing.items() {
        write_item(&mut out, item);
    }
    out.push_str("</svg>\n");
    out
}

/// The rules that colour the classes, from custom properties named as the palette's tokens.
pub fn style_rules() -> String {
    let mut rules = String::new();
    for pen in Pen::ALL {
        let (name, token) = (pen.name(), palette::token(pen).name);
        let _ = write!(
            rules,
            ".pen-{name}{{stroke:var(--{token});fill:none}}.fill-{name}{{fill:var(--{token});stroke:none}}"
        );
    }
    rules.push_str(".on-sheet{fill:var(--surface)}.fill-sheet{fill:var(--surface);stroke:none}.drawing text{font-variant-numeric:tabular-nums}");
    rules
}

/// The palette as custom properties, dark ones under `prefers-color-scheme: dark`.
pub fn palette_rules(selector: &str) -> String {
    let set = |value: fn(&Token) -> u32| {
        palette::TOKENS.iter().map(|t| format!("--{}:#{:06X};", t.name, value(t))).collect::<String>()
    };
    let (light, dark, printed) = (set(|t| t.light), set(|t| t.dark), set(palette::printed));
    // The last rule wins: also a dark page is printed on white paper.
    format!(
        "{selector}{{{light}}}@media (prefers-color-scheme:dark){{{selector}{{{dark}}}}}@media print{{{selector}{{{printed}}}}}"
    )
}

/// Style sheet of a picture on its own; its sheet is the ground, not a card on it.
///
/// Colours are written out: most programs that show SVG outside a browser know neither custom properties nor schemes.
fn own_style() -> String {
    let rules = |value: fn(&Token) -> u32| {
        let mut rules = style_rules();
        for token in &palette::TOKENS {
            rules = rules.replace(&format!("var(--{})", token.name), &format!("#{:06X}", value(token)));
        }
        format!("{rules}.fill-sheet{{fill:#{:06X}}}", value(&GROUND))
    };
    let (light, dark) = (rules(|t| t.light), rules(|t| t.dark));
    format!("{light}text{{font-family:\"Barwright Sans\",sans-serif}}@media (prefers-color-scheme:dark){{{dark}}}")
}

/// One mark.
fn write_item(out: &mut String, item: &Item) {
    let pen = item.pen();
    let _ = match item {
        Item::Line { points, .. } => writeln!(out, r#"<polyline {} points="{}"/>"#, stroke(pen), point_list(points)),
        Item::Polygon { points, fill, .. } => {
            writeln!(out, r#"<polygon {} points="{}"/>"#, filled(pen, *fill), point_list(points))
        }
        Item::Stripe { points, .. } => {
            writeln!(out, r#"<polygon {} points="{}"/>"#, filled(pen, Fill::Solid), point_list(points))
        }
        Item::Hatch { lines, .. } => {
            let path: String = lines
                .iter()
                .map(|(a, b)| format!("M{} {}L{} {}", number(a.x), number(a.y), number(b.x), number(b.y)))
                .collect();
            let width = number(Weight::Fine.width_mm());
            writeln!(out, r#"<path class="pen-{}" stroke-width="{width}" d="{path}"/>"#, pen.name())
        }
        Item::Arc { centre, radius_mm, sweep_rad, fill, .. } if sweep_rad.abs() >= std::f64::consts::TAU => {
            let [x, y, r] = [centre.x, centre.y, *radius_mm].map(number);
            writeln!(out, r#"<circle {} cx="{x}" cy="{y}" r="{r}"/>"#, filled(pen, *fill))
        }
        Item::Arc { centre, radius_mm, start_rad, sweep_rad, .. } => {
            let at = |angle: f64| Point::new(centre.x + radius_mm * angle.cos(), centre.y + radius_mm * angle.sin());
            let (from, to) = (at(*start_rad), at(start_rad + sweep_rad));
            let [x0, y0, r, x1, y1] = [from.x, from.y, *radius_mm, to.x, to.y].map(number);
            let large = u8::from(sweep_rad.abs() > std::f64::consts::PI);
            let turn = u8::from(*sweep_rad > 0.0);
            writeln!(out, r#"<path {} d="M{x0} {y0}A{r} {r} 0 {large} {turn} {x1} {y1}"/>"#, stroke(pen))
        }
        Item::Text(lettering) => write_text(out, lettering),
    };
}

/// One line of lettering.
fn write_text(out: &mut String, lettering: &Lettering) -> std::fmt::Result {
    let [x, y, size] = [lettering.at.x, lettering.at.y, lettering.size_mm].map(number);
    let anchor = match lettering.anchor {
        Anchor::Start => "start",
        Anchor::Middle => "middle",
        Anchor::End => "end",
    };
    let weight = if lettering.bold { r#" font-weight="700""# } else { "" };
    let name = lettering.pen.name();
    writeln!(
        out,
        r#"<text class="fill-{name}" x="{x}" y="{y}" font-size="{size}" text-anchor="{anchor}"{weight}>{}</text>"#,
        escaped(&lettering.text)
    )
}

/// Class, width and dash of a stroked line.
fn stroke(pen: Pen) -> String {
    let dash: Vec<String> = pen.dash_mm().iter().map(|d| number(*d)).collect();
    let dash = if dash.is_empty() { String::new() } else { format!(r#" stroke-dasharray="{}""#, dash.join(" ")) };
    format!(
        r#"class="pen-{}" stroke-width="{}"{dash} stroke-linejoin="round""#,
        pen.name(),
        number(pen.weight().width_mm())
    )
}

/// Class of a closed shape with its filling. A solid shape has no stroke, so that its size is exact.
fn filled(pen: Pen, fill: Fill) -> String {
    match fill {
        Fill::None => stroke(pen),
        Fill::Solid => format!(r#"class="fill-{}""#, pen.name()),
        Fill::Sheet => stroke(pen).replacen("class=\"", "class=\"on-sheet ", 1),
    }
}

/// Points as SVG lists them.
fn point_list(points: &[Point]) -> String {
    points.iter().map(|p| format!("{},{}", number(p.x), number(p.y))).collect::<Vec<_>>().join(" ")
}

/// Text with the five characters that mean something in XML written out, and characters XML 1.0 forbids left out.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\u{0}'..='\u{8}' | '\u{B}' | '\u{C}' | '\u{E}'..='\u{1F}' | '\u{FFFE}' | '\u{FFFF}' => {}
            other => out.push(other),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample() -> Drawing {
        let mut drawing = Drawing::new("A <small> sample", "Ink & two pencils");
        drawing.rectangle(Pen::Outline, Rect::new(0.0, 0.0, 20.0, 6.0), Fill::Sheet);
        drawing.hatch(
            Pen::Cut,
            &[Point::new(8.0, 4.0), Point::new(12.0, 4.0), Point::new(12.0, 6.0), Point::new(8.0, 6.0)],
            1.0,
        );
        drawing.line(Pen::Node, Point::new(4.4, -2.0), Point::new(4.4, 8.0));
        drawing.circle(Pen::Done, Point::new(2.0, 2.0), 0.8, Fill::Solid);
        drawing.push(Item::Arc {
            pen: Pen::Faint,
            centre: Point::new(10.0, 6.0),
            radius_mm: 3.0,
            start_rad: 0.0,
            sweep_rad: 1.0,
            fill: Fill::None,
        });
        drawing.text(Pen::Text, Point::new(10.0, -1.0), Anchor::Middle, 3.0, "C♯3 \"top\" <b>");
        drawing
    }

    #[test]
    fn a_small_drawing_on_the_page() {
        insta::assert_snapshot!(render(&sample(), &Options::on_page("a\"b")));
    }

    #[test]
    fn a_clipped_view_keeps_the_marks_and_moves_the_window() {
        let view = Some(Rect::new(5.0, 0.0, 15.0, 6.0));
        let svg = render(&sample(), &Options { view, ..Options::picture() });
        assert!(svg.contains(r#"width="10mm" height="6mm" viewBox="5 0 10 6""#), "{svg}");
        assert!(svg.contains("prefers-color-scheme:dark"), "a picture of its own brings its colours");
    }

    #[test]
    fn every_pen_has_its_colour_rules() {
        let rules = style_rules();
        for pen in Pen::ALL {
            assert!(
                rules.contains(&format!(".pen-{}{{", pen.name())) && rules.contains(&format!(".fill-{}{{", pen.name()))
            );
        }
    }
}
