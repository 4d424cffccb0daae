//! Banks of tubes as they hang, seen from the front, one scale for all.
use super::{Sheet, furniture};
use crate::error::within;
use crate::lettering::{DESCENT, width_mm};
use crate::{Anchor, Drawing, Fill, PaperError, Pen, Point, Rect};
use words::tell;

/// A tube, in millimetres from the frame's bass end and downwards from its mouth.
#[derive(Debug, Clone, PartialEq)]
pub struct TubeMark {
    /// The note; empty for a dummy.
    pub name: String,
    /// Its middle.
    pub centre_mm: f64,
    /// Outer diameter.
    pub outer_mm: f64,
    /// How long it looks.
    pub length_mm: f64,
    /// Where the stopper's face is, if it can be seen from outside where that is.
    pub stopper_mm: Option<f64>,
}

/// A bank.
#[derive(Debug, Clone, PartialEq)]
pub struct BankMark {
    /// How it is called.
    pub name: String,
    /// Its tubes, bass to treble.
    pub tubes: Vec<TubeMark>,
}

/// What the sheet shows.
#[derive(Debug, Clone, PartialEq)]
pub struct TubesView {
    /// A short title.
    pub title: String,
    /// What is to be seen, with figures, for those who do not see it.
    pub description: String,
    /// The banks, one below the other.
    pub banks: Vec<BankMark>,
    /// The paper.
    pub sheet: Sheet,
}

/// Longest frame that can be drawn, in millimetres.
const LONGEST_MM: f64 = 6000.0;

/// The banks from the player's side, bass at the left.
///
/// # Errors
/// [`PaperError`] naming a value that is not finite or out of range.
pub fn tubes_view(view: &TubesView) -> Result<Drawing, PaperError> {
    let sheet = view.sheet.checked()?;
    let (mut left, mut right) = (f64::INFINITY, f64::NEG_INFINITY);
    for tube in view.banks.iter().flat_map(|bank| &bank.tubes) {
        within("the place of a tube in mm", tube.centre_mm, -LONGEST_MM, LONGEST_MM)?;
        within("the width of a tube in mm", tube.outer_mm, 1.0, 500.0)?;
        within("the length of a tube in mm", tube.length_mm, 1.0, LONGEST_MM)?;
        left = left.min(tube.centre_mm - 0.5 * tube.outer_mm);
        right = right.max(tube.centre_mm + 0.5 * tube.outer_mm);
    }
    let mut drawing = Drawing::new(view.title.clone(), view.description.clone());
    let size = sheet.lettering_mm;
    let scale = sheet.width_mm / (right - left).max(1.0);
    let mut top = 0.0;
    for bank in view.banks.iter().filter(|bank| !bank.tubes.is_empty()) {
        let base = furniture::row_baseline(top, size);
        drawing.text(Pen::Text, Point::new(0.0, base), Anchor::Start, size, bank.name.clone());
        top = base + DESCENT * size + 0.8;
        top = draw(&mut drawing, bank, (left, top), scale, size);
    }
    let entries = [
        entry(Pen::Outline, tell!("legend-tube")),
        entry(Pen::Hidden, tell!("legend-dummy")),
        entry(Pen::Node, tell!("legend-stopper")),
    ];
    let bottom = furniture::legend(&mut drawing, (0.0, sheet.width_mm), top, size, &entries);
    furniture::scale_bar(&mut drawing, 0.0, bottom + 1.0, sheet.width_mm, scale, size);
    drawing.checked()
}

fn entry(pen: Pen, words: String) -> furniture::Entry {
    furniture::Entry { pen, sample: furniture::Sample::Line, words }
}

/// Draws a bank under `top`; returns the bottom.
fn draw(drawing: &mut Drawing, bank: &BankMark, (left, top): (f64, f64), scale: f64, size: f64) -> f64 {
    // Names stand under the mouths' line on two rows in turn where one row is too narrow.
    let name_size = 0.75 * size;
    let names_mm = furniture::row_mm(name_size);
    let row_of = rows(bank, left, scale, name_size);
    let rows = row_of.iter().map(|row| row + 1).max().unwrap_or(1);
    let mouth = top + names_mm * rows as f64 + 0.6;
    let mut bottom = mouth;
    for (tube, row) in bank.tubes.iter().zip(row_of) {
        let x = (tube.centre_mm - left) * scale;
        let half = 0.5 * tube.outer_mm * scale;
        let end = mouth + tube.length_mm * scale;
        let pen = if tube.name.is_empty() { Pen::Hidden } else { Pen::Outline };
        drawing.rectangle(pen, Rect::new(x - half, mouth, x + half, end), Fill::None);
        if let Some(stopper_mm) = tube.stopper_mm {
            let y = mouth + stopper_mm * scale;
            drawing.line(Pen::Node, Point::new(x - half, y), Point::new(x + half, y));
        }
        if !tube.name.is_empty() {
            let base = furniture::row_baseline(top + row as f64 * names_mm, name_size);
            drawing.text(Pen::Text, Point::new(x, base), Anchor::Middle, name_size, tube.name.clone());
        }
        bottom = f64::max(bottom, end);
    }
    bottom + 2.0
}

/// On which row each name stands: the first one where it is clear of the last name there.
fn rows(bank: &BankMark, left: f64, scale: f64, size: f64) -> Vec<usize> {
    let mut ends: Vec<f64> = Vec::new();
    bank.tubes
        .iter()
        .map(|tube| {
            let (x, half) = ((tube.centre_mm - left) * scale, 0.5 * width_mm(&tube.name, size));
            let row = ends.iter().position(|end| *end < x - half).unwrap_or(ends.len());
            if row == ends.len() {
                ends.push(0.0);
            }
            ends[row] = x + half + 0.8;
            row
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn view(length_mm: f64) -> TubesView {
        let tube = |i: u32| TubeMark {
            name: if i == 2 { String::new() } else { format!("C♯{i}") },
            centre_mm: 30.0 * f64::from(i),
            outer_mm: 26.0,
            length_mm: length_mm - 20.0 * f64::from(i),
            stopper_mm: (i != 2).then_some(100.0),
        };
        TubesView {
            title: "Tubes".to_owned(),
            description: "Six tubes.".to_owned(),
            banks: vec![BankMark { name: "naturals".to_owned(), tubes: (0..40).map(tube).collect() }],
            sheet: Sheet::WIDE,
        }
    }

    #[test]
    fn names_stand_clear_of_one_another_and_of_the_tubes() {
        let drawing = tubes_view(&view(1300.0)).unwrap();
        assert!(drawing.collisions(0.1).is_empty(), "{:?}", drawing.collisions(0.1));
    }

    #[test]
    fn impossible_sizes_are_refused() {
        for wrong in [f64::NAN, 0.0, 1e6] {
            assert!(tubes_view(&view(wrong)).is_err(), "{wrong}");
        }
    }
}
