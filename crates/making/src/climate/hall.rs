//! Bars and tubes that were set in one room and are played in another.
use super::coefficients::{Air, Coefficients, Reads};
use crate::error::MakingError;
use crate::tubes::{Bank, PlannedTube};
use bar_physics::air::sound_speed_m_s;
use bar_physics::units::cents;

/// What another room does.
#[derive(Debug, Clone, PartialEq)]
pub struct Hall {
    /// What the bars read there.
    pub bars: Reads,
    /// What the tubes do there, in cents.
    pub tubes_cents: f64,
    /// For each note.
    pub notes: Vec<HallNote>,
}

/// One note in another room.
#[derive(Debug, Clone, PartialEq)]
pub struct HallNote {
    /// Its name.
    pub name: String,
    /// How far the stopper goes towards the mouth, in metres, so that the tube follows its bar as soon as both have the room's temperature.
    pub soon_towards_mouth_m: f64,
    /// The same after weeks; `None` where a humidity is not known.
    pub settled_towards_mouth_m: Option<f64>,
}

/// Bars and tubes that agree in `reference`, taken to `there`.
///
/// # Errors
/// `out_of_range`.
pub fn hall(
    coefficients: &Coefficients,
    (reference, there): (Air, Air),
    (bank, tubes): (&Bank, &[PlannedTube]),
) -> Result<Hall, MakingError> {
    let bars = coefficients.reads(reference, there)?;
    let sound = |air: Air| {
        // The speed of sound hardly asks for the humidity: 0.2 cents for 10 %.
        sound_speed_m_s(air.temperature_c, air.humidity_percent.unwrap_or(bank.humidity_percent))
            .map_err(|error| MakingError::new("out_of_range", error.to_string(), "give the air's in °C and %"))
    };
    let (was, is) = (sound(reference)?, sound(there)?);
    let tubes_cents = cents(is, was);
    let notes = tubes
        .iter()
        .map(|tube| {
            // Cents that the tube has to rise, over what a millimetre does; the end correction's part is below a tenth.
            let by_m = |bar_cents: f64| (bar_cents - tubes_cents) / tube.cents_per_mm * 1e-3;
            HallNote {
                name: tube.name.clone(),
                soon_towards_mouth_m: by_m(bars.soon.0),
                settled_towards_mouth_m: bars.settled.map(|settled| by_m(settled.0)),
            }
        })
        .collect();
    Ok(Hall { bars, tubes_cents, notes })
}
