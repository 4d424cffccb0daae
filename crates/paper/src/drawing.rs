//! The display list: what is on the sheet, in millimetres, whatever will show it.
use crate::lettering::{self, ASCENT, DESCENT};
use crate::{PaperError, Pen, Point, Rect, Weight, hatch_lines};

/// What a closed shape is filled with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fill {
    /// Nothing.
    None,
    /// The bare sheet: hides what was drawn before.
    Sheet,
    /// The pen's own colour.
    Solid,
}

/// Which end of the lettering its point is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// The left end.
    Start,
    /// The middle.
    Middle,
    /// The right end.
    End,
}

/// A line of lettering.
#[derive(Debug, Clone, PartialEq)]
pub struct Lettering {
    /// Colour.
    pub pen: Pen,
    /// Point on the baseline.
    pub at: Point,
    /// What the point is of the text.
    pub anchor: Anchor,
    /// Em size in millimetres.
    pub size_mm: f64,
    /// The words.
    pub text: String,
    /// Whether it is bold.
    pub bold: bool,
}

impl Lettering {
    /// Estimated box around the ink, in millimetres.
    pub fn bounds(&self) -> Rect {
        let width = lettering::width_mm(&self.text, self.size_mm);
        let left = match self.anchor {
            Anchor::Start => self.at.x,
            Anchor::Middle => self.at.x - width / 2.0,
            Anchor::End => self.at.x - width,
        };
        Rect::new(left, self.at.y - ASCENT * self.size_mm, left + width, self.at.y + DESCENT * self.size_mm)
    }
}

/// One thing on the sheet.
#[derive(Debug, Clone, PartialEq)]
pub enum Item {
    /// An open line through points.
    Line {
        /// Meaning.
        pen: Pen,
        /// Its points.
        points: Vec<Point>,
    },
    /// Part of a circle, from `start_rad` (0 = to the right, positive turns down) through `sweep_rad`.
    Arc {
        /// Meaning.
        pen: Pen,
        /// Centre.
        centre: Point,
        /// Radius in millimetres.
        radius_mm: f64,
        /// Where it starts, in radians.
        start_rad: f64,
        /// How far it turns, in radians; 2π or more is the whole circle.
        sweep_rad: f64,
        /// Filling; only meaningful for whole circles.
        fill: Fill,
    },
    /// A closed shape through points.
    Polygon {
        /// Meaning.
        pen: Pen,
        /// Its corners.
        points: Vec<Point>,
        /// Filling.
        fill: Fill,
    },
    /// Hatching: unbroken fine lines in the pen's colour.
    Hatch {
        /// Meaning.
        pen: Pen,
        /// Its lines.
        lines: Vec<(Point, Point)>,
    },
    /// A filled shape without an edge.
    Stripe {
        /// Meaning.
        pen: Pen,
        /// Its corners.
        points: Vec<Point>,
    },
    /// Lettering.
    Text(Lettering),
}

impl Item {
    /// The same mark with its points moved by `at` and its sizes times `scale`.
    pub(crate) fn mapped(&self, at: &dyn Fn(Point) -> Point, scale: f64) -> Self {
        let all = |points: &[Point]| points.iter().map(|point| at(*point)).collect();
        match self {
            Self::Line { pen, points } => Self::Line { pen: *pen, points: all(points) },
            Self::Polygon { pen, points, fill } => Self::Polygon { pen: *pen, points: all(points), fill: *fill },
            Self::Stripe { pen, points } => Self::Stripe { pen: *pen, points: all(points) },
            Self::Hatch { pen, lines } => {
                Self::Hatch { pen: *pen, lines: lines.iter().map(|(from, to)| (at(*from), at(*to))).collect() }
            }
            Self::Arc { pen, centre, radius_mm, start_rad, sweep_rad, fill } => Self::Arc {
                pen: *pen,
                centre: at(*centre),
                radius_mm: scale * radius_mm,
                start_rad: *start_rad,
                sweep_rad: *sweep_rad,
                fill: *fill,
            },
            Self::Text(text) => {
                Self::Text(Lettering { at: at(text.at), size_mm: scale * text.size_mm, ..text.clone() })
            }
        }
    }
}

/// Two things that lie over each other: lettering and what crosses it.
#[derive(Debug, Clone, PartialEq)]
pub struct Collision {
    /// The lettering.
    pub text: String,
    /// What crosses it: other lettering, or the pen of a line.
    pub with: String,
}

/// A drawing: what it shows, in words for those who do not see it, and its marks in order of drawing.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Drawing {
    /// A short title.
    pub title: String,
    /// What is to be seen, in a sentence or two with the figures.
    pub description: String,
    items: Vec<Item>,
}

impl Drawing {
    /// An empty sheet.
    pub fn new(title: impl Into<String>, description: impl Into<String>) -> Self {
        Self { title: title.into(), description: description.into(), items: Vec::new() }
    }

    /// What is drawn, in order.
    pub fn items(&self) -> &[Item] {
        &self.items
    }

    /// Adds anything.
    pub fn push(&mut self, item: Item) {
        self.items.push(item);
    }

    /// Everything of another drawing, its origin at `at`.
    pub fn add(&mut self, other: &Self, at: Point) {
        let moved = |point: Point| Point::new(point.x + at.x, point.y + at.y);
        self.items.extend(other.items.iter().map(|item| item.mapped(&moved, 1.0)));
    }

    /// A filled rectangle with no edge of its own: hatching so dense that it is solid would be wider than it says.
    pub fn stripe(&mut self, pen: Pen, rect: Rect) {
        let corner = |x: f64, y: f64| Point::new(x, y);
        let points = vec![rect.min, corner(rect.max.x, rect.min.y), rect.max, corner(rect.min.x, rect.max.y)];
        self.push(Item::Stripe { pen, points });
    }

    /// A straight line.
    pub fn line(&mut self, pen: Pen, from: Point, to: Point) {
        self.push(Item::Line { pen, points: vec![from, to] });
    }

    /// A line through points.
    pub fn polyline(&mut self, pen: Pen, points: Vec<Point>) {
        self.push(Item::Line { pen, points });
    }

    /// A closed shape.
    pub fn polygon(&mut self, pen: Pen, points: Vec<Point>, fill: Fill) {
        self.push(Item::Polygon { pen, points, fill });
    }

    /// An upright rectangle.
    pub fn rectangle(&mut self, pen: Pen, rect: Rect, fill: Fill) {
        let (a, b) = (rect.min, rect.max);
        self.polygon(pen, vec![a, Point::new(b.x, a.y), b, Point::new(a.x, b.y)], fill);
    }

    /// A whole circle.
    pub fn circle(&mut self, pen: Pen, centre: Point, radius_mm: f64, fill: Fill) {
        self.push(Item::Arc { pen, centre, radius_mm, start_rad: 0.0, sweep_rad: std::f64::consts::TAU, fill });
    }

    /// Hatching at 45° inside a closed shape.
    pub fn hatch(&mut self, pen: Pen, points: &[Point], spacing_mm: f64) {
        self.push(Item::Hatch { pen, lines: hatch_lines(points, spacing_mm) });
    }

    /// A line of lettering.
    pub fn text(&mut self, pen: Pen, at: Point, anchor: Anchor, size_mm: f64, text: impl Into<String>) {
        self.push(Item::Text(Lettering { pen, at, anchor, size_mm, text: text.into(), bold: false }));
    }

    /// The smallest rectangle around everything, lettering by its estimate and half a heavy line around it; `None` for an empty sheet.
    pub fn bounds(&self) -> Option<Rect> {
        let half_line = Weight::Heavy.width_mm() / 2.0;
        self.items.iter().filter_map(Item::bounds).reduce(|a, b| a.union(&b)).map(|r| r.grown(half_line))
    }

    /// All lettering that another line of lettering or a line comes closer to than `clearance_mm`.
    ///
    /// A drawing that can be read has none; the drawings' tests ask for that.
    pub fn collisions(&self, clearance_mm: f64) -> Vec<Collision> {
        let words: Vec<&Lettering> =
            self.items.iter().filter_map(|i| if let Item::Text(t) = i { Some(t) } else { None }).collect();
        let mut found = Vec::new();
        for (index, word) in words.iter().enumerate() {
            let around = word.bounds().grown(clearance_mm);
            let others = words[index + 1..].iter().filter(|o| o.bounds().overlaps(&around)).map(|o| o.text.clone());
            let lines =
                self.items.iter().filter(|i| i.crosses(&around)).map(|i| format!("a line of {}", i.pen().name()));
            found.extend(others.chain(lines).map(|with| Collision { text: word.text.clone(), with }));
        }
        found
    }

    /// This drawing, if every coordinate in it is finite.
    ///
    /// # Errors
    /// [`PaperError::NotFinite`] naming the first mark that is not.
    pub fn checked(self) -> Result<Self, PaperError> {
        for item in &self.items {
            if let Some(value) = item.numbers().into_iter().find(|v| !v.is_finite()) {
                return Err(PaperError::NotFinite {
                    what: format!("a mark of the pen \"{}\"", item.pen().name()),
                    value,
                });
            }
        }
        Ok(self)
    }
}

impl Item {
    /// The pen it is drawn with.
    pub fn pen(&self) -> Pen {
        match self {
            Self::Line { pen, .. }
            | Self::Arc { pen, .. }
            | Self::Polygon { pen, .. }
            | Self::Hatch { pen, .. }
            | Self::Stripe { pen, .. } => *pen,
            Self::Text(lettering) => lettering.pen,
        }
    }

    /// The smallest rectangle around its points; a whole circle's for any arc.
    pub fn bounds(&self) -> Option<Rect> {
        match self {
            Self::Line { points, .. } | Self::Polygon { points, .. } | Self::Stripe { points, .. } => {
                Rect::around(points)
            }
            Self::Arc { centre, radius_mm, .. } => Rect::around(&[*centre]).map(|r| r.grown(*radius_mm)),
            Self::Hatch { lines, .. } => Rect::around(&lines.iter().flat_map(|(a, b)| [*a, *b]).collect::<Vec<_>>()),
            Self::Text(lettering) => Some(lettering.bounds()),
        }
    }

    /// Its straight pieces; none for lettering, arcs and shapes that are only filled with the sheet.
    fn segments(&self) -> Vec<(Point, Point)> {
        match self {
            Self::Line { points, .. } => points.windows(2).map(|w| (w[0], w[1])).collect(),
            Self::Polygon { points, .. } | Self::Stripe { points, .. } => {
                (0..points.len()).map(|i| (points[i], points[(i + 1) % points.len()])).collect()
            }
            Self::Hatch { lines, .. } => lines.clone(),
            Self::Arc { .. } | Self::Text(_) => Vec::new(),
        }
    }

    /// Whether a line of it passes through `rect`.
    fn crosses(&self, rect: &Rect) -> bool {
        match self {
            Self::Arc { .. } => self.bounds().is_some_and(|b| b.overlaps(rect)),
            _ => self.segments().iter().any(|(a, b)| rect.is_crossed_by(*a, *b)),
        }
    }

    /// Every number in it.
    fn numbers(&self) -> Vec<f64> {
        match self {
            Self::Line { points, .. } | Self::Polygon { points, .. } | Self::Stripe { points, .. } => {
                points.iter().flat_map(|p| [p.x, p.y]).collect()
            }
            Self::Arc { centre, radius_mm, start_rad, sweep_rad, .. } => {
                vec![centre.x, centre.y, *radius_mm, *start_rad, *sweep_rad]
            }
            Self::Hatch { lines, .. } => lines.iter().flat_map(|(a, b)| [a.x, a.y, b.x, b.y]).collect(),
            Self::Text(t) => vec![t.at.x, t.at.y, t.size_mm],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bounds_hold_lettering_and_lines() {
        let mut drawing = Drawing::new("t", "d");
        assert!(drawing.bounds().is_none());
        drawing.line(Pen::Outline, Point::new(0.0, 0.0), Point::new(10.0, 5.0));
        drawing.text(Pen::Text, Point::new(10.0, 5.0), Anchor::End, 4.0, "wide words");
        let bounds = drawing.bounds().unwrap();
        assert!(bounds.min.x < -5.0 && bounds.max.y > 5.0 && bounds.min.y <= 0.0, "{bounds:?}");
    }

    #[test]
    fn a_line_through_words_is_a_collision_and_one_below_them_is_not() {
        let mut drawing = Drawing::new("t", "d");
        drawing.text(Pen::Text, Point::new(0.0, 0.0), Anchor::Start, 4.0, "62 mm");
        drawing.line(Pen::Faint, Point::new(0.0, 1.5), Point::new(20.0, 1.5));
        assert!(drawing.collisions(0.2).is_empty());
        drawing.line(Pen::Faint, Point::new(5.0, -10.0), Point::new(5.0, 10.0));
        drawing.text(Pen::Text, Point::new(1.0, 1.0), Anchor::Start, 4.0, "over");
        let with: Vec<_> = drawing.collisions(0.2).into_iter().map(|c| c.with).collect();
        assert_eq!(with, ["over", "a line of faint", "a line of faint", "a line of faint"]);
    }

    #[test]
    fn a_mark_that_is_not_finite_is_named() {
        let mut drawing = Drawing::new("t", "d");
        drawing.circle(Pen::Node, Point::new(0.0, f64::NAN), 1.0, Fill::None);
        let error = drawing.checked().unwrap_err();
        assert!(error.to_string().contains("node"), "{error}");
    }
}
