//! What reference bars teach: a regression over weeks.
use super::moisture::{AirAt, followed_moisture};
use crate::error::{MakingError, in_range};
use nalgebra::{DMatrix, DVector};
use statrs::distribution::{ContinuousCDF, StudentsT};

/// A reading of mode 1 of a bar that is kept unaltered.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReferenceReading {
    /// Which of the bars; each has its own level.
    pub bar: usize,
    /// Days since any fixed day, the same as the log's.
    pub day: f64,
    /// Temperature of the bar, in °C.
    pub temperature_c: f64,
    /// Cents against any fixed pitch of that bar.
    pub cents: f64,
}

/// A coefficient that was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fitted {
    /// Cents per unit.
    pub value: f64,
    /// Standard uncertainty by the scatter about the fit.
    pub sigma: f64,
    /// Bounds of 95 % (Student's t).
    pub bounds: [f64; 2],
}

/// What the readings taught.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReferenceFit {
    /// Cents per °C; `None` where the temperature hardly changed.
    pub per_c: Option<Fitted>,
    /// Cents per percent of moisture; `None` where the moisture hardly changed, or the humidity is not known.
    pub per_moisture: Option<Fitted>,
    /// Days in which the moisture seems to follow; of no meaning without `per_moisture`.
    pub follows_days: f64,
    /// Standard deviation of one reading about the fit, in cents.
    pub scatter_cents: f64,
    /// How many readings.
    pub readings: usize,
    /// Readings less the numbers found.
    pub freedom: usize,
}

/// Time constants that are looked at: from at once to a quarter of a year.
const FOLLOWS: [f64; 9] = [0.0, 2.0, 5.0, 10.0, 15.0, 21.0, 30.0, 50.0, 90.0];
/// Spread below which a cause is left out of the regression: standard deviation of °C, of percent moisture.
const LEAST_SPREAD: [f64; 2] = [0.7, 0.3];

/// Least squares of cents over temperature and followed moisture, with a level for each bar.
///
/// The days in which moisture follows are those of a short list that fit best; the doubt of that choice is not in the coefficients' own.
///
/// # Errors
/// `too_few_readings` with fewer than two more than there are numbers to find; `out_of_range`.
pub fn fit_reference(readings: &[ReferenceReading], log: &[AirAt]) -> Result<ReferenceFit, MakingError> {
    check(readings)?;
    let days: Vec<f64> = readings.iter().map(|reading| reading.day).collect();
    let temperature: Vec<f64> = readings.iter().map(|reading| reading.temperature_c).collect();
    let warm = spread(readings, &temperature) >= LEAST_SPREAD[0];
    let bars = readings.iter().map(|reading| reading.bar).max().unwrap_or(0) + 1;
    let mut best: Option<ReferenceFit> = None;
    for follows_days in FOLLOWS {
        let moisture = followed_moisture(log, follows_days, &days);
        let moisture = moisture.filter(|moisture| spread(readings, moisture) >= LEAST_SPREAD[1]);
        let causes = [warm.then_some(&temperature), moisture.as_ref()];
        let count = bars + causes.iter().flatten().count();
        if count == bars || readings.len() < count + 2 {
            continue;
        }
        let Some(fit) = solve(readings, bars, causes, follows_days) else { continue };
        if best.is_none_or(|best| fit.scatter_cents < best.scatter_cents) {
            best = Some(fit);
        }
    }
    best.ok_or_else(|| {
        MakingError::new(
            "too_few_readings",
            format!("{} readings of reference bars teach nothing yet", readings.len()),
            "strike them every few days over weeks, in cool and warm, damp and dry air: five readings are the least",
        )
    })
}

fn check(readings: &[ReferenceReading]) -> Result<(), MakingError> {
    for reading in readings {
        let hint = "give it in degrees Celsius";
        in_range("a reference bar's temperature", reading.temperature_c, -5.0, 50.0, "°C", hint)?;
        in_range(
            "a reference bar's cents",
            reading.cents,
            -400.0,
            400.0,
            "cents",
            "is it another bar, or another mode?",
        )?;
        in_range("a day", reading.day, -1e6, 1e6, "days", "check the dates")?;
    }
    Ok(())
}

/// Standard deviation of values about each bar's own mean.
fn spread(readings: &[ReferenceReading], values: &[f64]) -> f64 {
    let centred = centred(readings, values);
    (centred.iter().map(|value| value * value).sum::<f64>() / values.len().max(1) as f64).sqrt()
}

/// Values less their bar's mean: a level for each bar, taken out beforehand (Frisch & Waugh 1933).
fn centred(readings: &[ReferenceReading], values: &[f64]) -> Vec<f64> {
    let mean = |bar: usize| {
        let own: Vec<f64> =
            readings.iter().zip(values).filter(|(reading, _)| reading.bar == bar).map(|(_, value)| *value).collect();
        own.iter().sum::<f64>() / own.len().max(1) as f64
    };
    readings.iter().zip(values).map(|(reading, value)| value - mean(reading.bar)).collect()
}

fn solve(
    readings: &[ReferenceReading],
    bars: usize,
    causes: [Option<&Vec<f64>>; 2],
    follows_days: f64,
) -> Option<ReferenceFit> {
    let cents: Vec<f64> = readings.iter().map(|reading| reading.cents).collect();
    let columns: Vec<Vec<f64>> = causes.iter().flatten().map(|values| centred(readings, values)).collect();
    let matrix = DMatrix::from_fn(readings.len(), columns.len(), |row, column| columns[column][row]);
    let right = DVector::from_vec(centred(readings, &cents));
    let normal = matrix.transpose() * &matrix;
    // Temperature and moisture that always went together cannot be told apart.
    let inverse = normal.clone().cholesky()?.inverse();
    let found = &inverse * matrix.transpose() * &right;
    let freedom = readings.len() - bars - columns.len();
    let variance = (&right - &matrix * &found).norm_squared() / freedom as f64;
    let t = StudentsT::new(0.0, 1.0, freedom as f64).ok()?.inverse_cdf(0.975);
    let mut next = 0;
    let mut coefficient = |there: bool| {
        there.then(|| {
            let (value, sigma) = (found[next], (variance * inverse[(next, next)]).sqrt());
            next += 1;
            Fitted { value, sigma, bounds: [value - t * sigma, value + t * sigma] }
        })
    };
    let (per_c, per_moisture) = (coefficient(causes[0].is_some()), coefficient(causes[1].is_some()));
    Some(ReferenceFit {
        per_c,
        per_moisture,
        follows_days,
        scatter_cents: variance.sqrt(),
        readings: readings.len(),
        freedom,
    })
}
