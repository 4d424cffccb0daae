//! Pages: drawings placed on sheets of paper, in millimetres.
use crate::error::within;
use crate::{Drawing, PaperError, Point, Rect};

/// A size of paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum PaperSize {
    /// 210 × 297 mm (ISO 216).
    #[default]
    A4,
    /// 297 × 420 mm (ISO 216).
    A3,
    /// 8.5 × 11 in (ANSI/ASME Y14.1, size A).
    Letter,
    /// A roll so many millimetres wide: drawings in true size lie along it in one piece.
    Roll(u16),
}

impl PaperSize {
    /// Width and height, upright, in millimetres.
    pub fn upright_mm(self) -> [f64; 2] {
        match self {
            Self::A4 => [210.0, 297.0],
            Self::A3 => [297.0, 420.0],
            Self::Letter => [8.5 * 25.4, 11.0 * 25.4],
            // Sheets of words on a roll have the shape of A paper.
            Self::Roll(width_mm) => [f64::from(width_mm), f64::from(width_mm) * std::f64::consts::SQRT_2],
        }
    }

    /// Lying.
    pub fn lying_mm(self) -> [f64; 2] {
        let [width, height] = self.upright_mm();
        [height, width]
    }
}

/// A drawing on a page.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// The drawing.
    pub drawing: Drawing,
    /// Where the drawing's origin lies on the page, from the top left corner.
    pub at: Point,
    /// The part of the page outside which nothing of it shows; everything if missing.
    pub clip: Option<Rect>,
    /// How many times as wide and as high it is drawn as it says: 1 and 1, but for a printer that is corrected.
    pub stretch: [f64; 2],
}

impl Placed {
    /// A drawing as it is.
    pub fn at(drawing: Drawing, x_mm: f64, y_mm: f64) -> Self {
        Self { drawing, at: Point::new(x_mm, y_mm), clip: None, stretch: [1.0, 1.0] }
    }
}

/// One page.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// Width and height.
    pub size_mm: [f64; 2],
    /// What is on it, in order.
    pub parts: Vec<Placed>,
}

/// Several pages with their bookmarks.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Document {
    /// Its title.
    pub title: String,
    /// The pages.
    pub pages: Vec<Page>,
    /// Where each sheet begins: its name and its first page, from 0.
    pub bookmarks: Vec<(String, usize)>,
}

impl Document {
    /// This document, if it can be written.
    ///
    /// # Errors
    /// [`PaperError`] without pages, or for a page that is no paper's size.
    pub(crate) fn checked(&self) -> Result<&Self, PaperError> {
        if self.pages.is_empty() {
            return Err(PaperError::Empty { what: "the document", least: 1 });
        }
        for page in &self.pages {
            for size in page.size_mm {
                within("the size of a page in mm", size, 50.0, 5000.0)?;
            }
            for stretch in page.parts.iter().flat_map(|part| part.stretch) {
                within("a printer's correction", stretch, 0.9, 1.1)?;
            }
        }
        within("the number of pages", self.pages.len() as f64, 1.0, 10_000.0)?;
        Ok(self)
    }

    /// The pages of another document after these, under one more bookmark.
    pub fn append(&mut self, name: &str, other: Document) {
        self.bookmarks.push((name.to_owned(), self.pages.len()));
        self.pages.extend(other.pages);
    }
}
