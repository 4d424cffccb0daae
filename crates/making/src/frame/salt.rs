//! Salt tests: the misreadings that happen, told before they are believed, and what repeated tests agree on.
use super::{BenchNodes, Doubt};
use crate::error::{MakingError, in_range};

/// A number further than this from what is expected is doubted (judgement: salt itself is read to 1 or 2 mm,
/// common practice, no source).
const OFF_M: f64 = 0.006;
/// A tilt is told from none at half a millimetre (common practice, no source); its sign is trusted at twice that.
const SURE_TILT_M: f64 = 0.001;

/// Node lines as salt showed them, from the left end, with one face up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SaltTest {
    /// At the edges.
    pub nodes: BenchNodes,
    /// In the middle of the width, left line and right line, if read.
    pub centres_m: [Option<f64>; 2],
}

/// What the numbers are held against, with the same face up.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Expected {
    /// The model's lines.
    pub model: Option<BenchNodes>,
    /// Tilt that is known already (far edge less near edge, mean of both lines): from an earlier test, or from the grain.
    pub tilt_m: Option<f64>,
}

/// The number of a salt test that is meant.
const PLACES: [[&str; 3]; 2] = [
    ["left line, near edge", "left line, far edge", "left line, centre"],
    ["right line, near edge", "right line, far edge", "right line, centre"],
];

impl SaltTest {
    /// The same lines with the bar rolled over its long side.
    #[must_use]
    pub fn rolled(self) -> Self {
        Self { nodes: self.nodes.rolled(), ..self }
    }

    /// Near edge, far edge, centre of the left line and of the right line.
    fn numbers(&self) -> [[Option<f64>; 3]; 2] {
        [(self.nodes.left_m, self.centres_m[0]), (self.nodes.right_m, self.centres_m[1])]
            .map(|([near, far], centre)| [Some(near), Some(far), centre])
    }

    /// Refuses numbers that lie on no bar of this length, or lines that are not one on either side of the middle.
    ///
    /// # Errors
    /// [`MakingError`] naming the number, the limit and what is likely.
    pub fn checked(self, length_m: f64) -> Result<Self, MakingError> {
        // A millimetre inside the other end, without the rounding of metres.
        let most_mm = (length_m * 1e4).round() / 10.0 - 1.0;
        for (names, numbers) in PLACES.iter().zip(self.numbers()) {
            for (name, number) in names.iter().zip(numbers) {
                let Some(x_m) = number else { continue };
                let hint = "measure along the bar, and say from which end";
                in_range(&format!("the {name}, from the left end,"), x_m * 1e3, 1.0, most_mm, "mm", hint)?;
            }
        }
        let [left, right] = self.middles_m();
        if right - left < OFF_M {
            return Err(MakingError::new(
                "lines_in_one_place",
                format!(
                    "the right line lies {:.1} mm to the right of the left one; they are about half the bar apart",
                    (right - left) * 1e3
                ),
                "one of the lines was measured from the other end, or the lines were exchanged: say from which end",
            ));
        }
        Ok(self)
    }

    /// Middle of the left and of the right line.
    pub fn middles_m(&self) -> [f64; 2] {
        [self.nodes.left_m, self.nodes.right_m].map(|[near, far]| f64::midpoint(near, far))
    }

    /// Far edge less near edge, mean of both lines: positive leans "/" in bench view.
    pub fn tilt_m(&self) -> f64 {
        let tilt = |[near, far]: [f64; 2]| far - near;
        f64::midpoint(tilt(self.nodes.left_m), tilt(self.nodes.right_m))
    }

    /// What is doubtful about the test on a bar of `length_m`, the likeliest cause in each message.
    pub fn doubts(&self, name: &str, length_m: f64, expected: &Expected) -> Vec<Doubt> {
        let mut doubts = Vec::new();
        let lines = [self.nodes.left_m, self.nodes.right_m];
        if let Some(model) = expected.model {
            let model = [model.left_m, model.right_m];
            for (index, numbers) in self.numbers().into_iter().enumerate() {
                let middle = f64::midpoint(model[index][0], model[index][1]);
                let wanted = [model[index][0], model[index][1], middle];
                doubts.extend(line_doubts(name, index, numbers, wanted, length_m));
            }
        }
        // A number from the other end also turns the line's lean over: that is not a second mistake.
        if doubts.iter().any(|d| d.code == "wrong_end") {
            return doubts;
        }
        let [left, right] = lines.map(|[near, far]| far - near);
        if left * right < 0.0 && left.abs().min(right.abs()) > SURE_TILT_M {
            doubts.push(doubt(
                name,
                "edges_mixed",
                format!("the left line leans {}, the right one {}", lean(left), lean(right)),
                "both lines of a bar lean alike: near and far edge were probably exchanged on one of them; look again",
            ));
        } else if let Some(tilt) = expected.tilt_m {
            doubts.extend(face_doubt(name, self.tilt_m(), tilt));
        }
        doubts
    }
}

/// Numbers of one line that are off, told together where they have one cause.
fn line_doubts(name: &str, index: usize, numbers: [Option<f64>; 3], wanted: [f64; 3], length_m: f64) -> Option<Doubt> {
    let read = || numbers.iter().zip(wanted).enumerate().filter_map(|(at, (x, w))| Some((at, (*x)?, w)));
    let off: Vec<(usize, f64, f64)> = read().filter(|(_, x, w)| (x - w).abs() > OFF_M).collect();
    let (at, x, w) = off.iter().copied().max_by(|a, b| (a.1 - a.2).abs().total_cmp(&(b.1 - b.2).abs()))?;
    let place = PLACES[index][at];
    let from_other_end = off.iter().all(|(_, x, w)| (length_m - x - w).abs() <= OFF_M);
    if from_other_end {
        let which = if off.len() == read().count() { ["the left line", "the right line"][index] } else { place };
        return Some(doubt(
            name,
            "wrong_end",
            format!("{which} at {:.1} mm from the left end: that is where it lies from the right end", x * 1e3),
            format!("measured from the other end? From the left end it would be {:.1} mm", (length_m - x) * 1e3),
        ));
    }
    Some(doubt(
        name,
        "off_the_model",
        format!(
            "{place} at {:.1} mm: {:.1} mm off the {:.1} mm that the model expects",
            x * 1e3,
            (x - w).abs() * 1e3,
            w * 1e3
        ),
        "look whether the ruler lay at the end, whether a figure was exchanged, and whether this is the line of mode 1 \
         (strike softly at the centre); if it really is there, the bar differs from what is known of it",
    ))
}

/// A tilt against the known one's sign.
fn face_doubt(name: &str, read_m: f64, known_m: f64) -> Option<Doubt> {
    if read_m * known_m >= 0.0 || read_m.abs().min(known_m.abs()) < SURE_TILT_M {
        return None;
    }
    Some(doubt(
        name,
        "wrong_face",
        format!("the lines lean {}; with this face up they are known to lean {}", lean(read_m), lean(known_m)),
        "the tilt keeps its sign as the arch is cut: was the other face up, or were near and far edge exchanged?",
    ))
}

fn doubt(name: &str, code: &'static str, message: String, hint: impl Into<String>) -> Doubt {
    Doubt { name: name.to_owned(), code, message, hint: hint.into() }
}

/// "/ 2.1 mm".
fn lean(tilt_m: f64) -> String {
    format!("\"{}\" by {:.1} mm over the width", if tilt_m > 0.0 { "/" } else { "\\" }, tilt_m.abs() * 1e3)
}

/// What repeated tests of a bar in one state say together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SaltMean {
    /// Mean of every number.
    pub nodes: BenchNodes,
    /// How many tests.
    pub count: usize,
    /// Standard deviation of a number, pooled over the four; `None` for a single test.
    pub sigma_m: Option<f64>,
}

impl SaltMean {
    /// Of tests with the same face up; `None` without any.
    pub fn of(tests: &[BenchNodes]) -> Option<Self> {
        let four = |n: &BenchNodes| [n.left_m[0], n.left_m[1], n.right_m[0], n.right_m[1]];
        #[allow(clippy::cast_precision_loss)] // a handful of tests
        let count = tests.len() as f64;
        if tests.is_empty() {
            return None;
        }
        let mean: [f64; 4] = std::array::from_fn(|i| tests.iter().map(|n| four(n)[i]).sum::<f64>() / count);
        let squares: f64 = tests.iter().flat_map(|n| (0..4).map(move |i| (four(n)[i] - mean[i]).powi(2))).sum();
        // One mean is taken off each of the four numbers.
        let sigma_m = (tests.len() > 1).then(|| (squares / (4.0 * (count - 1.0))).sqrt());
        let nodes = BenchNodes { left_m: [mean[0], mean[1]], right_m: [mean[2], mean[3]] };
        Some(Self { nodes, count: tests.len(), sigma_m })
    }

    /// How far each line's middle moved outwards, towards its own end, since `before`: left line, right line.
    pub fn outwards_since_m(&self, before: &Self) -> [f64; 2] {
        let middle = |[near, far]: [f64; 2]| f64::midpoint(near, far);
        [
            middle(before.nodes.left_m) - middle(self.nodes.left_m),
            middle(self.nodes.right_m) - middle(before.nodes.right_m),
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LENGTH_M: f64 = 0.47;
    /// An even bar of 470 mm: 0.224 × 470 = 105.4 mm; invented lean of 4 mm.
    const MODEL: BenchNodes = BenchNodes { left_m: [0.103_4, 0.107_4], right_m: [0.362_6, 0.366_6] };

    fn codes(nodes: BenchNodes, tilt_m: Option<f64>) -> Vec<&'static str> {
        let test = SaltTest { nodes, centres_m: [None; 2] };
        let expected = Expected { model: Some(MODEL), tilt_m };
        test.doubts("C3", LENGTH_M, &expected).iter().map(|d| d.code).collect()
    }

    #[test]
    fn what_the_model_expects_is_not_doubted_and_each_misreading_is_named() {
        assert!(codes(MODEL, Some(0.004)).is_empty());
        // The right line measured from the right end: 470 − 362.6 and 470 − 366.6.
        let other_end = BenchNodes { right_m: MODEL.right_m.map(|x| LENGTH_M - x), ..MODEL };
        assert_eq!(codes(other_end, None), ["wrong_end"]);
        assert!(SaltTest { nodes: other_end, centres_m: [None; 2] }.checked(LENGTH_M).is_err());
        let one_number = BenchNodes { left_m: [LENGTH_M - 0.103_4, 0.107_4], ..MODEL };
        assert!(codes(one_number, None).contains(&"wrong_end"));
        let off = BenchNodes { left_m: [0.112, 0.116], ..MODEL };
        assert_eq!(codes(off, None), ["off_the_model"]);
        let within = BenchNodes { left_m: [0.108, 0.112], ..MODEL };
        assert!(codes(within, None).is_empty(), "4.6 mm off is not doubted");
        assert_eq!(codes(MODEL.rolled(), Some(0.004)), ["wrong_face"]);
        let mixed = BenchNodes { right_m: [MODEL.right_m[1], MODEL.right_m[0]], ..MODEL };
        assert_eq!(codes(mixed, Some(0.004)), ["edges_mixed"]);
    }

    #[test]
    fn a_centre_is_held_against_the_middle_of_the_line() {
        let test = SaltTest { nodes: MODEL, centres_m: [Some(0.095), Some(0.364)] };
        let doubts = test.doubts("C3", LENGTH_M, &Expected { model: Some(MODEL), tilt_m: None });
        assert_eq!(doubts.len(), 1);
        assert!(doubts[0].message.contains("centre at 95.0 mm: 10.4 mm off"), "{}", doubts[0].message);
    }

    #[test]
    fn numbers_off_the_bar_are_refused() {
        for x in [-0.01, 0.0, 0.47, 0.5, f64::NAN] {
            let nodes = BenchNodes { left_m: [x, 0.107], ..MODEL };
            assert!(SaltTest { nodes, centres_m: [None; 2] }.checked(LENGTH_M).is_err(), "{x}");
        }
        assert!(SaltTest { nodes: MODEL, centres_m: [None; 2] }.checked(LENGTH_M).is_ok());
    }

    #[test]
    fn repeated_tests_give_their_mean_and_spread() {
        let moved = |d: f64| BenchNodes { left_m: MODEL.left_m.map(|x| x + d), right_m: MODEL.right_m.map(|x| x - d) };
        let mean = SaltMean::of(&[moved(-0.001), moved(0.001)]).unwrap();
        // Two numbers ±1 mm about their mean: s = √(2/1) mm.
        assert!((mean.sigma_m.unwrap() - 0.001 * 2f64.sqrt()).abs() < 1e-12);
        let later = SaltMean::of(&[moved(-0.003)]).unwrap();
        assert!(later.sigma_m.is_none() && SaltMean::of(&[]).is_none());
        for out in later.outwards_since_m(&mean) {
            assert!((out - 0.003).abs() < 1e-12, "{out}");
        }
    }
}
