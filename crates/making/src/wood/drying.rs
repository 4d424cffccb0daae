//! How far a blank is from rest, by its weighings: its mass nears a last value by halves in equal times.
use crate::error::{MakingError, in_range};

/// A blank is at rest when its mass changes by less than this share a week (from memory).
pub const STOP_SHARE_PER_WEEK: f64 = 0.001;

/// One weighing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weighing {
    /// Days since any fixed day.
    pub day: f64,
    /// Mass.
    pub mass_kg: f64,
}

/// What weighings tell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drying {
    /// Change of the mass a week at the last weighing, as a share: negative while it dries.
    pub share_per_week: f64,
    /// Whether it is at rest by [`STOP_SHARE_PER_WEEK`].
    pub at_rest: bool,
    /// Least, best and most days from the last weighing until it is, as far as the weighings tell; `None` with fewer than four, or where
    /// they show no slowing down yet.
    pub days_left: Option<[f64; 3]>,
    /// The mass it nears, where that is known.
    pub last_mass_kg: Option<f64>,
}

/// Times in which the distance from rest falls to 1/e that are looked at: from days to some three years.
const TIMES_DAYS: [f64; 2] = [2.0, 1000.0];
const STEPS: usize = 2400;

/// What the weighings of a blank tell, with the scale's standard uncertainty.
///
/// The approach is exponential (the slowest term of diffusion through a board: Crank, The Mathematics of Diffusion, 2nd ed. 1975,
/// ch. 4; the first days after sawing are faster). Its time is found by least squares; bounds are where the fit is worse by one standard deviation.
///
/// # Errors
/// `too_few_weighings` under two, `out_of_range` for masses or a scale that cannot be, `weighings_mixed` if days do not rise.
pub fn drying(weighings: &[Weighing], scale_kg: f64) -> Result<Drying, MakingError> {
    check(weighings, scale_kg)?;
    let (Some(before), Some(last)) = (weighings.len().checked_sub(2).and_then(|i| weighings.get(i)), weighings.last())
    else {
        let hint = "weigh the blank today and again in a week, always on the same scale";
        return Err(MakingError::new("too_few_weighings", "one weighing tells nothing about drying", hint));
    };
    let straight = (last.mass_kg - before.mass_kg) / last.mass_kg / (last.day - before.day) * 7.0;
    let unknown = Drying {
        share_per_week: straight,
        at_rest: straight.abs() < STOP_SHARE_PER_WEEK,
        days_left: None,
        last_mass_kg: None,
    };
    if weighings.len() < 4 {
        return Ok(unknown);
    }
    let fits: Vec<Fit> = (0..=STEPS)
        .map(|i| TIMES_DAYS[0] * (TIMES_DAYS[1] / TIMES_DAYS[0]).powf(i as f64 / STEPS as f64))
        .filter_map(|time_days| fit(weighings, time_days))
        .collect();
    let Some(best) = fits.iter().min_by(|a, b| a.squares.total_cmp(&b.squares)) else { return Ok(unknown) };
    // The scale's own doubt, or what the weighings scatter by if that is more; three numbers were fitted.
    let scatter = best.squares / (weighings.len() - 3) as f64;
    let variance = scatter.max(scale_kg * scale_kg);
    let likely: Vec<f64> =
        fits.iter().filter(|fit| fit.squares <= best.squares + variance).map(|fit| fit.days_left(last)).collect();
    // Slow to the end of what is looked at: a straight line fits as well, and when it will end is not told.
    let open = fits.last().is_some_and(|slow| slow.squares <= best.squares + variance);
    let share_per_week = best.share_per_week(last);
    let bounds = [
        likely.iter().copied().fold(f64::MAX, f64::min),
        best.days_left(last),
        likely.iter().copied().fold(0.0, f64::max),
    ];
    Ok(Drying {
        share_per_week,
        at_rest: share_per_week.abs() < STOP_SHARE_PER_WEEK,
        days_left: (!open).then_some(bounds),
        last_mass_kg: (!open).then_some(best.last_kg),
    })
}

fn check(weighings: &[Weighing], scale_kg: f64) -> Result<(), MakingError> {
    in_range("the scale's uncertainty", scale_kg * 1e3, 1e-3, 100.0, "g", "a kitchen scale has 1 g, a good one 0.1 g")?;
    for weighing in weighings {
        in_range("a mass", weighing.mass_kg * 1e3, 1.0, 100_000.0, "g", "weigh the blank alone")?;
        in_range("a day", weighing.day, -1e6, 1e6, "days", "give the day it was weighed")?;
    }
    match weighings.windows(2).find(|pair| pair[1].day - pair[0].day < 1e-3) {
        Some(pair) => {
            let message = format!("a weighing on day {:.2} follows one on day {:.2}", pair[1].day, pair[0].day);
            Err(MakingError::new(
                "weighings_mixed",
                message,
                "give the weighings in the order of their days, one a day",
            ))
        }
        None => Ok(()),
    }
}

/// mass = last + off · exp(−(day − day₀)/time).
#[derive(Debug, Clone, Copy)]
struct Fit {
    time_days: f64,
    first_day: f64,
    last_kg: f64,
    off_kg: f64,
    squares: f64,
}

fn fit(weighings: &[Weighing], time_days: f64) -> Option<Fit> {
    let first_day = weighings.first()?.day;
    let n = weighings.len() as f64;
    let shape = |weighing: &Weighing| (-(weighing.day - first_day) / time_days).exp();
    let mean = |of: &dyn Fn(&Weighing) -> f64| weighings.iter().map(of).sum::<f64>() / n;
    let (s, m) = (mean(&shape), mean(&|weighing| weighing.mass_kg));
    let spread: f64 = weighings.iter().map(|w| (shape(w) - s).powi(2)).sum();
    if spread < 1e-12 {
        return None;
    }
    let off_kg = weighings.iter().map(|w| (shape(w) - s) * (w.mass_kg - m)).sum::<f64>() / spread;
    let last_kg = m - off_kg * s;
    // No wood nears a negative mass, nor half of what it has: that is a straight line in disguise.
    if last_kg < 0.5 * weighings.last()?.mass_kg {
        return None;
    }
    let squares = weighings.iter().map(|w| (w.mass_kg - last_kg - off_kg * shape(w)).powi(2)).sum();
    Some(Fit { time_days, first_day, last_kg, off_kg, squares })
}

impl Fit {
    fn off_at(&self, day: f64) -> f64 {
        self.off_kg * (-(day - self.first_day) / self.time_days).exp()
    }

    fn share_per_week(&self, last: &Weighing) -> f64 {
        -self.off_at(last.day) / self.time_days * 7.0 / last.mass_kg
    }

    fn days_left(&self, last: &Weighing) -> f64 {
        let times = self.share_per_week(last).abs() / STOP_SHARE_PER_WEEK;
        self.time_days * times.ln().max(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn curve(last_kg: f64, off_kg: f64, time_days: f64, days: &[f64]) -> Vec<Weighing> {
        days.iter().map(|day| Weighing { day: *day, mass_kg: last_kg + off_kg * (-day / time_days).exp() }).collect()
    }

    const WEEKS: [f64; 7] = [0.0, 7.0, 14.0, 21.0, 28.0, 42.0, 56.0];

    #[test]
    fn a_curve_without_noise_tells_its_end() {
        let found = drying(&curve(0.5, 0.04, 40.0, &WEEKS), 1e-6).unwrap();
        assert!((found.last_mass_kg.unwrap() - 0.5).abs() < 5e-4, "{found:?}");
        // 0.04·e^(−56/40)/40·7/m = 0.00338 a week at the last weighing; ln 3.38 times 40 days are 48.6.
        let mass_kg = 0.5 + 0.04 * (-56.0_f64 / 40.0).exp();
        let share = 0.04 * (-56.0_f64 / 40.0).exp() / 40.0 * 7.0 / mass_kg;
        // Times are looked at in steps of 0.26 %, and the mass it nears moves with them.
        assert!((found.share_per_week + share).abs() < 0.02 * share, "{found:?}");
        let [least, best, most] = found.days_left.unwrap();
        assert!(
            (best - 40.0 * (share / STOP_SHARE_PER_WEEK).ln()).abs() < 2.0 && least <= best && best <= most,
            "{found:?}"
        );
        assert!(!found.at_rest);
    }

    #[test]
    fn a_blank_at_rest_is_at_rest_and_few_weighings_tell_little() {
        let rest = drying(&curve(0.5, 0.001, 20.0, &WEEKS), 1e-4).unwrap();
        assert!(rest.at_rest, "{rest:?}");
        let two = drying(&curve(0.5, 0.04, 40.0, &WEEKS[..2]), 1e-4).unwrap();
        assert!(two.days_left.is_none() && two.share_per_week < -0.01, "{two:?}");
        assert_eq!(drying(&[], 1e-4).unwrap_err().code, "too_few_weighings");
        assert_eq!(drying(&curve(0.5, 0.04, 40.0, &WEEKS[..1]), 1e-4).unwrap_err().code, "too_few_weighings");
    }

    #[test]
    fn a_straight_line_has_no_end_to_tell() {
        let line: Vec<Weighing> = WEEKS.map(|day| Weighing { day, mass_kg: 0.6 - 0.0005 * day }).to_vec();
        assert!(drying(&line, 1e-4).unwrap().days_left.is_none());
    }

    #[test]
    fn wrong_weighings_are_named() {
        let mut mixed = curve(0.5, 0.04, 40.0, &WEEKS);
        mixed.swap(1, 2);
        assert_eq!(drying(&mixed, 1e-4).unwrap_err().code, "weighings_mixed");
        let nan = [Weighing { day: 0.0, mass_kg: f64::NAN }, Weighing { day: 7.0, mass_kg: 0.5 }];
        assert_eq!(drying(&nan, 1e-4).unwrap_err().code, "out_of_range");
    }

    proptest! {
        /// The scale is off by up to one stated deviation each time, all of them at once the worst way: the bounds, doubled, hold the truth.
        #[test]
        fn the_bounds_hold_the_truth(time_days in 15.0_f64..60.0, off_kg in 0.02_f64..0.06, noise in prop::array::uniform7(-1.0_f64..1.0)) {
            let mut seen = curve(0.5, off_kg, time_days, &WEEKS);
            for (weighing, noise) in seen.iter_mut().zip(noise) {
                weighing.mass_kg += 1e-4 * noise;
            }
            let found = drying(&seen, 1e-4).unwrap();
            if let Some([least, best, most]) = found.days_left {
                let last = seen.last().unwrap();
                let rate = off_kg * (-last.day / time_days).exp() / time_days * 7.0 / last.mass_kg;
                let truth = (time_days * (rate / STOP_SHARE_PER_WEEK).ln()).max(0.0);
                // And a day for the steps of the times.
                prop_assert!(truth > best - 2.0 * (best - least) - 1.0 && truth < best + 2.0 * (most - best) + 1.0, "{truth} {found:?}");
            }
        }
    }
}
