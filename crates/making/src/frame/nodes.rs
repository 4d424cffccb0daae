//! Node lines: from the bench, where they are read, to the instrument, where the rails run.
use crate::error::{MakingError, in_range};

/// A node's place as a share of the length, at most this far from the end; beyond it the reading is no node of bending 1.
///
/// Bending 1 of an even free bar has its nodes at 0.224 of the length (`reference/eb_uniform_nodes.csv`); deep arches of
/// the bass bring them to 0.169, short light ones to 0.227 (`reference/node_drift.csv`).
const NODE_SHARES: (f64, f64) = (0.08, 0.32);

/// Slope of bending 1 at its node per length and per motion of the centre, for an even slender bar: |φ'(x₀)|·L/|φ(L/2)|
/// of the free–free Euler–Bernoulli beam, φ = cosh βx + cos βx − σ(sinh βx + sin βx) with cos β cosh β = 1 (e.g. Blevins,
/// Formulas for Natural Frequency and Mode Shape, 1979, table 8-1); a test computes it anew.
const EVEN_SLOPE: f64 = 6.500;

/// Node lines of bending 1 on one bar, instrument view, in metres from the end that faces the player.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NodeLines {
    /// The line nearer the player: at the bar's left side and at its right side.
    pub player_m: [f64; 2],
    /// The line away from the player: at the left side and at the right side.
    pub away_m: [f64; 2],
}

/// Node lines as read at the bench: x from the left end, at the near edge and at the far edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BenchNodes {
    /// The line near the left end: near edge, far edge.
    pub left_m: [f64; 2],
    /// The line near the right end: near edge, far edge.
    pub right_m: [f64; 2],
}

/// Which end of the bar, in bench view, faces the player on the instrument.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum FacesPlayer {
    /// The left end: a quarter turn anticlockwise.
    #[default]
    LeftEnd,
    /// The right end: a quarter turn clockwise.
    RightEnd,
}

impl BenchNodes {
    /// The same lines with the bar rolled over its long side, so that the other face is up: the edges change places.
    #[must_use]
    pub fn rolled(self) -> Self {
        let swap = |[near, far]: [f64; 2]| [far, near];
        Self { left_m: swap(self.left_m), right_m: swap(self.right_m) }
    }

    /// The lines as they lie on the instrument, for a bar of `length_m`.
    #[must_use]
    pub fn on_instrument(self, length_m: f64, faces: FacesPlayer) -> NodeLines {
        // Anticlockwise the far edge comes to the left, clockwise the near edge does.
        match faces {
            FacesPlayer::LeftEnd => {
                NodeLines { player_m: [self.left_m[1], self.left_m[0]], away_m: [self.right_m[1], self.right_m[0]] }
            }
            FacesPlayer::RightEnd => {
                NodeLines { player_m: self.right_m.map(|x| length_m - x), away_m: self.left_m.map(|x| length_m - x) }
            }
        }
    }
}

impl NodeLines {
    /// Refuses lines that cannot be the nodes of bending 1 on a bar of `length_m`.
    ///
    /// # Errors
    /// [`MakingError`] naming the number, the limit and what is likely.
    pub fn checked(self, name: &str, length_m: f64) -> Result<Self, MakingError> {
        let (low, high) = (NODE_SHARES.0 * length_m * 1e3, NODE_SHARES.1 * length_m * 1e3);
        for (line, from_end) in [("player's", self.player_m), ("far", self.away_m.map(|y| length_m - y))] {
            for (side, y_m) in ["left", "right"].iter().zip(from_end) {
                in_range(
                    &format!("{name}: the {line} node line on the {side} side, from its own end,"),
                    y_m * 1e3,
                    low,
                    high,
                    "mm",
                    "measure every number from the end that faces the player; a number from the other end is the usual mistake",
                )?;
            }
        }
        Ok(self)
    }

    /// The lines in bench view, for a bar of `length_m`: the inverse of [`BenchNodes::on_instrument`].
    #[must_use]
    pub fn on_bench(self, length_m: f64, faces: FacesPlayer) -> BenchNodes {
        let swap = |[left, right]: [f64; 2]| [right, left];
        match faces {
            FacesPlayer::LeftEnd => BenchNodes { left_m: swap(self.player_m), right_m: swap(self.away_m) },
            FacesPlayer::RightEnd => {
                BenchNodes { left_m: self.away_m.map(|y| length_m - y), right_m: self.player_m.map(|y| length_m - y) }
            }
        }
    }

    /// Middle of each line, from the end that faces the player: player's line, far line.
    pub fn middles_m(self) -> [f64; 2] {
        [self.player_m, self.away_m].map(|[left, right]| f64::midpoint(left, right))
    }

    /// Distance between the two lines in the middle of the bar.
    pub fn span_m(self) -> f64 {
        let [player, away] = self.middles_m();
        away - player
    }

    /// How far each line rises from the left side to the right: positive leans "/" in instrument view.
    pub fn rises_m(self) -> [f64; 2] {
        [self.player_m, self.away_m].map(|[left, right]| right - left)
    }
}

/// Motion at a cord relative to the motion of the centre, per metre that the cord misses the node, for an even bar.
///
/// An arched bar moves less there (its node lies where the bar is stiff), so this errs towards care.
pub fn even_motion_per_m(length_m: f64) -> f64 {
    EVEN_SLOPE / length_m
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn from_the_bench_to_the_instrument_and_back_nothing_changes() {
        let nodes = BenchNodes { left_m: [0.1, 0.104], right_m: [0.367, 0.37] };
        for faces in [FacesPlayer::LeftEnd, FacesPlayer::RightEnd] {
            let back = nodes.on_instrument(0.47, faces).on_bench(0.47, faces);
            let all = |nodes: BenchNodes| [nodes.left_m, nodes.right_m].concat();
            assert!(all(back).iter().zip(all(nodes)).all(|(a, b)| (a - b).abs() < 1e-15), "{back:?}");
        }
    }

    #[test]
    fn the_even_bars_slope_is_the_closed_forms() {
        // β and the node from `reference/eb_uniform_eigen.csv` and `eb_uniform_nodes.csv`.
        let (beta, node) = (4.730_040_744_862_704_f64, 0.224_157_6_f64);
        let sigma = (beta.cosh() - beta.cos()) / (beta.sinh() - beta.sin());
        let shape = |x: f64| {
            let u = beta * x;
            u.cosh() + u.cos() - sigma * (u.sinh() + u.sin())
        };
        let slope = |x: f64| {
            let u = beta * x;
            beta * (u.sinh() - u.sin() - sigma * (u.cosh() + u.cos()))
        };
        assert!(shape(node).abs() < 1e-5, "{}", shape(node));
        // The constant has four figures.
        assert!((slope(node) / shape(0.5) - EVEN_SLOPE).abs() < 5e-4, "{}", slope(node) / shape(0.5));
    }
}
