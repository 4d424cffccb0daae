//! A row on its rails.
use super::fit::{FitBar, motion_per_m};
use super::{NodeLines, Rail, Row};

/// A bar on its rails.
#[derive(Debug, Clone, PartialEq)]
pub struct FittedBar {
    /// As it was given.
    pub bar: FitBar,
    /// Its node lines, as read or interpolated.
    pub nodes: NodeLines,
    /// True if they were not read but taken from its neighbours' shares of length.
    pub interpolated: bool,
    /// True if its span does not belong to the row; it had next to no say in the rails.
    pub misread: bool,
    /// y of its middle.
    pub centre_y_m: f64,
    /// Where the cords cross its sides, from the end facing the player: (player's rail, far rail) × (left, right).
    pub cords_m: [[f64; 2]; 2],
}

impl FittedBar {
    /// Cord less node: (player's rail, far rail) × (left, right).
    pub fn misses_m(&self) -> [[f64; 2]; 2] {
        let nodes = [self.nodes.player_m, self.nodes.away_m];
        [0, 1].map(|rail| [0, 1].map(|side| self.cords_m[rail][side] - nodes[rail][side]))
    }

    /// The largest miss in the middle of the bar, without its sign.
    pub fn worst_middle_m(&self) -> f64 {
        self.misses_m().iter().map(|[left, right]| f64::midpoint(*left, *right).abs()).fold(0.0, f64::max)
    }

    /// The largest miss anywhere, without its sign.
    pub fn worst_m(&self) -> f64 {
        self.misses_m().iter().flatten().fold(0.0, |worst, miss| worst.max(miss.abs()))
    }

    /// Motion at the worst cord relative to the motion of the centre.
    pub fn motion(&self) -> f64 {
        self.worst_m() * motion_per_m(&self.bar)
    }

    /// y of the end that faces the player and of the far end.
    pub fn ends_y_m(&self) -> [f64; 2] {
        [self.centre_y_m - self.bar.length_m / 2.0, self.centre_y_m + self.bar.length_m / 2.0]
    }
}

/// Rails of a row, with every bar on them.
#[derive(Debug, Clone, PartialEq)]
pub struct RowFit {
    /// The row.
    pub row: Row,
    /// The rail nearer the player, and the far one.
    pub rails: [Rail; 2],
    /// Standard uncertainty of the distance between the rails at the bass end and at the treble end, from the readings'.
    pub span_sigma_m: [f64; 2],
    /// Share of the convergence that the outer rail takes; `None` for rails as good as parallel, and for built ones.
    pub outer_share: Option<f64>,
    /// Bass to treble.
    pub bars: Vec<FittedBar>,
}

impl RowFit {
    /// Root mean square of the motion at the cords, misread and interpolated bars left out.
    pub fn rms_motion(&self) -> f64 {
        let squares = self.motions_squared();
        #[allow(clippy::cast_precision_loss)] // a row of bars
        let count = squares.len().max(1) as f64;
        (squares.iter().sum::<f64>() / count).sqrt()
    }

    /// Sum of the squares of the same: what [`super::fit_row`] makes least.
    pub(super) fn cost(&self) -> f64 {
        self.motions_squared().iter().sum()
    }

    fn motions_squared(&self) -> Vec<f64> {
        let counted = self.bars.iter().filter(|b| !b.misread && !b.interpolated);
        counted.flat_map(|b| b.misses_m().concat().into_iter().map(|m| (m * motion_per_m(&b.bar)).powi(2))).collect()
    }

    /// How much the player's rail rises more than the far one, per length along the frame, in the bass.
    pub fn converging(&self) -> f64 {
        let x = self.rails[0].points()[0].0;
        self.rails[0].slope_at(x) - self.rails[1].slope_at(x)
    }

    /// The whole row, rails and bars, moved away from the player.
    #[must_use]
    pub fn moved(self, by_y_m: f64) -> Self {
        let rails = self.rails.map(|rail| rail.moved(by_y_m));
        let bars = self.bars.into_iter().map(|b| FittedBar { centre_y_m: b.centre_y_m + by_y_m, ..b }).collect();
        Self { rails, bars, ..self }
    }

    /// How far each bar's outer end is off the line through its neighbours' ends; 0 for the first and the last.
    pub fn unfair_m(&self) -> Vec<f64> {
        let end = |bar: &FittedBar| (bar.bar.centre_x_m, bar.ends_y_m()[self.row.outer()]);
        let mut unfair = vec![0.0; self.bars.len()];
        for (index, three) in self.bars.windows(3).enumerate() {
            let [(xa, ya), (x, y), (xb, yb)] = [end(&three[0]), end(&three[1]), end(&three[2])];
            unfair[index + 1] = y - (ya + (yb - ya) * (x - xa) / (xb - xa));
        }
        unfair
    }
}
