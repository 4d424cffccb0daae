//! Points and rectangles on the sheet, in millimetres, x to the right and y **down** from the top left corner.

/// A point on the sheet, in millimetres.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Point {
    /// To the right.
    pub x: f64,
    /// Down.
    pub y: f64,
}

impl Point {
    /// The point (`x`, `y`).
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }
}

/// An upright rectangle on the sheet, in millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rect {
    /// Top left corner.
    pub min: Point,
    /// Bottom right corner.
    pub max: Point,
}

impl Rect {
    /// The rectangle with corners (`x0`, `y0`) and (`x1`, `y1`), in any order.
    pub fn new(x0: f64, y0: f64, x1: f64, y1: f64) -> Self {
        Self { min: Point::new(x0.min(x1), y0.min(y1)), max: Point::new(x0.max(x1), y0.max(y1)) }
    }

    /// Width.
    pub fn width(&self) -> f64 {
        self.max.x - self.min.x
    }

    /// Height.
    pub fn height(&self) -> f64 {
        self.max.y - self.min.y
    }

    /// This rectangle with `margin` added on all sides.
    #[must_use]
    pub fn grown(&self, margin: f64) -> Self {
        Self {
            min: Point::new(self.min.x - margin, self.min.y - margin),
            max: Point::new(self.max.x + margin, self.max.y + margin),
        }
    }

    /// The smallest rectangle around both.
    #[must_use]
    pub fn union(&self, other: &Self) -> Self {
        Self {
            min: Point::new(self.min.x.min(other.min.x), self.min.y.min(other.min.y)),
            max: Point::new(self.max.x.max(other.max.x), self.max.y.max(other.max.y)),
        }
    }

    /// Whether the two share any area.
    pub fn overlaps(&self, other: &Self) -> bool {
        self.min.x < other.max.x && other.min.x < self.max.x && self.min.y < other.max.y && other.min.y < self.max.y
    }

    /// Whether the segment from `a` to `b` passes through the inside (Liang and Barsky 1984: clip the
    /// parameter interval against each side).
    pub fn is_crossed_by(&self, a: Point, b: Point) -> bool {
        let (dx, dy) = (b.x - a.x, b.y - a.y);
        let (mut enter, mut leave) = (0.0_f64, 1.0_f64);
        let sides = [(-dx, a.x - self.min.x), (dx, self.max.x - a.x), (-dy, a.y - self.min.y), (dy, self.max.y - a.y)];
        for (towards, room) in sides {
            if towards.abs() < 1e-12 {
                if room <= 0.0 {
                    return false;
                }
            } else if towards < 0.0 {
                enter = enter.max(room / towards);
            } else {
                leave = leave.min(room / towards);
            }
        }
        enter < leave
    }

    /// The smallest rectangle around `points`; `None` without points.
    pub fn around(points: &[Point]) -> Option<Self> {
        points.iter().map(|p| Self { min: *p, max: *p }).reduce(|a, b| a.union(&b))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_segment_crosses_a_box_only_through_its_inside() {
        let square = Rect::new(0.0, 0.0, 10.0, 10.0);
        assert!(square.is_crossed_by(Point::new(-5.0, 5.0), Point::new(15.0, 5.0)));
        assert!(square.is_crossed_by(Point::new(4.0, 4.0), Point::new(5.0, 6.0)), "wholly inside");
        assert!(!square.is_crossed_by(Point::new(-5.0, -1.0), Point::new(15.0, -1.0)), "above it");
        assert!(!square.is_crossed_by(Point::new(-5.0, 8.0), Point::new(2.0, 16.0)), "past the corner");
        assert!(!square.is_crossed_by(Point::new(0.0, -5.0), Point::new(0.0, 15.0)), "along an edge");
    }
}
