//! A tube that is open at one end and stopped at the other.
use std::f64::consts::TAU;

/// Why air or a tube cannot be computed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum AirError {
    /// A value is outside what is possible or known.
    #[error("{what} is {value} {unit}; it must lie between {low} and {high} {unit}")]
    OutOfRange {
        /// What was given.
        what: &'static str,
        /// Its value.
        value: f64,
        /// Smallest allowed.
        low: f64,
        /// Largest allowed.
        high: f64,
        /// Unit of all three.
        unit: &'static str,
    },
    /// So wide a tube is no tube at that pitch: its mouth alone is as long as what is left.
    #[error("a tube of {diameter_mm:.0} mm is too wide for {hz:.0} Hz; at most {most_mm:.0} mm are known to serve")]
    TooWide {
        /// Inner diameter, in millimetres.
        diameter_mm: f64,
        /// Frequency.
        hz: f64,
        /// Widest whose end correction is known, in millimetres.
        most_mm: f64,
    },
}

impl AirError {
    pub(super) fn within(what: &'static str, value: f64, low: f64, high: f64, unit: &'static str) -> Result<(), Self> {
        if (low..=high).contains(&value) { Ok(()) } else { Err(Self::OutOfRange { what, value, low, high, unit }) }
    }
}

/// What is around the open end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mouth {
    /// A thin wall in free air.
    Unflanged,
    /// A wide flat wall.
    Flanged,
}

/// End correction of a thin tube in free air over its radius, at ka from 0 to 1: Levine & Schwinger, Phys. Rev. 73 (1948) 383, their integral
/// evaluated (`reference/levine_schwinger.csv`).
const UNFLANGED: [(f64, f64); 8] = [
    (0.0, 0.612_701_04),
    (0.05, 0.612_255_74),
    (0.1, 0.610_987_49),
    (0.2, 0.606_379_6),
    (0.3, 0.599_608_71),
    (0.5, 0.581_836_4),
    (0.8, 0.549_929_23),
    (1.0, 0.527_430_78),
];
/// The same with a wide wall at low frequency (often quoted, e.g. Fletcher & Rossing, The Physics of Musical Instruments, 2nd ed. 1998, ch. 8).
const FLANGED: f64 = 0.8217;

/// End correction over the radius at `ka`, the wave number times the radius, from 0 to 1; a flanged end is known for low frequency only.
///
/// # Errors
/// [`AirError::OutOfRange`] beyond.
pub fn end_correction(mouth: Mouth, ka: f64) -> Result<f64, AirError> {
    AirError::within("the wave number times the radius", ka, 0.0, 1.0, "")?;
    if mouth == Mouth::Flanged {
        return Ok(FLANGED);
    }
    // A cubic through the four nearest of the table's points.
    let next = UNFLANGED.iter().position(|(x, _)| *x >= ka).unwrap_or(UNFLANGED.len() - 1);
    let first = next.saturating_sub(2).min(UNFLANGED.len() - 4);
    let near = &UNFLANGED[first..first + 4];
    Ok((0..4)
        .map(|i| {
            let others = (0..4).filter(|j| *j != i);
            near[i].1 * others.map(|j| (ka - near[j].0) / (near[i].0 - near[j].0)).product::<f64>()
        })
        .sum())
}

/// A tube under a bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StoppedTube {
    /// Inner radius, in metres.
    pub radius_m: f64,
    /// What is around its mouth.
    pub mouth: Mouth,
    /// What the bar over the mouth adds to its length beyond the free end's correction, in metres: a shop's fitted value, 0 without one.
    pub under_bar_m: f64,
}

impl StoppedTube {
    /// From the mouth to the stopper's face for a fundamental of that frequency: a quarter of the wavelength less the end's corrections.
    ///
    /// # Errors
    /// [`AirError::TooWide`] where the end correction is not known; [`AirError::OutOfRange`].
    pub fn length_m(&self, hz: f64, sound_m_s: f64) -> Result<f64, AirError> {
        AirError::within("the frequency", hz, 16.0, 10_000.0, "Hz")?;
        AirError::within("the inner radius", self.radius_m * 1e3, 2.0, 200.0, "mm")?;
        AirError::within("what the bar adds", self.under_bar_m * 1e3, -50.0, 200.0, "mm")?;
        AirError::within("the speed of sound", sound_m_s, 300.0, 400.0, "m/s")?;
        let ka = TAU * hz / sound_m_s * self.radius_m;
        let length_m = end_correction(self.mouth, ka.min(1.0))
            .map(|share| sound_m_s / (4.0 * hz) - share * self.radius_m - self.under_bar_m)?;
        if ka > 1.0 || length_m <= 0.0 {
            let most_mm = 2e3 * sound_m_s / (TAU * hz);
            return Err(AirError::TooWide { diameter_mm: 2e3 * self.radius_m, hz, most_mm });
        }
        Ok(length_m)
    }

    /// Cents by which the tube rises for each metre that its stopper moves towards the mouth, near that frequency.
    ///
    /// # Errors
    /// As [`StoppedTube::length_m`].
    pub fn cents_per_m(&self, hz: f64, sound_m_s: f64) -> Result<f64, AirError> {
        // Two cents apart: the end correction's fall with pitch is in it.
        let [low_m, high_m] = [-1.0_f64, 1.0].map(|cents| self.length_m(hz * (cents / 1200.0).exp2(), sound_m_s));
        Ok(2.0 / (low_m? - high_m?))
    }
}
