//! A drawing as DXF for machines: ASCII, release 12 (AC1009), one layer a pen, millimetres, y upwards.
//!
//! Written by hand: release 12 is a few group codes that every program reads, and one writer's release 12 was refused by a strict reader. Checked with ezdxf's
//! (see `reference/scripts/dxf_by_ezdxf.py`). Entities: POLYLINE with VERTEX and SEQEND, LINE, ARC, CIRCLE, TEXT; widths and dashes are left to the machine.
use crate::number::number;
use crate::{Anchor, Drawing, Item, Lettering, Pen, Point};
use std::fmt::Write as _;

/// Colour numbers of the layers (AutoCAD colour index, 1…255), as far apart as the pens are.
fn colour_index(pen: Pen) -> u8 {
    match pen {
        Pen::Outline | Pen::Text => 7,
        Pen::Faint | Pen::Hidden => 8,
        Pen::Centre => 4,
        Pen::Cut => 1,
        Pen::Node => 5,
        Pen::Done => 3,
        Pen::Caution => 2,
    }
}

/// The drawing as the text of a DXF file; lettering outside ASCII is written as \U+XXXX.
pub fn render(drawing: &Drawing) -> String {
    let mut out = String::new();
    pairs(
        &mut out,
        &[
            ("0", "SECTION"),
            ("2", "HEADER"),
            ("9", "$ACADVER"),
            ("1", "AC1009"),
            ("9", "$INSBASE"),
            ("10", "0"),
            ("20", "0"),
            ("30", "0"),
        ],
    );
    extent(&mut out, drawing);
    pairs(&mut out, &[("0", "ENDSEC")]);
    tables(&mut out);
    pairs(&mut out, &[("0", "SECTION"), ("2", "ENTITIES")]);
    for item in drawing.items() {
        entity(&mut out, item);
    }
    pairs(&mut out, &[("0", "ENDSEC"), ("0", "EOF")]);
    out
}

fn pairs(out: &mut String, list: &[(&str, &str)]) {
    for (code, value) in list {
        // Writing to a String cannot fail.
        let _ = write!(out, "{code}\n{value}\n");
    }
}

fn extent(out: &mut String, drawing: &Drawing) {
    let Some(bounds) = drawing.bounds() else { return };
    let corner = |out: &mut String, name: &str, x: f64, y: f64| {
        pairs(out, &[("9", name), ("10", &number(x)), ("20", &number(y)), ("30", "0")]);
    };
    corner(out, "$EXTMIN", bounds.min.x, -bounds.max.y);
    corner(out, "$EXTMAX", bounds.max.x, -bounds.min.y);
}

/// One line type, a layer a pen, one style of lettering.
fn tables(out: &mut String) {
    pairs(out, &[("0", "SECTION"), ("2", "TABLES")]);
    pairs(
        out,
        &[
            ("0", "TABLE"),
            ("2", "LTYPE"),
            ("70", "1"),
            ("0", "LTYPE"),
            ("2", "CONTINUOUS"),
            ("70", "0"),
            ("3", "Solid line"),
            ("72", "65"),
            ("73", "0"),
            ("40", "0"),
            ("0", "ENDTAB"),
        ],
    );
    pairs(out, &[("0", "TABLE"), ("2", "LAYER"), ("70", &Pen::ALL.len().to_string())]);
    for pen in Pen::ALL {
        pairs(
            out,
            &[
                ("0", "LAYER"),
                ("2", &layer(pen)),
                ("70", "0"),
                ("62", &colour_index(pen).to_string()),
                ("6", "CONTINUOUS"),
            ],
        );
    }
    pairs(
        out,
        &[
            ("0", "ENDTAB"),
            ("0", "TABLE"),
            ("2", "STYLE"),
            ("70", "1"),
            ("0", "STYLE"),
            ("2", "STANDARD"),
            ("70", "0"),
            ("40", "0"),
            ("41", "1"),
            ("50", "0"),
            ("71", "0"),
            ("42", "3"),
            ("3", "txt"),
            ("4", ""),
            ("0", "ENDTAB"),
            ("0", "ENDSEC"),
        ],
    );
}

/// A pen's layer: CUT, NODE, CENTRE, TEXT, OUTLINE, …
pub fn layer(pen: Pen) -> String {
    pen.name().to_uppercase()
}

fn begin(out: &mut String, kind: &str, pen: Pen) {
    pairs(out, &[("0", kind), ("8", &layer(pen))]);
}

fn point(out: &mut String, codes: [&str; 3], at: Point) {
    pairs(out, &[(codes[0], &number(at.x)), (codes[1], &number(-at.y)), (codes[2], "0")]);
}

const FIRST: [&str; 3] = ["10", "20", "30"];
const SECOND: [&str; 3] = ["11", "21", "31"];

fn entity(out: &mut String, item: &Item) {
    match item {
        Item::Line { pen, points } => polyline(out, *pen, points, false),
        Item::Polygon { pen, points, .. } | Item::Stripe { pen, points } => polyline(out, *pen, points, true),
        Item::Hatch { pen, lines } => {
            for (from, to) in lines {
                begin(out, "LINE", *pen);
                point(out, FIRST, *from);
                point(out, SECOND, *to);
            }
        }
        Item::Arc { pen, centre, radius_mm, start_rad, sweep_rad, .. } => {
            let whole = sweep_rad.abs() >= std::f64::consts::TAU - 1e-9;
            begin(out, if whole { "CIRCLE" } else { "ARC" }, *pen);
            point(out, FIRST, *centre);
            pairs(out, &[("40", &number(*radius_mm))]);
            if !whole {
                // Angles run the other way where y points up; an ARC is drawn anticlockwise.
                let (a, b) = (-start_rad, -(start_rad + sweep_rad));
                let (from, to) = if *sweep_rad > 0.0 { (b, a) } else { (a, b) };
                pairs(out, &[("50", &number(from.to_degrees())), ("51", &number(to.to_degrees()))]);
            }
        }
        Item::Text(lettering) => text(out, lettering),
    }
}

fn polyline(out: &mut String, pen: Pen, points: &[Point], closed: bool) {
    begin(out, "POLYLINE", pen);
    pairs(out, &[("66", "1"), ("10", "0"), ("20", "0"), ("30", "0"), ("70", if closed { "1" } else { "0" })]);
    for at in points {
        begin(out, "VERTEX", pen);
        point(out, FIRST, *at);
    }
    begin(out, "SEQEND", pen);
}

fn text(out: &mut String, lettering: &Lettering) {
    begin(out, "TEXT", lettering.pen);
    point(out, FIRST, lettering.at);
    // The height of capitals, 0.725 of the em.
    let words: String = lettering.text.chars().filter(|letter| !letter.is_control()).map(ascii).collect();
    pairs(out, &[("40", &number(0.725 * lettering.size_mm)), ("1", &words), ("7", "STANDARD")]);
    let anchor = match lettering.anchor {
        Anchor::Start => return,
        Anchor::Middle => "1",
        Anchor::End => "2",
    };
    pairs(out, &[("72", anchor)]);
    point(out, SECOND, lettering.at);
}

/// ASCII as it is, else as programs of that release write it.
fn ascii(letter: char) -> String {
    if letter.is_ascii() { letter.to_string() } else { format!("\\U+{:04X}", u32::from(letter)) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Fill;

    /// Group codes and values.
    fn groups(text: &str) -> Vec<(i32, String)> {
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines.len() % 2, 0, "codes and values stand in pairs");
        lines.chunks(2).map(|pair| (pair[0].trim().parse().unwrap(), pair[1].to_owned())).collect()
    }

    #[test]
    fn lines_curves_and_words_stand_on_their_layers_with_y_upwards() {
        let mut drawing = Drawing::new("A drawing", "");
        drawing.polygon(
            Pen::Cut,
            vec![Point::new(0.0, 0.0), Point::new(100.0, 0.0), Point::new(50.0, 20.25)],
            Fill::None,
        );
        drawing.line(Pen::Node, Point::new(10.0, 0.0), Point::new(10.0, 22.0));
        drawing.circle(Pen::Centre, Point::new(50.0, 10.0), 3.0, Fill::None);
        drawing.push(Item::Arc {
            pen: Pen::Centre,
            centre: Point::new(0.0, 0.0),
            radius_mm: 5.0,
            start_rad: 0.0,
            sweep_rad: std::f64::consts::FRAC_PI_2,
            fill: Fill::None,
        });
        drawing.text(Pen::Text, Point::new(1.0, 2.0), Anchor::Middle, 4.0, "C♯3 \u{7}x");
        let groups = groups(&render(&drawing));
        let kinds: Vec<&str> = groups.iter().filter(|(code, _)| *code == 0).map(|(_, value)| value.as_str()).collect();
        assert_eq!((kinds[0], *kinds.last().unwrap()), ("SECTION", "EOF"));
        let count = |kind: &str| kinds.iter().filter(|found| **found == kind).count();
        assert_eq!((count("POLYLINE"), count("VERTEX"), count("SEQEND")), (2, 5, 2));
        assert_eq!((count("CIRCLE"), count("ARC"), count("TEXT")), (1, 1, 1));
        let vertex = groups.iter().filter(|(code, _)| *code == 20).any(|(_, value)| value == "-20.25");
        assert!(vertex, "down on the sheet is below zero here");
        // A quarter turn clockwise on the sheet, from 3 to 6 o'clock, runs anticlockwise from −90° to 0°.
        let angles: Vec<&str> =
            groups.iter().filter(|(code, _)| [50, 51].contains(code)).map(|(_, value)| value.as_str()).collect();
        assert_eq!(angles[angles.len() - 2..], ["-90", "0"]);
        assert!(groups.iter().any(|(code, value)| *code == 1 && value == "C\\U+266F3 x"));
    }
}
