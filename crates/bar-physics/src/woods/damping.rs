//! How long bars ring: loss factor η (tan δ), quality factor Q = 1/η, decay time τ, T60.
//!
//! η is taken as **constant over frequency** unless a [`DecayLaw`] is used: no source supports a general law for bar woods.
//! What is published says overtones lose more than a constant η gives, because shear damps more than stretching
//! (Labonnote, Rönnquist & Malo 2013, on beams), and a bar's cords, air and tube take their share; so these times
//! are upper limits for overtones and for bars on an instrument.

use super::NamedWood;
use super::figure::{Figure, Mark};

/// Honduras rosewood: Q 465 at E4 and 240 at E6 without resonator (Fletcher & Rossing, ring times 3.1 and 0.4 s,
/// from memory) and tan δ 0.004 to 0.007 of good bar woods (Brémaud 2012, from memory): the middle of 0.0022…0.0070.
pub(super) const ROSEWOOD: Figure = Figure {
    value: 0.0035,
    sigma: 0.0012,
    mark: Mark::FromMemory,
    source: "Fletcher & Rossing, marimba bars E4 and E6; Brémaud 2012, J. Acoust. Soc. Am. 131, 807",
};

/// African padauk: the law of [`PADAUK_BAR`] at 440 Hz gives 0.0047; the spread covers tan δ 0.004 to 0.007.
pub(super) const PADAUK: Figure = Figure {
    value: 0.0048,
    sigma: 0.0012,
    mark: Mark::Transcribed,
    source: "Chaigne & Doutaut 1997, J. Acoust. Soc. Am. 101, 539, table I (one bar), at 440 Hz",
};

/// Relative scatter of measured tan δ about [`trend_loss_factor`] for woods without special extractives: judgement.
const TREND_SPREAD: f64 = 0.30;

/// ln(1000): a decay of 60 dB in units of τ.
const SIXTY_DB: f64 = 6.907_755_278_982_137;

/// A value that cannot be a ring.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{name} is {value}; it must lie between {low} and {high}: {hint}")]
pub struct DampingError {
    /// Which value.
    pub name: &'static str,
    /// The value given.
    pub value: f64,
    /// Lower limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
    /// Next step.
    pub hint: &'static str,
}

fn within(name: &'static str, value: f64, low: f64, high: f64, hint: &'static str) -> Result<f64, DampingError> {
    if (low..=high).contains(&value) { Ok(value) } else { Err(DampingError { name, value, low, high, hint }) }
}

fn frequency(hz: f64) -> Result<f64, DampingError> {
    within("the frequency in hertz", hz, 1.0, 100_000.0, "give the mode's frequency")
}

fn loss(loss_factor: f64) -> Result<f64, DampingError> {
    within("the loss factor", loss_factor, 1e-5, 1.0, "wood lies between 0.002 and 0.03")
}

/// How one mode dies away.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ring {
    /// Frequency of the mode.
    pub hz: f64,
    /// Quality factor.
    pub q: f64,
    /// Time in which the amplitude falls to 1/e.
    pub tau_s: f64,
    /// Time in which the level falls by 60 dB.
    pub t60_s: f64,
}

/// Ring of a mode from its loss factor: Q = 1/η, τ = Q/(π f), T60 = ln 1000 · τ (Fletcher & Rossing; small damping).
///
/// # Errors
/// [`DampingError`] if the frequency is not 1 Hz…100 kHz or the loss factor not 1e-5…1.
pub fn ring(hz: f64, loss_factor: f64) -> Result<Ring, DampingError> {
    let (hz, q) = (frequency(hz)?, 1.0 / loss(loss_factor)?);
    let tau_s = q / (std::f64::consts::PI * hz);
    Ok(Ring { hz, q, tau_s, t60_s: SIXTY_DB * tau_s })
}

/// Loss factor from a measured T60, the inverse of [`ring`].
///
/// # Errors
/// [`DampingError`] if the frequency is out of range or the time is not between 1 ms and 100 s.
pub fn loss_factor_from_t60(hz: f64, t60_s: f64) -> Result<f64, DampingError> {
    let t60 = within("the ring time in seconds", t60_s, 1e-3, 100.0, "give the time for 60 dB")?;
    loss(SIXTY_DB / (std::f64::consts::PI * frequency(hz)? * t60))
}

/// Loss factor of a wood of which only stiffness and density are known: η = 10^−1.23 · (E_L/ρ)^−0.68, E_L in GPa and ρ
/// in g/cm³ (Ono & Norimoto 1983–85, the mean trend over many species; **from memory**).
///
/// Rosewoods and padauks lie well below it, about half, through their extractives; interlocked grain lies above. That tan δ falls as
/// E_L/ρ rises was read for padauk (Straže et al. 2015) and for vène (Traoré et al. 2010, abstracts).
///
/// # Errors
/// [`DampingError`] if the specific stiffness is not between 2 and 60 GPa·cm³/g.
pub fn trend_loss_factor(e_l_pa: f64, density_kg_m3: f64) -> Result<f64, DampingError> {
    let specific = e_l_pa / 1e9 / (density_kg_m3 / 1e3);
    let hint = "give E_L in pascals and density in kg/m³";
    within("E_L over density in GPa·cm³/g", specific, 2.0, 60.0, hint).map(trend)
}

fn trend(specific: f64) -> f64 {
    10f64.powf(-1.23) * specific.powf(-0.68)
}

/// A measured decay law of one bar: 1/τ = a₀ + a₂ f² (Chaigne & Doutaut 1997, eqs. 18 and 19).
///
/// a₀ = γ_B/2 stands for losses that do not depend on frequency (air, cords), a₂ = 2π²θ for a viscous wood with retardation time θ
/// (E(1 + θ ∂t), so η = 2πfθ and 1/τ = πfη; the factor is derived here). Valid for that bar below a few kilohertz.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DecayLaw {
    /// a₀ in 1/s.
    pub constant_per_s: f64,
    /// a₂ in s.
    pub quadratic_s: f64,
}

const fn chaigne(gamma_per_s: f64, retardation_s: f64) -> DecayLaw {
    let two_pi_squared = 2.0 * std::f64::consts::PI * std::f64::consts::PI;
    DecayLaw { constant_per_s: gamma_per_s / 2.0, quadratic_s: two_pi_squared * retardation_s }
}

/// One padauk xylophone bar: γ_B 12.44 1/s, θ 9.16e-8 s (Chaigne & Doutaut 1997, table I, seen in a public quotation).
pub const PADAUK_BAR: DecayLaw = chaigne(12.44, 9.16e-8);

/// One rosewood xylophone bar: γ_B 51.58 1/s, θ 2.35e-7 s (same table). A different note from the padauk bar: the two
/// do not compare the woods.
pub const ROSEWOOD_BAR: DecayLaw = chaigne(51.58, 2.35e-7);

impl DecayLaw {
    /// Ring of a mode at this frequency.
    ///
    /// # Errors
    /// [`DampingError`] if the frequency or the loss factor that follows is out of range.
    pub fn ring(&self, hz: f64) -> Result<Ring, DampingError> {
        let rate = self.constant_per_s + self.quadratic_s * frequency(hz)?.powi(2);
        ring(hz, rate / (std::f64::consts::PI * hz))
    }
}

impl NamedWood {
    /// Loss factor in bending: published if there is one, else the trend with E_L/ρ, marked generic.
    pub fn loss_factor(&self) -> Figure {
        self.published_loss_factor.unwrap_or_else(|| {
            let specific = self.e_l_pa.value / 1e9 / (self.density_kg_m3.value / 1e3);
            let source = "Ono & Norimoto trend with E_L over density, from memory";
            Figure::relative(trend(specific), TREND_SPREAD, Mark::Generic, source)
        })
    }

    /// Rings of modes of a free bar of this wood; their times carry the relative uncertainty of the loss factor.
    ///
    /// # Errors
    /// [`DampingError`] if a frequency is out of range.
    pub fn rings(&self, modes_hz: &[f64]) -> Result<Vec<Ring>, DampingError> {
        let loss_factor = self.loss_factor().value;
        modes_hz.iter().map(|&hz| ring(hz, loss_factor)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::super::{find, woods};
    use super::*;

    #[test]
    fn ring_times_of_marimba_bars_give_their_quality_factors() {
        // Rosewood E4 and E6, T60 without and with resonator; Q recorded as 465, 225, 240, 120 (two to three digits).
        let (e4, e6) = (329.6276, 1318.5102);
        for (hz, t60_s, q) in [(e4, 3.1, 465.0), (e4, 1.5, 225.0), (e6, 0.4, 240.0), (e6, 0.2, 120.0)] {
            let loss_factor = loss_factor_from_t60(hz, t60_s).unwrap();
            assert!((1.0 / loss_factor / q - 1.0).abs() < 0.005, "{hz} Hz: {}", 1.0 / loss_factor);
            assert!((ring(hz, loss_factor).unwrap().t60_s - t60_s).abs() < 1e-12);
        }
    }

    #[test]
    fn ring_follows_its_definitions() {
        let r = ring(440.0, 0.005).unwrap();
        // Q = 200; τ = 200/(440π) = 0.14469 s; 60 dB is a factor 1000 in amplitude.
        assert!((r.q - 200.0).abs() < 1e-9 && (r.tau_s - 0.144_686).abs() < 1e-6);
        assert!(((-r.t60_s / r.tau_s).exp() - 1e-3).abs() < 1e-12);
    }

    #[test]
    fn decay_law_of_the_padauk_bar() {
        // η(f) = γ_B/(2πf) + 2πfθ, the same law written with the loss factor.
        for hz in [220.0_f64, 440.0, 880.0, 1760.0, 4400.0] {
            let tau = 2.0 * std::f64::consts::PI;
            let expected = 12.44 / (tau * hz) + tau * hz * 9.16e-8;
            assert!((PADAUK_BAR.ring(hz).unwrap().q * expected - 1.0).abs() < 1e-12);
        }
        // The table's padauk figure is this law at 440 Hz, to two digits.
        let at_440 = 1.0 / PADAUK_BAR.ring(440.0).unwrap().q;
        assert!((at_440 - find("padauk").unwrap().loss_factor().value).abs() < 1e-4, "{at_440}");
        // A higher note's rosewood bar loses more in both terms.
        assert!(ROSEWOOD_BAR.ring(1000.0).unwrap().t60_s < PADAUK_BAR.ring(1000.0).unwrap().t60_s);
    }

    #[test]
    fn trend_falls_with_specific_stiffness() {
        let curve: Vec<f64> = (2..=60).map(|s| trend_loss_factor(f64::from(s) * 1e9, 1000.0).unwrap()).collect();
        assert!(curve.windows(2).all(|w| w[1] < w[0]));
        // Spruce at 25 GPa·cm³/g: measured tan δ 0.005 to 0.007.
        let spruce = trend_loss_factor(25e9, 1000.0).unwrap();
        assert!((0.005..0.0075).contains(&spruce), "{spruce}");
    }

    #[test]
    fn bar_woods_ring_longer_than_practice_woods() {
        let best = ["Honduras rosewood", "African padauk"];
        let q = |name: &str| 1.0 / find(name).unwrap().loss_factor().value;
        for wood in woods().iter().filter(|w| !best.contains(&w.name)) {
            assert!(best.iter().all(|name| q(name) > q(wood.name)), "{}", wood.name);
            // Internal friction of air-dry wood: log decrement 0.02 to 0.1 covers hot dry to hot moist wood (Wood Handbook p. 5-21).
            assert!((0.004..0.032).contains(&wood.loss_factor().value), "{}", wood.name);
        }
    }

    #[test]
    fn constant_loss_makes_ring_time_fall_as_one_over_frequency() {
        let rings = find("rosewood").unwrap().rings(&[130.8, 523.2, 1308.0]).unwrap();
        assert!((rings[0].t60_s / rings[1].t60_s - 4.0).abs() < 1e-9);
        assert!((rings[0].t60_s / rings[2].t60_s - 10.0).abs() < 1e-9);
    }

    #[test]
    fn nonsense_is_refused_in_words() {
        let error = ring(440.0, 0.0).unwrap_err();
        assert_eq!(
            error.to_string(),
            "the loss factor is 0; it must lie between 0.00001 and 1: wood lies between 0.002 and 0.03"
        );
        assert!(ring(f64::NAN, 0.01).is_err() && ring(0.0, 0.01).is_err());
        assert!(loss_factor_from_t60(440.0, f64::NAN).is_err() && loss_factor_from_t60(440.0, 0.0).is_err());
        assert!(trend_loss_factor(f64::NAN, 800.0).is_err() && trend_loss_factor(12e9, 0.0).is_err());
        assert!(find("padauk").unwrap().rings(&[440.0, -1.0]).is_err());
        assert!(PADAUK_BAR.ring(1e9).is_err());
    }
}
