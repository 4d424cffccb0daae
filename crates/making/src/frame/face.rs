//! The top face: what each way of laying a bar does to the lean of its node lines, and which lies best on the rails.
use super::{BenchNodes, FacesPlayer, NodeLines, Row};

/// Middle of the 0–8° at which cords usually cross the bars of an outer rail (common practice, no source); used where
/// nothing is known of the row.
const USUAL_OUTER_RAD: f64 = 4.0 * std::f64::consts::PI / 180.0;
/// Distance of the two nodes of bending 1 as a share of the length, even bar (0.224 from either end:
/// `reference/eb_uniform_nodes.csv`).
const SPAN_SHARE: f64 = 1.0 - 2.0 * 0.224_157_6;
/// Share of the convergence that the outer rail takes before the frame is laid: the middle of the half to all that
/// [`super::FrameTask::new`] allows.
const OUTER_SHARE: f64 = 0.75;
/// Choices nearer to each other than this are as good: a drill table's scale shows no less.
const ALIKE_RAD: f64 = 0.1 * std::f64::consts::PI / 180.0;

/// Slopes that the rails of a row will have, player's and far, seen from above.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RailSlopes(pub [f64; 2]);

impl RailSlopes {
    /// Where nothing is known of the row: its outer rail in the middle of what is usual, the inner one square.
    pub fn usual(row: Row) -> Self {
        Self::outer(row, USUAL_OUTER_RAD.tan(), 0.0)
    }

    /// From the row's bars, (x of the middle, length) from the bass to the treble: the least-squares slope of the lengths
    /// times the nodes' share, divided between the rails. `None` with fewer than two places.
    pub fn from_lengths(row: Row, bars: &[(f64, f64)]) -> Option<Self> {
        #[allow(clippy::cast_precision_loss)] // a row of bars
        let count = bars.len() as f64;
        let (mean_x, mean_l) =
            (bars.iter().map(|b| b.0).sum::<f64>() / count, bars.iter().map(|b| b.1).sum::<f64>() / count);
        let spread: f64 = bars.iter().map(|b| (b.0 - mean_x).powi(2)).sum();
        // Bars stand centimetres apart.
        if bars.len() < 2 || spread < 1e-6 {
            return None;
        }
        let falls = -bars.iter().map(|b| (b.0 - mean_x) * (b.1 - mean_l)).sum::<f64>() / spread;
        let convergence = SPAN_SHARE * falls;
        Some(Self::outer(row, OUTER_SHARE * convergence, (1.0 - OUTER_SHARE) * convergence))
    }

    /// From how much the outer and the inner rail close in on the row.
    fn outer(row: Row, outer: f64, inner: f64) -> Self {
        match row {
            Row::Natural => Self([outer, -inner]),
            Row::Accidental => Self([inner, -outer]),
        }
    }
}

/// One way of laying a bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Choice {
    /// True if the face that lies below in the given lines is to be the top.
    pub rolled: bool,
    /// Which end of the bench faces the player.
    pub faces: FacesPlayer,
    /// The node lines as they lie then.
    pub nodes: NodeLines,
    /// Angles of the lines, player's and far, in radians; positive leans "/".
    pub lean_rad: [f64; 2],
    /// The same less the rails' angle: what is left over.
    pub left_over_rad: [f64; 2],
}

impl Choice {
    /// Root mean square of what is left over on both rails.
    pub fn rms_rad(&self) -> f64 {
        let [a, b] = self.left_over_rad;
        f64::midpoint(a * a, b * b).sqrt()
    }
}

/// All four ways, and what to make of them.
#[derive(Debug, Clone, PartialEq)]
pub struct FaceAdvice {
    /// Face as read and rolled over, each with the left and with the right end to the player.
    pub choices: [Choice; 4],
    /// Index of the best one; of those as good, the first.
    pub best: usize,
    /// True if rolling the bar over makes no difference that could be read from salt.
    pub face_is_free: bool,
    /// True if turning the best face's bar end for end makes no difference.
    pub end_is_free: bool,
}

/// The ways of laying a bar whose lines were read with one face up, on rails of these slopes.
pub fn choose_face(read: BenchNodes, length_m: f64, width_m: f64, rails: RailSlopes) -> FaceAdvice {
    let ways = [
        (false, FacesPlayer::LeftEnd),
        (false, FacesPlayer::RightEnd),
        (true, FacesPlayer::LeftEnd),
        (true, FacesPlayer::RightEnd),
    ];
    let choices = ways.map(|(rolled, faces)| {
        let nodes = if rolled { read.rolled() } else { read }.on_instrument(length_m, faces);
        let lean_rad = nodes.rises_m().map(|rise| (rise / width_m).atan());
        let left_over_rad = [0, 1].map(|rail| lean_rad[rail] - rails.0[rail].atan());
        Choice { rolled, faces, nodes, lean_rad, left_over_rad }
    });
    let least = choices.iter().map(Choice::rms_rad).fold(f64::INFINITY, f64::min);
    let best = choices.iter().position(|c| c.rms_rad() <= least + ALIKE_RAD).unwrap_or(0);
    let best_of =
        |rolled: bool| choices.iter().filter(|c| c.rolled == rolled).map(Choice::rms_rad).fold(f64::INFINITY, f64::min);
    let twin = &choices[best ^ 1];
    FaceAdvice {
        best,
        face_is_free: (best_of(false) - best_of(true)).abs() <= ALIKE_RAD,
        end_is_free: (twin.rms_rad() - choices[best].rms_rad()).abs() <= ALIKE_RAD,
        choices,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Both lines lean "/" on the bench by `tilt`; invented.
    fn read(tilt: f64) -> BenchNodes {
        BenchNodes { left_m: [0.1 - tilt / 2.0, 0.1 + tilt / 2.0], right_m: [0.35 - tilt / 2.0, 0.35 + tilt / 2.0] }
    }

    #[test]
    fn rolling_over_mirrors_the_lean_and_a_half_turn_does_not() {
        let advice = choose_face(read(0.003), 0.45, 0.06, RailSlopes::usual(Row::Natural));
        let [left, right, rolled, both] = advice.choices.map(|c| c.lean_rad[0]);
        // A quarter turn brings the far edge to the left: "/" on the bench is "\" on the instrument; atan(3/60).
        let lean = (0.003_f64 / 0.06).atan();
        for (is, wanted) in [(left, -lean), (right, -lean), (rolled, lean), (both, lean)] {
            assert!((is - wanted).abs() < 1e-12, "{is} {wanted}");
        }
        assert!(advice.choices[advice.best].rolled && advice.end_is_free && !advice.face_is_free);
        // On the accidentals' rails it is the other way round.
        let advice = choose_face(read(0.003), 0.45, 0.06, RailSlopes::usual(Row::Accidental));
        assert!(!advice.choices[advice.best].rolled);
    }

    #[test]
    fn a_half_turn_tells_which_of_two_unlike_lines_lies_on_the_outer_rail() {
        // The left line square, the right one leaning: the leaning one belongs on the outer, leaning rail.
        let read = BenchNodes { left_m: [0.1, 0.1], right_m: [0.352, 0.348] };
        let advice = choose_face(read, 0.45, 0.06, RailSlopes::usual(Row::Natural));
        let best = &advice.choices[advice.best];
        assert!(!best.rolled && best.faces == FacesPlayer::RightEnd && !advice.end_is_free);
        assert!((best.left_over_rad[0] - ((0.004_f64 / 0.06).atan() - USUAL_OUTER_RAD)).abs() < 1e-12);
        assert!(best.left_over_rad[1].abs() < 1e-12);
    }

    #[test]
    fn square_lines_leave_the_face_free() {
        let advice = choose_face(read(0.0), 0.45, 0.06, RailSlopes::usual(Row::Natural));
        assert!(advice.face_is_free && advice.end_is_free && advice.best == 0);
    }

    #[test]
    fn slopes_follow_from_lengths() {
        // Lengths fall by 0.1 per length of frame: the spans by 0.1 × 0.551685; three quarters of it outside.
        let bars: Vec<(f64, f64)> = [0.0, 0.1, 0.2, 0.4].map(|x| (x, 0.5 - 0.1 * x)).to_vec();
        let RailSlopes([player, far]) = RailSlopes::from_lengths(Row::Natural, &bars).unwrap();
        assert!((player - 0.75 * 0.055_168_48).abs() < 1e-9 && (far + 0.25 * 0.055_168_48).abs() < 1e-9);
        let RailSlopes([player, far]) = RailSlopes::from_lengths(Row::Accidental, &bars).unwrap();
        assert!(player > 0.0 && far < -player);
        assert!(RailSlopes::from_lengths(Row::Natural, &bars[..1]).is_none());
        assert!(RailSlopes::from_lengths(Row::Natural, &[]).is_none());
    }
}
