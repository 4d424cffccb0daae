//! Boards with the pieces to be cut from them, all in one scale.
use super::{Sheet, furniture};
use crate::error::within;
use crate::lettering::{ASCENT, DESCENT, width_mm};
use crate::measure::mm;
use crate::{Anchor, Drawing, Fill, PaperError, Pen, Point, Rect};
use words::tell;

/// A piece in its place on a board, in millimetres from the board's left end and near edge.
#[derive(Debug, Clone, PartialEq)]
pub struct PieceMark {
    /// How it is called.
    pub name: String,
    /// From and to along the board.
    pub along_mm: [f64; 2],
    /// From and to across it.
    pub across_mm: [f64; 2],
}

/// A board.
#[derive(Debug, Clone, PartialEq)]
pub struct BoardMark {
    /// How it is called.
    pub name: String,
    /// Length.
    pub length_mm: f64,
    /// Width.
    pub width_mm: f64,
    /// The pieces.
    pub pieces: Vec<PieceMark>,
    /// What is cut around: (from and to along, from and to across).
    pub defects_mm: Vec<([f64; 2], [f64; 2])>,
}

/// What the sheet shows.
#[derive(Debug, Clone, PartialEq)]
pub struct BoardsView {
    /// A short title.
    pub title: String,
    /// What is to be seen, with figures, for those who do not see it.
    pub description: String,
    /// The boards, one below the other.
    pub boards: Vec<BoardMark>,
    /// The paper.
    pub sheet: Sheet,
}

/// Longest board that can be drawn, in millimetres.
const LONGEST_MM: f64 = 10_000.0;
/// Between boards.
const GAP_MM: f64 = 3.0;

/// Boards from above, left end at the left, near edge below.
///
/// # Errors
/// [`PaperError`] naming a value that is not finite or out of range.
pub fn boards_view(view: &BoardsView) -> Result<Drawing, PaperError> {
    let sheet = view.sheet.checked()?;
    let mut longest_mm: f64 = 1.0;
    for board in &view.boards {
        longest_mm = longest_mm.max(within("length of a board", board.length_mm, 1.0, LONGEST_MM)?);
        within("width of a board", board.width_mm, 1.0, LONGEST_MM)?;
    }
    let size = sheet.lettering_mm;
    let scale = sheet.width_mm / longest_mm;
    let mut drawing = Drawing::new(view.title.clone(), view.description.clone());
    let mut top = 0.0;
    for board in &view.boards {
        let base = furniture::row_baseline(top, size);
        let words = format!("{}: {} × {}", board.name, mm(board.length_mm), mm(board.width_mm));
        drawing.text(Pen::Text, Point::new(0.0, base), Anchor::Start, size, words);
        top = base + DESCENT * size + 0.8;
        draw(&mut drawing, board, top, scale, size);
        top += board.width_mm * scale + GAP_MM;
    }
    let entries = [
        entry(Pen::Outline, furniture::Sample::Line, tell!("legend-board")),
        entry(Pen::Caution, furniture::Sample::Patch, tell!("legend-cut-around")),
    ];
    furniture::legend(&mut drawing, (0.0, sheet.width_mm), top, size, &entries);
    drawing.checked()
}

fn entry(pen: Pen, sample: furniture::Sample, words: String) -> furniture::Entry {
    furniture::Entry { pen, sample, words }
}

fn draw(drawing: &mut Drawing, board: &BoardMark, top: f64, scale: f64, size: f64) {
    let rect = |along: [f64; 2], across: [f64; 2]| {
        let y = |across: f64| top + (board.width_mm - across) * scale;
        Rect::new(along[0] * scale, y(across[1]), along[1] * scale, y(across[0]))
    };
    drawing.rectangle(Pen::Outline, rect([0.0, board.length_mm], [0.0, board.width_mm]), Fill::None);
    for (along, across) in &board.defects_mm {
        let place = rect(*along, *across);
        let (a, b) = (place.min, place.max);
        drawing.rectangle(Pen::Caution, place, Fill::None);
        drawing.hatch(Pen::Caution, &[a, Point::new(b.x, a.y), b, Point::new(a.x, b.y)], 1.2);
    }
    for piece in &board.pieces {
        let place = rect(piece.along_mm, piece.across_mm);
        drawing.rectangle(Pen::Outline, place, Fill::None);
        let room = |size: f64| {
            place.width() > width_mm(&piece.name, size) + 1.0 && place.height() > (ASCENT + DESCENT) * size + 0.4
        };
        // A name that has no room is in the list beside the picture.
        let Some(size) = [size, 0.8 * size, 0.65 * size, 0.5 * size].into_iter().find(|size| room(*size)) else {
            continue;
        };
        let middle = Point::new(
            f64::midpoint(place.min.x, place.max.x),
            f64::midpoint(place.min.y, place.max.y) + 0.5 * (ASCENT - DESCENT) * size,
        );
        drawing.text(Pen::Text, middle, Anchor::Middle, size, piece.name.clone());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn view(length_mm: f64) -> BoardsView {
        let piece = |name: &str, along_mm: [f64; 2], across_mm: [f64; 2]| PieceMark {
            name: name.to_owned(),
            along_mm,
            across_mm,
        };
        BoardsView {
            title: "Cut list".to_owned(),
            description: "One board with two blanks.".to_owned(),
            boards: vec![BoardMark {
                name: "A".to_owned(),
                length_mm,
                width_mm: 180.0,
                pieces: vec![piece("C2", [45.0, 645.0], [0.0, 74.5]), piece("D2", [45.0, 627.0], [77.5, 151.0])],
                defects_mm: vec![([800.0, 900.0], [0.0, 60.0])],
            }],
            sheet: Sheet::WIDE,
        }
    }

    #[test]
    fn names_stand_clear_of_lines_and_pieces_where_they_are() {
        let drawing = boards_view(&view(2400.0)).unwrap();
        assert!(drawing.collisions(0.1).is_empty(), "{:?}", drawing.collisions(0.1));
        let words: Vec<&str> = drawing
            .items()
            .iter()
            .filter_map(|item| if let crate::Item::Text(text) = item { Some(text.text.as_str()) } else { None })
            .collect();
        assert!(
            words.contains(&"C2") && words.contains(&"D2") && words.iter().any(|w| w.contains("2400 mm × 180 mm")),
            "{words:?}"
        );
    }

    #[test]
    fn impossible_sizes_are_refused() {
        for wrong in [f64::NAN, 0.0, 1e6] {
            assert!(boards_view(&view(wrong)).is_err(), "{wrong}");
        }
    }
}
