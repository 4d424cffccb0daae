//! What the air did to a reading.
use crate::climate::KnownClimate;
use jiff::Timestamp;
use making::climate::{Air, AirAt, FOLLOWS_DAYS, followed_moisture};
use making::wood::equilibrium_moisture_percent;

/// What the air did, in cents.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AirPart {
    /// Cents by which the reading is higher than it would be at the reference.
    pub cents: f64,
    /// Standard uncertainty, common to all bars that were heard together.
    pub sigma_cents: f64,
    /// Whether the bar's moisture is reckoned with, or the temperature alone.
    pub with_moisture: bool,
    /// False if no temperature was noted, or none is wanted: nothing is reckoned with then.
    pub known: bool,
}

/// The air's log must begin so long before a reading that it tells of the bar's moisture.
const LEAST_LOG_DAYS: f64 = 7.0;
const SECONDS_A_DAY: f64 = 86_400.0;

impl AirPart {
    const NONE: Self = Self { cents: 0.0, sigma_cents: 0.0, with_moisture: false, known: false };

    /// Of a reading in that air at that time.
    ///
    /// `since` is when the instrument came back: its wood brought another room's moisture, which it keeps for weeks.
    pub(super) fn of(
        (climate, since): (&KnownClimate, Option<Timestamp>),
        reference: Option<Air>,
        air: Option<Air>,
        at: Timestamp,
    ) -> Self {
        let (Some(reference), Some(air)) = (reference, air) else { return Self::NONE };
        let Ok(reads) = climate.coefficients.reads(reference, Air { humidity_percent: None, ..air }) else {
            return Self::NONE;
        };
        let (warm, sigma) = reads.soon;
        let warmth = Self { cents: warm, sigma_cents: sigma, with_moisture: false, known: true };
        let Some(change) = moisture_change(climate, since, reference, at) else { return warmth };
        let per = climate.coefficients.per_moisture;
        // As in `making::climate`: a fifth of the change is another wood's.
        let damp_sigma = (per.sigma * change).hypot(0.2 * per.value * change);
        Self {
            cents: warm + per.value * change,
            sigma_cents: sigma.hypot(damp_sigma),
            with_moisture: true,
            known: true,
        }
    }
}

/// Percent of moisture by which a bar that lay in the logged air was damper than at the reference.
fn moisture_change(climate: &KnownClimate, since: Option<Timestamp>, reference: Air, at: Timestamp) -> Option<f64> {
    let wanted = equilibrium_moisture_percent(reference.temperature_c, reference.humidity_percent?).ok()?;
    let day = |at: Timestamp| at.as_second() as f64 / SECONDS_A_DAY;
    let log: Vec<AirAt> = climate
        .log
        .iter()
        .filter(|(logged, air)| air.humidity_percent.is_some() && since.is_none_or(|since| *logged >= since))
        .map(|(at, air)| AirAt { day: day(*at), air: *air })
        .collect();
    let first = log.first()?;
    let least_days = if since.is_some_and(|since| since <= at) { 3.0 * FOLLOWS_DAYS } else { LEAST_LOG_DAYS };
    if day(at) - first.day < least_days {
        return None;
    }
    let learnt = climate.fit.as_ref().ok().filter(|fit| fit.per_moisture.is_some()).map(|fit| fit.follows_days);
    let followed = followed_moisture(&log, learnt.unwrap_or(FOLLOWS_DAYS), &[day(at)])?;
    Some(followed.first()? - wanted)
}
