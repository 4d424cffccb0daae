//! Equilibrium moisture.
use crate::error::{MakingError, in_range};

/// Moisture that wood comes to in air of that temperature (°C) and relative humidity (%), in percent of its dry mass:
/// [`bar_physics::woods::climate::equilibrium_moisture_percent`].
///
/// # Errors
/// `out_of_range` outside 0 to 60 °C and 0 to 95 %.
pub fn equilibrium_moisture_percent(temperature_c: f64, humidity_percent: f64) -> Result<f64, MakingError> {
    in_range("the temperature", temperature_c, 0.0, 60.0, "°C", "give the room's, e.g. 21")?;
    in_range("the humidity", humidity_percent, 0.0, 95.0, "%", "give the room's, e.g. 45")?;
    let moisture = bar_physics::woods::climate::equilibrium_moisture_percent(temperature_c, humidity_percent);
    moisture.map(|found| found.value).map_err(|error| MakingError::new("out_of_range", error.to_string(), error.hint))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_published_points_come_out() {
        // LITERATURE R13 for a living room, whole percents: half of the last figure, and what the fit is off by on average.
        for (humidity, moisture) in [(30.0, 6.0), (50.0, 9.0), (65.0, 12.0), (80.0, 16.0)] {
            let found = equilibrium_moisture_percent(21.0, humidity).unwrap();
            assert!((found - moisture).abs() < 0.5 + 0.13, "{humidity} %: {found}");
        }
        // A published worked value of the same equation in °F: 140 °F (60 °C) and 55 % give 8.4 %, the table it was fitted to 8.0 %.
        // The coefficients for °C are rounded anew; half of the last figure.
        let hot = equilibrium_moisture_percent(60.0, 55.0).unwrap();
        assert!((hot - 8.4).abs() < 0.05, "{hot}");
        assert!(equilibrium_moisture_percent(20.0, 0.0).unwrap().abs() < 1e-12);
    }

    proptest! {
        #[test]
        fn damper_air_makes_damper_wood_and_warmer_air_drier(t in 0.0_f64..45.0, h in 5.0_f64..94.0) {
            let at = |t: f64, h: f64| equilibrium_moisture_percent(t, h).unwrap();
            prop_assert!(at(t, h + 1.0) > at(t, h));
            // Below 10 °C the fit is level.
            prop_assert!(t < 10.0 || at(t + 5.0, h) < at(t, h));
        }
    }

    #[test]
    fn no_such_air_is_refused() {
        for (t, h) in [(-5.0, 50.0), (80.0, 50.0), (20.0, 101.0), (f64::NAN, 50.0), (20.0, f64::NAN)] {
            assert_eq!(equilibrium_moisture_percent(t, h).unwrap_err().code, "out_of_range");
        }
    }
}
