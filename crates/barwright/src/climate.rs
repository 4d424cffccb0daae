//! The climate in the record: the air's log, what reference bars taught, and what each instrument's bars read today.
use crate::error::Refused;
use bar_physics::units::cents;
use jiff::Timestamp;
use making::climate::{Air, AirAt, Coefficients, Reads, ReferenceFit, ReferenceReading, fit_reference};
use records::workshop::{BarFilter, Body, Climate, Kind, OrderRecord, Stage, Uid, Workshop};

/// What the record knows of the climate.
#[derive(Debug, Clone)]
pub struct KnownClimate {
    /// When the air was measured, rising, as far as a temperature was told.
    pub log: Vec<(Timestamp, Air)>,
    /// Readings of reference bars.
    pub readings: Vec<ReferenceReading>,
    /// Labels of the reference bars, as [`ReferenceReading::bar`] counts them.
    pub bars: Vec<String>,
    /// What these readings taught, or why nothing.
    pub fit: Result<ReferenceFit, Refused>,
    /// What is reckoned with.
    pub coefficients: Coefficients,
}

/// An instrument whose pitch is wanted in a certain air.
#[derive(Debug, Clone)]
pub struct InstrumentToday {
    /// Its name.
    pub name: String,
    /// The air at which its pitch is wanted.
    pub reference: Air,
    /// What a bar that is right there reads in the last air that was measured; `None` before any was.
    pub reads: Option<Reads>,
}

const SECONDS_A_DAY: f64 = 86_400.0;

fn day(at: Timestamp) -> f64 {
    at.as_second() as f64 / SECONDS_A_DAY
}

/// Air, if its temperature is known.
pub fn air_of(climate: Option<Climate>) -> Option<Air> {
    let climate = climate?;
    Some(Air { temperature_c: climate.temperature_c?, humidity_percent: climate.humidity_pct })
}

impl KnownClimate {
    /// Of the record.
    pub fn of(workshop: &Workshop) -> Result<Self, Refused> {
        let mut log = Vec::new();
        for named in workshop.list(Kind::Workshop)? {
            for standing in workshop.history(named.uid)?.standing() {
                let Body::Climate(climate) = standing.body else { continue };
                log.extend(air_of(Some(*climate)).map(|air| (standing.event.at, air)));
            }
        }
        let (mut readings, mut bars) = (Vec::new(), Vec::new());
        let filter = BarFilter { stage: Some(Stage::Reference), ..BarFilter::default() };
        for row in workshop.bars(&filter)? {
            let mut first_hz = None;
            for standing in workshop.history(row.uid)?.standing() {
                let Body::Heard(reading) = standing.body else { continue };
                let air = air_of(standing.event.entry.climate);
                log.extend(air.filter(|air| air.humidity_percent.is_some()).map(|air| (standing.event.at, air)));
                let temperature_c = reading.heard.temperature_c.or(air.map(|air| air.temperature_c));
                let hz = reading.heard.hz.bending.as_ref().and_then(|hz| hz.first().copied().flatten());
                let (Some(temperature_c), Some(hz)) = (temperature_c, hz) else { continue };
                let level_hz = *first_hz.get_or_insert(hz);
                let at = day(standing.event.at);
                readings.push(ReferenceReading { bar: bars.len(), day: at, temperature_c, cents: cents(hz, level_hz) });
            }
            bars.push(row.label);
        }
        log.sort_by_key(|(at, _)| *at);
        let days: Vec<AirAt> = log.iter().map(|(at, air)| AirAt { day: day(*at), air: *air }).collect();
        let fit = fit_reference(&readings, &days).map_err(Refused::from);
        let coefficients = Coefficients::known(fit.as_ref().ok());
        Ok(Self { log, readings, bars, fit, coefficients })
    }

    /// The last air that was measured.
    pub fn latest(&self) -> Option<(Timestamp, Air)> {
        self.log.last().copied()
    }

    /// Every instrument that is here and whose order names a temperature.
    pub fn instruments(&self, workshop: &Workshop) -> Result<Vec<InstrumentToday>, Refused> {
        let mut all = Vec::new();
        for named in workshop.list(Kind::Instrument)?.into_iter().filter(|named| !named.gone) {
            let Body::Order(OrderRecord { reference, .. }) = named.body else { continue };
            let Some(reference) = air_of(reference) else { continue };
            let reads = self.latest().map(|(_, now)| self.coefficients.reads(reference, now)).transpose()?;
            all.push(InstrumentToday { name: named.name, reference, reads });
        }
        Ok(all)
    }
}

/// Enters that the air was measured at these times.
pub fn enter_air(workshop: &mut Workshop, air: &[(Timestamp, Air)]) -> Result<usize, Refused> {
    for (_, air) in air {
        air.checked()?;
    }
    let thing: Uid = workshop
        .list(Kind::Workshop)?
        .first()
        .map(|named| named.uid)
        .ok_or_else(|| Refused::new("damaged", "the record has no workshop", "barwright check says more"))?;
    workshop.write(|step| {
        for (at, air) in air {
            let climate = Climate { temperature_c: Some(air.temperature_c), humidity_pct: air.humidity_percent };
            step.add(thing, Body::Climate(climate).into(), *at)?;
        }
        Ok(())
    })?;
    Ok(air.len())
}
