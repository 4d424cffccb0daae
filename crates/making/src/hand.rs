//! What is known of a maker's hand, and how it is carried from bar to bar.
use crate::priors;

/// What is known of a maker's hand on one belt and species: plain numbers, to be kept from bar to bar.
///
/// Both logarithms are taken for normal, and for independent of each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hand {
    /// Actual over intended depth.
    pub gain: f64,
    /// Standard uncertainty of its logarithm.
    pub gain_ln_sigma: f64,
    /// Wood that one pass takes.
    pub pass_m: f64,
    /// Standard uncertainty of its logarithm.
    pub pass_ln_sigma: f64,
}

impl Default for Hand {
    /// A hand of which nothing is known but common practice (memory, no source).
    fn default() -> Self {
        Self {
            gain: 1.0,
            gain_ln_sigma: priors::LN_HAND_SIGMA,
            pass_m: priors::PASS_DEPTH_M,
            pass_ln_sigma: priors::LN_PASS_SIGMA,
        }
    }
}

impl Hand {
    /// The hand to expect on the next bar from what was learnt on earlier ones, each of which began from
    /// [`Hand::default`]; common practice if there are none.
    ///
    /// Each bar's posterior is freed of the prior it began with, so that common practice counts once, and widened by
    /// what a hand and a belt change from bar to bar. A bar that taught nothing counts nothing.
    #[must_use]
    pub fn expected_after(learnt: &[Self]) -> Self {
        let usual = Self::default();
        let gains = learnt.iter().map(|hand| (hand.gain.ln(), hand.gain_ln_sigma));
        let passes = learnt.iter().map(|hand| (hand.pass_m.ln(), hand.pass_ln_sigma));
        let (ln_gain, gain_ln_sigma) =
            pooled((usual.gain.ln(), usual.gain_ln_sigma), gains, priors::LN_HAND_BETWEEN_BARS);
        let (ln_pass, pass_ln_sigma) =
            pooled((usual.pass_m.ln(), usual.pass_ln_sigma), passes, priors::LN_PASS_BETWEEN_BARS);
        Self { gain: ln_gain.exp(), gain_ln_sigma, pass_m: ln_pass.exp(), pass_ln_sigma }
    }
}

/// Mean and sigma on the next bar: of the prior and of posteriors that each grew out of that same prior, `between` apart
/// from bar to bar.
fn pooled(prior: (f64, f64), posteriors: impl Iterator<Item = (f64, f64)>, between: f64) -> (f64, f64) {
    let prior_precision = prior.1.powi(-2);
    let (mut precision, mut weighted) = (prior_precision, prior_precision * prior.0);
    for (mean, sigma) in posteriors {
        let own_precision = sigma.powi(-2) - prior_precision;
        // Below a hundredth of the prior's weight the difference is mostly rounding.
        if own_precision > 0.01 * prior_precision {
            let own_mean = (mean * sigma.powi(-2) - prior.0 * prior_precision) / own_precision;
            let weight = 1.0 / (1.0 / own_precision + between * between);
            precision += weight;
            weighted += weight * own_mean;
        }
    }
    let sigma = precision.powf(-0.5);
    // Never less sure than before anything was learnt.
    (weighted / precision, sigma.hypot(between).min(prior.1))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn learnt(gain: f64, gain_ln_sigma: f64) -> Hand {
        Hand { gain, gain_ln_sigma, pass_m: 0.2e-3, pass_ln_sigma: 0.1 }
    }

    #[test]
    fn nothing_learnt_is_common_practice() {
        let usual = Hand::default();
        for hand in [Hand::expected_after(&[]), Hand::expected_after(&[usual, usual])] {
            // Rounding of a logarithm and back.
            assert!((hand.gain - usual.gain).abs() < 1e-12 && (hand.pass_m - usual.pass_m).abs() < 1e-15, "{hand:?}");
            assert!((hand.gain_ln_sigma - usual.gain_ln_sigma).abs() < 1e-12, "{hand:?}");
        }
    }

    #[test]
    fn the_prior_counts_once_however_many_bars() {
        // Closed form: n bars that each say ln g = m with sigma s, and the prior N(0, p²): the precisions add.
        let (p, between) = (priors::LN_HAND_SIGMA, priors::LN_HAND_BETWEEN_BARS);
        let (m, s): (f64, f64) = (0.8_f64.ln(), 0.05);
        let posterior_precision = s.powi(-2) + p.powi(-2);
        let bar = learnt((m * s.powi(-2) / posterior_precision).exp(), posterior_precision.powf(-0.5));
        for n in [1, 3, 40] {
            let hand = Hand::expected_after(&vec![bar; n]);
            let weight = n as f64 / (s * s + between * between);
            let (precision, mean) = (weight + p.powi(-2), weight * m / (weight + p.powi(-2)));
            // Rounding only.
            assert!((hand.gain.ln() - mean).abs() < 1e-12, "{n}: {hand:?}");
            assert!((hand.gain_ln_sigma - precision.powf(-0.5).hypot(between)).abs() < 1e-12, "{n}: {hand:?}");
        }
    }

    #[test]
    fn a_bar_less_sure_than_the_prior_teaches_nothing() {
        let hand = Hand::expected_after(&[learnt(3.0, 0.9)]);
        assert!((hand.gain - 1.0).abs() < 1e-12, "{hand:?}");
    }
}
