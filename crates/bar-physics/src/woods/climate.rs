//! What temperature and moisture do to wood, and so to pitch.
//!
//! Everything here is for **generic clear wood**: no published value for a bar wood was found beyond one rosewood
//! bar. Dense, oily, finished bars answer less and more slowly (weeks). A reference bar kept in the shop, read at
//! every session, replaces these numbers ([`Basis::ReferenceBar`]).

use super::{NamedWood, Sawn};
use crate::units::CENTS_PER_RELATIVE_OMEGA_SQUARED;

/// Moisture at which shrinkage begins, percent (Wood Handbook ch. 4, average over species).
const FIBRE_SATURATION_PERCENT: f64 = 30.0;
/// Moisture of all tabulated constants, percent.
const TABLE_MOISTURE_PERCENT: f64 = 12.0;
/// Temperature of all tabulated constants, °C.
const TABLE_TEMPERATURE_C: f64 = 20.0;
/// Where moduli begin to rise as wood dries, percent, for species not in Wood Handbook table 5-13.
pub const INTERSECTION_MOISTURE_PERCENT: f64 = 25.0;
/// Modulus at 12 % over green modulus of sugar maple, 12.6/10.7 GPa (Wood Handbook table 5-3, transcribed).
pub const GENERIC_DRY_OVER_GREEN: f64 = 12.6 / 10.7;

/// Where a drift comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// Handbook values for clear wood of no particular species.
    GenericClearWood,
    /// Readings of the shop's own reference bar.
    ReferenceBar,
}

/// A value with one standard uncertainty; the function that returns it names the unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// Best value.
    pub value: f64,
    /// One standard uncertainty.
    pub sigma: f64,
    /// Where it comes from.
    pub basis: Basis,
}

/// A climate value outside the range where the formula holds.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{name} is {value} {unit}; it must lie between {low} and {high} {unit}: {hint}")]
pub struct ClimateError {
    /// Which value.
    pub name: &'static str,
    /// The value given.
    pub value: f64,
    /// Lower limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
    /// Unit of all three.
    pub unit: &'static str,
    /// Next step.
    pub hint: &'static str,
}

/// Refuses NaN as well as values outside the limits.
fn within(
    name: &'static str,
    value: f64,
    (low, high): (f64, f64),
    unit: &'static str,
    hint: &'static str,
) -> Result<f64, ClimateError> {
    if (low..=high).contains(&value) { Ok(value) } else { Err(ClimateError { name, value, low, high, unit, hint }) }
}

/// Moisture content in percent of dry mass that wood drifts to at this temperature and relative humidity.
///
/// Wood Handbook eq. 4-5 (Hailwood & Horrobin 1946 with two hydrates, fitted by Simpson 1973), temperature in °C:
/// M = 1800/W · [Kh/(1−Kh) + (K₁Kh + 2K₁K₂K²h²)/(1 + K₁Kh + K₁K₂K²h²)].
/// Printed coefficients checked in a public verbatim quotation of FPL-GTR-282 p. 4-3. Derived for Sitka spruce half-way
/// between wetting and drying; the uncertainty (1 point up to 65 % humidity, rising to 2 at 95 %) is a judgement for
/// species and history. Oily rosewoods hold less. Time is not in it: a bar takes weeks.
///
/// # Errors
/// [`ClimateError`] outside −1.1…60 °C or 0…95 % humidity.
pub fn equilibrium_moisture_percent(temperature_c: f64, humidity_percent: f64) -> Result<Estimate, ClimateError> {
    let t = within("the temperature", temperature_c, (-1.1, 60.0), "°C", "give the workshop's air in °C")?;
    let humidity =
        within("the humidity", humidity_percent, (0.0, 95.0), "%", "wood near saturation is not tuned; dry the air")?;
    let h = humidity / 100.0;
    let w = 349.0 + 1.29 * t + 0.0135 * t * t;
    let k = 0.805 + 0.000736 * t - 0.00000273 * t * t;
    let k1 = 6.27 - 0.00938 * t - 0.000303 * t * t;
    let k2 = 1.91 + 0.0407 * t - 0.000293 * t * t;
    let (kh, first, second) = (k * h, k1 * k * h, k1 * k2 * k * k * h * h);
    let value = 1800.0 / w * (kh / (1.0 - kh) + (first + 2.0 * second) / (1.0 + first + second));
    let sigma = 1.0 + ((humidity - 65.0) / 30.0).max(0.0);
    Ok(Estimate { value, sigma, basis: Basis::GenericClearWood })
}

/// E_L at this temperature over E_L at 20 °C, at 12 % moisture.
///
/// Wood Handbook table 5-15, "middle trend": −7 % at +50 °C, +17 % at −50 °C, about linear between (read at
/// fliphtml5.com/kbpub/hdrb/Wood_Handbook/135). The uncertainty is a third of the change: the one measured rosewood bar
/// moved less than half as much.
///
/// # Errors
/// [`ClimateError`] outside −50…50 °C.
pub fn stiffness_ratio_at_temperature(temperature_c: f64) -> Result<Estimate, ClimateError> {
    let t = within("the temperature", temperature_c, (-50.0, 50.0), "°C", "the table ends there; let the bar cool")?;
    let above = t - TABLE_TEMPERATURE_C;
    let change = if above > 0.0 { -0.07 * above / 30.0 } else { -0.17 * above / 70.0 };
    Ok(Estimate { value: 1.0 + change, sigma: change.abs() / 3.0, basis: Basis::GenericClearWood })
}

/// A property at this moisture over the property at 12 %.
///
/// Wood Handbook eq. 5-3: P = P₁₂ (P₁₂/P_g)^((12−M)/(M_p−12)), at about 21 °C; `dry_over_green` is P₁₂/P_g and
/// `intersection_percent` M_p (24 white ash, 27 yellow birch, else 25; table 5-13). Transcribed, with its worked example.
///
/// # Errors
/// [`ClimateError`] if M is below 5 % (the trend is not known to go on) or above M_p, M_p is not between 20 and 30 %, or
/// the ratio is not between 1 and 3.
pub fn property_ratio_at_moisture(
    dry_over_green: f64,
    intersection_percent: f64,
    moisture_percent: f64,
) -> Result<f64, ClimateError> {
    let ratio = within("dry over green", dry_over_green, (1.0, 3.0), "to 1", "dry wood is the stiffer one")?;
    let end =
        within("the intersection moisture", intersection_percent, (20.0, 30.0), "%", "take 25 % if it is not known")?;
    let m = within("the moisture content", moisture_percent, (5.0, end), "%", "dry the wood, or weigh it again")?;
    Ok(ratio.powf((TABLE_MOISTURE_PERCENT - m) / (end - TABLE_MOISTURE_PERCENT)))
}

/// Drift of pitch in cents for a change of temperature in °C at unchanged moisture; a warmer bar is flatter.
///
/// −1.5 ± 0.5 cents per °C: between one measured rosewood bar (−0.9, moisture not controlled) and the handbook's clear
/// wood (−2.0, see [`stiffness_ratio_at_temperature`]).
///
/// # Errors
/// [`ClimateError`] for a change beyond ±50 °C.
pub fn temperature_drift_cents(change_c: f64) -> Result<Estimate, ClimateError> {
    let change = within("the change of temperature", change_c, (-50.0, 50.0), "°C", "check both readings")?;
    Ok(Estimate { value: -1.5 * change, sigma: 0.5 * change.abs(), basis: Basis::GenericClearWood })
}

/// Drift of pitch in cents for a change of moisture content in percent points; a drier bar is sharper.
///
/// −15.5 ± 4 cents per +1 %: the middle of the customary 12 to 19 cents per point, which are the low-shrinkage bar woods
/// with E_L changing by 1 to 2 % per point. Woods that swell much (birch, beech) come down to 7 cents: for a named wood
/// look at [`moisture_parts_cents`] too.
///
/// # Errors
/// [`ClimateError`] for a change beyond ±20 percent points.
pub fn moisture_drift_cents(change_percent: f64) -> Result<Estimate, ClimateError> {
    let change = within("the change of moisture", change_percent, (-20.0, 20.0), "%", "check both readings")?;
    Ok(Estimate { value: -15.5 * change, sigma: 4.0 * change.abs(), basis: Basis::GenericClearWood })
}

/// Temperature and moisture content of a bar at a reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Climate {
    /// Of the bar, not of the air.
    pub temperature_c: f64,
    /// In percent of dry mass.
    pub moisture_percent: f64,
}

/// Drift of pitch in cents between two readings; both parts add, their uncertainties in quadrature.
///
/// # Errors
/// As [`temperature_drift_cents`] and [`moisture_drift_cents`].
pub fn drift_cents(from: Climate, to: Climate) -> Result<Estimate, ClimateError> {
    let warmth = temperature_drift_cents(to.temperature_c - from.temperature_c)?;
    let moisture = moisture_drift_cents(to.moisture_percent - from.moisture_percent)?;
    Ok(Estimate {
        value: warmth.value + moisture.value,
        sigma: warmth.sigma.hypot(moisture.sigma),
        basis: Basis::GenericClearWood,
    })
}

/// What a change of moisture does to pitch, in cents, taken apart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MoistureParts {
    /// From E_L.
    pub stiffness_cents: f64,
    /// From the water's mass.
    pub mass_cents: f64,
    /// From the swelling of thickness and width, which works against the other two.
    pub swelling_cents: f64,
}

impl MoistureParts {
    /// Their sum.
    pub fn total_cents(&self) -> f64 {
        self.stiffness_cents + self.mass_cents + self.swelling_cents
    }
}

/// The parts of the moisture drift of a bar of a named wood, in cents.
///
/// f ∝ (h/L²)√(E b h L / m) for a bar of fixed shape, so a swelling s_h, s_w adds 1200·log₂e·(1.5 s_h + 0.5 s_w) cents;
/// lengthwise swelling is left out (a tenth of a percent in all). Stiffness by [`property_ratio_at_moisture`] with sugar
/// maple's 12.6/10.7, swelling linear below 30 % moisture. Generic, except for the named wood's own shrinkage.
///
/// # Errors
/// [`ClimateError`] if either moisture is outside 5…25 %.
pub fn moisture_parts_cents(
    wood: &NamedWood,
    sawn: Sawn,
    from_percent: f64,
    to_percent: f64,
) -> Result<MoistureParts, ClimateError> {
    let stiffness =
        |m| property_ratio_at_moisture(GENERIC_DRY_OVER_GREEN, INTERSECTION_MOISTURE_PERCENT, m).map(f64::ln);
    let stiffness = stiffness(to_percent)? - stiffness(from_percent)?;
    let mass = ((100.0 + to_percent) / (100.0 + from_percent)).ln();
    let (s_h, s_w) = swelling(wood, sawn, to_percent - from_percent);
    Ok(MoistureParts {
        stiffness_cents: CENTS_PER_RELATIVE_OMEGA_SQUARED * stiffness,
        mass_cents: -CENTS_PER_RELATIVE_OMEGA_SQUARED * mass,
        swelling_cents: 2.0 * CENTS_PER_RELATIVE_OMEGA_SQUARED * (1.5 * s_h + 0.5 * s_w),
    })
}

/// Density at this moisture over density at 12 %: more water, less the swelling.
///
/// # Errors
/// [`ClimateError`] outside 0…30 %.
pub fn density_ratio_at_moisture(wood: &NamedWood, moisture_percent: f64) -> Result<f64, ClimateError> {
    let range = (0.0, FIBRE_SATURATION_PERCENT);
    let m = within("the moisture content", moisture_percent, range, "%", "above that, wood does not swell")?;
    let (s_h, s_w) = swelling(wood, Sawn::Plain, m - TABLE_MOISTURE_PERCENT);
    Ok((100.0 + m) / (100.0 + TABLE_MOISTURE_PERCENT) / ((1.0 + s_h) * (1.0 + s_w)))
}

/// Relative swelling of thickness and width for a change of moisture in percent points.
fn swelling(wood: &NamedWood, sawn: Sawn, change_percent: f64) -> (f64, f64) {
    let per_point = |green_to_dry_percent: f64| green_to_dry_percent / 100.0 / FIBRE_SATURATION_PERCENT;
    let radial = per_point(wood.shrinkage.radial_percent.value) * change_percent;
    let tangential = per_point(wood.shrinkage.tangential_percent.value) * change_percent;
    match sawn {
        Sawn::Plain => (radial, tangential),
        Sawn::Quarter => (tangential, radial),
    }
}

#[cfg(test)]
mod tests;
