//! Speed of sound in humid air.
use super::AirError;

/// Pressure of the standard atmosphere, and the share of carbon dioxide in outdoor air of late.
const PRESSURE_PA: f64 = 101_325.0;
const CARBON_DIOXIDE: f64 = 4e-4;
const ZERO_K: f64 = 273.15;

/// Speed of sound in air of that temperature (°C) and relative humidity (%), in m/s: Cramer, J. Acoust. Soc. Am. 93 (1993) 2510, eq. 15
/// (coefficients from memory, checked against the published values of it in `reference/sound_speed.csv`), at 101 325 Pa and 0.04 % CO₂.
/// Valid from 0 to 30 °C; a change of pressure by weather or 1000 m of height moves it by less than 0.01 %.
///
/// # Errors
/// [`AirError::OutOfRange`] outside 0 to 45 °C and 0 to 100 %.
pub fn sound_speed_m_s(temperature_c: f64, humidity_percent: f64) -> Result<f64, AirError> {
    AirError::within("the temperature", temperature_c, 0.0, 45.0, "°C")?;
    AirError::within("the humidity", humidity_percent, 0.0, 100.0, "%")?;
    let (t, p, xc) = (temperature_c, PRESSURE_PA, CARBON_DIOXIDE);
    let xw = water_share(t, humidity_percent / 100.0);
    Ok(331.5024 + 0.603_055 * t - 0.000_528 * t * t
        + (51.471_935 + 0.149_587_4 * t - 0.000_782 * t * t) * xw
        + (-1.82e-7 + 3.73e-8 * t - 2.93e-10 * t * t) * p
        + (-85.209_31 - 0.228_525 * t + 5.91e-5 * t * t) * xc
        - 2.835_149 * xw * xw
        - 2.15e-13 * p * p
        + 29.179_762 * xc * xc
        + 0.000_486 * xw * p * xc)
}

/// Share of water molecules: enhancement and saturation pressure of moist air (Davis, Metrologia 29 (1992) 67; Picard et al., Metrologia 45
/// (2008) 149; from memory, settled by the published values).
fn water_share(t: f64, humidity: f64) -> f64 {
    let kelvin = t + ZERO_K;
    let enhancement = 1.000_62 + 3.14e-8 * PRESSURE_PA + 5.6e-7 * t * t;
    let saturation_pa =
        (1.237_884_7e-5 * kelvin * kelvin - 1.912_131_6e-2 * kelvin + 33.937_110_47 - 6.343_164_5e3 / kelvin).exp();
    humidity * enhancement * saturation_pa / PRESSURE_PA
}
