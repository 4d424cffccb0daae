//! A drawing in its true size over several sheets of paper, to be joined.
use crate::document::{Document, Page, PaperSize, Placed};
use crate::error::within;
use crate::{Anchor, Drawing, Item, PaperError, Pen, Point, Rect};
use words::tell;

/// How a drawing is laid over sheets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tiling {
    /// The paper.
    pub paper: PaperSize,
    /// Whether it lies.
    pub lying: bool,
    /// Not printed on at each edge: what common printers leave (from memory: 5 mm and less), and a finger's breadth.
    pub margin_mm: f64,
    /// How far neighbouring sheets show the same, to be laid over one another.
    pub overlap_mm: f64,
    /// A printer's correction: how many times as wide and as high to draw so that it comes out right.
    pub stretch: [f64; 2],
}

impl Default for Tiling {
    fn default() -> Self {
        Self { paper: PaperSize::A4, lying: true, margin_mm: 10.0, overlap_mm: 15.0, stretch: [1.0, 1.0] }
    }
}

/// Lettering of the notes at the edge (12 pt).
const NOTE_MM: f64 = 4.3;
/// Shortest and longest piece of a roll: room for the note, and what a page may measure.
const LEAST_ROLL_MM: f64 = 260.0;
const MOST_ROLL_MM: f64 = 4000.0;
/// Room at the foot of each sheet for its note.
const FOOT_MM: f64 = 7.0;

impl Tiling {
    /// The page for a drawing so long: a roll is cut off behind it, other paper has its size.
    fn page_mm(&self, length_mm: f64) -> [f64; 2] {
        if let PaperSize::Roll(width_mm) = self.paper {
            let long = (length_mm * self.stretch[0] + 2.0 * self.margin_mm).ceil() + 1.0;
            return [long.clamp(LEAST_ROLL_MM, MOST_ROLL_MM), f64::from(width_mm)];
        }
        if self.lying { self.paper.lying_mm() } else { self.paper.upright_mm() }
    }

    /// Printed part of a sheet.
    fn window_mm(&self, length_mm: f64) -> [f64; 2] {
        let [width, height] = self.page_mm(length_mm);
        [width - 2.0 * self.margin_mm, height - 2.0 * self.margin_mm - FOOT_MM]
    }
}

/// The drawing in its true size, row by row from the left; each sheet says which it is and marks where its neighbours begin.
///
/// # Errors
/// [`PaperError`] for a drawing without marks, or margins that leave nothing.
pub fn tile(drawing: &Drawing, tiling: &Tiling) -> Result<Document, PaperError> {
    within("the margin in mm", tiling.margin_mm, 0.0, 50.0)?;
    within("the overlap in mm", tiling.overlap_mm, 5.0, 60.0)?;
    for stretch in tiling.stretch {
        within("a printer's correction", stretch, 0.9, 1.1)?;
    }
    let bounds = drawing.bounds().ok_or(PaperError::Empty { what: "the drawing", least: 1 })?.grown(1.0);
    let [width, height] = tiling.window_mm(bounds.width());
    // What is drawn wider fills the window sooner.
    let seen = [width / tiling.stretch[0], height / tiling.stretch[1]];
    let step = seen.map(|seen| seen - tiling.overlap_mm);
    let count =
        |size: f64, seen: f64, step: f64| if size <= seen { 1 } else { ((size - seen) / step).ceil() as usize + 1 };
    let (across, down) = (count(bounds.width(), seen[0], step[0]), count(bounds.height(), seen[1], step[1]));
    let mut windows = Vec::new();
    for row in 0..down {
        for column in 0..across {
            let from = Point::new(bounds.min.x + column as f64 * step[0], bounds.min.y + row as f64 * step[1]);
            let window = Rect::new(from.x, from.y, from.x + seen[0], from.y + seen[1]);
            // An empty sheet is no help.
            if drawing.items().iter().filter_map(Item::bounds).any(|item| item.overlaps(&window)) {
                windows.push((from, [column, row]));
            }
        }
    }
    let all = windows.len();
    let pages = (1..)
        .zip(windows)
        .map(|(number, (from, at))| {
            sheet(drawing, tiling, (from, bounds.width()), &Place { at, of: [across, down], number, all })
        })
        .collect();
    Ok(Document { title: drawing.title.clone(), pages, bookmarks: Vec::new() })
}

/// Which of the sheets it is.
struct Place {
    /// Column and row.
    at: [usize; 2],
    /// Columns and rows in all.
    of: [usize; 2],
    /// Its number, and how many there are: without the empty ones.
    number: usize,
    all: usize,
}

fn sheet(drawing: &Drawing, tiling: &Tiling, (from, length_mm): (Point, f64), place: &Place) -> Page {
    let margin = tiling.margin_mm;
    let [width, height] = tiling.window_mm(length_mm);
    let window = Rect::new(margin, margin, margin + width, margin + height);
    let [wide, high] = tiling.stretch;
    let part = Placed {
        drawing: drawing.clone(),
        at: Point::new(margin - wide * from.x, margin - high * from.y),
        clip: Some(window),
        stretch: tiling.stretch,
    };
    let marks = Placed::at(marks(drawing, tiling, window, place), 0.0, 0.0);
    Page { size_mm: tiling.page_mm(length_mm), parts: vec![part, marks] }
}

/// The window's corners, where the neighbours begin, and which sheet it is.
fn marks(drawing: &Drawing, tiling: &Tiling, window: Rect, &Place { at, of, number, all }: &Place) -> Drawing {
    let mut marks = Drawing::new("Marks", "Where sheets join.");
    let overlap = [tiling.overlap_mm * tiling.stretch[0], tiling.overlap_mm * tiling.stretch[1]];
    let upright = |marks: &mut Drawing, x: f64| {
        marks.line(Pen::Faint, Point::new(x, window.min.y), Point::new(x, window.max.y));
    };
    if at[0] > 0 {
        upright(&mut marks, window.min.x + 0.5 * overlap[0]);
    }
    if at[0] + 1 < of[0] {
        upright(&mut marks, window.max.x - 0.5 * overlap[0]);
    }
    let level = |marks: &mut Drawing, y: f64| {
        marks.line(Pen::Faint, Point::new(window.min.x, y), Point::new(window.max.x, y));
    };
    if at[1] > 0 {
        level(&mut marks, window.min.y + 0.5 * overlap[1]);
    }
    if at[1] + 1 < of[1] {
        level(&mut marks, window.max.y - 0.5 * overlap[1]);
    }
    let title = drawing.title.as_str();
    let words = if all > 1 {
        tell!("tile-joined", title = title, number = number, all = all)
    } else {
        tell!("tile-alone", title = title)
    };
    let foot = Point::new(window.min.x, window.max.y + FOOT_MM - 1.5);
    marks.text(Pen::Text, foot, Anchor::Start, NOTE_MM, words);
    marks
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn line(length_mm: f64, height_mm: f64) -> Drawing {
        let mut drawing = Drawing::new("A line", "One line.");
        drawing.line(Pen::Outline, Point::new(0.0, 0.0), Point::new(length_mm, height_mm));
        drawing
    }

    /// Which part of the drawing a page shows.
    fn shown(page: &Page) -> Rect {
        let part = &page.parts[0];
        let clip = part.clip.unwrap();
        let back =
            |point: Point| Point::new((point.x - part.at.x) / part.stretch[0], (point.y - part.at.y) / part.stretch[1]);
        let (min, max) = (back(clip.min), back(clip.max));
        Rect::new(min.x, min.y, max.x, max.y)
    }

    #[test]
    fn a_bass_bar_takes_three_sheets_and_a_small_one_one() {
        assert_eq!(tile(&line(580.0, 60.0), &Tiling::default()).unwrap().pages.len(), 3);
        assert_eq!(tile(&line(160.0, 60.0), &Tiling::default()).unwrap().pages.len(), 1);
        let mut far = line(50.0, 20.0);
        far.line(Pen::Outline, Point::new(1000.0, 600.0), Point::new(1050.0, 620.0));
        assert_eq!(tile(&far, &Tiling::default()).unwrap().pages.len(), 2, "sheets between them would be empty");
        let roll = Tiling { paper: PaperSize::Roll(610), ..Tiling::default() };
        let pages = tile(&line(1280.0, 60.0), &roll).unwrap().pages;
        assert!(pages.len() == 1 && pages[0].size_mm[0] > 1300.0, "one piece of the roll: {:?}", pages[0].size_mm);
        assert!(tile(&Drawing::new("none", ""), &Tiling::default()).is_err());
        assert!(tile(&line(10.0, 1.0), &Tiling { overlap_mm: f64::NAN, ..Tiling::default() }).is_err());
    }

    proptest! {
        /// Every place of the drawing is on a sheet, and neighbours share what they should.
        #[test]
        fn nothing_falls_between_sheets(length in 50.0_f64..1300.0, height in 20.0_f64..700.0, wide in 0.98_f64..1.02) {
            let tiling = Tiling { stretch: [wide, 1.0], ..Tiling::default() };
            let pages = tile(&line(length, height), &tiling).unwrap().pages;
            let rects: Vec<Rect> = pages.iter().map(shown).collect();
            for i in 0..=20 {
                for j in 0..=20 {
                    let at = Point::new(length * f64::from(i) / 20.0, height * f64::from(j) / 20.0);
                    prop_assert!(rects.iter().any(|rect| at.x >= rect.min.x && at.x <= rect.max.x && at.y >= rect.min.y && at.y <= rect.max.y), "{at:?}");
                }
            }
            for pair in rects.windows(2).filter(|pair| (pair[1].min.y - pair[0].min.y).abs() < 1e-9) {
                prop_assert!((pair[0].max.x - pair[1].min.x - tiling.overlap_mm).abs() < 1e-9, "{pair:?}");
            }
        }
    }
}
