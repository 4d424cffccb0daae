//! An end board of a frame, full size: where each rail's notch goes.
use super::furniture;
use crate::error::within;
use crate::lettering::DESCENT;
use crate::number::number;
use crate::{Anchor, Drawing, Fill, PaperError, Pen, Point, Rect};
use words::tell;

/// Em size of the lettering, in millimetres: read at arm's length.
const LETTERING_MM: f64 = 5.0;

/// Where a rail meets the board, in millimetres from its end towards the player and from its lower edge.
#[derive(Debug, Clone, PartialEq)]
pub struct NotchMark {
    /// The rail.
    pub name: String,
    /// Its middle.
    pub centre_mm: f64,
    /// Its width along the board.
    pub width_mm: f64,
    /// Its lower edge.
    pub from_mm: f64,
    /// Its upper edge.
    pub to_mm: f64,
}

/// What the drawing shows.
#[derive(Debug, Clone, PartialEq)]
pub struct EndBoardView {
    /// A short title.
    pub title: String,
    /// What is to be seen, with figures, for those who do not see it.
    pub description: String,
    /// Whether the end towards the player is on the left, seen from the bars.
    pub player_left: bool,
    /// Length, 50 to 3000 mm.
    pub length_mm: f64,
    /// Height, 10 to 1000 mm.
    pub height_mm: f64,
    /// The rails, from the player away.
    pub notches: Vec<NotchMark>,
}

/// The board seen from the bars, one millimetre a millimetre.
///
/// # Errors
/// [`PaperError`] naming a value that is not finite or out of range.
pub fn end_board_view(view: &EndBoardView) -> Result<Drawing, PaperError> {
    within("the length of the end board in mm", view.length_mm, 50.0, 3000.0)?;
    within("the height of the end board in mm", view.height_mm, 10.0, 1000.0)?;
    let size = LETTERING_MM;
    let mut drawing = Drawing::new(view.title.clone(), view.description.clone());
    let base = furniture::row_baseline(0.0, size);
    let (player, far) = (tell!("end-board-player"), tell!("end-board-far-side"));
    let [left, right] = if view.player_left { [player, far] } else { [far, player] };
    drawing.text(Pen::Faint, Point::new(0.0, base), Anchor::Start, size, left);
    drawing.text(Pen::Faint, Point::new(view.length_mm, base), Anchor::End, size, right);
    drawing.text(Pen::Faint, Point::new(view.length_mm / 2.0, base), Anchor::Middle, size, tell!("end-board-seen"));
    let top = base + DESCENT * size + 2.0;
    let bottom = top + view.height_mm;
    drawing.rectangle(Pen::Outline, Rect::new(0.0, top, view.length_mm, bottom), Fill::Sheet);
    for (index, notch) in view.notches.iter().enumerate() {
        let name = &notch.name;
        within(&format!("the middle of {name} in mm"), notch.centre_mm, 0.0, view.length_mm)?;
        within(&format!("the width of {name} in mm"), notch.width_mm, 1.0, view.length_mm)?;
        within(&format!("the upper edge of {name} in mm"), notch.to_mm, notch.from_mm, view.height_mm)?;
        let x = if view.player_left { notch.centre_mm } else { view.length_mm - notch.centre_mm };
        let half = notch.width_mm / 2.0;
        drawing.rectangle(
            Pen::Cut,
            Rect::new(x - half, bottom - notch.to_mm, x + half, bottom - notch.from_mm),
            Fill::None,
        );
        // The cord line: what is measured from.
        drawing.line(Pen::Faint, Point::new(x, bottom - notch.from_mm + 8.0), Point::new(x, bottom));
        let middle = bottom - f64::midpoint(notch.from_mm, notch.to_mm);
        let at = Point::new(x, middle + 0.36 * size);
        drawing.text(Pen::Text, at, Anchor::Middle, size, format!("{}", index + 1));
    }
    let mut y = bottom + 3.0;
    for (index, notch) in view.notches.iter().enumerate() {
        let mm = |value_mm: f64| words::number(number(tenth(value_mm)));
        let words = tell!(
            "end-board-notch",
            number = index + 1,
            rail = notch.name.as_str(),
            middle = mm(notch.centre_mm),
            width = mm(notch.width_mm),
            from = mm(notch.from_mm),
            to = mm(notch.to_mm),
        );
        drawing.text(Pen::Text, Point::new(0.0, furniture::row_baseline(y, size)), Anchor::Start, size, words);
        y += furniture::row_mm(size);
    }
    let words = tell!("end-board-print");
    drawing.text(Pen::Text, Point::new(0.0, furniture::row_baseline(y, size)), Anchor::Start, size, words);
    y += furniture::row_mm(size);
    furniture::scale_bar(&mut drawing, 0.0, y, view.length_mm.max(150.0), 1.0, size);
    drawing.checked()
}

fn tenth(value_mm: f64) -> f64 {
    (value_mm * 10.0).round() / 10.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn view(player_left: bool) -> EndBoardView {
        let notch = |number: u8, centre_mm: f64, from_mm: f64| NotchMark {
            name: format!("rail {number}"),
            centre_mm,
            width_mm: 20.2,
            from_mm,
            to_mm: from_mm + 60.0,
        };
        EndBoardView {
            title: "End board, bass".to_owned(),
            description: "An invented end board.".to_owned(),
            player_left,
            length_mm: 780.0,
            height_mm: 135.0,
            notches: vec![notch(1, 35.0, 40.0), notch(2, 400.0, 40.0), notch(3, 480.0, 75.0), notch(4, 745.0, 75.0)],
        }
    }

    #[test]
    fn the_board_is_full_size_and_mirrored_at_the_treble() {
        let drawing = end_board_view(&view(true)).unwrap();
        let bounds = drawing.bounds().unwrap();
        // The outline is half a pen wider than the board.
        assert!((bounds.max.x - bounds.min.x - 780.0).abs() < 1.0, "{bounds:?}");
        assert!(drawing.collisions(0.0).is_empty(), "{:?}", drawing.collisions(0.0));
        let middles = |drawing: &Drawing| {
            let text = crate::svg::render(drawing, &crate::svg::Options::picture());
            (text.contains("player"), text)
        };
        let (there, bass) = middles(&drawing);
        let (_, treble) = middles(&end_board_view(&view(false)).unwrap());
        assert!(there && bass != treble, "seen from the bars, the player stands on the other hand at the treble");
        assert!(treble.contains(r#"x="745"#), "rail 1 lies 35 mm from the right end there: {treble}");
    }

    #[test]
    fn a_rail_beside_the_board_is_refused() {
        let mut wrong = view(true);
        wrong.notches[3].centre_mm = 900.0;
        assert!(end_board_view(&wrong).unwrap_err().to_string().contains("900"));
        wrong.notches[3].centre_mm = f64::NAN;
        assert!(end_board_view(&wrong).is_err());
    }
}
