//! Any drawing, written as SVG, DXF and PDF and read back by readers that are not ours: every mark and every word is there.
#![no_main]
use arbitrary::Arbitrary;
use libfuzzer_sys::fuzz_target;
use paper::{Anchor, Drawing, Fill, Pen, Point, dxf, svg};

#[derive(Debug, Arbitrary)]
enum Mark {
    Line(u8, Vec<(i16, i16)>),
    Shape(u8, Vec<(i16, i16)>),
    Circle(u8, (i16, i16), u16),
    Words(u8, (i16, i16), String),
}

fn pen(of: u8) -> Pen {
    Pen::ALL[usize::from(of) % Pen::ALL.len()]
}

/// Hundredths of a millimetre, over 650 mm: what a sheet may hold.
fn point(at: (i16, i16)) -> Point {
    Point::new(f64::from(at.0) / 100.0, f64::from(at.1) / 100.0)
}

fn drawn(title: &str, marks: &[Mark]) -> Drawing {
    let mut drawing = Drawing::new(title, "A fuzzed drawing");
    for mark in marks {
        match mark {
            Mark::Line(p, points) => drawing.polyline(pen(*p), points.iter().map(|at| point(*at)).collect()),
            Mark::Shape(p, points) => drawing.polygon(pen(*p), points.iter().map(|at| point(*at)).collect(), Fill::None),
            Mark::Circle(p, at, r) => drawing.circle(pen(*p), point(*at), f64::from(*r) / 100.0, Fill::Sheet),
            Mark::Words(p, at, words) => drawing.text(pen(*p), point(*at), Anchor::Start, 4.0, words.as_str()),
        }
    }
    drawing
}

/// What of a text XML 1.0 can hold; the rest has no place in a file and is left out.
fn speakable(words: &str) -> String {
    words.chars().filter(|c| matches!(c, '\t' | '\n' | '\r' | ' '..='\u{D7FF}' | '\u{E000}'..='\u{FFFD}' | '\u{10000}'..)).collect()
}

fn collapsed(words: &str) -> String {
    speakable(words).split_whitespace().collect::<Vec<_>>().join(" ")
}

fuzz_target!(|input: (String, Vec<Mark>)| {
    let (title, marks) = input;
    let drawing = drawn(&title, &marks);

    let text = svg::render(&drawing, &svg::Options::picture());
    let document = roxmltree::Document::parse(&text).unwrap_or_else(|error| panic!("{error} in {text}"));
    let tags = |name: &str| document.descendants().filter(|node| node.has_tag_name(("http://www.w3.org/2000/svg", name))).count();
    // Nothing that runs, whatever the words.
    assert_eq!(tags("script") + tags("foreignObject") + tags("a") + tags("image"), 0);
    let read: Vec<String> = document
        .descendants()
        .filter(|node| node.has_tag_name(("http://www.w3.org/2000/svg", "text")))
        .map(|node| collapsed(node.text().unwrap_or("")))
        .collect();
    let wanted: Vec<String> =
        marks.iter().filter_map(|mark| if let Mark::Words(_, _, words) = mark { Some(collapsed(words)) } else { None }).collect();
    assert_eq!(read, wanted, "{text}");
    assert_eq!(tags("circle"), marks.iter().filter(|mark| matches!(mark, Mark::Circle(..))).count());

    let text = dxf::render(&drawing);
    let read = ::dxf::Drawing::load(&mut text.as_bytes()).unwrap_or_else(|error| panic!("{error} in {text}"));
    let count = |wanted: fn(&::dxf::entities::EntityType) -> bool| read.entities().filter(|e| wanted(&e.specific)).count();
    use ::dxf::entities::EntityType as Type;
    assert_eq!(count(|e| matches!(e, Type::Text(_))), wanted.len(), "{text}");
    assert_eq!(count(|e| matches!(e, Type::Circle(_))), marks.iter().filter(|m| matches!(m, Mark::Circle(..))).count());
});
