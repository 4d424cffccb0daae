//! A rail: a straight line, or two meeting at a post.

/// How a line leans in instrument view.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Slant {
    /// Away from the player towards the treble.
    Rising,
    /// Towards the player towards the treble.
    Falling,
    /// Square to the bars, within a tenth of a degree.
    Square,
}

impl Slant {
    /// Of a line with this slope.
    pub fn of(slope: f64) -> Self {
        // A tenth of a degree is below what a drill table's scale shows.
        let least = 0.1_f64.to_radians().tan();
        if slope > least {
            Self::Rising
        } else if slope < -least {
            Self::Falling
        } else {
            Self::Square
        }
    }

    /// As it looks on the plan.
    pub fn sign(self) -> &'static str {
        match self {
            Self::Rising => "/",
            Self::Falling => "\\",
            Self::Square => "|",
        }
    }
}

/// A rail's cord line in instrument view: points from the bass to the treble, straight between them.
#[derive(Debug, Clone, PartialEq)]
pub struct Rail {
    points: Vec<(f64, f64)>,
}

impl Rail {
    /// A line through at least two points (x, y) with rising x; `None` otherwise.
    pub fn through(points: Vec<(f64, f64)>) -> Option<Self> {
        let rising = points.len() >= 2 && points.windows(2).all(|pair| pair[1].0 > pair[0].0);
        let finite = points.iter().all(|(x, y)| x.is_finite() && y.is_finite());
        (rising && finite).then_some(Self { points })
    }

    /// Its points: both ends, and where it bends.
    pub fn points(&self) -> &[(f64, f64)] {
        &self.points
    }

    /// Slope at `x_m`; beyond the ends, of the end's stretch.
    pub fn slope_at(&self, x_m: f64) -> f64 {
        let (from, to) = self.stretch(x_m);
        (to.1 - from.1) / (to.0 - from.0)
    }

    /// y at `x_m`; beyond the ends, on the end's stretch made longer.
    pub fn y_at(&self, x_m: f64) -> f64 {
        let (from, _) = self.stretch(x_m);
        from.1 + self.slope_at(x_m) * (x_m - from.0)
    }

    /// The same rail moved away from the player.
    #[must_use]
    pub fn moved(&self, by_y_m: f64) -> Self {
        Self { points: self.points.iter().map(|(x, y)| (*x, y + by_y_m)).collect() }
    }

    fn stretch(&self, x_m: f64) -> ((f64, f64), (f64, f64)) {
        let inner = 1..self.points.len() - 1;
        let end = inner.into_iter().find(|i| x_m <= self.points[*i].0).unwrap_or(self.points.len() - 1);
        (self.points[end - 1], self.points[end])
    }
}
