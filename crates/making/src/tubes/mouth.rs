//! Tubes that were heard, and stoppers that were found by ear.
use super::bank::{Bank, PlannedTube, refused};
use crate::error::{MakingError, in_range};
use bar_physics::air::{Mouth, StoppedTube, sound_speed_m_s};

/// A stopper that was set by ear under its tuned bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Found {
    /// The bar's pitch as it was then.
    pub hz: f64,
    /// Inner diameter.
    pub diameter_m: f64,
    /// From the mouth to the stopper's face.
    pub stopper_m: f64,
    /// Temperature of the air, in °C.
    pub temperature_c: f64,
}

/// What the bar over the mouth adds, as found by ear.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MouthFit {
    /// In inner radii, beyond the free end's correction.
    pub radii: f64,
    /// Standard uncertainty of that mean.
    pub sigma: f64,
    /// Spread of one stopper about it, in metres for the mean radius.
    pub spread_m: f64,
    /// How many stoppers.
    pub count: usize,
}

/// The mean of what the bars added over stoppers that were set by ear, each in radii; all stoppers count alike.
///
/// # Errors
/// `too_few` under three; `out_of_range`, `tube_too_wide`.
pub fn fit_mouth(found: &[Found], humidity_percent: f64) -> Result<MouthFit, MakingError> {
    const LEAST: usize = 3;
    if found.len() < LEAST {
        let message = format!("{} stoppers set by ear tell no mean; {LEAST} are needed", found.len());
        return Err(MakingError::new("too_few", message, "set the stoppers of three notes by ear, an octave apart"));
    }
    let mut radii = Vec::new();
    for one in found {
        in_range("a stopper's place", one.stopper_m * 1e3, 5.0, 3000.0, "mm", "measure from the mouth to its face")?;
        let name = format!("the tube of {:.0} Hz", one.hz);
        let sound = sound_speed_m_s(one.temperature_c, humidity_percent).map_err(|error| refused(&name, &error))?;
        let free = StoppedTube { radius_m: 0.5 * one.diameter_m, mouth: Mouth::Unflanged, under_bar_m: 0.0 };
        let length_m = free.length_m(one.hz, sound).map_err(|error| refused(&name, &error))?;
        radii.push((length_m - one.stopper_m) / free.radius_m);
    }
    let count = radii.len();
    let mean = radii.iter().sum::<f64>() / count as f64;
    let variance = radii.iter().map(|r| (r - mean).powi(2)).sum::<f64>() / (count - 1) as f64;
    let radius_m = found.iter().map(|one| 0.5 * one.diameter_m).sum::<f64>() / count as f64;
    Ok(MouthFit { radii: mean, sigma: (variance / count as f64).sqrt(), spread_m: variance.sqrt() * radius_m, count })
}

/// A tube that was heard by itself, its mouth free.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeardTube {
    /// Its lowest tone.
    pub hz: f64,
    /// Doubt of it, in cents.
    pub sigma_cents: f64,
    /// Temperature of the air, in °C.
    pub temperature_c: f64,
}

/// What to do with the stopper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StopperMove {
    /// From the mouth to where the stopper's face seems to be by its tone.
    pub stands_m: f64,
    /// Towards the mouth; negative: away from it.
    pub towards_mouth_m: f64,
    /// Doubt of both, in metres: of the tone and of the temperature (±1 °C).
    pub sigma_m: f64,
}

/// From a tube's own tone to the move of its stopper.
///
/// # Errors
/// `not_this_tube` for a tone more than a third (400 cents) off the tube's own; `out_of_range`.
pub fn stopper_move(tube: &PlannedTube, heard: &HeardTube, bank: &Bank) -> Result<StopperMove, MakingError> {
    let refused = |error: &_| refused(&tube.name, error);
    let sound =
        |temperature_c: f64| sound_speed_m_s(temperature_c, bank.humidity_percent).map_err(|error| refused(&error));
    let free = StoppedTube { under_bar_m: 0.0, ..bank.tube(tube.diameter_m) };
    let stands = |hz: f64, sound: f64| free.length_m(hz, sound).map_err(|error| refused(&error));
    let (now, warmer) = (sound(heard.temperature_c)?, sound((heard.temperature_c + 1.0).min(45.0))?);
    let stands_m = stands(heard.hz, now)?;
    let cents_per_m = free.cents_per_m(heard.hz, now).map_err(|error| refused(&error))?;
    let off_cents = (stands_m - tube.stopper_m) * cents_per_m;
    if off_cents.abs() > 400.0 {
        let message = format!(
            "{:.1} Hz is {:.0} cents from what the tube of {} sounds by itself",
            heard.hz, -off_cents, tube.name
        );
        return Err(MakingError::new("not_this_tube", message, "check which tube was struck, and that it is shut"));
    }
    let by_tone_m = heard.sigma_cents / cents_per_m;
    let by_warmth_m = stands(heard.hz, warmer)? - stands_m;
    Ok(StopperMove { stands_m, towards_mouth_m: stands_m - tube.stopper_m, sigma_m: by_tone_m.hypot(by_warmth_m) })
}

#[cfg(test)]
mod tests {
    use super::super::{Note, tubes, usual_diameter_m};
    use super::*;

    fn c4(bank: &Bank) -> PlannedTube {
        let note = Note { name: "C4".to_owned(), hz: 262.8, centre_x_m: 0.0, upper: false };
        tubes(&[note], bank, usual_diameter_m).unwrap().tubes.remove(0)
    }

    #[test]
    fn a_mouth_known_beforehand_is_found_again() {
        let bank = Bank { under_bar_radii: 0.31, ..Bank::default() };
        let found: Vec<Found> = [131.4, 262.8, 525.6, 700.0]
            .iter()
            .zip([1e-3, -1e-3, 1e-3, -1e-3])
            .map(|(hz, off_m)| {
                let diameter_m = usual_diameter_m(*hz);
                let sound = sound_speed_m_s(24.0, 45.0).unwrap();
                let stopper_m = bank.tube(diameter_m).length_m(*hz, sound).unwrap() + off_m;
                Found { hz: *hz, diameter_m, stopper_m, temperature_c: 24.0 }
            })
            .collect();
        let fit = fit_mouth(&found, 45.0).unwrap();
        // A millimetre of doubt each way on radii of 20 to 32 mm.
        assert!((fit.radii - 0.31).abs() < 2.0 * fit.sigma && fit.sigma < 0.03, "{fit:?}");
        assert!((fit.spread_m - 1.15e-3).abs() < 0.2e-3, "{fit:?}");
        assert_eq!(fit_mouth(&found[..2], 45.0).unwrap_err().code, "too_few");
    }

    #[test]
    fn a_heard_tube_says_how_far_its_stopper_goes() {
        let bank = Bank { under_bar_radii: 0.3, ..Bank::default() };
        let tube = c4(&bank);
        // A stopper 5 mm too far from the mouth, heard free at 18 °C: the tone that such a tube then has.
        let sound = sound_speed_m_s(18.0, bank.humidity_percent).unwrap();
        let free = StoppedTube { under_bar_m: 0.0, ..bank.tube(tube.diameter_m) };
        let mut hz = 262.8;
        for _ in 0..40 {
            hz *= 1.0 + (free.length_m(hz, sound).unwrap() - tube.stopper_m - 0.005) / tube.stopper_m;
        }
        let heard = HeardTube { hz, sigma_cents: 2.0, temperature_c: 18.0 };
        let told = stopper_move(&tube, &heard, &bank).unwrap();
        assert!((told.towards_mouth_m - 0.005).abs() < 1e-6, "{told:?}");
        // 2 cents at 5.3 cents/mm and 1 °C of a quarter wave of 328 mm (0.17 %).
        assert!((told.sigma_m - 0.38e-3_f64.hypot(0.57e-3)).abs() < 0.06e-3, "{told:?}");
        let wrong = HeardTube { hz: 500.0, ..heard };
        assert_eq!(stopper_move(&tube, &wrong, &bank).unwrap_err().code, "not_this_tube");
    }
}
