//! First and later salt tests: how far the node lines moved, and how sure that is from repeated tests.
use super::{BenchNodes, SaltMean};

/// How well one number of a salt test is read, from every state in which a test was repeated.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SaltSpread {
    /// Standard deviation of a single number, in metres.
    pub sigma_m: f64,
    /// Repetitions behind it: tests less one of each state, over all states.
    pub repeats: usize,
}

impl SaltSpread {
    /// Pooled over states and bars, each state with its own mean; `None` if nothing was repeated.
    pub fn pooled<'a>(means: impl IntoIterator<Item = &'a SaltMean>) -> Option<Self> {
        let (mut squares, mut repeats) = (0.0, 0);
        for mean in means {
            let Some(sigma_m) = mean.sigma_m else { continue };
            let more = mean.count.saturating_sub(1);
            #[allow(clippy::cast_precision_loss)] // a handful of tests
            let weight = more as f64;
            squares += weight * sigma_m * sigma_m;
            repeats += more;
        }
        #[allow(clippy::cast_precision_loss)]
        let sigma_m = (squares / repeats as f64).sqrt();
        (repeats > 0).then_some(Self { sigma_m, repeats })
    }
}

/// From one state of a bar to a later one, the same face up in both.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SaltMove {
    /// Near and far edge of the left line, then of the right line: how far each moved outwards, towards its own end.
    pub outwards_m: [[f64; 2]; 2],
    /// Standard uncertainty of each of these; `None` if no test was ever repeated.
    pub sigma_m: Option<f64>,
    /// Tilt before and after (far edge less near edge, mean of both lines).
    pub tilts_m: [f64; 2],
}

impl SaltMove {
    /// Between the means of two states; the spread is that of a single number.
    pub fn between(before: &SaltMean, after: &SaltMean, spread: Option<SaltSpread>) -> Self {
        let out = |inner: [f64; 2], outer: [f64; 2]| [inner[0] - outer[0], inner[1] - outer[1]];
        let (first, last) = (&before.nodes, &after.nodes);
        // Both means scatter: σ² (1/n + 1/m).
        #[allow(clippy::cast_precision_loss)]
        let share = (1.0 / before.count as f64 + 1.0 / after.count as f64).sqrt();
        Self {
            outwards_m: [out(first.left_m, last.left_m), out(last.right_m, first.right_m)],
            sigma_m: spread.map(|spread| spread.sigma_m * share),
            tilts_m: [tilt_m(&before.nodes), tilt_m(&after.nodes)],
        }
    }

    /// Of the middles of the left and of the right line.
    pub fn middles_m(&self) -> [f64; 2] {
        self.outwards_m.map(|[near, far]| f64::midpoint(near, far))
    }

    /// Of a line's middle: two numbers halve the variance.
    pub fn middle_sigma_m(&self) -> Option<f64> {
        self.sigma_m.map(|sigma_m| sigma_m * std::f64::consts::FRAC_1_SQRT_2)
    }
}

fn tilt_m(nodes: &BenchNodes) -> f64 {
    let tilt = |[near, far]: [f64; 2]| far - near;
    f64::midpoint(tilt(nodes.left_m), tilt(nodes.right_m))
}

#[cfg(test)]
mod tests {
    use super::*;

    const BEFORE: BenchNodes = BenchNodes { left_m: [0.103_4, 0.107_4], right_m: [0.362_6, 0.366_6] };

    fn mean(numbers: [f64; 4]) -> BenchNodes {
        BenchNodes { left_m: [numbers[0], numbers[1]], right_m: [numbers[2], numbers[3]] }
    }

    #[test]
    fn every_number_moves_towards_its_own_end() {
        let after = BenchNodes { left_m: [0.096_4, 0.099_4], right_m: [0.370_6, 0.373_6] };
        let means = [BEFORE, after].map(|nodes| SaltMean::of(&[nodes]).unwrap());
        let moved = SaltMove::between(&means[0], &means[1], None);
        for (is, wanted) in moved.outwards_m.concat().iter().zip([0.007, 0.008, 0.008, 0.007]) {
            assert!((is - wanted).abs() < 1e-12, "{moved:?}");
        }
        assert!((moved.tilts_m[0] - 0.004).abs() < 1e-12 && (moved.tilts_m[1] - 0.003).abs() < 1e-12);
        for (is, wanted) in moved.middles_m().iter().zip(means[1].outwards_since_m(&means[0])) {
            // Sums in another order: rounding.
            assert!((is - wanted).abs() < 1e-15, "{is} {wanted}");
        }
        assert!(moved.sigma_m.is_none() && moved.middle_sigma_m().is_none());
    }

    #[test]
    fn spreads_are_pooled_by_their_repetitions() {
        let with = |sigma_m, count| SaltMean { nodes: BEFORE, count, sigma_m };
        let means = [with(Some(0.001), 2), with(None, 1), with(Some(0.002), 4)];
        let spread = SaltSpread::pooled(&means).unwrap();
        // (1·1² + 3·2²)/4 = 13/4 mm².
        assert!((spread.sigma_m - 0.001 * (13.0_f64 / 4.0).sqrt()).abs() < 1e-12 && spread.repeats == 4, "{spread:?}");
        assert!(SaltSpread::pooled(&means[1..2]).is_none());
        let moved = SaltMove::between(&means[0], &means[2], Some(spread));
        // 1/2 + 1/4 = 3/4.
        assert!((moved.sigma_m.unwrap() - spread.sigma_m * 0.75_f64.sqrt()).abs() < 1e-12);
    }

    #[test]
    fn numbers_that_scatter_move_within_what_is_stated() {
        let mut dice = fastrand::Rng::with_seed(20_261_126);
        // Twelve even numbers less six: variance 1; a millimetre and a half of it.
        let mut normal = || 0.001_5 * ((0..12).map(|_| dice.f64()).sum::<f64>() - 6.0);
        let (mut seen, mut stated) = (0.0, 0.0);
        for _ in 0..2000 {
            let mut tests = |count: usize| -> Vec<BenchNodes> {
                (0..count).map(|_| mean([0.103_4, 0.107_4, 0.362_6, 0.366_6].map(|x| x + normal()))).collect()
            };
            let means = [tests(2), tests(3)].map(|tests| SaltMean::of(&tests).unwrap());
            let moved = SaltMove::between(&means[0], &means[1], SaltSpread::pooled(&means));
            seen += moved.outwards_m.concat().iter().map(|m| m * m).sum::<f64>() / 4.0;
            stated += moved.sigma_m.unwrap().powi(2);
        }
        // Mean squares of 8000 independent numbers are good to √(2/8000) = 1.6 %, the stated ones of 12 each to 0.9 %:
        // four times 1.8 %.
        assert!((seen / stated - 1.0).abs() < 0.073, "{}", seen / stated);
    }
}
