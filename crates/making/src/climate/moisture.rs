//! A bar's moisture follows the air slowly.
use super::coefficients::Air;

/// Air at a time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AirAt {
    /// Days since any fixed day.
    pub day: f64,
    /// The air.
    pub air: Air,
}

/// Days in which a finished bar's moisture goes two thirds of the way (from memory: "in weeks").
pub const FOLLOWS_DAYS: f64 = 21.0;

/// Moisture content of a bar at these days, in percent, if it follows the air as the slowest term of diffusion does, with that time constant; it starts at rest
/// with the first air that is logged. Between entries the air's equilibrium moisture goes in a straight line; after the last it stays.
///
/// `log` must rise in time and know its humidities; `None` where it is empty or has none.
pub fn followed_moisture(log: &[AirAt], follows_days: f64, at_days: &[f64]) -> Option<Vec<f64>> {
    let known: Vec<(f64, f64)> = log.iter().filter_map(|at| Some((at.day, at.air.moisture_percent()?))).collect();
    let first = *known.first()?;
    // Value at each entry, exactly for a straight line between them.
    let mut states = vec![first];
    for pair in known.windows(2) {
        let (start, end) = (pair[0], pair[1]);
        let state = states.last().copied().unwrap_or(first).1;
        states.push((end.0, step(state, start, end, end.0, follows_days)));
    }
    let at = |day: f64| {
        let next = known.partition_point(|(known_day, _)| *known_day <= day);
        match (next.checked_sub(1), known.get(next)) {
            (None, _) => first.1,
            (Some(i), Some(end)) => step(states[i].1, known[i], *end, day, follows_days),
            (Some(i), None) => step(states[i].1, known[i], (known[i].0 + 1.0, known[i].1), day, follows_days),
        }
    };
    Some(at_days.iter().map(|day| at(*day)).collect())
}

/// The bar at `day`, from its state at `start`, while the air goes in a straight line through `start` and `end`.
fn step(state: f64, start: (f64, f64), end: (f64, f64), day: f64, follows_days: f64) -> f64 {
    let passed = (day - start.0).max(0.0);
    if passed <= 0.0 {
        return state;
    }
    let slope = if end.0 > start.0 { (end.1 - start.1) / (end.0 - start.0) } else { 0.0 };
    let air = start.1 + slope * passed;
    if follows_days <= 0.0 {
        return air;
    }
    // y' = (air − y)/τ with air = a + s·t: y = air − s τ + (y₀ − a + s τ) e^{−t/τ}.
    let lag = slope * follows_days;
    air - lag + (state - start.1 + lag) * (-passed / follows_days).exp()
}
