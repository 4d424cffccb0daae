//! A bar is warm after sanding and reads flat until it has cooled.
use super::coefficients::Coefficient;
use crate::error::{MakingError, in_range};

/// How a warm bar cools in still air: what is left of its warmth falls to 1/e in that time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cooling {
    /// Seconds to 1/e.
    pub time_s: f64,
}

/// Heat given off by a bar on its cords in still air, W/(m² K): natural convection and radiation, 5 each (any handbook; from memory). A draught takes more.
const GIVEN_OFF: f64 = 10.0;
/// Heat that wood takes, J/(kg K), at room temperature and 8 % moisture: Wood Handbook eq. 4-16 and 4-17 (from memory; 1.2 dry).
const HEAT: f64 = 1500.0;
/// Heat led across the grain of dense hardwood, W/(m K) (Wood Handbook table 4-7, from memory: 0.16 to 0.25).
const LED: f64 = 0.22;

impl Cooling {
    /// Of a bar of that mean thickness and density that gives off heat on both faces: ρ c h/2 over the heat given off, with a third of the way to the middle
    /// added as what the wood itself holds back. Good to a factor of 1.5 (a judgement): a bar's own readings tell better ([`settled`]).
    ///
    /// # Errors
    /// `out_of_range`.
    pub fn of_bar(thickness_m: f64, density_kg_m3: f64) -> Result<Self, MakingError> {
        in_range("the thickness", thickness_m * 1e3, 3.0, 80.0, "mm", "give the mean thickness of the bar")?;
        in_range("the density", density_kg_m3, 150.0, 1500.0, "kg/m³", "weigh the bar")?;
        let half_m = 0.5 * thickness_m;
        let outward = 1.0 / (1.0 / GIVEN_OFF + half_m / 3.0 / LED);
        Ok(Self { time_s: density_kg_m3 * HEAT * half_m / outward })
    }

    /// Seconds until a bar that is so much warmer than the air reads within that many cents of what it will read.
    ///
    /// # Errors
    /// `out_of_range`.
    pub fn wait_s(&self, warmer_c: f64, per_c: Coefficient, within_cents: f64) -> Result<f64, MakingError> {
        in_range(
            "how much warmer the bar is",
            warmer_c,
            0.0,
            60.0,
            "°C",
            "feel it: hand-warm is some 10 °C over the room",
        )?;
        in_range("the cents it may still rise", within_cents, 0.05, 50.0, "cents", "half a cent is fine")?;
        let off = (per_c.value * warmer_c).abs();
        Ok(self.time_s * (off / within_cents).max(1.0).ln())
    }
}

/// Where a cooling bar's pitch goes, by its own readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settled {
    /// What it will read, in cents, with one standard uncertainty.
    pub cents: (f64, f64),
    /// How far it will still rise after the last reading.
    pub left_cents: f64,
}

/// From readings of (seconds, cents) of a bar that cools with that time constant, each with the same doubt: least squares of the end and the height.
///
/// # Errors
/// `too_few_readings` under two or at one time only; `out_of_range`.
pub fn settled(readings: &[(f64, f64)], cooling: Cooling, sigma_cents: f64) -> Result<Settled, MakingError> {
    let few = || {
        MakingError::new(
            "too_few_readings",
            "one reading does not tell where the pitch goes",
            "strike again in some minutes",
        )
    };
    let (Some(first), Some(last)) = (readings.first(), readings.last()) else { return Err(few()) };
    for (at_s, cents) in readings {
        in_range("a time", at_s - first.0, 0.0, 1e6, "s", "give the readings in order of time")?;
        in_range("a reading", *cents, -1200.0, 1200.0, "cents", "check the reading")?;
    }
    let falls: Vec<f64> = readings.iter().map(|(at_s, _)| (-(at_s - first.0) / cooling.time_s).exp()).collect();
    let n = readings.len() as f64;
    let mean_fall = falls.iter().sum::<f64>() / n;
    let mean_cents = readings.iter().map(|(_, cents)| cents).sum::<f64>() / n;
    let varied: f64 = falls.iter().map(|fall| (fall - mean_fall).powi(2)).sum();
    // Readings a minute apart are one reading.
    if readings.len() < 2 || varied < 1e-3 {
        return Err(few());
    }
    let height =
        falls.iter().zip(readings).map(|(fall, (_, cents))| (fall - mean_fall) * (cents - mean_cents)).sum::<f64>()
            / varied;
    let end = mean_cents - height * mean_fall;
    let sigma = sigma_cents * (1.0 / n + mean_fall * mean_fall / varied).sqrt();
    let last_fall = (-(last.0 - first.0) / cooling.time_s).exp();
    Ok(Settled { cents: (end, sigma), left_cents: -height * last_fall })
}
