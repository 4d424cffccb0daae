//! What tubes that stand off their bars on purpose do: softer and longer.
use super::bank::Bank;
use bar_physics::air::{AirError, BarOverTube};

/// How long a bar rings, by 60 dB.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rings {
    /// Without a tube, in seconds.
    pub without_s: f64,
    /// Over its tube in tune, in seconds.
    pub in_tune_s: f64,
    /// Whether the shop measured both; else they are the two published bars'.
    pub measured: bool,
}

/// Rosewood bars with and without tubes, 60 dB: (Hz, s, s). E4 and E6 of Fletcher & Rossing (The Physics of Musical Instruments; from memory).
const PUBLISHED: [(f64, f64, f64); 2] = [(329.63, 3.1, 1.5), (1318.5, 0.4, 0.2)];

impl Rings {
    /// Of the two published bars, even steps of the logarithms between them; beyond them as the nearer one, since nothing is known there.
    pub fn usual(hz: f64) -> Self {
        let [low, high] = PUBLISHED;
        let share = ((hz / low.0).ln() / (high.0 / low.0).ln()).clamp(0.0, 1.0);
        let between = |a: f64, b: f64| a * (b / a).powf(share);
        Self { without_s: between(low.1, high.1), in_tune_s: between(low.2, high.2), measured: false }
    }
}

/// What an offset does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Offset {
    /// How far the tube stands off its bar.
    pub cents: f64,
    /// How long the bar then rings, by 60 dB, in seconds.
    pub ring_s: f64,
    /// Level just after the blow against a tube in tune.
    pub early_db: f64,
    /// Energy of the whole ring against a tube in tune.
    pub energy_db: f64,
}

/// What offsets do to a bar of that pitch over its tube; a tube off by as much the other way does the same.
///
/// # Errors
/// [`AirError`] where the tube, or such rings, cannot be.
pub fn offsets(
    hz: f64,
    diameter_m: f64,
    sound_m_s: f64,
    (bank, rings): (&Bank, Rings),
    cents: &[f64],
) -> Result<Vec<Offset>, AirError> {
    let tube_per_s = bank.tube(diameter_m).decay_per_s(hz, sound_m_s)?;
    let pair = BarOverTube::from_rings(rings.without_s, rings.in_tune_s, tube_per_s)?;
    let at = |cents: f64| {
        let detuned_hz = hz * ((cents / 1200.0).exp2() - 1.0);
        Offset {
            cents,
            ring_s: pair.ring_s(detuned_hz),
            early_db: pair.early_db(detuned_hz),
            energy_db: pair.energy_db(detuned_hz),
        }
    };
    Ok(cents.iter().map(|cents| at(*cents)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn farther_off_is_softer_and_longer_between_the_two_published_rings() {
        for (hz, without_s, in_tune_s) in PUBLISHED {
            let rings = Rings::usual(hz);
            assert!((rings.without_s - without_s).abs() < 1e-9 && (rings.in_tune_s - in_tune_s).abs() < 1e-9);
            let found = offsets(hz, 0.045, 344.0, (&Bank::default(), rings), &[0.0, 5.0, 10.0, 30.0, 100.0]).unwrap();
            assert!((found[0].ring_s - in_tune_s).abs() < 1e-9 && found[0].early_db.abs() < 1e-12, "{found:?}");
            let rising = |value: fn(&Offset) -> f64| found.windows(2).all(|p| value(&p[1]) > value(&p[0]));
            let falling = |value: fn(&Offset) -> f64| found.windows(2).all(|p| value(&p[1]) < value(&p[0]));
            assert!(rising(|o| o.ring_s) && falling(|o| o.early_db) && falling(|o| o.energy_db), "{found:?}");
            assert!(found[4].ring_s < without_s);
        }
        // Nothing is made up beyond them.
        assert_eq!(Rings::usual(65.4), Rings::usual(329.63));
    }
}
