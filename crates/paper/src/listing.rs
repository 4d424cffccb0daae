//! Sheets of words and tables: headed, numbered, in large type, with the table's head on every page.
mod columns;

use crate::document::{Document, Page, PaperSize, Placed};
use crate::error::within;
use crate::lettering::width_mm;
use crate::{Anchor, Drawing, PaperError, Pen, Point, Rect};
use columns::Columns;
use words::tell;

/// A column of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// Its head.
    pub head: String,
    /// Whether it holds figures, which stand to the right.
    pub figures: bool,
    /// Whether it is left free to write in, at least so wide, in millimetres.
    pub free_mm: Option<u32>,
}

impl Column {
    /// Of words.
    pub fn words(head: impl Into<String>) -> Self {
        Self { head: head.into(), figures: false, free_mm: None }
    }

    /// Of figures.
    pub fn figures(head: impl Into<String>) -> Self {
        Self { figures: true, ..Self::words(head) }
    }

    /// To write in.
    pub fn free(head: impl Into<String>, least_mm: u32) -> Self {
        Self { free_mm: Some(least_mm), ..Self::words(head) }
    }
}

/// A table.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Table {
    /// Its columns.
    pub columns: Vec<Column>,
    /// Its rows; missing cells are empty.
    pub rows: Vec<Vec<String>>,
}

/// What stands on a sheet, in this order.
#[derive(Debug, Clone, PartialEq)]
pub enum Part {
    /// A paragraph.
    Words(String),
    /// A heading.
    Heading(String),
    /// A caution, behind a triangle.
    Caution(String),
    /// A table.
    Table(Table),
    /// A drawing, made smaller if it is wider than the sheet; never larger.
    Picture(Drawing),
}

/// A sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Listing {
    /// Its title.
    pub title: String,
    /// What stands on it.
    pub parts: Vec<Part>,
}

/// What stands at the head and foot of every page.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Letterhead {
    /// Workshop.
    pub workshop: String,
    /// Job: the instrument.
    pub job: String,
    /// Date.
    pub date: String,
    /// The air that pitches are for.
    pub reference: String,
}

/// 12 pt: read at arm's length in a workshop.
const SIZE: f64 = 4.233;
const TITLE: f64 = 7.0;
const LINE: f64 = 1.32;
const MARGIN: f64 = 15.0;
const FOOT: f64 = 9.0;
/// Smaller than this share of its size a picture is not made to save a page: its lettering must stay readable.
const LEAST_SHRINK: f64 = 0.75;

/// The sheet over as many pages as it takes; a table that is too wide for upright paper lies.
///
/// # Errors
/// [`PaperError`] for a table of no columns or a drawing that cannot be placed.
pub fn pages(listing: &Listing, letterhead: &Letterhead, paper: PaperSize) -> Result<Document, PaperError> {
    let tables: Vec<&Table> =
        listing.parts.iter().filter_map(|part| if let Part::Table(t) = part { Some(t) } else { None }).collect();
    for table in &tables {
        within("the number of columns", table.columns.len() as f64, 1.0, 40.0)?;
    }
    let wide = |size_mm: [f64; 2]| size_mm[0] - 2.0 * MARGIN;
    let fits = tables.iter().all(|table| Columns::natural_mm(table, SIZE) <= wide(paper.upright_mm()));
    let size_mm = if fits { paper.upright_mm() } else { paper.lying_mm() };
    let mut flow = Flow { size_mm, bodies: Vec::new(), body: Drawing::default(), y: 0.0 };
    flow.begin_page();
    flow.text(&listing.title, TITLE, true);
    flow.y += 2.0;
    for part in &listing.parts {
        flow.part(part)?;
    }
    flow.bodies.push(std::mem::take(&mut flow.body));
    let all = flow.bodies.len();
    let page = |(number, body): (usize, Drawing)| Page {
        size_mm,
        parts: vec![
            Placed::at(body, 0.0, 0.0),
            Placed::at(frame(listing, letterhead, size_mm, [number + 1, all]), 0.0, 0.0),
        ],
    };
    let pages = flow.bodies.into_iter().enumerate().map(page).collect();
    Ok(Document { title: listing.title.clone(), pages, bookmarks: Vec::new() })
}

/// Head and foot of a page.
fn frame(listing: &Listing, letterhead: &Letterhead, [width, height]: [f64; 2], [number, all]: [usize; 2]) -> Drawing {
    let mut frame = Drawing::new(listing.title.clone(), String::new());
    let (left, right) = (MARGIN, width - MARGIN);
    let head: Vec<&str> =
        [letterhead.workshop.as_str(), letterhead.job.as_str()].into_iter().filter(|words| !words.is_empty()).collect();
    let top = MARGIN;
    // A long name is written smaller beside the date, never over it.
    let beside = |words: &str, other: &str| {
        let room = right - left - width_mm(other, SIZE) - 5.0;
        SIZE * (room / width_mm(words, SIZE).max(0.1)).min(1.0)
    };
    let head = head.join(" · ");
    let size = beside(&head, &letterhead.date);
    frame.text(Pen::Text, Point::new(left, top), Anchor::Start, size, head);
    frame.text(Pen::Text, Point::new(right, top), Anchor::End, SIZE, letterhead.date.clone());
    frame.line(Pen::Text, Point::new(left, top + 2.2), Point::new(right, top + 2.2));
    let foot = height - MARGIN + 3.0;
    frame.line(Pen::Faint, Point::new(left, foot - 5.5), Point::new(right, foot - 5.5));
    let which = tell!("page-of", number = number, all = all);
    let words = format!("{}  {}", listing.title, letterhead.reference);
    let size = beside(&words, &which);
    frame.text(Pen::Text, Point::new(left, foot), Anchor::Start, size, words);
    frame.text(Pen::Text, Point::new(right, foot), Anchor::End, SIZE, which);
    frame
}

/// Where the next thing goes.
struct Flow {
    size_mm: [f64; 2],
    bodies: Vec<Drawing>,
    body: Drawing,
    y: f64,
}

impl Flow {
    fn width(&self) -> f64 {
        self.size_mm[0] - 2.0 * MARGIN
    }

    fn bottom(&self) -> f64 {
        self.size_mm[1] - MARGIN - FOOT
    }

    fn begin_page(&mut self) {
        self.y = MARGIN + 7.0;
    }

    /// A new page if less than that is left.
    fn need(&mut self, height: f64) -> bool {
        if self.y + height <= self.bottom() {
            return false;
        }
        self.bodies.push(std::mem::take(&mut self.body));
        self.begin_page();
        true
    }

    fn line(&mut self, words: &str, x: f64, size: f64, bold: bool) {
        self.body.push(crate::Item::Text(crate::Lettering {
            pen: Pen::Text,
            at: Point::new(MARGIN + x, self.y + 0.8 * size),
            anchor: Anchor::Start,
            size_mm: size,
            text: words.to_owned(),
            bold,
        }));
    }

    fn text(&mut self, words: &str, size: f64, bold: bool) {
        for line in wrapped(words, self.width(), size) {
            self.need(LINE * size);
            self.line(&line, 0.0, size, bold);
            self.y += LINE * size;
        }
    }

    fn part(&mut self, part: &Part) -> Result<(), PaperError> {
        match part {
            Part::Words(words) => {
                self.text(words, SIZE, false);
                self.y += 1.5;
            }
            Part::Heading(words) => {
                // Never alone at the foot of a page.
                self.need(5.0 * LINE * SIZE);
                self.y += 2.0;
                self.text(words, 1.15 * SIZE, true);
                self.y += 0.8;
            }
            Part::Caution(words) => self.caution(words),
            Part::Table(table) => self.table(table),
            Part::Picture(drawing) => self.picture(drawing)?,
        }
        Ok(())
    }

    fn caution(&mut self, words: &str) {
        let indent = 1.8 * SIZE;
        let lines = wrapped(words, self.width() - indent, SIZE);
        self.need(LINE * SIZE * lines.len().min(4) as f64);
        let (x, y) = (MARGIN, self.y);
        let corner = |dx: f64, dy: f64| Point::new(x + dx * SIZE, y + dy * SIZE);
        self.body.polygon(Pen::Caution, vec![corner(0.6, 0.0), corner(1.2, 1.0), corner(0.0, 1.0)], crate::Fill::None);
        for line in lines {
            self.need(LINE * SIZE);
            self.line(&line, indent, SIZE, false);
            self.y += LINE * SIZE;
        }
        self.y += 1.5;
    }

    fn picture(&mut self, drawing: &Drawing) -> Result<(), PaperError> {
        let bounds = drawing.bounds().ok_or(PaperError::Empty { what: "the drawing", least: 1 })?;
        let room = [self.width(), self.bottom() - MARGIN - 7.0];
        let whole = (room[0] / bounds.width()).min(room[1] / bounds.height()).min(1.0);
        // A little smaller is better than a page left empty before it.
        let here = (self.bottom() - self.y) / bounds.height();
        let scale = if here < whole && here >= LEAST_SHRINK * whole { here } else { whole };
        let height = scale * bounds.height();
        self.need(height - 1e-6);
        let shift = |point: Point| {
            Point::new(MARGIN + scale * (point.x - bounds.min.x), self.y + scale * (point.y - bounds.min.y))
        };
        for item in drawing.items() {
            self.body.push(item.mapped(&shift, scale));
        }
        self.y += height + 3.0;
        Ok(())
    }

    fn table(&mut self, table: &Table) {
        let columns = Columns::of(table, self.width(), SIZE);
        let heads: Vec<String> = table.columns.iter().map(|column| column.head.clone()).collect();
        // The head and two rows stand together.
        self.need(columns.height(&heads) + 2.0 * LINE * columns.size_mm + 4.0);
        self.row(table, &columns, &heads, true);
        for row in &table.rows {
            if self.need(columns.height(row)) {
                self.row(table, &columns, &heads, true);
            }
            self.row(table, &columns, row, false);
        }
        self.y += 3.0;
    }

    fn row(&mut self, table: &Table, columns: &Columns, cells: &[String], head: bool) {
        let size = columns.size_mm;
        let top = self.y;
        for (i, column) in table.columns.iter().enumerate() {
            let cell = cells.get(i).map_or("", String::as_str);
            for (line, words) in wrapped(cell, columns.widths[i], size).into_iter().enumerate() {
                let y = top + 0.9 + line as f64 * LINE * size + 0.8 * size;
                let (x, anchor) =
                    if column.figures { (columns.right(i), Anchor::End) } else { (columns.left(i), Anchor::Start) };
                self.body.push(crate::Item::Text(crate::Lettering {
                    pen: Pen::Text,
                    at: Point::new(MARGIN + x, y),
                    anchor,
                    size_mm: size,
                    text: words,
                    bold: head,
                }));
            }
        }
        self.y = top + columns.height(cells);
        let pen = if head { Pen::Text } else { Pen::Faint };
        self.body.line(pen, Point::new(MARGIN, self.y), Point::new(MARGIN + self.width(), self.y));
        for (i, _) in table.columns.iter().enumerate().filter(|(_, column)| !head && column.free_mm.is_some()) {
            let free = Rect::new(MARGIN + columns.left(i), top + 1.0, MARGIN + columns.right(i), self.y - 0.8);
            self.body.rectangle(Pen::Faint, free, crate::Fill::None);
        }
    }
}

/// Words in lines of at most that width; a word that is longer stands alone.
fn wrapped(words: &str, width: f64, size: f64) -> Vec<String> {
    let mut lines = Vec::new();
    for paragraph in words.split('\n') {
        let mut line = String::new();
        for word in paragraph.split_whitespace() {
            let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
            if width_mm(&longer, size) <= width || line.is_empty() {
                line = longer;
            } else {
                lines.push(std::mem::replace(&mut line, word.to_owned()));
            }
        }
        lines.push(line);
    }
    lines
}

#[cfg(test)]
mod tests;
