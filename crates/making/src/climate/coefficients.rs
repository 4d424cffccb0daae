//! Cents per degree and per percent of moisture.
use super::reference::ReferenceFit;
use crate::error::{MakingError, in_range};
use crate::wood::equilibrium_moisture_percent;
use bar_physics::woods::climate::{Basis, moisture_drift_cents, temperature_drift_cents};

/// Air: temperature in °C, and relative humidity in percent where it is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// In °C.
    pub temperature_c: f64,
    /// In percent.
    pub humidity_percent: Option<f64>,
}

impl Air {
    /// This air, if it can be.
    ///
    /// # Errors
    /// `out_of_range`.
    pub fn checked(self) -> Result<Self, MakingError> {
        in_range("the temperature", self.temperature_c, 0.0, 45.0, "°C", "give the air's in degrees Celsius")?;
        if let Some(humidity) = self.humidity_percent {
            in_range("the humidity", humidity, 0.0, 95.0, "%", "give the relative humidity, e.g. 45")?;
        }
        Ok(self)
    }

    /// Moisture that wood comes to in it after weeks, if the humidity is known.
    pub(super) fn moisture_percent(self) -> Option<f64> {
        equilibrium_moisture_percent(self.temperature_c, self.humidity_percent?).ok()
    }
}

/// One coefficient.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coefficient {
    /// Cents per unit.
    pub value: f64,
    /// One standard uncertainty.
    pub sigma: f64,
    /// The shop's own, or of generic clear wood.
    pub basis: Basis,
}

/// What climate does to the shop's bars.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coefficients {
    /// Cents per °C.
    pub per_c: Coefficient,
    /// Cents per percent of moisture content.
    pub per_moisture: Coefficient,
}

impl Coefficients {
    /// Of generic clear wood: [`temperature_drift_cents`], [`moisture_drift_cents`].
    pub fn generic() -> Self {
        let generic = |found: Result<bar_physics::woods::climate::Estimate, _>, otherwise: (f64, f64)| {
            let (value, sigma) = found.map_or(otherwise, |found| (found.value, found.sigma));
            Coefficient { value, sigma, basis: Basis::GenericClearWood }
        };
        // One unit is inside the range of both: the second values are never taken.
        Self {
            per_c: generic(temperature_drift_cents(1.0), (-1.5, 0.5)),
            per_moisture: generic(moisture_drift_cents(1.0), (-15.5, 4.0)),
        }
    }

    /// The shop's own where reference bars tell them better than the book does, else the book's.
    pub fn known(fit: Option<&ReferenceFit>) -> Self {
        let mut all = Self::generic();
        let Some(fit) = fit else { return all };
        let better = |own: Option<super::Fitted>, of_book: &mut Coefficient| {
            if let Some(own) = own.filter(|own| own.sigma <= of_book.sigma) {
                *of_book = Coefficient { value: own.value, sigma: own.sigma, basis: Basis::ReferenceBar };
            }
        };
        better(fit.per_c, &mut all.per_c);
        better(fit.per_moisture, &mut all.per_moisture);
        all
    }

    /// What a bar reads in `now` that is in tune in `reference`.
    ///
    /// # Errors
    /// `out_of_range`.
    pub fn reads(&self, reference: Air, now: Air) -> Result<Reads, MakingError> {
        let (reference, now) = (reference.checked()?, now.checked()?);
        let warmer = now.temperature_c - reference.temperature_c;
        let by_warmth = (self.per_c.value * warmer, self.per_c.sigma * warmer.abs());
        let by_moisture = reference.moisture_percent().zip(now.moisture_percent()).map(|(was, is)| {
            // The sorption of one wood stands a point off another's, but a change of it much less: a fifth of the change (a judgement).
            let change = is - was;
            let own = self.per_moisture.sigma * change.abs();
            (self.per_moisture.value * change, own.hypot(0.2 * self.per_moisture.value * change))
        });
        let add = |a: (f64, f64), b: (f64, f64)| (a.0 + b.0, a.1.hypot(b.1));
        Ok(Reads { soon: by_warmth, settled: by_moisture.map(|moisture| add(by_warmth, moisture)) })
    }
}

/// What a bar reads in another air, in cents with one standard uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reads {
    /// As soon as it has the room's temperature, its moisture as it was.
    pub soon: (f64, f64),
    /// After weeks, when its moisture has followed; `None` where a humidity is not known.
    pub settled: Option<(f64, f64)>,
}
